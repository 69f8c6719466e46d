//! Where to gauge, and in what order.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// One place to gauge.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Station {
    /// The bore's name in the seat.
    pub bore: String,
    /// Depth from the bore's face, mm.
    pub depth_mm: f64,
    /// Angle from the seat's landmark, degrees in [0, 360), clockwise seen from the bore's face.
    pub angle_deg: f64,
}

/// How thoroughly to gauge.
#[derive(
    Debug,
    Clone,
    Copy,
    PartialEq,
    Eq,
    Hash,
    Serialize,
    Deserialize,
    JsonSchema,
    Default,
    clap::ValueEnum,
)]
#[serde(rename_all = "snake_case")]
pub enum PlanKind {
    /// One depth, four angles.
    Quick,
    /// The seat's depths, six angles.
    Standard,
    /// The seat's depths, twelve angles.
    Full,
    /// The seat's own depths and number of angles.
    #[default]
    Seat,
}
