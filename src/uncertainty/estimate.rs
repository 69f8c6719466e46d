//! The uncertainty that stands beside a number.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::quantile::student;

/// The level of confidence of every expanded uncertainty shown, two-sided.
pub const LEVEL: f64 = 0.95;

/// From so many degrees of freedom on, Student's t is the normal distribution to every digit shown.
const AS_GOOD_AS_INFINITE: f64 = 1e9;

/// The uncertainty of one number, in that number's unit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Estimate {
    /// Standard uncertainty.
    pub standard: f64,
    /// Expanded uncertainty: coverage factor times standard uncertainty, two-sided 95 %.
    pub expanded: f64,
    /// Coverage factor, from Student's t.
    pub coverage_factor: f64,
    /// Effective degrees of freedom; null where they are infinite.
    pub degrees_of_freedom: Option<f64>,
}

impl Estimate {
    /// From a standard uncertainty and its degrees of freedom (infinity allowed), the coverage
    /// factor from Student's t at 95 %. `None` where that is no finite number.
    pub fn new(standard: f64, degrees_of_freedom: f64) -> Option<Self> {
        let coverage_factor = student(LEVEL, degrees_of_freedom)?;
        let expanded = coverage_factor * standard;
        (standard >= 0.0 && expanded.is_finite()).then_some(Self {
            standard,
            expanded,
            coverage_factor,
            degrees_of_freedom: (degrees_of_freedom < AS_GOOD_AS_INFINITE)
                .then_some(degrees_of_freedom),
        })
    }

    /// Degrees of freedom, infinity included.
    pub fn degrees(&self) -> f64 {
        self.degrees_of_freedom.unwrap_or(f64::INFINITY)
    }
}

/// Uncertainties by the path of the field they belong to, such as `oval.size_mm` or
/// `lobes[0].amplitude_mm`.
pub type Estimates = BTreeMap<String, Estimate>;
