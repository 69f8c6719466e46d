//! How well a gauge repeats: the crossed study of parts and operators, and the short study of one
//! part that a small shop can do in ten minutes.

mod crossed;
mod short;
#[cfg(test)]
mod tests;

pub use crossed::{Anova, AverageRange, Crossed, Method, Source, Trial, crossed};
pub use short::{Factors, LEAST_REPEATS, Reference, Short, deviation, short};

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::bore::Contact;
use crate::units::Moment;

/// The schema name of a study.
pub const SCHEMA: &str = "borewright.study/1";

/// A study as other programs read it, and as `profile --study` takes it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Study {
    /// Always `borewright.study/1`.
    pub schema: String,
    /// The gauge's name at the bench; null where nobody said.
    #[serde(default)]
    pub gauge: Option<String>,
    /// How the gauge touched; null where nobody said. With `radius` every length below is of a radius.
    #[serde(default)]
    pub contact: Option<Contact>,
    /// When its last reading was taken, UTC; null where the readings don't say.
    #[serde(default)]
    pub studied_at: Option<Moment>,
    /// The short study; null where parts and operators were crossed.
    pub short: Option<Short>,
    /// The crossed study; null where one part was repeated.
    pub crossed: Option<Crossed>,
}

impl Study {
    /// Standard deviation of single readings, mm, and its degrees of freedom: what a budget takes.
    #[expect(clippy::cast_precision_loss, reason = "counts of readings")]
    pub fn repeatability(&self) -> Option<(f64, f64)> {
        if let Some(short) = &self.short {
            return Some((short.repeatability_mm, short.degrees_of_freedom as f64));
        }
        self.crossed.as_ref().map(|crossed| {
            let within = crossed.anova.repeatability;
            (
                within.mean_square().sqrt(),
                within.degrees_of_freedom as f64,
            )
        })
    }
}

impl Study {
    /// How many readings it has.
    pub fn readings(&self) -> u32 {
        let short = self.short.as_ref().map(|short| short.readings);
        let crossed = self
            .crossed
            .as_ref()
            .map(|crossed| crossed.parts * crossed.operators * crossed.trials);
        let readings = short.or(crossed).unwrap_or(0);
        u32::try_from(readings).unwrap_or(u32::MAX)
    }
}

impl Study {
    /// Of how many parts; `None` where it found nothing.
    pub fn parts(&self) -> Option<u32> {
        let short = self.short.as_ref().map(|_| 1);
        let crossed = || u32::try_from(self.crossed.as_ref()?.parts).ok();
        short.or_else(crossed)
    }
}

/// Why readings give no study.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Error {
    /// A study needs repeats.
    #[error("{what} of {needed} or more are needed, and there are {found}; gauge on")]
    TooFew {
        /// Such as `repeats of each part`.
        what: &'static str,
        /// The least number.
        needed: usize,
        /// The number there is.
        found: usize,
    },
    /// Not every operator gauged every part as often.
    #[error(
        "{operator} gauged {part} {found} times where others were gauged {expected} times; every operator must gauge every part as often"
    )]
    Unbalanced {
        /// The operator.
        operator: String,
        /// The part.
        part: String,
        /// How often.
        found: usize,
        /// How often the first were gauged.
        expected: usize,
    },
    /// A reading is not a number.
    #[error("a reading is not finite; leave it out and gauge again")]
    NotFinite,
    /// A factor of Cg must be positive.
    #[error("the factors of Cg and Cgk must be greater than 0")]
    Factors,
    /// A tolerance must be positive.
    #[error("the tolerance must be greater than 0 mm")]
    Tolerance,
}
