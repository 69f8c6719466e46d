//! What undo takes back, and that a restart is a replay.

use proptest::prelude::*;

use super::*;

#[test]
fn undo_takes_back_one_step_at_a_time() {
    let mut table = Table::with_job();
    table.send("bore-gauge", 45.96);
    table.ask(Command::Skip {}).unwrap();
    table
        .ask(Command::GoTo {
            bore: "drive side".into(),
            depth_mm: 6.0,
            angle_deg: 10.0,
        })
        .unwrap();
    table.send("bore-gauge", 45.95);
    table
        .ask(Command::Note {
            text: "burr at the face".into(),
        })
        .unwrap();
    let before: Vec<_> =
        std::iter::from_fn(|| table.ask(Command::Undo {}).is_ok().then(|| table.next())).collect();
    assert_eq!(
        before,
        [
            drive(90.0),
            drive(10.0),
            drive(90.0),
            drive(45.0),
            drive(0.0)
        ]
    );
    let fresh = Table::with_job();
    let (undone, never) = (table.bench.job().unwrap(), fresh.bench.job().unwrap());
    assert_eq!(undone.work, never.work);
    assert!(undone.notes.is_empty());
    assert!(table.ask(Command::Undo {}).is_err());
}

fn any_input() -> impl Strategy<Value = (u8, f64)> {
    (
        0_u8..16,
        prop_oneof![45.9_f64..46.1, Just(1.81), -0.1_f64..0.1],
    )
}

/// A restart is a replay: folding the journal gives the state that folding live gave, after any
/// sequence of readings and commands, and undoing everything never leaves the plan.
fn replays(inputs: &[(u8, f64)]) {
    let mut table = Table::with_job();
    for &(choice, mm) in inputs {
        ask(&mut table, choice, mm);
    }
    let mut replayed = Bench::default();
    for event in &table.events {
        let line = serde_json::to_string(event).unwrap();
        replayed.apply(&serde_json::from_str(&line).unwrap());
    }
    assert_eq!(replayed, table.bench);
    // Numbers kept up to date reading by reading are the numbers of the whole.
    let whole = table.bench.job().map(Numbers::of).unwrap_or_default();
    assert_eq!(whole, table.numbers);
    let counted = (table.bench.jobs.values().next().unwrap().work.values())
        .flat_map(|work| &work.places)
        .map(|place| place.readings.len())
        .sum::<usize>();
    let is_placed = |body: &Body| {
        matches!(
            body,
            Body::Reading {
                station: Some(_),
                ..
            }
        )
    };
    let placed = (table.events.iter())
        .filter(|event| is_placed(&event.body))
        .count();
    assert!(counted <= placed);
}

/// Whether it is accepted does not matter here.
fn ask(table: &mut Table, choice: u8, mm: f64) {
    let command = match choice {
        0 => Command::Undo {},
        1 => Command::Skip {},
        2 => Command::GoTo {
            bore: "drive side".into(),
            depth_mm: 6.0,
            angle_deg: mm.abs(),
        },
        3 => Command::SecondTurn {},
        4 => Command::SetPhase {
            phase: Phase::AsLeft,
        },
        5 => Command::SetPhase {
            phase: Phase::AsFound,
        },
        6 => Command::PutAside {},
        7 => match table.bench.jobs.keys().next().copied() {
            Some(job) => Command::TakeUp { job },
            None => return,
        },
        8 => Command::Note {
            text: "seen".into(),
        },
        9 => Command::TypeReading {
            text: format!("{mm:.3}"),
        },
        10 => {
            table.send("comparator", mm);
            return;
        }
        11 => {
            table.send("caliper", mm);
            return;
        }
        12 => Command::Choose {
            bore: "drive side".into(),
            work: crate::fit::plan::Work::GaugeAgain,
            with: None,
        },
        _ => {
            table.send("bore-gauge", mm);
            return;
        }
    };
    let _ = table.ask(command);
}

#[test]
fn a_comparator_far_off_before_any_reading_replays() {
    replays(&[(0, 45.9), (10, 1.81)]);
}

proptest! {
    #[test]
    fn state_from_replay_equals_live_state(inputs in prop::collection::vec(any_input(), 1..120)) {
        replays(&inputs);
    }
}
