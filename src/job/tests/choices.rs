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

/// A built-in seat says nothing of the material: what is said of it later opens the way to reaming,
/// and what is then left out is unknown again.
#[test]
fn what_is_said_of_the_housing_counts_at_once() {
    let mut table = gauged();
    table.ask(Command::CloseJob {}).unwrap();
    let open: Command = serde_json::from_value(serde_json::json!({
        "command": "open_job", "part": "cargo tricycle", "seat": "pressfit-46",
    }))
    .unwrap();
    table.ask(open).unwrap();
    while table.next().is_some() {
        table.send("bore-gauge", 45.90);
    }
    let advice = |table: &Table| {
        let findings = Following::of(&table.bench, &table.shop).findings.unwrap();
        findings.examined.bores[0].plan.advice
    };
    let said = |json: &str| -> Command {
        serde_json::from_str(&format!(r#"{{"command":"set_housing"{json}}}"#)).unwrap()
    };
    assert_eq!(advice(&table), Work::Refer);
    let steel = said(r#","material":"steel","wall_mm":2.5"#);
    let seq = table.ask(steel).unwrap().seq;
    assert_eq!(advice(&table), Work::Ream);
    let job = table.bench.job().unwrap();
    assert_eq!(job.settled, seq, "sizes at 20 °C go by the material");
    assert_eq!(job.seat.bores[1].wall_mm, Some(2.5));
    table.ask(said(r#","material":"laminate""#)).unwrap();
    assert_eq!(table.bench.job().unwrap().seat.bores[1].wall_mm, None);
    assert_eq!(advice(&table), Work::Refer);
    for (json, why) in [
        (r#","wall_mm":0"#, "thicker than 0 mm"),
        (r#","yield_mpa":-4"#, "more than 0 MPa"),
        (r#","service_c":[20,400]"#, "-60 to 200 °C"),
    ] {
        let refused = table.ask(said(json)).unwrap_err().0;
        assert!(refused.contains(why), "{refused}");
    }
}

/// An event as it was written before a housing could be said apart: its seat says all.
#[test]
fn a_job_of_an_older_journal_keeps_what_its_seat_says() {
    let mut table = gauged();
    let event = table.events.last().unwrap();
    let mut older = serde_json::to_value(event).unwrap();
    older.as_object_mut().unwrap().remove("housing");
    older["seat"]["material"] = "titanium".into();
    table.bench.apply(&serde_json::from_value(older).unwrap());
    let job = table.bench.job().unwrap();
    assert_eq!(job.seat.material, Some(crate::fit::Material::Titanium));
}
