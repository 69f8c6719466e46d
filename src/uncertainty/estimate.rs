//! The uncertainty that stands beside a number.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::quantile::{student, student_below};

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

    /// The same of a number `factor` times as large.
    #[must_use]
    pub fn times(self, factor: f64) -> Self {
        Self {
            standard: factor.abs() * self.standard,
            expanded: factor.abs() * self.expanded,
            ..self
        }
    }

    /// The same with another expanded uncertainty, known in another way than by Student's t; as it
    /// is where that is no finite number of standard uncertainties.
    #[must_use]
    pub fn reaching(self, expanded: f64) -> Self {
        let coverage_factor = expanded / self.standard;
        if !(coverage_factor.is_finite() && expanded.is_finite()) {
            return self;
        }
        Self {
            expanded,
            coverage_factor,
            ..self
        }
    }

    /// Together with another, independent one of the same number: standard and expanded
    /// uncertainties each as the root of the sum of squares, so that one which was simulated keeps
    /// its reach; degrees of freedom after Welch and Satterthwaite.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        let standard = self.standard.hypot(other.standard);
        let part = |of: &Self| of.standard.powi(4) / of.degrees();
        let degrees = standard.powi(4) / (part(&self) + part(&other));
        Self {
            standard,
            degrees_of_freedom: (degrees < AS_GOOD_AS_INFINITE).then_some(degrees),
            ..self
        }
        .reaching(self.expanded.hypot(other.expanded))
    }

    /// The uncertainty of a number that is stated although its best estimate lies `error` beside it,
    /// an error that is known and not corrected (JCGM 100:2008, F.2.4.5). Standard: the root of the
    /// sum of squares. Expanded: the half-width of the interval about the stated number that holds
    /// 95 % of Student's t about the best estimate.
    #[must_use]
    pub fn beside(self, error: f64) -> Self {
        let (error, own) = (error.abs(), self.standard);
        // So small an error changes no digit.
        if error <= 1e-4 * own {
            return self;
        }
        let held = |half: f64| {
            let below = |edge: f64| student_below((edge - error) / own, self.degrees());
            Some(below(half)? - below(-half)?)
        };
        let whole = Self {
            standard: own.hypot(error),
            ..self
        };
        let Some(one_sided) = student(2.0 * LEVEL - 1.0, self.degrees()) else {
            return self;
        };
        // Less than this leaves too much above it, more than that too little on both sides.
        let mut least = self.expanded.max(error + one_sided * own);
        let mut most = error + self.expanded;
        for _ in 0..30 {
            let half = f64::midpoint(least, most);
            match held(half) {
                Some(share) if share < LEVEL => least = half,
                _ => most = half,
            }
        }
        whole.reaching(most)
    }

    /// Degrees of freedom, infinity included.
    pub fn degrees(&self) -> f64 {
        self.degrees_of_freedom.unwrap_or(f64::INFINITY)
    }
}

/// Uncertainties by the path of the field they belong to, such as `oval.size_mm` or
/// `lobes[0].amplitude_mm`.
pub type Estimates = BTreeMap<String, Estimate>;

/// An uncertainty rounded up to `digits` behind the mark (JCGM 100:2008, 7.2.6), in its own unit: none
/// is ever shown smaller than it is.
pub fn rounded_up(uncertainty: f64, digits: usize) -> f64 {
    let unit = 10_f64.powi(i32::try_from(digits).unwrap_or(0));
    // A billionth of a digit is rounding of the arithmetic, not of the uncertainty; nothing is no
    // minus zero.
    (uncertainty * unit - 1e-9).ceil() / unit + 0.0
}

/// `" ± 0.003"`: an expanded uncertainty behind its number in a sentence, rounded up; nothing where
/// none is known.
pub(crate) fn behind(estimate: Option<&Estimate>, digits: usize) -> String {
    estimate.map_or_else(String::new, |u| {
        format!(" ± {:.digits$}", rounded_up(u.expanded, digits))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// JCGM 100:2008, 7.2.6: 10.47 mΩ of uncertainty is to be rounded up to 11 mΩ.
    #[test]
    fn an_uncertainty_is_rounded_up_also_in_a_sentence() {
        assert_eq!(rounded_up(10.47, 0), 11.0);
        assert_eq!(rounded_up(0.007, 3), 0.007);
        let known = Estimate::new(0.0062, 3.0).map(|of| of.reaching(0.006_08));
        assert_eq!(behind(known.as_ref(), 3), " ± 0.007");
        assert_eq!(behind(None, 3), "");
        let none = Estimate::new(0.0, f64::INFINITY);
        assert_eq!(behind(none.as_ref(), 3), " ± 0.000");
    }

    /// scipy 1.17: `brentq` of t.cdf((U - b)/s, v) - t.cdf((-U - b)/s, v) - 0.95.
    #[test]
    fn an_error_that_is_known_widens_the_interval_by_what_it_is() {
        for (degrees, error, expected) in BESIDE {
            let found = Estimate::new(1.0, degrees).unwrap().beside(error);
            assert!((found.expanded - expected).abs() < 1e-7, "{found:?}");
            assert!((found.standard - 1.0_f64.hypot(error)).abs() < 1e-12);
            assert!((found.coverage_factor * found.standard - expected).abs() < 1e-7);
        }
    }

    const BESIDE: [(f64, f64, f64); 5] = [
        (4.0, 0.5, 2.9155888609),
        (4.0, 3.0, 5.1429287385),
        (9.0, 1.0, 2.8578610937),
        (30.0, 10.0, 11.6972608866),
        (f64::INFINITY, 1.5, 3.1448701244),
    ];

    /// By hand: 3 and 4 are 5; degrees of freedom 5⁴ / (3⁴/8 + 4⁴/2) = 4.53.
    #[test]
    fn two_estimates_add_up_by_their_squares() {
        let simulated = Estimate::new(3.0, 8.0).unwrap().reaching(9.0);
        let whole = simulated.and(Estimate::new(4.0, 2.0).unwrap().reaching(12.0));
        assert_eq!((whole.standard, whole.expanded), (5.0, 15.0));
        assert!((whole.degrees() - 625.0 / (81.0 / 8.0 + 128.0)).abs() < 1e-12);
        let certain = Estimate::new(0.0, f64::INFINITY).unwrap();
        assert_eq!(simulated.and(certain), simulated);
    }
}
