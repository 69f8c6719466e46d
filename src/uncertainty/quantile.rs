//! Probabilities and quantiles of Student's t and Fisher's F.
//!
//! By the continued fraction of the incomplete beta function, which holds for any degrees of freedom:
//! statrs 0.19 gives up on it after 140 terms, takes differences of logarithms of gamma functions as
//! large as the degrees, and is 80 % off at a million of them.

use statrs::distribution::{ContinuousCDF as _, Normal};
use statrs::function::gamma::ln_gamma;

/// So many degrees of freedom below stand for infinitely many: F differs by 1e-12 of it.
const MANY: f64 = 1e12;

/// The two-sided quantile of Student's t: the value that |t| stays below with probability `level`.
/// Infinite degrees of freedom give the normal distribution's. `None` for a level outside (0, 1)
/// or degrees of freedom that aren't positive.
///
/// JCGM 100:2008, table G.2.
pub fn student(level: f64, degrees_of_freedom: f64) -> Option<f64> {
    if !(level > 0.0 && level < 1.0) {
        return None;
    }
    if degrees_of_freedom > MANY {
        return Some(Normal::standard().inverse_cdf(0.5 + level / 2.0));
    }
    fisher(level, 1.0, degrees_of_freedom).map(f64::sqrt)
}

/// The probability that Student's t stays below `value`; `None` where no such distribution exists.
pub(super) fn student_below(value: f64, degrees_of_freedom: f64) -> Option<f64> {
    if degrees_of_freedom > MANY {
        return Some(Normal::standard().cdf(value));
    }
    let beyond = fisher_above(value * value, 1.0, degrees_of_freedom)? / 2.0;
    Some(if value < 0.0 { beyond } else { 1.0 - beyond })
}

/// The quantile of F with `above` and `below` degrees of freedom: the value that F stays below
/// with probability `level`. `None` where no such distribution exists.
pub fn fisher(level: f64, above: f64, below: f64) -> Option<f64> {
    if !(level > 0.0 && level < 1.0 && above > 0.0 && below > 0.0) {
        return None;
    }
    let below = below.min(MANY);
    // Two above has a closed form, by far the most used here (a lobe is a pair of coefficients):
    // P(F > f) = (1 + 2 f / below)^(-below / 2).
    if (above - 2.0).abs() < f64::EPSILON {
        let quantile = (-2.0 / below * (-level).ln_1p()).exp_m1() * below / 2.0;
        return quantile.is_finite().then_some(quantile);
    }
    // ln P(F > f) is concave and falls over ln f, as the density of ln F is log-concave. So Newton's
    // method comes to the root from any start, and from above after its first step.
    let wanted = (-level).ln_1p();
    let mut at = 0.0_f64;
    for _ in 0..100 {
        let tail = Tail::of(at.exp(), above, below)?;
        let step = (tail.ln_above - wanted) * (tail.ln_above - tail.ln_density).exp();
        at += step;
        // What is left is of the order of its square.
        if step.abs() <= 1e-9 {
            break;
        }
    }
    let quantile = at.exp();
    quantile.is_finite().then_some(quantile)
}

/// The probability that F with `above` and `below` degrees of freedom is greater than `value`;
/// `None` where no such distribution exists.
pub(super) fn fisher_above(value: f64, above: f64, below: f64) -> Option<f64> {
    if !(above > 0.0 && below > 0.0) {
        return None;
    }
    if value <= 0.0 {
        return Some(1.0);
    }
    if value == f64::INFINITY {
        return Some(0.0);
    }
    Some(Tail::of(value, above, below.min(MANY))?.ln_above.exp())
}

/// What lies beyond a value of F, in logarithms that can't underflow.
struct Tail {
    /// Of the probability of a greater value.
    ln_above: f64,
    /// Of the density of ln F there.
    ln_density: f64,
}

impl Tail {
    fn of(value: f64, above: f64, below: f64) -> Option<Self> {
        let (a, b) = (above / 2.0, below / 2.0);
        let whole = a * value + b;
        let (x, y) = (a * value / whole, b / whole);
        // How far the value lies beside the middle of the distribution, without cancellation.
        let off = a * b * (value - 1.0) / whole;
        let ln_density = ln_density(a, b, x, y, off);
        let ln_above = if off >= 0.0 {
            ln_density + fraction(b, a, y, off)?.ln()
        } else {
            (-ln_density.exp() * fraction(a, b, x, -off)?).ln_1p()
        };
        (ln_density.is_finite() && ln_above.is_finite()).then_some(Self {
            ln_above,
            ln_density,
        })
    }
}

/// ln(x^a y^b / B(a, b)) with y = 1 - x and `off` = (a + b) x - a, as a binomial probability by its
/// deviances, which keeps its digits for large a and b: C. Loader, "Fast and accurate computation of
/// binomial probabilities", 2000.
fn ln_density(a: f64, b: f64, x: f64, y: f64, off: f64) -> f64 {
    let n = a + b;
    // a ln(a / m) + m - a, where a = m + d.
    let deviance = |m: f64, d: f64| m * ((1.0 + d / m) * (d / m).ln_1p() - d / m);
    let exponent =
        stirling(n) - stirling(a) - stirling(b) - deviance(n * x, -off) - deviance(n * y, off);
    exponent + 0.5 * (a * b / (n * std::f64::consts::TAU)).ln()
}

/// ln Γ(a + 1) less Stirling's formula for it. Series: Abramowitz and Stegun, 6.1.41.
fn stirling(a: f64) -> f64 {
    if a < 15.0 {
        let formula = (a + 0.5) * a.ln() - a + 0.5 * std::f64::consts::TAU.ln();
        return ln_gamma(a + 1.0) - formula;
    }
    let i = 1.0 / (a * a);
    (1.0 / 12.0 - (1.0 / 360.0 - (1.0 / 1260.0 - (1.0 / 1680.0 - i / 1188.0) * i) * i) * i) / a
}

/// The incomplete beta function I_x(a, b) over x^a (1 - x)^b / B(a, b), for `off` = a - (a + b) x not
/// negative: the continued fraction of A. R. DiDonato and A. H. Morris, ACM TOMS 18 (1992) 360,
/// equation 9. `None` where it doesn't settle.
fn fraction(a: f64, b: f64, x: f64, off: f64) -> Option<f64> {
    let (first, per_a) = (1.0 + off, 1.0 + 1.0 / a);
    let (mut p, mut s) = (1.0, a + 1.0);
    let (mut above, mut above_before) = (1.0, 0.0);
    let (mut below, mut below_before) = (first / per_a, 1.0);
    let mut value = per_a / first;
    for n in 1..20_000 {
        let n = f64::from(n);
        let w = n * (b - n) * x;
        let e = a / s;
        let alpha = p * (p + b / a) * e * e * (w * x);
        let e = (1.0 + n / a) / (per_a + 2.0 * n / a);
        let beta = n + w / s + e * (first + n * (2.0 - x));
        p = 1.0 + n / a;
        s += 2.0;
        (above, above_before) = (alpha * above_before + beta * above, above);
        (below, below_before) = (alpha * below_before + beta * below, below);
        let before = std::mem::replace(&mut value, above / below);
        if (value - before).abs() <= 1e-15 * value {
            return Some(value);
        }
        // Kept near 1, or the terms outgrow every number.
        (above_before, below_before) = (above_before / below, below_before / below);
        (above, below) = (value, 1.0);
    }
    None
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

    #[derive(serde::Deserialize)]
    struct Reference {
        student: Vec<(f64, Option<f64>, f64)>,
        fisher: Vec<(f64, f64, f64, f64)>,
    }

    fn reference() -> Reference {
        serde_json::from_str(include_str!("../../fixtures/quantiles.json")).unwrap()
    }

    /// scipy and mpmath (`tests/reference/quantiles.py`), up to 1e9 degrees and at infinity.
    #[test]
    fn student_to_nine_digits_at_any_degrees() {
        let rows = reference().student;
        assert_eq!(rows.len(), 48);
        for (level, degrees, expected) in rows {
            let degrees = degrees.unwrap_or(f64::INFINITY);
            let found = student(level, degrees).unwrap();
            assert!(
                (found / expected - 1.0).abs() < 1e-9,
                "{level} {degrees}: {found}"
            );
            let below = student_below(expected, degrees).unwrap();
            assert!((below - (0.5 + level / 2.0)).abs() < 1e-11, "{below}");
            let below = student_below(-expected, degrees).unwrap();
            assert!((below - (0.5 - level / 2.0)).abs() < 1e-11, "{below}");
        }
    }

    /// mpmath (`tests/reference/quantiles.py`), up to 1e6 degrees above and 1e9 below. Infinitely
    /// many below: chi-square over its degrees, scipy 1.17 `chi2.ppf`.
    #[test]
    fn fisher_to_nine_digits_at_any_degrees() {
        let rows = reference().fisher;
        assert_eq!(rows.len(), 300);
        for (level, above, below, expected) in rows {
            let found = fisher(level, above, below).unwrap();
            assert!(
                (found / expected - 1.0).abs() < 1e-9,
                "{level} {above} {below}: {found}, not {expected}"
            );
            let beyond = fisher_above(expected, above, below).unwrap();
            assert!((beyond / (1.0 - level) - 1.0).abs() < 1e-9, "{beyond}");
        }
        for (above, chi_square) in [
            (1.0, 3.841458820694124),
            (2.0, 5.991464547107979),
            (5.0, 11.070497693516351),
            (100.0, 124.34211340400407),
        ] {
            let found = fisher(0.95, above, f64::INFINITY).unwrap();
            assert!((found * above / chi_square - 1.0).abs() < 1e-9, "{found}");
        }
    }

    /// More degrees of freedom never ask for a larger factor, and none for less than the normal
    /// distribution's.
    fn falls(level: f64, few: f64, more: f64) -> Result<(), proptest::test_runner::TestCaseError> {
        let at = |degrees| student(level, degrees).unwrap() * (1.0 + 1e-13);
        proptest::prop_assert!(at(few) >= student(level, few + more).unwrap());
        proptest::prop_assert!(at(few + more) >= student(level, f64::INFINITY).unwrap());
        Ok(())
    }

    proptest::proptest! {
        #[test]
        fn the_coverage_factor_falls_with_the_degrees(
            level in 0.5..0.999_f64,
            few in 0.0..10.0_f64,
            more in -3.0..11.0_f64,
        ) {
            falls(level, 10_f64.powf(few), 10_f64.powf(more))?;
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
