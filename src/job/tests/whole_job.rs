//! From the complaint to the record.

use super::*;

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
            yield_mpa: None,
            finish: None,
            service_c: None,
        },
        Command::SetEvidence {
            evidence: crate::job::EvidenceChange {
                runs_tight: Some(Some(true)),
                free_once_out: Some(Some(true)),
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
    // What can't belong to a 46 mm bore is asked for again before it blames the seat.
    let foreign = table.ask(Command::SetInsert {
        insert: crate::fit::InsertAsked {
            bearing: Some("6x13x5".parse().unwrap()),
            ..Default::default()
        },
    });
    let why = foreign.unwrap_err().to_string();
    assert!(
        why.contains("is not for a 46 mm bore: name the cup"),
        "{why}"
    );
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
        shown_deg: vec![],
        known: Default::default(),
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
        shown_deg: vec![],
        known: Default::default(),
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

/// What is said of the part when its job is opened stands in place of what its seat says, enters the
/// fit, and is refused where it can't be.
#[test]
fn yield_finish_and_service_of_the_part_reach_its_fit() {
    use crate::fit::{Finish, Material};
    let open = |yield_mpa, finish, service_c| Command::OpenJob {
        part: "cargo tricycle".into(),
        seat: "pressfit-42".into(),
        plan: PlanKind::Quick,
        material: Some(Material::Aluminium),
        wall_mm: Some(2.5),
        yield_mpa,
        finish,
        service_c,
    };
    let fit_of = |open: Command| {
        let mut table = Table::empty();
        let ring = Command::SetRing {
            gauge: "bore-gauge".into(),
            ring_mm: 42.0,
            shown_mm: None,
            ring_uncertainty_mm: Some(0.001),
            ring_due: None,
        };
        table.ask(ring).unwrap();
        table.ask(open).unwrap();
        while table.next().is_some() {
            table.send("bore-gauge", 41.980);
        }
        let findings = Following::of(&table.bench, &table.shop).findings;
        findings.unwrap().examined.bores[0].fit.clone().unwrap()
    };
    let plain = fit_of(open(None, None, None));
    assert!(plain.smoothing_mm.is_none() && plain.service.is_empty());
    assert_eq!(plain.below_yield, None);
    let stated = fit_of(open(Some(240.0), Some(Finish::Turned), Some((-10.0, 50.0))));
    // A turned seat loses 5 to 7 µm of its interference (bearing catalogue).
    let lost = stated.smoothing_mm.unwrap();
    assert_eq!((lost.least, lost.greatest), (0.005, 0.007));
    let at: Vec<f64> = stated.service.iter().map(|at| at.celsius).collect();
    assert_eq!(at, [-10.0, 50.0]);
    assert!(stated.below_yield.is_some());

    let mut table = Table::empty();
    let mut refused = |open: Command| table.ask(open).unwrap_err().0;
    assert!(refused(open(Some(0.0), None, None)).contains("yield strength"));
    assert!(refused(open(Some(f64::NAN), None, None)).contains("yield strength"));
    assert!(refused(open(None, None, Some((-80.0, 50.0)))).contains("-60 to 200"));
    // A command of before that says none of it opens a job all the same.
    let old = r#"{"command":"open_job","part":"x","seat":"pressfit-42","wall_mm":2.5}"#;
    table.ask(serde_json::from_str(old).unwrap()).unwrap();
}
