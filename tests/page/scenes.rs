//! States of the bench for looking at the page without a daemon. Nothing in them is made up but
//! the bore: the readings of an invented cargo tricycle, whose drive side is egged, go through the
//! same state machine as at the bench.

use std::sync::Arc;

use borewright::bore::Contact;
use borewright::fit::pendulum::Mass;
use borewright::fit::plan::{Compound, Reamer, Work};
use borewright::fit::{Evidence, InsertAsked, Material};
use borewright::gauge::{Capture, Raw};
use borewright::job::{
    Bench, Body, Command, Draft, Following, Gauges, HangTest, JobId, Phase, PlanKind, Role, Seats,
    Sends, Shop, Traits, View,
};
use borewright::units::{Length, Moment};
use uuid::Uuid;

/// A bench and what is needed to work at it.
pub(crate) struct Scene {
    bench: Bench,
    shop: Shop,
    following: Following,
    scatter: u64,
}

impl Scene {
    /// No job, one gauge, connected and set in a ring.
    pub(crate) fn new() -> Self {
        let mut scene = Self::with_gauge(Contact::TwoPoint, Sends::Size);
        scene.ask(Command::SetRing {
            gauge: "bore-gauge".into(),
            ring_mm: 46.0,
            shown_mm: None,
            ring_uncertainty_mm: None,
            ring_due: None,
        });
        scene
    }

    fn with_gauge(contact: Contact, sends: Sends) -> Self {
        let traits = Traits {
            role: Role::Bore,
            sends,
            contact,
            resolution_mm: 0.001,
            bounce: None,
            capture: Capture::Each,
            calibration: None,
        };
        let gauges = Gauges::from([(Arc::from("bore-gauge"), traits)]);
        let mut scene = Self {
            bench: Bench::default(),
            shop: Shop {
                seats: Seats::built_in(),
                gauges,
                workshop: Default::default(),
            },
            following: Following::default(),
            scatter: 0,
        };
        scene.connect("bore-gauge");
        scene
    }

    /// A shop with a reamer that mends the tricycle, one that can't, and a compound.
    fn equipped() -> Self {
        let mut scene = Self::new();
        let reamer = |name: &str, diameter_mm| Reamer {
            name: name.into(),
            diameter_mm,
            greatest_stock_mm: 0.2,
            past_cuts_mm: vec![0.001, 0.002, -0.001, 0.0],
        };
        scene.shop.workshop.reamers = vec![
            reamer("46 H7", 46.012),
            reamer("adjustable, set to 45.975", 45.975),
        ];
        scene.shop.workshop.compounds = vec![Compound {
            name: "retaining compound, medium".into(),
            least_gap_mm: 0.02,
            greatest_gap_mm: 0.2,
        }];
        scene.ask(Command::OpenJob {
            part: "Cargo tricycle, number 12".into(),
            seat: "pressfit-46".into(),
            plan: PlanKind::Seat,
            material: Some(Material::Aluminium),
            wall_mm: Some(2.4),
            yield_mpa: None,
            finish: None,
            service_c: None,
        });
        scene
    }

    fn insert(&mut self) {
        self.ask(Command::SetInsert {
            insert: InsertAsked {
                bearing: Some("30x42x7".parse().unwrap()),
                cup: Some(Material::Aluminium),
                outside_mm: Some(46.02),
                length_mm: Some(10.0),
                ..InsertAsked::default()
            },
        });
    }

    fn choose(&mut self, bore: &str, work: Work, with: Option<&str>) {
        self.ask(Command::Choose {
            bore: bore.into(),
            work,
            with: with.map(str::to_owned),
        });
    }

    fn tick(&mut self, step: &str) {
        self.ask(Command::Tick { step: step.into() });
    }

    fn connect(&mut self, gauge: &str) {
        let body = Body::GaugeOpened {
            gauge: gauge.into(),
            port: "/dev/ttyUSB0".into(),
            calibration: None,
        };
        self.record(Draft {
            at: Moment::now(),
            of: None,
            body,
        });
    }

    fn unplug(&mut self, gauge: &str, why: &str) {
        let body = Body::GaugeLost {
            gauge: gauge.into(),
            port: "/dev/ttyUSB0".into(),
            why: why.into(),
        };
        self.record(Draft {
            at: Moment::now(),
            of: None,
            body,
        });
    }

    fn record(&mut self, draft: Draft) {
        let event = draft.numbered(self.bench.last_seq + 1);
        self.bench.apply(&event);
        self.following.changed(&self.bench, &self.shop, &[event]);
    }

    fn ask(&mut self, command: Command) {
        let fresh = JobId(Uuid::from_u128(u128::from(self.bench.last_seq) + 1));
        let draft = self
            .bench
            .command(&self.shop, &command, Moment::now(), fresh)
            .unwrap();
        self.record(draft);
    }

    fn open(&mut self, part: &str, seat: &str, plan: PlanKind) {
        self.ask(Command::OpenJob {
            part: part.into(),
            seat: seat.into(),
            plan,
            material: None,
            wall_mm: None,
            yield_mpa: None,
            finish: None,
            service_c: None,
        });
    }

    fn send(&mut self, mm: f64) {
        let raw = Raw(format!("{mm:+.3} mm").into_bytes());
        let value = Length::from_mm((mm * 1000.0).round() / 1000.0).unwrap();
        let draft = self
            .bench
            .reading(&self.shop, "bore-gauge", Moment::now(), &raw, value);
        self.record(draft);
    }

    /// What the gauge shows at the next station: an egg on the drive side that grows rounder
    /// inward, a fair bore opposite, both fair and to size once reamed; a micron or so of scatter.
    fn diameter(&mut self) -> f64 {
        let job = self.bench.job().unwrap();
        let station = job.next().unwrap();
        let inward = station.depth_mm / 10.0;
        let (mean, oval, long) = match (job.phase, station.bore.as_str()) {
            (Phase::AsLeft, _) => (45.974, 0.008, 100.0),
            (_, "drive side") => (45.925 + 0.03 * inward, 0.11 - 0.06 * inward, 125.0),
            _ => (45.968, 0.010, 40.0),
        };
        self.scatter = self
            .scatter
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        let noise =
            f64::from(u32::try_from(self.scatter >> 40).unwrap()) / f64::from(1 << 24) - 0.5;
        let lobes = if job.contact == Contact::ThreePoint {
            3.0
        } else {
            2.0
        };
        mean + oval / 2.0 * (lobes * (station.angle_deg - long)).to_radians().cos() + 0.002 * noise
    }

    fn gauge(mut self, stations: usize) -> Self {
        for _ in 0..stations {
            let mm = self.diameter();
            self.send(mm);
        }
        self
    }

    /// What `GET /state` would give.
    pub(crate) fn state(&self) -> String {
        serde_json::to_string(&View::of(&self.bench, &self.shop, &self.following)).unwrap()
    }
}

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
        evidence: Evidence {
            runs_tight: Some(true),
            free_once_out: Some(true),
            tight_towards_deg: Some(30.0),
            ..Evidence::default()
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
    let mut scene = found(7);
    let traits = Traits {
        capture: Capture::TurningPoint,
        ..scene.shop.gauges["bore-gauge"].clone()
    };
    scene.shop.gauges.insert(Arc::from("bore-gauge"), traits);
    scene
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

/// The gauge's cable is out.
pub(crate) fn unplugged() -> Scene {
    let mut scene = found(13);
    scene.unplug(
        "bore-gauge",
        "/dev/ttyUSB0 is gone: check the cable; it is opened again as soon as it is back",
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
