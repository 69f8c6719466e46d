//! Polynomials of the mean diameter over depth.

use nalgebra::{DMatrix, DVector};

use crate::bore::GREATEST_MM;
use crate::bore::sizes::sum_of;
use crate::uncertainty::{Estimate, fisher};

/// A section's mean diameter and where it lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Point {
    pub depth_mm: f64,
    /// From an origin that all share.
    pub diameter_mm: f64,
    /// Its scatter, without what all share; `None` where not known.
    pub own: Option<Estimate>,
    /// What is known to be wrong with it, mm; see [`Estimate::beside`].
    pub form_mm: f64,
    /// How far the drift that was taken out differs over the bore's readings, mm.
    pub drift_mm: f64,
}

/// A least-squares polynomial through the points, about their middle depth.
pub(super) struct Fit {
    middle_mm: f64,
    coefficients: DVector<f64>,
    /// Each coefficient as a weighted sum of the diameters.
    weights: DMatrix<f64>,
    own: Option<Vec<Estimate>>,
    forms: DVector<f64>,
    drift_mm: f64,
    /// Variance of one diameter about the polynomial, and its degrees of freedom.
    residual: Option<(f64, f64)>,
}

impl Fit {
    /// Of degree `degree`; `None` where the depths don't carry it.
    #[expect(clippy::cast_precision_loss, reason = "counts of sections")]
    pub(super) fn through(points: &[Point], degree: usize) -> Option<Self> {
        let count = points.len();
        if count <= degree {
            return None;
        }
        let middle_mm = crate::bore::stations::mean(points.iter().map(|p| p.depth_mm));
        // Beyond this, or where it is no number, no bore reaches.
        let reaches = |p: &Point| (p.depth_mm - middle_mm).abs() <= 2.0 * GREATEST_MM;
        if !points.iter().all(reaches) {
            return None;
        }
        let design = DMatrix::from_fn(count, degree + 1, |row, power| {
            (points[row].depth_mm - middle_mm).powi(i32::try_from(power).unwrap_or(i32::MAX))
        });
        let svd = design.clone().svd(true, true);
        let (least, most) = (svd.singular_values.min(), svd.singular_values.max());
        // Depths within a micrometre of each other carry no slope.
        if least <= 1e-9 * most || least <= 1e-6 && degree > 0 {
            return None;
        }
        let weights = svd.pseudo_inverse(0.0).ok()?;
        let level = crate::bore::stations::mean(points.iter().map(|p| p.diameter_mm));
        let values = DVector::from_iterator(count, points.iter().map(|p| p.diameter_mm - level));
        let mut coefficients = &weights * &values;
        let forms = DVector::from_iterator(count, points.iter().map(|p| p.form_mm));
        // What is known to be wrong is no scatter.
        let right = &values - &forms;
        let residuals = &right - &design * (&weights * &right);
        coefficients[0] += level;
        let degrees = count - degree - 1;
        Some(Self {
            middle_mm,
            coefficients,
            weights,
            own: points.iter().map(|p| p.own).collect(),
            forms,
            drift_mm: points.iter().map(|p| p.drift_mm).fold(0.0, f64::max),
            residual: (degrees > 0)
                .then(|| (residuals.norm_squared() / degrees as f64, degrees as f64)),
        })
    }

    pub(super) fn coefficient(&self, power: usize) -> f64 {
        self.coefficients[power]
    }

    /// The polynomial at a depth.
    pub(super) fn at(&self, depth_mm: f64) -> f64 {
        let x = depth_mm - self.middle_mm;
        self.coefficients
            .iter()
            .rev()
            .fold(0.0, |sum, coefficient| sum * x + coefficient)
    }

    /// The uncertainty of a sum of coefficients, each times its factor, that doesn't change with the
    /// level of the points.
    ///
    /// From the sections' own scatter; where the points leave the polynomial by more than that
    /// explains (F test at 5 %), or own scatter isn't known, from the residual. With what the gauge may
    /// have drifted between them; what is known to be wrong with the sections is beside it.
    pub(super) fn estimate(&self, factors: &[f64]) -> Option<Estimate> {
        let drifted = self.with_drift(self.scattered(factors)?, factors, 0.0)?;
        Some(drifted.beside(self.error(factors)))
    }

    /// What is known to be wrong with a sum of coefficients, each times its factor.
    pub(super) fn error(&self, factors: &[f64]) -> f64 {
        self.row(factors).dot(&self.forms)
    }

    /// With what the course of the drift between setting and check, which is not known, leaves open of
    /// a sum of coefficients less `apart` points beside them.
    ///
    /// A gauge that drifts one way, evenly or at a jump, moves a sum of points whose weights come to
    /// nought by at most half of what the weights come to without their signs. Rectangular (JCGM
    /// 100:2008, 4.3.7).
    pub(super) fn with_drift(
        &self,
        scatter: Estimate,
        factors: &[f64],
        apart: f64,
    ) -> Option<Estimate> {
        if self.drift_mm <= 0.0 {
            return Some(scatter);
        }
        let weights: f64 = self.row(factors).iter().map(|weight| weight.abs()).sum();
        let half_width = self.drift_mm * (weights + apart) / 2.0;
        let scatter = (scatter.standard.powi(2), scatter.degrees());
        sum_of(&[scatter, (half_width.powi(2) / 3.0, f64::INFINITY)])
    }

    /// A sum of coefficients, each times its factor, as a weighted sum of the diameters.
    fn row(&self, factors: &[f64]) -> DVector<f64> {
        DVector::from_fn(self.weights.ncols(), |column, _| {
            factors
                .iter()
                .enumerate()
                .map(|(power, factor)| factor * self.weights[(power, column)])
                .sum::<f64>()
        })
    }

    /// [`estimate`](Self::estimate) by the scatter alone.
    pub(super) fn scattered(&self, factors: &[f64]) -> Option<Estimate> {
        let row = self.row(factors);
        let by_residual = self
            .residual
            .and_then(|(variance, degrees)| Estimate::new(row.norm() * variance.sqrt(), degrees));
        let Some(own) = &self.own else {
            return by_residual;
        };
        let terms = || {
            row.iter()
                .zip(own)
                .map(|(w, e)| (w * e.standard, e.degrees()))
        };
        let variance: f64 = terms().map(|(term, _)| term * term).sum();
        // Welch-Satterthwaite (JCGM 100:2008, G.2b).
        let fourth: f64 = terms().map(|(term, degrees)| term.powi(4) / degrees).sum();
        let degrees = if fourth > 0.0 {
            variance * variance / fourth
        } else {
            f64::INFINITY
        };
        if let Some((residual, above)) = self.residual {
            let within = row.norm_squared();
            let excess = residual * within / variance;
            if variance > 0.0 && fisher(0.95, above, degrees).is_some_and(|bound| excess > bound) {
                return by_residual;
            }
        }
        Estimate::new(variance.sqrt(), degrees)
    }

    /// The polynomial's value at a depth as factors of its coefficients.
    pub(super) fn factors_at(&self, depth_mm: f64) -> Vec<f64> {
        let x = depth_mm - self.middle_mm;
        std::iter::successors(Some(1.0), |power| Some(power * x))
            .take(self.coefficients.len())
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// JCGM 100:2008, H.3, table H.6 and its results as printed: the correction of a thermometer as
    /// a line over temperature, its coefficients strongly correlated about 20 °C (H.3.3) and not at
    /// all about the middle of the temperatures (H.3.5). The line along a bore's axis is the same
    /// fit.
    #[test]
    fn the_thermometer_of_h3() {
        let points: Vec<Point> = [
            (21.521, -0.171),
            (22.012, -0.169),
            (22.512, -0.166),
            (23.003, -0.159),
            (23.507, -0.164),
            (23.999, -0.165),
            (24.513, -0.156),
            (25.002, -0.157),
            (25.503, -0.159),
            (26.010, -0.161),
            (26.511, -0.160),
        ]
        .map(|(celsius, correction)| Point {
            depth_mm: celsius,
            diameter_mm: correction,
            own: None,
            form_mm: 0.0,
            drift_mm: 0.0,
        })
        .to_vec();
        let line = Fit::through(&points, 1).unwrap();
        let u = |factors: &[f64]| line.scattered(factors).unwrap().standard;
        let printed = |value: f64, printed: f64, half_digit: f64| {
            assert!((value - printed).abs() <= half_digit, "{value} {printed}");
        };
        let (slope, at_20) = ([0.0, 1.0], line.factors_at(20.0));
        printed(line.at(20.0), -0.1712, 5e-5);
        printed(u(&at_20), 0.0029, 5e-5);
        printed(line.coefficient(1), 0.00218, 5e-6);
        printed(u(&slope), 0.00067, 5e-6);
        let both: Vec<f64> = at_20.iter().zip(slope).map(|(a, b)| a + b).collect();
        let covariance = (u(&both).powi(2) - u(&at_20).powi(2) - u(&slope).powi(2)) / 2.0;
        printed(covariance / (u(&at_20) * u(&slope)), -0.930, 5e-4);
        let (variance, degrees) = line.residual.unwrap();
        printed(variance.sqrt(), 0.0035, 5e-5);
        assert_eq!(degrees, 9.0);
        printed(line.at(30.0), -0.1494, 5e-5);
        printed(u(&line.factors_at(30.0)), 0.0041, 5e-5);

        printed(line.middle_mm, 24.0085, 5e-5);
        printed(line.coefficient(0), -0.1625, 5e-5);
        printed(u(&[1.0, 0.0]), 0.0011, 5e-5);
    }
}
