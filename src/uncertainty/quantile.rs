//! Quantiles of Student's t and Fisher's F.

use statrs::distribution::{ContinuousCDF as _, FisherSnedecor, Normal, StudentsT};

/// The two-sided quantile of Student's t: the value that |t| stays below with probability `level`.
/// Infinite degrees of freedom give the normal distribution's. `None` for a level outside (0, 1)
/// or degrees of freedom that aren't positive.
///
/// JCGM 100:2008, table G.2.
pub fn student(level: f64, degrees_of_freedom: f64) -> Option<f64> {
    if !(level > 0.0 && level < 1.0) {
        return None;
    }
    let upper = 0.5 + level / 2.0;
    let quantile = if degrees_of_freedom > 1e7 {
        Normal::standard().inverse_cdf(upper)
    } else {
        StudentsT::new(0.0, 1.0, degrees_of_freedom)
            .ok()?
            .inverse_cdf(upper)
    };
    quantile.is_finite().then_some(quantile)
}

/// The probability that Student's t stays below `value`; `None` where no such distribution exists.
pub(super) fn student_below(value: f64, degrees_of_freedom: f64) -> Option<f64> {
    if degrees_of_freedom > 1e7 {
        return Some(Normal::standard().cdf(value));
    }
    let student = StudentsT::new(0.0, 1.0, degrees_of_freedom).ok()?;
    Some(student.cdf(value))
}

/// The quantile of F with `above` and `below` degrees of freedom: the value that F stays below
/// with probability `level`. `None` where no such distribution exists.
pub fn fisher(level: f64, above: f64, below: f64) -> Option<f64> {
    if !(level > 0.0 && level < 1.0) {
        return None;
    }
    // Two above has a closed form, by far the most used here (a lobe is a pair of coefficients):
    // P(F > f) = (1 + 2 f / below)^(-below / 2).
    let quantile = if (above - 2.0).abs() < f64::EPSILON {
        if below > 1e7 {
            -(1.0 - level).ln()
        } else if below > 0.0 {
            ((1.0 - level).powf(-2.0 / below) - 1.0) * below / 2.0
        } else {
            return None;
        }
    } else {
        FisherSnedecor::new(above, below.min(1e7))
            .ok()?
            .inverse_cdf(level)
    };
    quantile.is_finite().then_some(quantile)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// JCGM 100:2008 table G.2 (NIST TN 1297 table B.1), two decimals as printed.
    #[test]
    fn student_as_the_guide_prints_it() {
        for (degrees, at_95, at_99) in [
            (1.0, 12.71, 63.66),
            (2.0, 4.30, 9.92),
            (3.0, 3.18, 5.84),
            (5.0, 2.57, 4.03),
            (10.0, 2.23, 3.17),
            (16.0, 2.12, 2.92),
            (20.0, 2.09, 2.85),
            (50.0, 2.01, 2.68),
            (100.0, 1.984, 2.626),
            (f64::INFINITY, 1.960, 2.576),
        ] {
            assert!((student(0.95, degrees).unwrap() - at_95).abs() < 0.005);
            assert!((student(0.99, degrees).unwrap() - at_99).abs() < 0.005);
        }
    }

    /// The square of Student's t is F with one degree of freedom above; the closed form for two
    /// is checked against statrs's general one.
    #[test]
    fn fisher_agrees_with_student_and_with_itself() {
        for below in [1.0, 2.0, 3.0, 7.0, 40.0] {
            let t = student(0.95, below).unwrap();
            assert!((fisher(0.95, 1.0, below).unwrap() / (t * t) - 1.0).abs() < 1e-6);
            let general = FisherSnedecor::new(2.0, below).unwrap().inverse_cdf(0.95);
            assert!((fisher(0.95, 2.0, below).unwrap() / general - 1.0).abs() < 1e-6);
        }
    }

    #[test]
    fn nonsense_has_no_quantile() {
        assert_eq!(student(1.0, 5.0), None);
        assert_eq!(student(0.95, 0.0), None);
        assert_eq!(fisher(0.95, 2.0, 0.0), None);
        assert_eq!(fisher(0.95, f64::NAN, 2.0), None);
    }
}
