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

/// A built-in seat says nothing of the material: what is said of it later opens the way to reaming;
/// what is then left out stays as it was said, and null takes it back.
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
    table.ask(said(r#","yield_mpa":400"#)).unwrap();
    let seat = &table.bench.job().unwrap().seat;
    assert_eq!(seat.material, Some(crate::fit::Material::Steel));
    assert_eq!(
        (seat.bores[1].wall_mm, seat.yield_mpa),
        (Some(2.5), Some(400.0))
    );
    table.ask(said(r#","material":"laminate""#)).unwrap();
    assert_eq!(advice(&table), Work::Refer);
    table
        .ask(said(r#","material":"steel","wall_mm":null"#))
        .unwrap();
    let seat = &table.bench.job().unwrap().seat;
    assert_eq!((seat.bores[1].wall_mm, seat.yield_mpa), (None, Some(400.0)));
    assert_eq!(advice(&table), Work::Refer);
    for (json, why) in [
        (r#","wall_mm":0"#, "0.3 to 100 mm"),
        (r#","wall_mm":1e300"#, "0.3 to 100 mm"),
        (r#","yield_mpa":-4"#, "10 to 3000 MPa"),
        (r#","service_c":[20,400]"#, "-60 to 200 °C"),
        (r#","service_c":[60,-20]"#, "the coldest first"),
    ] {
        let refused = table.ask(said(json)).unwrap_err().0;
        assert!(refused.contains(why), "{refused}");
    }
}

/// What was felt is noted bit by bit, as it is felt: what is left out stays, null takes it back.
#[test]
fn what_is_felt_is_noted_bit_by_bit() {
    let mut table = gauged();
    let said = |json: &str| -> Command {
        let json = format!(r#"{{"command":"set_evidence","evidence":{json}}}"#);
        serde_json::from_str(&json).unwrap()
    };
    for json in [
        r#"{"runs_tight":true,"gritty":true,"tight_towards_deg":30}"#,
        r#"{"free_once_out":true}"#,
        r#"{"gritty":null,"hang_fitted_nm":0.05,"hang_fitted_u_nm":0.001,"hang_fitted_least":true}"#,
    ] {
        table.ask(said(json)).unwrap();
    }
    let noted = Evidence {
        runs_tight: Some(true),
        free_once_out: Some(true),
        tight_towards_deg: Some(30.0),
        hang_fitted_nm: Some(0.05),
        hang_fitted_u_nm: Some(0.001),
        hang_fitted_least: true,
        ..Evidence::default()
    };
    assert_eq!(table.bench.job().unwrap().evidence, noted);
    for (json, why) in [
        (r#"{"tight_towards_deg":360}"#, "[0, 360)"),
        (r#"{"hang_free_nm":-0.004}"#, "0 to 100 N·m"),
        (r#"{"hang_fitted_nm":1e300}"#, "0 to 100 N·m"),
        (r#"{"hang_fitted_u_nm":101}"#, "0 to 100 N·m"),
    ] {
        let refused = table.ask(said(json)).unwrap_err().0;
        assert!(refused.contains(why), "{refused}");
    }
    assert_eq!(table.bench.job().unwrap().evidence, noted);
    // Of another torque nothing is known but what is said of it.
    table.ask(said(r#"{"hang_fitted_nm":0.03}"#)).unwrap();
    let evidence = table.bench.job().unwrap().evidence;
    let known = (evidence.hang_fitted_u_nm, evidence.hang_fitted_least);
    assert_eq!(
        (evidence.hang_fitted_nm, known),
        (Some(0.03), (None, false))
    );
}

/// Walls that differ by bore stay so while nobody says one wall for all.
#[test]
fn what_is_not_said_of_the_wall_stays_by_bore() {
    let mut table = gauged();
    table.ask(Command::CloseJob {}).unwrap();
    let text = include_str!("../../../config/seats/pressfit-46.toml")
        .replace("name = \"pressfit-46\"", "name = \"two walls\"")
        .replace("face_mm = 0.0", "face_mm = 0.0\nwall_mm = 3.0")
        .replace("face_mm = 68.0", "face_mm = 68.0\nwall_mm = 1.6");
    table.shop.seats.add("two-walls.toml", &text).unwrap();
    for command in [
        r#"{"command":"open_job","part":"frame","seat":"two walls"}"#,
        r#"{"command":"set_housing","material":"steel","yield_mpa":400}"#,
    ] {
        table.ask(serde_json::from_str(command).unwrap()).unwrap();
    }
    let bores = &table.bench.job().unwrap().seat.bores;
    assert_eq!([bores[0].wall_mm, bores[1].wall_mm], [Some(3.0), Some(1.6)]);
}

/// Every housing is refused or gives a record that the program reads again.
#[test]
fn a_housing_that_is_accepted_gives_a_readable_record() {
    let mut accepted = 0;
    for (wall, mpa) in [
        (1e-9, 400.0),
        (0.3, 10.0),
        (2.5, 400.0),
        (100.0, 3000.0),
        (2.5, 1e300),
        (1e9, 400.0),
        (1e300, 400.0),
        (f64::MAX, f64::MAX),
    ] {
        let mut table = gauged();
        gauge_all(&mut table);
        let insert = r#"{"command":"set_insert","insert":{"bearing":"30x42x7","cup":"aluminium","outside_mm":46.02}}"#;
        table.ask(serde_json::from_str(insert).unwrap()).unwrap();
        let said = serde_json::json!({
            "command": "set_housing", "wall_mm": wall, "yield_mpa": mpa, "service_c": [-60, 200],
        });
        if table.ask(serde_json::from_value(said).unwrap()).is_err() {
            continue;
        }
        accepted += 1;
        let job = table.bench.job().unwrap();
        let record = Record::of(job, Moment::now(), 99, &table.bench, &table.shop);
        let text = serde_json::to_string(&record).unwrap();
        let read: Record = serde_json::from_str(&text).unwrap();
        assert!(read.findings.unwrap().examined.bores[0].fit.is_some());
    }
    assert_eq!(accepted, 3);
}

/// A journal of before may hold any wall: what can't be computed with it is withheld.
#[test]
fn a_housing_of_an_older_journal_gives_a_readable_record() {
    let mut table = gauged();
    gauge_all(&mut table);
    let insert = r#"{"command":"set_insert","insert":{"bearing":"30x42x7","cup":"aluminium","outside_mm":46.02}}"#;
    table.ask(serde_json::from_str(insert).unwrap()).unwrap();
    let event = table.ask(serde_json::from_str(r#"{"command":"set_housing"}"#).unwrap());
    let mut older = serde_json::to_value(event.unwrap()).unwrap();
    older["housing"]["wall_mm"] = 1e300.into();
    table.bench.apply(&serde_json::from_value(older).unwrap());
    let job = table.bench.job().unwrap();
    assert_eq!(job.seat.bores[0].wall_mm, Some(1e300));
    let record = Record::of(job, Moment::now(), 99, &table.bench, &table.shop);
    let text = serde_json::to_string(&record).unwrap();
    let read: Record = serde_json::from_str(&text).unwrap();
    let fit = read.findings.unwrap().examined.bores[0]
        .fit
        .clone()
        .unwrap();
    assert!(
        fit.withheld
            .iter()
            .any(|one| one.field == "hoop_stress_mpa")
    );
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

/// Nothing else is to be touched: the choice makes the bore's stations the next ones, as often as it is
/// chosen, and undo goes back reading by reading.
#[test]
fn a_bore_chosen_to_be_gauged_again_is_gauged_by_sends_alone() {
    let mut table = gauged();
    gauge_all(&mut table);
    let stations = table.bench.job().unwrap().present().unwrap().places.len();
    for turn in 1..=2 {
        table.ask(choose(Work::GaugeAgain, None)).unwrap();
        let first = if turn == 1 { 180.0 } else { 0.0 };
        assert_eq!(table.next(), drive(first));
        let mut sends = 0;
        while table.next().is_some() {
            let event = table.send("bore-gauge", 45.975);
            assert!(matches!(event.body, Body::Reading { .. }), "{event:?}");
            sends += 1;
        }
        assert_eq!(sends, turn * stations / 2, "of this bore alone");
        let section = table.numbers.sections(Phase::AsFound).next().unwrap();
        assert_eq!(section.numbers.readings, 6 << turn);
        assert_eq!(Numbers::of(table.bench.job().unwrap()), table.numbers);
    }
    let Some((bore, angle)) = ({
        table.ask(Command::Undo {}).unwrap();
        table.next()
    }) else {
        panic!("what was taken back is to do again")
    };
    assert_eq!((bore.as_str(), angle), ("drive side", 330.0));
    table.send("bore-gauge", 45.975);
    assert_eq!(table.next(), None);
    // Of other work nothing is to be gauged.
    table.ask(choose(Work::Bond, Some("gap filler"))).unwrap();
    assert_eq!(table.next(), None);
}
