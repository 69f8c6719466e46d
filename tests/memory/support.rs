//! A bench at work in the test's own process.

use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

use borewright::bench::{self, Handle, Input, Running};
use borewright::bore::Contact;
use borewright::fit::Material;
use borewright::fit::plan::{Reamer, Shop as Workshop, Work};
use borewright::gauge::{Arrival, Capture, Content, Raw};
use borewright::job::{Command, Gauges, JobId, Phase, PlanKind, Role, Seats, Sends, Shop, Traits};
use borewright::units::{Length, Moment};
use serde_json::Value;

/// The seat of most jobs here.
pub(crate) const SEAT: &str = "pressfit-46-73";
/// What the shop calls its reamer.
pub(crate) const REAMER: &str = "the 46";
/// Its nominal diameter, mm.
pub(crate) const REAMER_MM: f64 = 45.985;

/// A bench on a folder of its own, with one gauge that sends sizes.
pub(crate) struct Invented {
    pub(crate) folder: tempfile::TempDir,
    runtime: tokio::runtime::Runtime,
    handle: Handle,
    running: Option<Running>,
}

pub(crate) fn shop() -> Shop {
    let traits = Traits {
        role: Role::Bore,
        sends: Sends::Size,
        contact: Contact::TwoPoint,
        resolution_mm: 0.001,
        bounce: None,
        capture: Capture::Each,
        calibration: None,
    };
    Shop {
        seats: Seats::built_in(),
        gauges: Gauges::from([(Arc::from("bore-gauge"), traits)]),
        workshop: Workshop {
            reamers: vec![Reamer {
                name: REAMER.into(),
                diameter_mm: REAMER_MM,
                greatest_stock_mm: 0.2,
                past_cuts_mm: Vec::new(),
            }],
            ..Workshop::default()
        },
    }
}

impl Invented {
    pub(crate) fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let runtime = tokio::runtime::Builder::new_current_thread()
            .enable_all()
            .build()
            .unwrap();
        let (handle, running) = bench::open(folder.path(), shop()).unwrap();
        Self {
            folder,
            runtime,
            handle,
            running: Some(running),
        }
    }

    pub(crate) fn path(&self) -> &Path {
        self.folder.path()
    }

    pub(crate) fn ask(&self, command: Command) {
        let answer = self.handle.command(command.into());
        self.runtime.block_on(answer).unwrap().unwrap();
    }

    pub(crate) fn state(&self) -> Value {
        let state = self.runtime.block_on(self.handle.state()).unwrap();
        serde_json::from_str(&state).unwrap()
    }

    pub(crate) fn open_job(&self, part: &str, seat: &str) -> JobId {
        self.ask(Command::OpenJob {
            part: part.into(),
            seat: seat.into(),
            plan: PlanKind::Seat,
            material: Some(Material::Steel),
            wall_mm: Some(2.5),
            yield_mpa: None,
            finish: None,
            service_c: None,
        });
        serde_json::from_value(self.state()["on_bench"]["job"].clone()).unwrap()
    }

    /// The gauge sends `mm`, at the next station.
    pub(crate) fn send(&self, mm: f64) {
        let arrival = Arrival {
            gauge: "bore-gauge".into(),
            at: Moment::now(),
            since_start: Duration::ZERO,
            content: Content::Reading {
                raw: Raw(format!("{mm:.4}").into_bytes()),
                value: Length::from_mm(mm).unwrap(),
            },
        };
        let sent = self.handle.inputs().blocking_send(Input::Arrival(arrival));
        sent.unwrap();
    }

    /// The gauge is turned through every station of the phase, in a bore `oval_mm` out of round.
    pub(crate) fn gauge_all(&self, mean_mm: f64, oval_mm: f64) {
        self.gauge_by(|angle| mean_mm + oval_mm / 2.0 * (2.0 * angle.to_radians()).cos());
    }

    /// The same, in a bore whose diameter at an angle `at` tells.
    pub(crate) fn gauge_by(&self, at: impl Fn(f64) -> f64) {
        while let Some(angle) = self.state()["on_bench"]["next"]["angle_deg"].as_f64() {
            self.send(at(angle));
        }
    }

    pub(crate) fn set_ring(&self) {
        self.ask(Command::SetRing {
            gauge: "bore-gauge".into(),
            ring_mm: 46.0,
            shown_mm: Some(46.002),
            ring_uncertainty_mm: Some(0.001),
            ring_due: None,
        });
    }

    /// A whole job; gives its id.
    pub(crate) fn job(&self, part: &str, seat: &str, mean_mm: f64, oval_mm: f64) -> JobId {
        let id = self.open_job(part, seat);
        self.gauge_all(mean_mm, oval_mm);
        self.ask(Command::CloseJob {});
        // The answer comes before the record is written; this comes after it.
        self.state();
        id
    }

    /// A whole job whose bores, 0.1 mm out of round, are reamed; the reamer cuts `over_mm` more than
    /// its name says.
    pub(crate) fn reamed_job(&self, part: &str, over_mm: f64) -> JobId {
        let id = self.open_reamed(part, over_mm);
        self.ask(Command::CloseJob {});
        self.state();
        id
    }

    /// The same, not closed.
    pub(crate) fn open_reamed(&self, part: &str, over_mm: f64) -> JobId {
        // Two opposite radii make a diameter, and each is the egg's or the reamer's.
        let egg = |angle: f64| 45.94 + 0.05 * (2.0 * (angle - 125.0).to_radians()).cos();
        let id = self.open_job(part, SEAT);
        self.gauge_by(egg);
        for bore in ["drive side", "non-drive side"] {
            self.ask(Command::Choose {
                bore: bore.into(),
                work: Work::Ream,
                with: Some(REAMER.into()),
            });
        }
        self.ask(Command::SetPhase {
            phase: Phase::AsLeft,
        });
        self.gauge_by(|angle| egg(angle).max(REAMER_MM + over_mm));
        id
    }

    pub(crate) fn check_ring(&self, shown_mm: f64) {
        self.ask(Command::CheckRing {
            gauge: "bore-gauge".into(),
            shown_mm: Some(shown_mm),
        });
    }

    pub(crate) fn stop(&mut self) {
        let running = self.running.take().unwrap();
        self.runtime.block_on(running.stop());
    }
}
