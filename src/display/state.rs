//! What the page reads of the present state, `GET /state`: the page is a consumer of the same
//! published object as any other program, and leaves alone what it doesn't know.

use std::collections::BTreeMap;

use serde::Deserialize;

use crate::bore::Contact;
use crate::job::{Event, JobId, Phase, PlanKind, Seat, Station};
use crate::units::Moment;

/// The whole present state.
#[derive(Debug, Clone, Deserialize)]
pub(crate) struct State {
    #[serde(default)]
    pub(crate) seq: u64,
    pub(crate) on_bench: Option<OnBench>,
    #[serde(default)]
    pub(crate) open_jobs: Vec<OpenJob>,
    #[serde(default)]
    pub(crate) gauges: Vec<Gauge>,
    pub(crate) last_reading: Option<Event>,
    #[serde(default)]
    pub(crate) seats: Vec<SeatName>,
}

/// The job on the bench.
#[derive(Debug, Clone, Deserialize)]
pub(crate) struct OnBench {
    pub(crate) part: String,
    pub(crate) phase: Phase,
    pub(crate) seat: Seat,
    pub(crate) plan: PlanKind,
    pub(crate) next: Option<Station>,
    #[serde(default)]
    pub(crate) stations: Vec<StationState>,
    #[serde(default)]
    pub(crate) sections: Vec<SectionNumbers>,
    #[serde(default)]
    pub(crate) bores: Vec<BoreNumbers>,
}

/// A station of the present phase and how far along it is.
#[derive(Debug, Clone, Deserialize)]
pub(crate) struct StationState {
    #[serde(flatten)]
    pub(crate) station: Station,
    pub(crate) status: Status,
    pub(crate) value_mm: Option<f64>,
}

/// How far along a station is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(crate) enum Status {
    ToDo,
    Measured,
    Skipped,
}

/// The numbers of one section.
#[derive(Debug, Clone, Deserialize)]
pub(crate) struct SectionNumbers {
    pub(crate) bore: String,
    pub(crate) depth_mm: f64,
    pub(crate) phase: Phase,
    #[serde(default)]
    pub(crate) size_set: bool,
    pub(crate) contact: Option<Contact>,
    pub(crate) mean_diameter_mm: Option<f64>,
    pub(crate) largest_mm: Option<f64>,
    pub(crate) smallest_mm: Option<f64>,
    pub(crate) out_of_round_mm: Option<f64>,
    pub(crate) oval: Option<Oval>,
    #[serde(default)]
    pub(crate) lobes: Vec<LobeNumbers>,
    #[serde(default)]
    pub(crate) uncertainty: BTreeMap<String, Uncertainty>,
    #[serde(default)]
    pub(crate) withheld: Vec<Withheld>,
}

/// The 2-lobe part of a section.
#[derive(Debug, Clone, Deserialize)]
pub(crate) struct Oval {
    pub(crate) size_mm: f64,
    pub(crate) long_axis_deg: f64,
    pub(crate) tight_axis_deg: f64,
}

/// One n-lobe part of a section.
#[derive(Debug, Clone, Deserialize)]
pub(crate) struct LobeNumbers {
    pub(crate) count: u32,
    pub(crate) amplitude_mm: f64,
    pub(crate) peak_deg: f64,
}

/// How well a number is known.
#[derive(Debug, Clone, Deserialize)]
pub(crate) struct Uncertainty {
    pub(crate) standard: f64,
    pub(crate) expanded: Option<f64>,
}

/// A number that is not given, and why.
#[derive(Debug, Clone, Deserialize)]
pub(crate) struct Withheld {
    pub(crate) field: String,
    pub(crate) why: String,
}

/// The numbers of one bore.
#[derive(Debug, Clone, Deserialize)]
pub(crate) struct BoreNumbers {
    pub(crate) bore: String,
    pub(crate) phase: Phase,
    pub(crate) mean_diameter_mm: Option<f64>,
    pub(crate) taper_mm_per_mm: Option<f64>,
    #[serde(default)]
    pub(crate) withheld: Vec<Withheld>,
}

/// A job that is open but not on the bench.
#[derive(Debug, Clone, Deserialize)]
pub(crate) struct OpenJob {
    pub(crate) job: JobId,
    pub(crate) part: String,
    pub(crate) phase: Phase,
}

/// A gauge and its health.
#[derive(Debug, Clone, Deserialize)]
pub(crate) struct Gauge {
    pub(crate) name: String,
    pub(crate) connected: bool,
    pub(crate) why: Option<String>,
    pub(crate) last_reading_at: Option<Moment>,
    #[serde(default)]
    pub(crate) size_set: bool,
    #[serde(default)]
    pub(crate) noise: u64,
}

/// A seat that a job may ask for.
#[derive(Debug, Clone, Deserialize)]
pub(crate) struct SeatName {
    pub(crate) name: String,
    pub(crate) title: String,
}
