//! What is noted of a job beside its readings.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::fit::plan;
use crate::job::event::{Body, Event};
use crate::job::ring::ShownInRing;
use crate::units::Moment;

/// A step of the checklist that was done.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tick {
    /// Its event.
    pub seq: u64,
    /// When.
    pub at: Moment,
    /// The step.
    pub step: String,
}

/// A run of events of one job.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Span {
    /// The first `seq`.
    pub first: u64,
    /// The newest `seq`.
    pub last: u64,
    /// How many events.
    pub count: u64,
}

/// How the mechanic goes on with a bore.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Chosen {
    /// What is done.
    pub work: plan::Work,
    /// With which reamer or compound.
    pub with: Option<String>,
    /// Why the plan refused it when it was chosen all the same; null where it didn't.
    #[serde(default)]
    pub refused: Option<String>,
}

/// Temperatures of a job.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Temperature {
    /// Of the part, °C.
    pub part_c: f64,
    /// Of the setting ring and the gauge when it was set, °C.
    pub ring_c: f64,
    /// How far off either may be, ± K.
    pub within_k: f64,
}

/// A gauge held into its ring again.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Check {
    /// When.
    pub at: Moment,
    /// When it was set.
    pub set_at: Moment,
    /// How much larger a bore read then than when the gauge was set, mm.
    pub drift_mm: f64,
    /// The readings that says so; `None` for what was stated.
    pub in_ring: Option<ShownInRing>,
}

impl Check {
    /// The gauge and its re-check; `None` of any other event.
    pub(super) fn of(event: &Event) -> Option<(&str, Self)> {
        let Body::RingChecked {
            gauge,
            set_at,
            drift_mm,
            in_ring,
            ..
        } = &event.body
        else {
            return None;
        };
        let check = Self {
            at: event.at,
            set_at: *set_at,
            drift_mm: *drift_mm,
            in_ring: *in_ring,
        };
        Some((gauge, check))
    }
}

/// Something written down.
#[derive(Debug, Clone, PartialEq)]
pub struct Note {
    /// Its event.
    pub seq: u64,
    /// When.
    pub at: Moment,
    /// The text.
    pub text: String,
}
