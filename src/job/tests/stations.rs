//! Stations: which reading fills which.

use super::*;

#[test]
fn each_send_fills_the_next_station() {
    let mut table = Table::with_job();
    assert_eq!(table.next(), drive(0.0));
    table.send("bore-gauge", 45.96);
    table.send("bore-gauge", 45.97);
    assert_eq!(table.next(), drive(90.0));
    for _ in 0..6 {
        table.send("bore-gauge", 45.97);
    }
    assert_eq!(table.next(), None);
    assert_eq!(table.bench.job().unwrap().present().unwrap().left(), 0);
    let refused = table.send("bore-gauge", 45.97);
    assert!(matches!(&refused.body, Body::ReadingRefused { why, .. } if why.contains("done")));
}

#[test]
fn a_refused_reading_leaves_its_station_to_do() {
    let mut table = Table::with_job();
    let refused = table.send("bore-gauge", 1.81);
    assert!(matches!(&refused.body, Body::ReadingRefused { why, .. } if why.contains("inches")));
    assert_eq!(table.next(), drive(0.0));
    assert!(table.bench.last_reading.is_some());
}

#[test]
fn a_station_gauged_again_keeps_both_readings() {
    let mut table = Table::with_job();
    table.send("bore-gauge", 45.96);
    table
        .ask(Command::GoTo {
            bore: "drive side".into(),
            depth_mm: 6.0,
            angle_deg: 0.0,
        })
        .unwrap();
    table.send("bore-gauge", 45.97);
    let place = &table.bench.job().unwrap().present().unwrap().places[0];
    assert_eq!(place.readings.len(), 2);
    assert_eq!(table.next(), drive(45.0));
}

#[test]
fn the_second_turn_meets_every_direction_from_its_twin_once() {
    let mut table = Table::with_job();
    for _ in 0..8 {
        table.send("bore-gauge", 45.96);
    }
    table.ask(Command::SecondTurn {}).unwrap();
    assert_eq!(table.next(), drive(180.0));
    assert!(table.ask(Command::SecondTurn {}).is_err());
}

#[test]
fn as_left_asks_for_the_same_stations_again() {
    let mut table = Table::with_job();
    table
        .ask(Command::GoTo {
            bore: "drive side".into(),
            depth_mm: 8.0,
            angle_deg: 10.0,
        })
        .unwrap();
    table
        .ask(Command::SetPhase {
            phase: Phase::AsLeft,
        })
        .unwrap();
    let job = table.bench.job().unwrap();
    assert_eq!(job.work[&Phase::AsLeft].places.len(), 9);
    assert_eq!(table.next(), drive(0.0));
    assert!(
        table
            .ask(Command::SetPhase {
                phase: Phase::AsLeft
            })
            .is_err()
    );
}

#[test]
fn without_a_job_a_reading_is_recorded_and_placed_nowhere() {
    let mut table = Table::empty();
    let event = table.send("bore-gauge", 12.0).clone();
    assert_eq!((event.job, event.phase), (None, None));
    assert!(matches!(event.body, Body::Reading { station: None, .. }));
    assert!(
        table
            .ask(Command::Skip {})
            .unwrap_err()
            .0
            .contains("open one")
    );
}

#[test]
fn a_caliper_measures_inserts_and_fills_no_station() {
    let mut table = Table::with_job();
    let event = table.send("caliper", 45.99);
    assert!(matches!(event.body, Body::Reading { station: None, .. }));
    assert_eq!(table.next(), drive(0.0));
}
