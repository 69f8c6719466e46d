//! What a handful of values say together, and what too few of them don't.

use schemars::JsonSchema;
use serde::Serialize;

use crate::uncertainty::student;

/// Fewer values than this say nothing of a spread (judgement).
pub const ENOUGH: usize = 3;

/// The confidence level of an interval.
const LEVEL: f64 = 0.95;

/// The middle of values and how far they spread, in the values' unit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct Quartiles {
    /// The median.
    pub median_mm: f64,
    /// A quarter of the values lie below.
    pub lower_mm: f64,
    /// A quarter of the values lie above.
    pub upper_mm: f64,
    /// The smallest value.
    pub smallest_mm: f64,
    /// The largest value.
    pub largest_mm: f64,
}

/// The mean of values, their spread, and how well the mean is known.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct Mean {
    /// The arithmetic mean, mm.
    pub mean_mm: f64,
    /// The standard deviation of single values, n − 1 in the denominator, mm.
    pub standard_deviation_mm: f64,
    /// The smallest value, mm.
    pub smallest_mm: f64,
    /// The largest value, mm.
    pub largest_mm: f64,
    /// Where the mean of many more such values would lie, with 95 % confidence: from, mm.
    pub lower_mm: f64,
    /// To, mm.
    pub upper_mm: f64,
}

impl Quartiles {
    /// `None` for fewer than [`ENOUGH`] values, or one that is not finite. The quartiles are
    /// linear between the two nearest values, at (n − 1) p of the sorted ones: definition 7 of
    /// Hyndman and Fan, "Sample quantiles in statistical packages", The American Statistician 50
    /// (1996) 361 to 365.
    pub fn of(values: &[f64]) -> Option<Self> {
        let sorted = sorted(values)?;
        Some(Self {
            median_mm: quantile(&sorted, 0.5),
            lower_mm: quantile(&sorted, 0.25),
            upper_mm: quantile(&sorted, 0.75),
            smallest_mm: *sorted.first()?,
            largest_mm: *sorted.last()?,
        })
    }
}

impl Mean {
    /// `None` for fewer than [`ENOUGH`] values, or one that is not finite. The interval is
    /// mean ± t s / √n, t of n − 1 degrees of freedom: NIST/SEMATECH e-Handbook of Statistical
    /// Methods, 1.3.5.2. It takes the values to be independent and near enough normal.
    #[expect(clippy::cast_precision_loss, reason = "a count of jobs")]
    pub fn of(values: &[f64]) -> Option<Self> {
        let sorted = sorted(values)?;
        let count = sorted.len() as f64;
        let mean_mm = sorted.iter().sum::<f64>() / count;
        let squares: f64 = sorted.iter().map(|value| (value - mean_mm).powi(2)).sum();
        let standard_deviation_mm = (squares / (count - 1.0)).sqrt();
        let half = student(LEVEL, count - 1.0)? * standard_deviation_mm / count.sqrt();
        Some(Self {
            mean_mm,
            standard_deviation_mm,
            smallest_mm: *sorted.first()?,
            largest_mm: *sorted.last()?,
            lower_mm: mean_mm - half,
            upper_mm: mean_mm + half,
        })
    }
}

/// The values in order; `None` where they are too few, or one is not finite.
fn sorted(values: &[f64]) -> Option<Vec<f64>> {
    if values.len() < ENOUGH || values.iter().any(|value| !value.is_finite()) {
        return None;
    }
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    Some(sorted)
}

/// Of sorted values, one at least.
#[expect(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a place among the values"
)]
fn quantile(sorted: &[f64], share: f64) -> f64 {
    let last = sorted.len() - 1;
    let place = last as f64 * share;
    let below = (place.floor() as usize).min(last);
    let above = (below + 1).min(last);
    sorted[below] + (sorted[above] - sorted[below]) * (place - below as f64)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Micrometres as a shop might find them.
    const VALUES: [f64; 7] = [0.012, 0.031, 0.008, 0.055, 0.024, 0.019, 0.120];

    fn near(actual: f64, expected: f64) {
        assert!((actual - expected).abs() < 1e-9, "{actual}, {expected}");
    }

    /// numpy 2.4.6: `np.percentile(values, [50, 25, 75])`.
    #[test]
    fn quartiles_as_numpy_gives_them() {
        let quartiles = Quartiles::of(&VALUES).unwrap();
        near(quartiles.median_mm, 0.0240000000);
        near(quartiles.lower_mm, 0.0155000000);
        near(quartiles.upper_mm, 0.0430000000);
        assert_eq!(
            (quartiles.smallest_mm, quartiles.largest_mm),
            (0.008, 0.120)
        );
        let four = Quartiles::of(&VALUES[..4]).unwrap();
        near(four.median_mm, 0.0215000000);
        near(four.lower_mm, 0.0110000000);
    }

    /// scipy 1.17.1: `stats.t.interval(0.95, n - 1, mean, stats.sem(values))`.
    #[test]
    fn the_interval_of_a_mean_as_scipy_gives_it() {
        let mean = Mean::of(&VALUES).unwrap();
        near(mean.mean_mm, 0.038428571429);
        near(mean.standard_deviation_mm, 0.039144421241);
        near(mean.lower_mm, 0.002226019874);
        near(mean.upper_mm, 0.074631122984);
    }

    #[test]
    fn nothing_is_said_of_two_values_nor_of_what_is_no_number() {
        assert_eq!(Mean::of(&VALUES[..2]), None);
        assert_eq!(Quartiles::of(&VALUES[..2]), None);
        assert_eq!(Mean::of(&[1.0, 2.0, f64::NAN]), None);
        // Equal values spread by nothing, and that is an answer.
        let same = Mean::of(&[0.5; 4]).unwrap();
        assert_eq!((same.standard_deviation_mm, same.lower_mm), (0.0, 0.5));
    }
}
