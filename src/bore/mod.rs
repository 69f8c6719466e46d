//! The geometry of a bore: what readings at known angles and depths say about its shape.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// How the gauge touches the bore.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Contact {
    /// Two points a diameter apart: sees even lobe counts only.
    TwoPoint,
    /// Three points at 120°, self-centring: sees multiples of three only.
    ThreePoint,
    /// An indicator swept from an axis: sees every lobe count.
    Radius,
}

impl Contact {
    /// The turn, in degrees, after which the contact reads the same wall again.
    pub const fn period_deg(self) -> f64 {
        match self {
            Self::TwoPoint => 180.0,
            Self::ThreePoint => 120.0,
            Self::Radius => 360.0,
        }
    }
}
