//! The bench as a person uses it, without a gauge, a disk or a clock.

mod left_out;
mod studied;

use proptest::prelude::*;
use uuid::Uuid;

use super::*;
use crate::gauge::Raw;
use crate::units::{Length, Moment};

/// A bench with its events, as the daemon keeps them.
struct Table {
    bench: Bench,
    shop: Shop,
    events: Vec<Event>,
    numbers: Numbers,
}

impl Table {
    fn empty() -> Self {
        let bore = Traits {
            bounce: None,
            ..gauges::typed()
        };
        let comparator = Traits {
            sends: Sends::Deviation { sign: -1.0 },
            ..bore.clone()
        };
        let caliper = Traits {
            role: Role::Insert,
            ..bore.clone()
        };
        let gauges = Gauges::from([
            ("bore-gauge".into(), bore),
            ("comparator".into(), comparator),
            ("caliper".into(), caliper),
        ]);
        Self {
            bench: Bench::default(),
            shop: Shop {
                seats: Seats::built_in(),
                gauges,
                workshop: Default::default(),
            },
            events: vec![],
            numbers: Numbers::default(),
        }
    }

    fn with_job() -> Self {
        let mut table = Self::empty();
        table
            .ask(Command::OpenJob {
                part: "cargo tricycle".into(),
                seat: "pressfit-46".into(),
                plan: PlanKind::Quick,
                material: None,
                wall_mm: None,
            })
            .unwrap();
        table
    }

    fn record(&mut self, draft: Draft) -> &Event {
        let event = draft.numbered(self.bench.last_seq + 1);
        self.bench.apply(&event);
        self.numbers
            .changed(&self.bench, std::slice::from_ref(&event));
        self.events.push(event);
        self.events.last().unwrap()
    }

    fn ask(&mut self, command: Command) -> Result<&Event, Refusal> {
        let fresh = JobId(Uuid::from_u128(u128::from(self.bench.last_seq) + 1));
        let draft = self
            .bench
            .command(&self.shop, &command, Moment::now(), fresh)?;
        Ok(self.record(draft))
    }

    fn send(&mut self, gauge: &str, mm: f64) -> &Event {
        let raw = Raw(format!("{mm:.3}").into_bytes());
        let value = Length::from_mm(mm).unwrap();
        let draft = self
            .bench
            .reading(&self.shop, gauge, Moment::now(), &raw, value);
        self.record(draft)
    }

    fn next(&self) -> Option<(String, f64)> {
        self.bench
            .job()?
            .next()
            .map(|station| (station.bore.clone(), station.angle_deg))
    }
}

fn drive(angle: f64) -> Option<(String, f64)> {
    Some(("drive side".to_owned(), angle))
}

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

#[test]
fn a_comparator_is_a_difference_until_it_is_set_in_the_ring() {
    let mut table = Table::with_job();
    let event = table.send("comparator", -0.03).clone();
    let Body::Reading {
        corrected_mm,
        deviation_mm,
        ..
    } = event.body
    else {
        panic!()
    };
    assert_eq!((corrected_mm, deviation_mm), (None, Some(0.03)));
    let ring = Command::SetRing {
        gauge: "comparator".into(),
        ring_mm: 46.0,
        shown_mm: None,
        ring_uncertainty_mm: None,
        ring_due: None,
    };
    assert_eq!(table.ask(ring).unwrap().job, None);
    let event = table.send("comparator", 0.04).clone();
    let Body::Reading {
        corrected_mm,
        size_set,
        ..
    } = event.body
    else {
        panic!()
    };
    assert_eq!((corrected_mm, size_set), (Some(45.96), true));
}

#[test]
fn many_jobs_are_open_and_one_is_on_the_bench() {
    let mut table = Table::with_job();
    let first = table.bench.on_bench.unwrap();
    table.send("bore-gauge", 45.96);
    let open = |part: &str| Command::OpenJob {
        part: part.into(),
        seat: "pressfit-41".into(),
        plan: PlanKind::Seat,
        material: None,
        wall_mm: None,
    };
    assert!(
        table
            .ask(open("second"))
            .unwrap_err()
            .0
            .contains("cargo tricycle")
    );
    table.ask(Command::PutAside {}).unwrap();
    table.ask(open("second")).unwrap();
    table.ask(Command::CloseJob {}).unwrap();
    table.ask(Command::TakeUp { job: first }).unwrap();
    assert_eq!(table.next(), drive(45.0));
    assert_eq!(table.bench.jobs.len(), 1);
}

#[test]
fn what_cannot_be_is_refused_by_name() {
    let mut table = Table::with_job();
    let refused = |table: &mut Table, command| table.ask(command).unwrap_err().0;
    let go = |bore: &str, depth_mm, angle_deg| Command::GoTo {
        bore: bore.into(),
        depth_mm,
        angle_deg,
    };
    assert!(refused(&mut table, go("left", 1.0, 0.0)).contains("drive side"));
    assert!(refused(&mut table, go("drive side", f64::NAN, 0.0)).contains("depth"));
    assert!(refused(&mut table, go("drive side", 1.0, 360.0)).contains("[0, 360)"));
    let ring = |ring_mm, shown_mm| Command::SetRing {
        gauge: "bore-gauge".into(),
        ring_mm,
        shown_mm,
        ring_uncertainty_mm: None,
        ring_due: None,
    };
    assert!(refused(&mut table, ring(0.0, None)).contains("greater than 0"));
    assert!(refused(&mut table, ring(46.0, Some(1.811))).contains("unit"));
    assert!(
        refused(
            &mut table,
            Command::TypeReading {
                text: "wide".into()
            }
        )
        .contains("such as")
    );
}

#[test]
fn the_numbers_of_an_egged_bore_follow_the_sends() {
    let mut table = Table::with_job();
    let ring = Command::SetRing {
        gauge: "bore-gauge".into(),
        ring_mm: 46.0,
        shown_mm: Some(46.0),
        ring_uncertainty_mm: Some(0.001),
        ring_due: None,
    };
    table.ask(ring).unwrap();
    for mm in [45.90, 45.95, 46.00, 45.95] {
        table.send("bore-gauge", mm);
    }
    let section = table.numbers.sections(Phase::AsFound).next().unwrap();
    assert_eq!(section.numbers.stations, 4);
    assert!((section.numbers.out_of_round_mm.unwrap() - 0.1).abs() < 1e-9);
    // Common practice, no source: at 90 degrees to a tight axis lies the long axis.
    let oval = section.numbers.oval.unwrap();
    assert!(
        oval.tight_axis_deg
            .unwrap()
            .min(180.0 - oval.tight_axis_deg.unwrap())
            < 1e-6
    );
    assert!((oval.long_axis_deg.unwrap() - 90.0).abs() < 1e-6);
    assert_eq!(section.verdict.form.decision, Decision::DoesNotConform);
    assert!(section.numbers.unseen_lobes.contains("odd"));
    table.ask(Command::Undo {}).unwrap();
    let section = table.numbers.sections(Phase::AsFound).next().unwrap();
    assert_eq!(section.numbers.stations, 3);
}

fn any_input() -> impl Strategy<Value = (u8, f64)> {
    (
        0_u8..16,
        prop_oneof![45.9_f64..46.1, Just(1.81), -0.1_f64..0.1],
    )
}

proptest! {
    /// A restart is a replay: folding the journal gives the state that folding live gave, after
    /// any sequence of readings and commands, and undoing everything never leaves the plan.
    #[test]
    fn state_from_replay_equals_live_state(inputs in prop::collection::vec(any_input(), 1..120)) {
        let mut table = Table::with_job();
        for (choice, mm) in inputs {
            let _ = match choice {
                0 => table.ask(Command::Undo {}).is_ok(),
                1 => table.ask(Command::Skip {}).is_ok(),
                2 => table.ask(Command::GoTo { bore: "drive side".into(), depth_mm: 6.0, angle_deg: mm.abs() }).is_ok(),
                3 => table.ask(Command::SecondTurn {}).is_ok(),
                4 => table.ask(Command::SetPhase { phase: Phase::AsLeft }).is_ok(),
                5 => table.ask(Command::SetPhase { phase: Phase::AsFound }).is_ok(),
                6 => table.ask(Command::PutAside {}).is_ok(),
                7 => match table.bench.jobs.keys().next().copied() {
                    Some(job) => table.ask(Command::TakeUp { job }).is_ok(),
                    None => false,
                },
                8 => table.ask(Command::Note { text: "seen".into() }).is_ok(),
                9 => table.ask(Command::TypeReading { text: format!("{mm:.3}") }).is_ok(),
                10 => { table.send("comparator", mm); true }
                11 => { table.send("caliper", mm); true }
                _ => { table.send("bore-gauge", mm); true }
            };
        }
        let mut replayed = Bench::default();
        for event in &table.events {
            let line = serde_json::to_string(event).unwrap();
            replayed.apply(&serde_json::from_str(&line).unwrap());
        }
        prop_assert_eq!(&replayed, &table.bench);
        // Numbers kept up to date reading by reading are the numbers of the whole.
        let whole = table.bench.job().map(Numbers::of).unwrap_or_default();
        prop_assert_eq!(&whole, &table.numbers);
        let counted = table.bench.jobs.values().next().unwrap().work.values()
            .flat_map(|work| &work.places).map(|place| place.readings.len()).sum::<usize>();
        let placed = table.events.iter()
            .filter(|event| matches!(event.body, Body::Reading { station: Some(_), .. })).count();
        prop_assert!(counted <= placed);
    }
}

#[test]
fn drift_found_at_the_re_check_is_shared_out_by_time() {
    let mut table = Table::with_job();
    let at = |seconds: i64| Moment(jiff::Timestamp::from_second(1_800_000_000 + seconds).unwrap());
    let ring = Command::SetRing {
        gauge: "bore-gauge".into(),
        ring_mm: 46.0,
        shown_mm: Some(46.001),
        ring_uncertainty_mm: Some(0.001),
        ring_due: None,
    };
    let fresh = JobId(Uuid::from_u128(9));
    let draft = table
        .bench
        .command(&table.shop, &ring, at(0), fresh)
        .unwrap();
    table.record(draft);
    for (seconds, mm) in [(100, 45.961), (200, 45.962), (300, 45.963), (400, 45.964)] {
        let value = Length::from_mm(mm).unwrap();
        let raw = Raw(Vec::new());
        let draft = table
            .bench
            .reading(&table.shop, "bore-gauge", at(seconds), &raw, value);
        table.record(draft);
    }
    let section = |table: &Table| {
        table
            .numbers
            .sections(Phase::AsFound)
            .next()
            .unwrap()
            .clone()
    };
    let before = section(&table);
    assert!(!before.revised);
    // 45.960, 45.961, 45.962, 45.963 by the ring: a gauge that drifts 0.004 mm in 400 s.
    assert!((before.numbers.mean_diameter_mm.unwrap() - 45.9615).abs() < 1e-9);
    let check = Command::CheckRing {
        gauge: "bore-gauge".into(),
        shown_mm: 46.005,
    };
    let draft = table
        .bench
        .command(&table.shop, &check, at(400), fresh)
        .unwrap();
    table.record(draft);
    let after = section(&table);
    assert!(after.revised);
    assert!((after.numbers.mean_diameter_mm.unwrap() - 45.959).abs() < 1e-9);
    assert!(
        after.numbers.out_of_round_mm.unwrap() < 1e-9,
        "it was the gauge"
    );
    let u = |section: &SectionNumbers| section.numbers.uncertainty["mean_diameter_mm"].standard;
    assert!(
        u(&after) > 0.001,
        "the course of the drift is not known: {}",
        u(&after)
    );
}

/// ISO 1 by hand from D20 = [46 (1 + 12.5e-6 ΔTr) + d] / (1 + 23.6e-6 ΔTp): ring and part at 26 °C,
/// 45.963 shown by a gauge set to 46.000: d = −0.037, so D20 = 45.963 x … = 45.95994 mm.
#[test]
fn sizes_are_given_at_20_c_once_material_and_temperatures_are_known() {
    let mut table = Table::empty();
    let ring = Command::SetRing {
        gauge: "bore-gauge".into(),
        ring_mm: 46.0,
        shown_mm: None,
        ring_uncertainty_mm: None,
        ring_due: None,
    };
    table.ask(ring).unwrap();
    table
        .ask(Command::OpenJob {
            part: "an aluminium shell".into(),
            seat: "pressfit-46".into(),
            plan: PlanKind::Quick,
            material: Some(crate::fit::Material::Aluminium),
            wall_mm: None,
        })
        .unwrap();
    for _ in 0..4 {
        table.send("bore-gauge", 45.963);
    }
    let mean = |table: &Table| {
        let section = table.numbers.sections(Phase::AsFound).next().unwrap();
        (
            section.numbers.mean_diameter_mm.unwrap(),
            section.numbers.uncertainty["mean_diameter_mm"].standard,
        )
    };
    let (warm, warm_u) = mean(&table);
    assert!((warm - 45.963).abs() < 1e-9);
    table
        .ask(Command::SetTemperature {
            part_c: 26.0,
            ring_c: None,
            within_k: 1.0,
        })
        .unwrap();
    let expected = (46.0 * (1.0 + 12.5e-6 * 6.0) - 0.037) / (1.0 + 23.6e-6 * 6.0);
    let (at_20, at_20_u) = mean(&table);
    assert!(
        (at_20 - expected).abs() < 1e-9,
        "{at_20}, expected {expected}"
    );
    assert!(
        at_20_u > warm_u,
        "a temperature known to 1 K adds to the uncertainty"
    );
    let outside = Command::SetTemperature {
        part_c: 80.0,
        ring_c: None,
        within_k: 1.0,
    };
    assert!(table.ask(outside).unwrap_err().0.contains("°C"));
}

/// Common practice, no source: a bearing that is tight when pressed in and free when out has a bad
/// seat; a reamer takes nothing where the bore is at size.
#[test]
fn findings_follow_a_complete_section_and_what_is_said_of_the_part() {
    let mut table = Table::empty();
    let reamer = crate::fit::plan::Reamer {
        name: "46 mm".into(),
        diameter_mm: 45.985,
        greatest_stock_mm: 0.2,
        past_cuts_mm: vec![],
    };
    table.shop.workshop.reamers.push(reamer);
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
        },
        Command::SetEvidence {
            evidence: crate::fit::Evidence {
                runs_tight: Some(true),
                free_once_out: Some(true),
                ..Default::default()
            },
        },
        Command::SetInsert {
            insert: crate::fit::InsertAsked {
                cup: Some(crate::fit::Material::Aluminium),
                bearing: Some("30x42x7".parse().unwrap()),
                outside_mm: Some(46.0),
                ..Default::default()
            },
        },
    ] {
        table.ask(command).unwrap();
    }
    // The cup measured by the gauge whose role that is counts, not what was typed.
    for mm in [46.003, 46.005] {
        table.send("caliper", mm);
    }
    let egg = |angle: f64| 45.93 + 0.05 * (2.0 * (angle - 125.0).to_radians()).cos();
    while let Some((bore, angle)) = table.next() {
        let mm = if bore == "drive side" {
            egg(angle)
        } else {
            45.975
        };
        table.send("bore-gauge", mm);
        table.send("caliper", 46.004);
        table.ask(Command::Undo {}).unwrap();
    }
    let following = Following::of(&table.bench, &table.shop);
    let findings = following.findings.clone().unwrap();
    assert_eq!(findings.diagnosis().at_fault, crate::fit::AtFault::Seat);
    let drive = &findings.examined.bores[0];
    assert!((drive.fit.as_ref().unwrap().insert_mm - 46.004).abs() < 1e-9);
    assert_eq!(
        drive.plan.advice,
        crate::fit::plan::Work::Ream,
        "{}",
        drive.plan.why
    );
    assert!(
        findings.outcomes.is_empty(),
        "nothing is gauged as left yet"
    );

    let chosen = Command::Choose {
        bore: "drive side".into(),
        work: crate::fit::plan::Work::Ream,
        with: Some("46 mm".into()),
    };
    table.ask(chosen).unwrap();
    table
        .ask(Command::Tick {
            step: "ream".into(),
        })
        .unwrap();
    assert!(
        table
            .ask(Command::Tick {
                step: "ream".into()
            })
            .is_err()
    );
    table
        .ask(Command::SetPhase {
            phase: Phase::AsLeft,
        })
        .unwrap();
    while let Some((bore, angle)) = table.next() {
        let mm = if bore == "drive side" {
            egg(angle).max(45.985)
        } else {
            45.975
        };
        table.send("bore-gauge", mm);
    }
    let findings = Following::of(&table.bench, &table.shop).findings.unwrap();
    assert_eq!(findings.outcomes.len(), 2);
    let drive = &findings.outcomes[0];
    assert_eq!(drive.accepted, Decision::Conforms, "{:?}", drive.why);
    assert!(
        drive.preview.unwrap().held,
        "the reamer left what the preview said"
    );

    let job = table.bench.job().unwrap();
    let record = Record::of(
        job,
        Moment::now(),
        table.bench.last_seq,
        &table.bench,
        &table.shop,
    );
    assert_eq!(record.learned_cuts.len(), 1, "the reamer cut all round");
    assert!(record.learned_cuts[0].cut_mm.abs() < 1e-3);
    assert_eq!(record.ticked, ["ream"]);
    let json = serde_json::to_string(&record).unwrap();
    assert_eq!(
        serde_json::from_str::<Record>(&json)
            .unwrap()
            .findings
            .unwrap()
            .outcomes
            .len(),
        2
    );
}

/// A 0.25 kg arm, 120 mm to its centre of mass, from 60° to 57.199407192°: 0.0060 N·m by
/// T = m g r (cos θ₁ − cos θ₀)/(θ₀ + θ₁), checked against an integration with scipy.
#[test]
fn a_hang_test_is_recorded_with_the_friction_that_it_shows() {
    let mut table = Table::with_job();
    let test = HangTest {
        masses: vec![crate::fit::pendulum::Mass {
            mass_kg: 0.25,
            centre_mm: 120.0,
        }],
        stays_deg: vec![],
        slips_deg: vec![],
        turning_deg: vec![60.0, 57.199_407_192],
    };
    let event = table.ask(Command::HangTest { fitted: true, test }).unwrap();
    let Body::HangTested { friction, .. } = &event.body else {
        panic!()
    };
    assert!((friction.torque_nm - 0.006).abs() < 1e-9);
    let nothing = HangTest {
        masses: vec![],
        stays_deg: vec![],
        slips_deg: vec![],
        turning_deg: vec![],
    };
    assert!(
        table
            .ask(Command::HangTest {
                fitted: true,
                test: nothing
            })
            .is_err()
    );
}
