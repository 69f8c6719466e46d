//! What the measured bores do to the insert, what is at fault, and what can be done: from the
//! sections that are complete, the evidence, and what the shop owns.

use std::sync::Arc;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::decide::Shop;
use super::event::Phase;
use super::hang::HangView;
use super::insert::insert;
use super::numbers::Numbers;
use super::state::Job;
use crate::bore::Bore;
use crate::fit::plan::{Plan, Predicted};
use crate::fit::{
    self, Diagnosis, Done, Evidence, Examinations, Examined, ExaminedBore, Known, Outcome,
    checklist,
};

/// What follows for the job as a whole.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Findings {
    /// From the bores as found: the fit, the plan and the checklist of each, and what is at fault.
    #[serde(flatten)]
    pub examined: Examined,
    /// As left against as found, for the bores gauged both times.
    pub outcomes: Vec<Outcome>,
}

/// The bores as they were examined last, as found and as left.
#[derive(Debug, Clone, Default)]
pub(super) struct Before {
    found: Examinations,
    left: Examinations,
}

impl Findings {
    /// The findings of `job`; `None` while no section is complete.
    pub fn of(job: &Job, numbers: &Numbers, shop: &Shop) -> Option<Self> {
        Self::after(&mut Before::default(), job, numbers, shop)
    }

    /// The same, with only what changed since `before` examined again.
    pub(super) fn after(
        before: &mut Before,
        job: &Job,
        numbers: &Numbers,
        shop: &Shop,
    ) -> Option<Self> {
        let found = numbers.complete(Phase::AsFound);
        if found.is_empty() {
            return None;
        }
        let known = Known {
            insert: insert(job),
            shop: shop.workshop.clone(),
            evidence: evidence(job),
            ..Known::default()
        };
        let (seat, contact) = (&job.seat, job.contact);
        let mut examined = before.found.examine(seat, contact, &found, &known);
        follow_choices(job, &mut examined);
        let left = numbers.complete(Phase::AsLeft);
        // The fit as left is asked for once there is a bore as left.
        let as_left = (!left.is_empty()).then(|| before.left.examine(seat, contact, &left, &known));
        let outcomes = outcomes(job, [&found, &left], &examined, as_left.as_ref());
        Some(Self { examined, outcomes })
    }

    /// What is at fault.
    pub const fn diagnosis(&self) -> &Diagnosis {
        &self.examined.diagnosis
    }
}

/// Where a choice was made, the steps are those of the choice, with the fit that it leads to.
fn follow_choices(job: &Job, examined: &mut Examined) {
    for bore in &mut examined.bores {
        let Some(chosen) = job.chosen.get(&bore.bore) else {
            continue;
        };
        let mut options = bore.plan.options.iter();
        let option =
            options.find(|option| option.work == chosen.work && option.with == chosen.with);
        let predicted = option.and_then(|option| option.predicted.as_ref()?.fit.as_ref());
        bore.checklist = checklist(chosen.work, predicted.or(bore.fit.as_ref()));
    }
}

/// The evidence of the part as found, with its newest hang tests: a test as left says nothing of what
/// was the matter, but the bearing is free only once it is out, whenever that is.
fn evidence(job: &Job) -> Evidence {
    let newest = |fitted: bool, phase: Phase| {
        let mut tests = job.hang_tests.iter().rev();
        let of = |test: &&HangView| {
            test.fitted == fitted && test.phase.unwrap_or(Phase::AsFound) == phase
        };
        tests.find(of).map(|test| test.friction)
    };
    let free = || newest(false, Phase::AsLeft);
    let mut evidence = job.evidence;
    if let Some(friction) = newest(true, Phase::AsFound) {
        evidence.hang_fitted_nm = Some(friction.torque_nm);
        evidence.hang_fitted_u_nm = friction.uncertainty.map(|u| u.standard);
        evidence.hang_fitted_least = friction.is_least();
    }
    if let Some(friction) = newest(false, Phase::AsFound).or_else(free) {
        evidence.hang_free_nm = Some(friction.torque_nm);
        evidence.hang_free_u_nm = friction.uncertainty.map(|u| u.standard);
        evidence.hang_free_least = friction.is_least();
    }
    evidence
}

/// As left against as found, with the preview of what was chosen, else of what was advised.
fn outcomes(
    job: &Job,
    bores: [&[Arc<Bore>]; 2],
    examined: &Examined,
    as_left: Option<&Examined>,
) -> Vec<Outcome> {
    fit::outcomes(&job.seat, bores, |seat_bore| {
        let of = |bore: &&ExaminedBore| bore.bore == seat_bore.name;
        let plan = examined.bores.iter().find(of).map(|bore| &bore.plan);
        let left = as_left.and_then(|left| left.bores.iter().find(of));
        Done {
            preview: plan.and_then(|plan| preview(job, plan)),
            // Only a choice says what was done; what was advised may have been passed over.
            left_alone: (job.chosen.get(&seat_bore.name))
                .is_some_and(|chosen| chosen.work.leaves_the_bore()),
            fit: left.and_then(|bore| bore.fit.as_ref()),
        }
    })
}

/// What the work that was chosen for a bore was predicted to come to, where a reamer cuts.
pub(super) fn preview<'a>(job: &Job, plan: &'a Plan) -> Option<&'a Predicted> {
    let (work, with) = match job.chosen.get(&plan.bore) {
        Some(chosen) => (chosen.work, &chosen.with),
        None => (plan.advice, &plan.with),
    };
    let mut options = plan.options.iter();
    let option = options.find(|option| option.work == work && option.with == *with)?;
    option
        .predicted
        .as_ref()
        .filter(|predicted| predicted.reamed.is_some())
}
