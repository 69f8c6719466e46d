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
