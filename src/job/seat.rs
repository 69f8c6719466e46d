//! What a bore should be.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A kind of part with one or more bores, from `config/seats/*.toml` or the user's own folder.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Seat {
    /// The name by which a job asks for it, such as `pressfit-46`.
    pub name: String,
    /// One line for people.
    pub title: String,
    /// Where its sizes come from.
    pub source: String,
    /// What 0° points at, such as `seat tube`.
    pub landmark: String,
    /// How far from nominal a reading may be and still belong to the bore, mm.
    #[serde(default = "two_millimetres")]
    pub belongs_within_mm: f64,
    /// How many directions the seat's own plan gauges at each depth.
    pub angles: u32,
    /// The bores, in the order in which they are gauged.
    #[serde(rename = "bore")]
    pub bores: Vec<SeatBore>,
}

const fn two_millimetres() -> f64 {
    2.0
}

/// One bore of a [`Seat`].
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SeatBore {
    /// Such as `drive side`.
    pub name: String,
    /// Nominal diameter, mm.
    pub nominal_mm: f64,
    /// Least mean diameter, mm.
    pub lower_mm: f64,
    /// Greatest mean diameter, mm.
    pub upper_mm: f64,
    /// The mean diameter to aim at, mm.
    pub target_mm: f64,
    /// Greatest out-of-round (largest minus smallest diameter), mm.
    pub out_of_round_limit_mm: f64,
    /// Depths to gauge, from the face, mm.
    pub depths_mm: Vec<f64>,
}
