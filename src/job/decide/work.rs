//! How to go on with a bore, and what of it is done.

use super::stations::{again, bore_or_refuse};
use super::{Refusal, Shop};
use crate::fit::plan::{Choice, Work};
use crate::job::event::Body;
use crate::job::findings::Findings;
use crate::job::numbers::Numbers;
use crate::job::state::Job;

/// The choice of `work` for `bore`. What the plan refuses may be chosen all the same, since the
/// mechanic answers for it; the event then carries the refusal. To gauge again begins at once.
pub(super) fn choose(
    job: &Job,
    shop: &Shop,
    bore: &str,
    work: Work,
    with: Option<&str>,
) -> Result<Body, Refusal> {
    bore_or_refuse(job, bore)?;
    let findings = Findings::of(job, &Numbers::of(job), shop);
    let mut bores = findings.iter().flat_map(|found| &found.examined.bores);
    let options = bores
        .find(|found| found.bore == bore)
        .map_or(&[][..], |found| &found.plan.options);
    let planned = options
        .iter()
        .find(|option| option.work == work && option.with.as_deref() == with);
    if planned.is_none() {
        tool_or_refuse(shop, options, work, with)?;
    }
    Ok(Body::WorkChosen {
        bore: bore.to_owned(),
        work,
        with: with.map(str::to_owned),
        refused: planned.and_then(|option| option.refused.clone()),
        stations: if work == Work::GaugeAgain {
            again(job, bore)
        } else {
            Vec::new()
        },
    })
}

/// That the shop owns the reamer or compound, where one is named.
fn tool_or_refuse(
    shop: &Shop,
    options: &[Choice],
    work: Work,
    with: Option<&str>,
) -> Result<(), Refusal> {
    let Some(with) = with else {
        return Ok(());
    };
    let (what, mut names): (_, Vec<&str>) = match work {
        Work::Ream | Work::ReamAndBond => {
            let reamers = shop.workshop.reamers.iter();
            ("reamer", reamers.map(|tool| tool.name.as_str()).collect())
        }
        Work::Bond => {
            let compounds = shop.workshop.compounds.iter();
            (
                "compound",
                compounds.map(|tool| tool.name.as_str()).collect(),
            )
        }
        Work::Press | Work::GaugeAgain | Work::Sleeve | Work::OtherInsert | Work::Refer => {
            return Err(Refusal(format!(
                "nothing is needed for that but what is measured: leave `with` out, not `{with}`"
            )));
        }
    };
    if names.contains(&with) {
        return Ok(());
    }
    let planned = options.iter().filter(|option| option.work == work);
    for name in planned.filter_map(|option| option.with.as_deref()) {
        if !names.contains(&name) {
            names.push(name);
        }
    }
    Err(Refusal(if names.is_empty() {
        format!("the shop owns no {what} `{with}`, nor any other: enter it in the configuration")
    } else {
        format!(
            "the shop owns no {what} `{with}`; there are: {}",
            names.join(", ")
        )
    }))
}

/// The tick of `step`, which must be one of the steps that the job has now.
pub(super) fn tick(job: &Job, shop: &Shop, step: &str) -> Result<Body, Refusal> {
    if job.ticks.iter().any(|tick| tick.step == step) {
        return Err(Refusal(
            "that step is ticked already; undo takes it back".to_owned(),
        ));
    }
    let findings = Findings::of(job, &Numbers::of(job), shop).ok_or_else(|| {
        Refusal("there are no steps yet: they follow from a section gauged whole".to_owned())
    })?;
    let mut steps: Vec<&str> = Vec::new();
    for known in findings.examined.bores.iter().flat_map(|b| &b.checklist) {
        if !steps.contains(&known.id.as_ref()) {
            steps.push(&known.id);
        }
    }
    if !steps.contains(&step) {
        return Err(Refusal(format!(
            "there is no step `{step}`; there are: {}",
            steps.join(", ")
        )));
    }
    Ok(Body::Ticked {
        step: step.to_owned(),
    })
}
