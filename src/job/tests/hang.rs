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
    let friction = job.hang_tests[0].friction;
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
