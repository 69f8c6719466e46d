//! A bench without a daemon, for looking at the page. Nothing in it is made up but the bore: the
//! readings of an invented cargo tricycle, whose drive side is egged, go through the same state
//! machine as at the bench.

use std::sync::Arc;

use borewright::bore::Contact;
use borewright::fit::plan::{Compound, Reamer, Work};
use borewright::fit::{InsertAsked, Material};
use borewright::gauge::{Capture, Raw};
use borewright::job::{
    AtWork, Bench, Body, Command, Draft, Following, Gauges, JobId, Phase, PlanKind, Role, Seats,
    Sends, Shop, Traits, View,
};
use borewright::units::{Length, Moment};
use uuid::Uuid;

/// A bench and what is needed to work at it.
pub(crate) struct Scene {
    pub(crate) bench: Bench,
    pub(crate) shop: Shop,
    following: Following,
    scatter: u64,
    /// Who is at work at another page.
    at_work: Option<AtWork>,
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

    pub(crate) fn with_gauge(contact: Contact, sends: Sends) -> Self {
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
            at_work: None,
        };
        scene.connect("bore-gauge");
        scene
    }

    /// A shop with a reamer that mends the tricycle, one that can't, and a compound.
    pub(crate) fn equipped() -> Self {
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

    pub(crate) fn insert(&mut self) {
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

    pub(crate) fn choose(&mut self, bore: &str, work: Work, with: Option<&str>) {
        self.ask(Command::Choose {
            bore: bore.into(),
            work,
            with: with.map(str::to_owned),
        });
    }

    pub(crate) fn tick(&mut self, step: &str) {
        self.ask(Command::Tick { step: step.into() });
    }

    pub(crate) fn connect(&mut self, gauge: &str) {
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

    pub(crate) fn unplug(&mut self, gauge: &str, why: &str) {
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

    pub(crate) fn noise(&mut self, gauge: &str) {
        let body = Body::Noise {
            gauge: gauge.into(),
            raw: "45,963?".into(),
            raw_hex: "34352c3936333f".into(),
            why: "no number".into(),
        };
        self.record(Draft {
            at: Moment::now(),
            of: None,
            body,
        });
    }

    pub(crate) fn record(&mut self, draft: Draft) {
        let event = draft.numbered(self.bench.last_seq + 1);
        self.bench.apply(&event);
        self.following.changed(&self.bench, &self.shop, &[event]);
    }

    pub(crate) fn ask(&mut self, command: Command) {
        let fresh = JobId(Uuid::from_u128(u128::from(self.bench.last_seq) + 1));
        let draft = self
            .bench
            .command(&self.shop, &command, Moment::now(), fresh)
            .unwrap();
        self.record(draft);
    }

    pub(crate) fn open(&mut self, part: &str, seat: &str, plan: PlanKind) {
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

    pub(crate) fn send(&mut self, mm: f64) {
        let raw = Raw(format!("{mm:+.3} mm").into_bytes());
        let value = Length::from_mm((mm * 1000.0).round() / 1000.0).unwrap();
        let draft = self
            .bench
            .reading(&self.shop, "bore-gauge", Moment::now(), &raw, value);
        self.record(draft);
    }

    /// What the gauge shows at the next station: an egg on the drive side that grows rounder
    /// inward, a fair bore opposite, both fair and to size once reamed; a micron or so of scatter.
    pub(crate) fn diameter(&mut self) -> f64 {
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

    pub(crate) fn gauge(mut self, stations: usize) -> Self {
        for _ in 0..stations {
            let mm = self.diameter();
            self.send(mm);
        }
        self
    }

    /// Its gauge is rocked from now on.
    pub(crate) fn rocked(mut self) -> Self {
        let traits = Traits {
            capture: Capture::TurningPoint,
            ..self.shop.gauges["bore-gauge"].clone()
        };
        self.shop.gauges.insert(Arc::from("bore-gauge"), traits);
        self
    }

    /// Somebody is at work at another page: this one watches.
    pub(crate) fn watched(self) -> Self {
        self.watched_from("Tablet by Ada")
    }

    /// The same; `who` is at work.
    pub(crate) fn watched_from(mut self, who: &str) -> Self {
        self.at_work = Some(AtWork {
            who: who.into(),
            since: Moment::now(),
        });
        self
    }

    /// What `GET /state` would give.
    pub(crate) fn state(&self) -> String {
        let mut view = View::of(&self.bench, &self.shop, &self.following);
        view.at_work = self.at_work.clone();
        serde_json::to_string(&view).unwrap()
    }

    /// The event of the reading that is called suspect.
    pub(crate) fn suspect_seq(&self) -> u64 {
        let mut sections = self.following.numbers.sections(Phase::AsFound);
        sections.find_map(|section| section.suspect_seq).unwrap()
    }
}
