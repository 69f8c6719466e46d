//! A hang test with an angle gauge on the arm.

use super::*;
use crate::fit::pendulum::Mass;
use crate::units::Angle;

fn hung() -> Table {
    let mut table = Table::with_job();
    let traits = Traits {
        role: Role::Angle,
        sends: Sends::Angle { signed: true },
        resolution_mm: 0.05,
        ..gauges::typed(crate::bore::Contact::TwoPoint)
    };
    table.shop.gauges.insert("angle-gauge".into(), traits);
    table
}

fn begin() -> Command {
    Command::BeginHang {
        fitted: true,
        masses: vec![Mass {
            mass_kg: 0.25,
            centre_mm: 120.0,
        }],
        known: None,
    }
}

fn turn(table: &mut Table, deg: f64) {
    let raw = Raw(format!("{deg:+07.2} deg").into_bytes());
    let (gauge, value) = ("angle-gauge", Angle::from_deg(deg).unwrap());
    let here = (gauge, Moment::now());
    let draft = table.bench.angle(&table.shop, here, &raw, value, deg);
    table.record(draft);
}

fn gathered(table: &Table) -> Vec<f64> {
    let hang = table.bench.job().unwrap().hang.as_ref().unwrap();
    hang.turns.iter().map(|turn| turn.shown_deg).collect()
}

/// Turning points of m 0.25 kg at 120 mm with 0.0060 N·m, scipy (`fixtures/fit/pendulum.json`), with
/// straight down shown as 3°.
#[test]
fn a_swing_is_gathered_undone_and_ended() {
    let mut table = hung();
    let known = Calibration {
        serial: Some("A-12".to_owned()),
        ..Calibration::default()
    };
    let body = Body::GaugeOpened {
        gauge: "angle-gauge".to_owned(),
        port: "/dev/ttyUSB0".to_owned(),
        calibration: Some(known.clone()),
    };
    let (at, of) = (Moment::now(), table.bench.header());
    table.record(Draft { at, of, body });
    turn(&mut table, 12.0);
    table.ask(begin()).unwrap();
    let (signs, zero) = ([1.0, -1.0], 3.0);
    let turning = [60.0, 57.199_407, 54.446_900, 51.738_348, 49.070_023];
    // Lifted in two goes, then let go.
    for deg in [20.0, 15.0] {
        turn(&mut table, deg);
    }
    for (deg, sign) in turning.into_iter().zip(signs.into_iter().cycle()) {
        turn(&mut table, zero + sign * deg);
    }
    assert_eq!(
        gathered(&table).len(),
        4,
        "where it was let go is the hand's"
    );
    turn(&mut table, 31.0);
    table.ask(Command::Undo {}).unwrap();
    assert_eq!(gathered(&table).len(), 4);
    let typed = Command::HangTest {
        fitted: true,
        test: table.bench.job().unwrap().hang.as_ref().unwrap().test(),
    };
    assert!(table.ask(typed).unwrap_err().0.contains("under way"));
    table.ask(Command::EndHang {}).unwrap();
    let job = table.bench.job().unwrap();
    let HangView {
        friction,
        gauge,
        calibration,
        ..
    } = job.hang_tests[0].clone();
    assert_eq!(gauge.as_deref(), Some("angle-gauge"));
    assert_eq!(calibration, Some(known), "it goes into the record");
    assert!((friction.torque_nm - 0.006).abs() < 1e-8, "{friction:?}");
    assert!(job.hang.is_none() && job.newest_step().is_none());
    let mut replayed = Bench::default();
    for event in &table.events {
        let line = serde_json::to_string(event).unwrap();
        replayed.apply(&serde_json::from_str(&line).unwrap());
    }
    assert_eq!(replayed, table.bench);
}

#[test]
fn what_gives_no_friction_is_refused_with_what_to_do() {
    let mut table = Table::with_job();
    let refused = |table: &mut Table, command| table.ask(command).unwrap_err().0;
    assert!(refused(&mut table, begin()).contains("role `angle`"));
    let mut table = hung();
    assert!(refused(&mut table, Command::EndHang {}).contains("begin_hang"));
    table.ask(begin()).unwrap();
    assert!(refused(&mut table, begin()).contains("cancel_hang"));
    for deg in [60.0, -57.2] {
        turn(&mut table, deg);
    }
    assert!(refused(&mut table, Command::EndHang {}).contains("let it swing on"));
    table.ask(Command::CancelHang {}).unwrap();
    assert!(table.bench.job().unwrap().hang.is_none());
    let ring = Command::BeginRing {
        gauge: "angle-gauge".into(),
    };
    assert!(refused(&mut table, ring).contains("states angles"));
}

/// What an arm of 0.25 kg at 120 mm shows that stays at the first of `deg` and slips at the second.
fn stayed(fitted: bool, deg: [f64; 2]) -> Command {
    let test = HangTest {
        masses: vec![Mass {
            mass_kg: 0.25,
            centre_mm: 120.0,
        }],
        stays_deg: vec![deg[0]],
        slips_deg: vec![deg[1]],
        turning_deg: vec![],
        shown_deg: vec![],
        known: Default::default(),
    };
    Command::HangTest { fitted, test }
}

/// The repaired part turns freely: that is no news of what was the matter with it.
#[test]
fn a_test_as_left_does_not_rewrite_what_was_found() {
    let mut table = Table::with_job();
    while table.next().is_some() {
        table.send("bore-gauge", 45.975);
    }
    let diagnosis = |table: &Table| {
        let findings = Following::of(&table.bench, &table.shop).findings.unwrap();
        findings.diagnosis().clone()
    };
    let untested = diagnosis(&table);
    table.ask(stayed(true, [9.0, 11.0])).unwrap();
    table.ask(stayed(false, [2.0, 3.0])).unwrap();
    let found = diagnosis(&table);
    assert_ne!(found, untested);
    let left = Command::SetPhase {
        phase: Phase::AsLeft,
    };
    table.ask(left).unwrap();
    table.ask(stayed(true, [2.0, 3.0])).unwrap();
    assert_eq!(diagnosis(&table), found);
    // The bearing is free only once it is out, which may be after the work.
    let mut late = Table::with_job();
    while late.next().is_some() {
        late.send("bore-gauge", 45.975);
    }
    late.ask(stayed(true, [9.0, 11.0])).unwrap();
    let left = Command::SetPhase {
        phase: Phase::AsLeft,
    };
    late.ask(left).unwrap();
    late.ask(stayed(false, [2.0, 3.0])).unwrap();
    assert_eq!(diagnosis(&late), found);
}

/// The arm of `stayed` by hand: 0.25 x 9.80665 x 0.12 N·m x sin 10° = 0.0511 N·m at 10°; its swing from
/// 60° to 57.199° is one of 0.0060 N·m (scipy, as above).
#[test]
fn a_swing_that_the_arm_at_rest_contradicts_is_no_test() {
    let test = |stays_deg: Vec<f64>, slips_deg: Vec<f64>| HangTest {
        masses: vec![Mass {
            mass_kg: 0.25,
            centre_mm: 120.0,
        }],
        stays_deg,
        slips_deg,
        turning_deg: vec![60.0, 57.199_407, 54.446_900, 51.738_348],
        shown_deg: vec![],
        known: Default::default(),
    };
    for (test, shows) in [
        (
            test(vec![10.0], vec![]),
            "a friction of at least 0.0511 N·m, but its swing shows 0.0060",
        ),
        (test(vec![10.0], vec![12.0]), "at least 0.0511"),
        (test(vec![], vec![0.05]), "less than 0.0003"),
    ] {
        let mut test = test;
        test.known.angle_deg = 0.1;
        let why = test.friction().unwrap_err().to_string();
        assert!(why.contains(shows), "{why}");
        let mut table = Table::with_job();
        let refused = table.ask(Command::HangTest { fitted: true, test });
        assert_eq!(refused.unwrap_err().0, why);
    }
    for agrees in [
        test(vec![1.0], vec![]),
        test(vec![1.0], vec![1.5]),
        test(vec![], vec![2.0]),
    ] {
        assert!((agrees.friction().unwrap().torque_nm - 0.006).abs() < 1e-6);
    }
}
