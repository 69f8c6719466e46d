//! What is chosen and ticked, and what the steps follow.

use super::*;
use crate::fit::Evidence;
use crate::fit::plan::{Compound, Reamer, Work};

/// A bore of 45.975 mm in a shop that owns one reamer and one compound.
fn gauged() -> Table {
    let mut table = Table::empty();
    table.shop.workshop.reamers.push(Reamer {
        name: "the 46".into(),
        diameter_mm: 45.985,
        greatest_stock_mm: 0.2,
        past_cuts_mm: vec![],
    });
    table.shop.workshop.compounds.push(Compound {
        name: "gap filler".into(),
        least_gap_mm: 0.0,
        greatest_gap_mm: 0.15,
    });
    for command in [
        Command::SetRing {
            gauge: "bore-gauge".into(),
            ring_mm: 46.0,
            shown_mm: None,
            ring_uncertainty_mm: Some(0.001),
            ring_due: None,
        },
        Command::OpenJob {
            part: "cargo tricycle".into(),
            seat: "pressfit-46".into(),
            plan: PlanKind::Standard,
            material: Some(crate::fit::Material::Steel),
            wall_mm: Some(2.5),
            yield_mpa: None,
            finish: None,
            service_c: None,
        },
    ] {
        table.ask(command).unwrap();
    }
    table
}

fn gauge_all(table: &mut Table) {
    while table.next().is_some() {
        table.send("bore-gauge", 45.975);
    }
}

fn choose(work: Work, with: Option<&str>) -> Command {
    Command::Choose {
        bore: "drive side".into(),
        work,
        with: with.map(str::to_owned),
    }
}

fn tick(step: &str) -> Command {
    Command::Tick { step: step.into() }
}

fn steps(table: &Table) -> Vec<Vec<String>> {
    let findings = Following::of(&table.bench, &table.shop).findings.unwrap();
    let bores = findings.examined.bores.into_iter();
    bores
        .map(|bore| bore.checklist.iter().map(|s| s.id.to_string()).collect())
        .collect()
}

/// Common practice, no source: a compound needs a joint without grease, and time to cure.
#[test]
fn the_steps_are_those_of_what_was_chosen() {
    let mut table = gauged();
    gauge_all(&mut table);
    let advised = steps(&table);
    assert!(!advised[0].iter().any(|step| step == "cure"), "{advised:?}");
    table.ask(choose(Work::Bond, Some("gap filler"))).unwrap();
    let chosen = steps(&table);
    for step in ["no-grease", "compound", "cure"] {
        assert!(chosen[0].iter().any(|id| id == step), "{chosen:?}");
    }
    assert_eq!(chosen[1], advised[1], "nothing was chosen for the other");
    table.ask(tick("cure")).unwrap();
    let job = table.bench.job().unwrap();
    let (bench, shop) = (&table.bench, &table.shop);
    let record = Record::of(job, Moment::now(), bench.last_seq, bench, shop);
    let bores = record.findings.unwrap().examined.bores;
    assert!(bores[0].checklist.iter().any(|step| step.id == "no-grease"));
}

#[test]
fn tools_that_the_shop_has_not_and_steps_that_are_none_are_refused() {
    let mut table = gauged();
    let no_steps = table.ask(tick("ream")).unwrap_err().0;
    assert!(no_steps.contains("no steps yet"), "{no_steps}");
    gauge_all(&mut table);
    let mut refused = |command| table.ask(command).unwrap_err().0;
    let why = refused(choose(Work::Ream, Some("a 48")));
    assert!(why.contains("`a 48`") && why.contains("the 46"), "{why}");
    let why = refused(choose(Work::Bond, Some("the 46")));
    assert!(why.contains("compound") && why.contains("gap filler"));
    assert!(refused(choose(Work::Press, Some("a hammer"))).contains("leave `with` out"));
    let why = refused(tick("dance"));
    assert!(why.contains("`dance`") && why.contains("force"), "{why}");
    let backwards = Evidence {
        hang_free_nm: Some(-0.004),
        ..Evidence::default()
    };
    let noted = Command::SetEvidence {
        evidence: backwards,
    };
    assert!(refused(noted).contains("0 N·m or more"));
}

/// The mechanic answers for the work, so what the plan refuses can be chosen; the record says so.
#[test]
fn what_the_plan_refuses_is_chosen_against_it() {
    let mut table = gauged();
    gauge_all(&mut table);
    table.ask(choose(Work::Sleeve, None)).unwrap();
    let chosen = table.bench.job().unwrap().chosen["drive side"].clone();
    let refused = chosen.refused.unwrap();
    assert!(refused.contains("fits no sleeves"), "{refused}");
    table.ask(choose(Work::Refer, None)).unwrap();
    let chosen = &table.bench.job().unwrap().chosen["drive side"];
    assert_eq!(chosen.refused, None);
}
