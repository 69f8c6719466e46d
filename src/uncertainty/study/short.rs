//! One part, one operator, ten or more repeats.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::Error;
use crate::uncertainty::{Budget, Input};

/// The least number of repeats.
pub const LEAST_REPEATS: usize = 10;

/// The factors of Cg = share T / (sigmas s) and Cgk = (share T / 2 - |bias|) / (sigmas s / 2).
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Factors {
    /// The part of the tolerance that the gauge may take up.
    pub share: f64,
    /// How many standard deviations are held against it.
    pub sigmas: f64,
}

/// 20 % and six standard deviations: ISO 22514-7 and VDA 5, from memory; others use 15 % or 30 %,
/// and four standard deviations.
impl Default for Factors {
    fn default() -> Self {
        Self {
            share: 0.2,
            sigmas: 6.0,
        }
    }
}

/// What is known of the one part, as the gauge reads it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reference {
    /// Its size, mm.
    pub size_mm: f64,
    /// The expanded uncertainty (k = 2) of that, mm; `None` where nobody says.
    pub uncertainty_mm: Option<f64>,
    /// The gauge's digit step, mm; `None` where it is not known.
    pub step_mm: Option<f64>,
}

/// Why there is neither Cg nor Cgk.
const SAME: &str = "no Cg and no Cgk: all readings are the same, so the gauge repeats within its digit step \
    and nothing more is known of its spread; gauge with a finer digit step";
/// Why there is no Cgk.
const NO_REFERENCE: &str =
    "no Cgk: the bias is not known without the part's known size; state it with --reference";

/// What repeats on one part of known size say of a gauge.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Short {
    /// How many readings.
    pub readings: usize,
    /// Their mean, mm.
    pub mean_mm: f64,
    /// Their standard deviation, mm: the gauge's repeatability.
    pub repeatability_mm: f64,
    /// Degrees of freedom of the repeatability.
    pub degrees_of_freedom: usize,
    /// Mean minus reference, mm; null without a reference.
    pub bias_mm: Option<f64>,
    /// The bias's expanded uncertainty (95 %): of the mean, a digit step and the reference, as far as
    /// they are known, mm; null without a reference, and in studies of older versions.
    #[serde(default)]
    pub bias_uncertainty_mm: Option<f64>,
    /// Whether the bias is larger than that; null without a reference.
    pub bias_is_real: Option<bool>,
    /// Capability of the spread: share T / (sigmas s). Null without a tolerance or without any spread.
    pub cg: Option<f64>,
    /// Capability of spread and bias: (share T / 2 - |bias|) / (sigmas s / 2). Null without
    /// tolerance, reference or spread.
    pub cgk: Option<f64>,
    /// Why a stated tolerance gave no Cg or no Cgk, and what would; null where both are there or
    /// no tolerance was stated.
    #[serde(default)]
    pub withheld: Option<String>,
    /// The factors of both.
    #[serde(default)]
    pub factors: Factors,
}

/// The short study of `readings` (mm) on one part, against its `reference` (such as a setting ring)
/// and the `tolerance` that the gauge is to judge (upper minus lower limit), both as the gauge
/// reads: of a gauge that reads radii half of a diameter's.
///
/// # Errors
/// Below [`LEAST_REPEATS`], where a reading is not finite, or the tolerance or a factor is not
/// positive.
#[expect(clippy::cast_precision_loss, reason = "counts of readings")]
pub fn short(
    readings: &[f64],
    reference: Option<Reference>,
    tolerance: Option<f64>,
    factors: Factors,
) -> Result<Short, Error> {
    if readings.len() < LEAST_REPEATS {
        return Err(Error::TooFew {
            what: "repeats",
            needed: LEAST_REPEATS,
            found: readings.len(),
        });
    }
    let known = reference.map(|reference| reference.size_mm);
    if readings.iter().chain(&known).any(|x| !x.is_finite()) {
        return Err(Error::NotFinite);
    }
    if tolerance.is_some_and(|t| !(t.is_finite() && t > 0.0)) {
        return Err(Error::Tolerance);
    }
    let (mean_mm, repeatability_mm) = deviation(readings);
    let degrees_of_freedom = readings.len() - 1;
    let bias_mm = known.map(|known| mean_mm - known);
    // A gauge that scatters less than its digit step rounds alike each time, so that the step does not
    // average out.
    let bias_uncertainty_mm = reference.and_then(|reference| {
        let standard = repeatability_mm / (readings.len() as f64).sqrt();
        let certified = reference.uncertainty_mm.unwrap_or(0.0) / 2.0;
        let inputs = vec![
            Input::normal("mean", mean_mm, standard, degrees_of_freedom as f64),
            Input::digit("digit", mean_mm, reference.step_mm.unwrap_or(0.0)),
            Input::normal("reference", reference.size_mm, certified, f64::INFINITY),
        ];
        let bias = Budget::new("bias", mean_mm - reference.size_mm, inputs);
        Some(bias.estimate()?.expanded)
    });
    let bias_is_real = bias_mm
        .zip(bias_uncertainty_mm)
        .map(|(bias, reach)| bias.abs() > reach);
    let Factors { share, sigmas } = factors;
    if ![share, sigmas].iter().all(|f| f.is_finite() && *f > 0.0) {
        return Err(Error::Factors);
    }
    let spread = (repeatability_mm > 0.0).then_some(repeatability_mm);
    let cg = tolerance.zip(spread).map(|(t, s)| share * t / (sigmas * s));
    let cgk = tolerance
        .zip(spread)
        .zip(bias_mm)
        .map(|((t, s), bias)| (share * t / 2.0 - bias.abs()) / (sigmas * s / 2.0));
    let withheld = tolerance.and(match (cg, cgk) {
        (None, _) => Some(SAME),
        (_, None) => Some(NO_REFERENCE),
        _ => None,
    });
    Ok(Short {
        readings: readings.len(),
        mean_mm,
        repeatability_mm,
        degrees_of_freedom,
        bias_mm,
        bias_uncertainty_mm,
        bias_is_real,
        cg,
        cgk,
        withheld: withheld.map(str::to_owned),
        factors,
    })
}

/// Mean and standard deviation (n - 1) in two passes, the second corrected for the rounding of the
/// first (Chan, Golub and LeVeque, Am. Stat. 37 (1983) 242, equation 1.7). 0 for one value.
#[expect(clippy::cast_precision_loss, reason = "counts of readings")]
pub fn deviation(values: &[f64]) -> (f64, f64) {
    let Some(&first) = values.first() else {
        return (0.0, 0.0);
    };
    let count = values.len() as f64;
    let mean = first + values.iter().map(|x| x - first).sum::<f64>() / count;
    let squares: f64 = values.iter().map(|x| (x - mean).powi(2)).sum();
    let rounding: f64 = values.iter().map(|x| x - mean).sum();
    let variance = (squares - rounding * rounding / count) / (count - 1.0).max(1.0);
    (mean, variance.max(0.0).sqrt())
}
