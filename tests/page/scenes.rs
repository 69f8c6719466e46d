//! States of the bench, each what a page may have to show.

use std::sync::Arc;

use borewright::bore::Contact;
use borewright::fit::pendulum::Mass;
use borewright::fit::plan::Work;
use borewright::job::{
    Command, EvidenceChange, GaugeStudy, HangTest, Phase, PlanKind, Role, Sends, Traits,
};

pub(crate) use crate::scene::Scene;

/// Nothing has happened yet.
pub(crate) fn empty() -> Scene {
    Scene::with_gauge(Contact::TwoPoint, Sends::Size)
}

/// No job on the bench, two put aside, one reading taken outside any job.
pub(crate) fn start() -> Scene {
    let mut scene = Scene::new();
    scene.open("Blue tandem, rear shell", "pressfit-46", PlanKind::Seat);
    scene.ask(Command::PutAside {});
    scene.open(
        "Hub of the hire fleet, number 7",
        "hub-17x30x7",
        PlanKind::Quick,
    );
    scene.ask(Command::PutAside {});
    scene.send(45.963);
    scene
}

/// The tricycle with so many stations gauged as found.
pub(crate) fn found(stations: usize) -> Scene {
    let mut scene = Scene::new();
    scene.open("Cargo tricycle, number 12", "pressfit-46", PlanKind::Seat);
    scene.gauge(stations)
}

/// A job just opened, with a word of the customer and the first evidence.
pub(crate) fn complaint() -> Scene {
    let mut scene = Scene::equipped();
    scene.ask(Command::SetEvidence {
        evidence: EvidenceChange {
            runs_tight: Some(Some(true)),
            free_once_out: Some(Some(true)),
            tight_towards_deg: Some(Some(30.0)),
            ..EvidenceChange::default()
        },
    });
    scene.ask(Command::Note {
        text: "Runs tight on: drive side".into(),
    });
    scene
}

/// The tricycle all gauged, in a shop that can mend it.
pub(crate) fn judged() -> Scene {
    let mut scene = complaint();
    scene.insert();
    scene.gauge(36)
}

/// The work chosen, its first step done.
pub(crate) fn at_work() -> Scene {
    let mut scene = judged();
    scene.choose("drive side", Work::Ream, Some("adjustable, set to 45.975"));
    scene.choose("non-drive side", Work::Press, None);
    scene.tick("ream");
    scene
}

/// Gauged again after the reamer.
pub(crate) fn mended() -> Scene {
    let mut scene = at_work();
    scene.ask(Command::SetPhase {
        phase: Phase::AsLeft,
    });
    scene.gauge(36)
}

/// Gauged again, the reamer 0.08 mm too large.
pub(crate) fn spoilt() -> Scene {
    let mut scene = at_work();
    scene.ask(Command::SetPhase {
        phase: Phase::AsLeft,
    });
    for _ in 0..36 {
        let mm = scene.diameter() + 0.08;
        scene.send(mm);
    }
    scene
}

/// Half way through the fitting.
pub(crate) fn fitting() -> Scene {
    let mut scene = mended();
    scene.ask(Command::HangTest {
        fitted: false,
        test: HangTest {
            masses: vec![Mass {
                mass_kg: 0.2,
                centre_mm: 85.0,
            }],
            stays_deg: vec![2.0],
            slips_deg: vec![3.0],
            turning_deg: vec![],
            shown_deg: vec![],
            known: Default::default(),
        },
    });
    scene.tick("clean");
    scene.tick("assembly");
    scene
}

/// All done but closing.
pub(crate) fn done() -> Scene {
    let mut scene = fitting();
    for step in ["square", "force", "spin"] {
        scene.tick(step);
    }
    scene
}

/// A gauge that is rocked, with no send button.
pub(crate) fn rocked() -> Scene {
    found(7).rocked()
}

/// The same after the reamer, so many stations gauged as left.
pub(crate) fn left(stations: usize) -> Scene {
    let mut scene = found(36);
    scene.ask(Command::SetPhase {
        phase: Phase::AsLeft,
    });
    scene.gauge(stations)
}

/// A reading that cannot belong.
pub(crate) fn refused() -> Scene {
    let mut scene = found(9);
    scene.send(12.305);
    scene
}

/// A gauge that sends what its form doesn't know, after nine good readings.
pub(crate) fn unreadable() -> Scene {
    let mut scene = found(9);
    scene.noise("bore-gauge");
    scene
}

/// The gauge's cable is out.
pub(crate) fn unplugged() -> Scene {
    let mut scene = found(13);
    scene.unplug(
        "bore-gauge",
        "/dev/ttyUSB0 is gone: plug the gauge in again, and it is taken up by itself",
    );
    scene
}

/// A comparator that was never set in a ring: differences only.
pub(crate) fn not_set() -> Scene {
    let mut scene = Scene::with_gauge(Contact::TwoPoint, Sends::Deviation { sign: -1.0 });
    scene.open("Cargo tricycle, number 12", "pressfit-46", PlanKind::Seat);
    for _ in 0..5 {
        let mm = scene.diameter();
        scene.send(46.0 - mm);
    }
    scene
}

/// A three-point gauge: no oval to be had.
pub(crate) fn three_point() -> Scene {
    let mut scene = Scene::with_gauge(Contact::ThreePoint, Sends::Size);
    scene.open("Cargo tricycle, number 12", "pressfit-46", PlanKind::Full);
    scene.gauge(12)
}

/// All gauged with it, and on each bore the only way on chosen.
pub(crate) fn three_point_all() -> Scene {
    let mut scene = three_point();
    let left = scene.bench.job().unwrap().present().unwrap().places.len() - 12;
    scene = scene.gauge(left);
    for bore in ["drive side", "non-drive side"] {
        scene.choose(bore, Work::GaugeAgain, None);
    }
    scene
}

/// Some stations skipped, one gauged twice, one chosen out of turn.
pub(crate) fn out_of_turn() -> Scene {
    let mut scene = found(3);
    scene.ask(Command::Skip {});
    let again = scene.bench.job().unwrap().present().unwrap().places[0]
        .station
        .clone();
    scene.ask(Command::GoTo {
        bore: again.bore,
        depth_mm: again.depth_mm,
        angle_deg: again.angle_deg,
    });
    scene
}

/// Words as long as people make them.
pub(crate) fn long_words() -> Scene {
    let mut scene = Scene::new();
    let part =
        "Grandmother’s Donaudampfschifffahrtstandem, second owner, frame number 00471199, green";
    scene.open(part, "pressfit-46", PlanKind::Full);
    let mut scene = scene.gauge(20);
    let traits = Traits {
        role: Role::Insert,
        ..scene.shop.gauges["bore-gauge"].clone()
    };
    scene
        .shop
        .gauges
        .insert(Arc::from("outside-micrometer-at-the-window"), traits);
    scene.unplug(
        "outside-micrometer-at-the-window",
        "permission denied on /dev/ttyACM0: add the user to group dialout, then log in again",
    );
    scene
}

/// A fine plan whose fourth reading is far from the others.
pub(crate) fn doubtful(stations: usize) -> Scene {
    let mut scene = Scene::new();
    scene.open("Cargo tricycle, number 12", "pressfit-46", PlanKind::Full);
    for station in 0..stations {
        let wild = if station == 3 { 0.04 } else { 0.0 };
        let mm = scene.diameter() + wild;
        scene.send(mm);
    }
    scene
}

/// Six directions, the third 0.03 mm off: too few to call it wild.
pub(crate) fn few() -> Scene {
    let mut scene = found(0);
    for mm in [45.975, 45.976, 46.005, 45.974, 45.976, 45.975] {
        scene.send(mm);
    }
    scene
}

/// As much as one screen has to hold: a suspect, two gauges, one of them with a ring out of date.
pub(crate) fn crowded(stations: usize) -> Scene {
    let mut scene = doubtful(stations);
    scene.ask(Command::SetRing {
        gauge: "bore-gauge".into(),
        ring_mm: 46.0,
        shown_mm: None,
        ring_uncertainty_mm: None,
        ring_due: serde_json::from_str("\"2024-05-31\"").unwrap(),
    });
    let traits = scene.shop.gauges["bore-gauge"].clone();
    scene.shop.gauges.insert(Arc::from("swing-gauge"), traits);
    scene.connect("swing-gauge");
    scene
}

/// That reading left out, all gauged.
pub(crate) fn left_out() -> Scene {
    let mut scene = doubtful(72);
    let seq = scene.suspect_seq();
    scene.ask(Command::DropReading { seq });
    scene
}

/// A gauge of which everything is known, its ring out of date.
pub(crate) fn known_gauge() -> Scene {
    let mut scene = refused();
    let gauge = || "bore-gauge".to_owned();
    scene.ask(Command::SetRing {
        gauge: gauge(),
        ring_mm: 46.0,
        shown_mm: Some(46.001),
        ring_uncertainty_mm: Some(0.0012),
        ring_due: serde_json::from_str("\"2024-05-31\"").unwrap(),
    });
    scene.ask(Command::CheckRing {
        gauge: gauge(),
        shown_mm: Some(46.003),
    });
    scene.ask(Command::SetStudy {
        gauge: gauge(),
        study: GaugeStudy {
            repeatability_mm: 0.0009,
            degrees_of_freedom: 24.0,
            readings: 25,
            parts: Some(1),
            bias_mm: Some(0.0003),
            reference_mm: Some(46.0),
            studied_at: serde_json::from_str("\"2026-03-02T09:00:00Z\"").unwrap(),
        },
    });
    scene
}

/// Half way through the fitting, hung once more after it: tighter than before.
pub(crate) fn hung() -> Scene {
    let mut scene = fitting();
    let hang = |stays_deg, slips_deg| HangTest {
        masses: vec![Mass {
            mass_kg: 0.2,
            centre_mm: 85.0,
        }],
        stays_deg,
        slips_deg,
        turning_deg: vec![],
        shown_deg: vec![],
        known: Default::default(),
    };
    scene.ask(Command::HangTest {
        fitted: true,
        test: hang(vec![6.0, 7.0, 6.5], vec![9.0, 8.5]),
    });
    scene
}

/// An indicator swept from an axis that lies 0.2 mm beside that of the bore.
pub(crate) fn swept() -> Scene {
    let mut scene = Scene::with_gauge(Contact::Radius, Sends::Deviation { sign: 1.0 });
    scene.open(
        "Hub of the hire fleet, number 7",
        "hub-17x30x7",
        PlanKind::Full,
    );
    for _ in 0..12 {
        let angle = scene
            .bench
            .job()
            .unwrap()
            .next()
            .unwrap()
            .angle_deg
            .to_radians();
        let beside = 0.2 * (angle - 1.0).cos();
        scene.send(beside + 0.004 * (2.0 * angle).cos());
    }
    scene
}

/// A bore a whole millimetre too large, and oval, gauged at two depths.
pub(crate) fn far() -> Scene {
    let mut scene = Scene::new();
    scene.open("Cargo tricycle, number 12", "pressfit-46", PlanKind::Seat);
    for _ in 0..12 {
        let mm = scene.diameter() + 1.0;
        scene.send(mm);
    }
    scene
}

/// A part of which nobody said what it is made of.
pub(crate) fn unknown_housing() -> Scene {
    let mut scene = found(0);
    scene.insert();
    scene.gauge(36)
}
