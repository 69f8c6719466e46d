//! A bore of the seat that was not gauged.

use super::*;
use crate::fit::AtFault;
use crate::uncertainty::Decision;

fn opened() -> Table {
    let mut table = Table::empty();
    for command in [
        r#"{"command":"set_ring","gauge":"bore-gauge","ring_mm":46,"ring_uncertainty_mm":0.001}"#,
        r#"{"command":"open_job","part":"cargo tricycle","seat":"pressfit-46","plan":"standard"}"#,
    ] {
        table.ask(serde_json::from_str(command).unwrap()).unwrap();
    }
    table
}

/// Gauges what is next while it is of one of these bores.
fn gauge(table: &mut Table, bores: &[&str], mm: f64) {
    while let Some(next) = table.next()
        && bores.contains(&next.0.as_str())
    {
        table.send("bore-gauge", mm);
    }
}

fn record(table: &Table) -> Record {
    let job = table.bench.job().unwrap();
    Record::of(job, Moment::now(), 99, &table.bench, &table.shop)
}

#[test]
fn a_part_with_a_bore_not_gauged_is_not_good() {
    let mut table = opened();
    gauge(&mut table, &["drive side"], 45.975);
    let found = record(&table);
    assert_eq!(found.phases[0].verdict, Some(Decision::CantTell));
    let examined = found.findings.unwrap().examined;
    assert_eq!(examined.not_gauged, ["non-drive side"]);
    assert_eq!(examined.diagnosis.at_fault, AtFault::CantTell);
    gauge(&mut table, &["non-drive side"], 45.975);
    let found = record(&table);
    assert_eq!(found.phases[0].verdict, Some(Decision::Conforms));
    assert_eq!(
        found.findings.unwrap().diagnosis().at_fault,
        AtFault::Neither
    );
}

#[test]
fn as_left_is_open_until_every_bad_bore_was_gauged_again() {
    let mut table = opened();
    gauge(&mut table, &["drive side", "non-drive side"], 45.900);
    let to = Phase::AsLeft;
    table.ask(Command::SetPhase { phase: to }).unwrap();
    gauge(&mut table, &["drive side"], 45.975);
    let left = record(&table);
    assert_eq!(left.phases[1].verdict, Some(Decision::CantTell));
    let outcomes = left.findings.unwrap().outcomes;
    let accepted: Vec<Decision> = outcomes.iter().map(|one| one.accepted).collect();
    assert_eq!(accepted, [Decision::Conforms, Decision::CantTell]);
    assert_eq!(outcomes[1].why, ["non-drive side was not gauged as left"]);
    gauge(&mut table, &["non-drive side"], 45.975);
    assert_eq!(record(&table).phases[1].verdict, Some(Decision::Conforms));
}

/// What was good as found need not be gauged again.
#[test]
fn as_left_asks_for_no_bore_that_was_good() {
    let mut table = opened();
    gauge(&mut table, &["drive side"], 45.900);
    gauge(&mut table, &["non-drive side"], 45.975);
    let to = Phase::AsLeft;
    table.ask(Command::SetPhase { phase: to }).unwrap();
    gauge(&mut table, &["drive side"], 45.975);
    let left = record(&table);
    assert_eq!(left.phases[1].verdict, Some(Decision::Conforms));
    assert_eq!(left.findings.unwrap().outcomes.len(), 1);
}

/// A good bore as left that was never gauged as found is good, and nothing is read into what changed.
#[test]
fn a_bore_not_gauged_as_found_is_compared_with_nothing() {
    let mut table = opened();
    gauge(&mut table, &["drive side"], 45.900);
    let to = Phase::AsLeft;
    table.ask(Command::SetPhase { phase: to }).unwrap();
    gauge(&mut table, &["drive side", "non-drive side"], 45.975);
    let outcomes = record(&table).findings.unwrap().outcomes;
    let [drive, other] = &outcomes[..] else {
        panic!("{outcomes:?}");
    };
    assert_eq!(drive.not_compared, None);
    assert_eq!(other.accepted, Decision::Conforms);
    assert!(other.changes.is_empty());
    let why = other.not_compared.as_deref().unwrap();
    assert!(why.starts_with("non-drive side was not gauged as found"));
    assert!(crate::display::Language::De.told(why).is_some(), "{why}");
}

/// The seat is 12 mm long.
#[test]
fn no_depth_behind_the_seat_is_gone_to() {
    let mut table = opened();
    let go = |depth_mm| Command::GoTo {
        bore: "drive side".into(),
        depth_mm,
        angle_deg: 0.0,
    };
    assert!(table.ask(go(12.0)).is_ok());
    let refused = table.ask(go(40.0)).unwrap_err().0;
    assert!(refused.contains("12 mm long"), "{refused}");
}
