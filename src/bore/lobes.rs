//! One lobe count as a vector: its size, its direction, and the joint region of both.

use nalgebra::{Matrix2, Vector2};

use super::Contact;
use super::harmonics::Harmonics;
use super::scatter::Scatter;
use crate::uncertainty::{Estimate, LEVEL, fisher};

/// Points on the edge of the joint region that are looked at; the region is an ellipse, and its
/// farthest point lies within 0.1 % of the farthest of so many.
const EDGE: u32 = 72;

/// Cosine and sine of one lobe count of the wall's radius, mm.
pub(super) struct Vector {
    count: u32,
    mean: Vector2<f64>,
    /// (XᵀX)⁻¹ of the pair, in terms of the wall's radius.
    inverse: Matrix2<f64>,
    scatter: Option<Scatter>,
}

impl Vector {
    /// The pair of `count` in `fit`; a count that isn't in it is a pair of zeros.
    pub(super) fn of(
        fit: &Harmonics,
        contact: Contact,
        count: u32,
        scatter: Option<Scatter>,
    ) -> Self {
        let gain = contact.gain(count);
        let (mean, inverse) = fit.place(count).map_or_else(
            || (Vector2::zeros(), Matrix2::zeros()),
            |at| {
                (
                    fit.coefficients.fixed_rows::<2>(at) / gain,
                    fit.inverse.fixed_view::<2, 2>(at, at) / (gain * gain),
                )
            },
        );
        Self {
            count,
            mean,
            inverse,
            scatter,
        }
    }

    /// Half of peak to valley of the wall's radius, mm.
    pub(super) fn amplitude(&self) -> f64 {
        self.mean.norm()
    }

    /// Standard error of the amplitude per unit of a reading's, in the worst direction.
    pub(super) fn gain(&self) -> f64 {
        self.inverse.symmetric_eigenvalues().max().max(0.0).sqrt()
    }

    /// First direction in [0, 360 / count), degrees, in which the bore is largest; or why there
    /// is none.
    pub(super) fn direction(&self, resolution_mm: Option<f64>) -> Result<f64, &'static str> {
        let rounding = 1e-11;
        if self.amplitude() <= rounding {
            return Err("there is no such lobe, so it has no direction");
        }
        if let Some(scatter) = self.scatter {
            // With one or two degrees of freedom 95 % would hide an oval that anyone can see.
            let level = if scatter.degrees < 3.0 { 0.90 } else { LEVEL };
            if !self.region_excludes_zero(level) {
                return Err(
                    "not distinguishable from scatter, so it has no direction; gauge more directions or repeat them",
                );
            }
        } else if resolution_mm.is_some_and(|step| self.amplitude() < step / 2.0) {
            return Err("no larger than the gauge's digit step, so it has no direction");
        }
        let period = 360.0 / f64::from(self.count);
        let peak = (self.mean.y.atan2(self.mean.x).to_degrees() / f64::from(self.count))
            .rem_euclid(period);
        Ok(if peak >= period { 0.0 } else { peak })
    }

    fn region_excludes_zero(&self, level: f64) -> bool {
        let Some(scatter) = self.scatter else {
            return true;
        };
        let covariance = self.inverse * scatter.variance_mm2;
        let Some(precision) = covariance.try_inverse() else {
            return true;
        };
        let squared = (precision * self.mean).dot(&self.mean);
        fisher(level, 2.0, scatter.degrees).is_none_or(|bound| squared > 2.0 * bound)
    }

    /// The edge of the joint 95 % region of cosine and sine (Hotelling's T² for two coefficients
    /// of a linear fit: an ellipse with 2 F(0.95; 2, ν)).
    fn edge(&self, scatter: Scatter) -> Option<impl Iterator<Item = Vector2<f64>> + use<>> {
        let bound = 2.0 * fisher(LEVEL, 2.0, scatter.degrees)?;
        // In the vector's own directions, so that the points turn with the part.
        let along = self.along();
        let frame = Matrix2::new(along.x, -along.y, along.y, along.x);
        let own = frame.transpose() * self.inverse * frame;
        let root = frame * (own * scatter.variance_mm2 * bound).cholesky()?.l();
        let mean = self.mean;
        Some((0..EDGE).map(move |step| {
            let (sine, cosine) =
                (f64::from(step) * std::f64::consts::TAU / f64::from(EDGE)).sin_cos();
            mean + root * Vector2::new(cosine, sine)
        }))
    }

    /// The unit vector that the pair points along.
    fn along(&self) -> Vector2<f64> {
        self.mean.try_normalize(0.0).unwrap_or_else(Vector2::x)
    }

    /// Uncertainty of the amplitude: standard along the vector; expanded so that it reaches the
    /// farthest amplitude of the joint region, which holds the true one with 95 % or more.
    pub(super) fn amplitude_estimate(&self) -> Option<Estimate> {
        let scatter = self.scatter?;
        let amplitude = self.amplitude();
        let along = self.along();
        let standard =
            (self.inverse * along).dot(&along).max(0.0).sqrt() * scatter.variance_mm2.sqrt();
        let Some(edge) = self.edge(scatter) else {
            return Estimate::new(standard, scatter.degrees);
        };
        let (least, most) = edge
            .map(|point| point.norm())
            .fold((f64::INFINITY, 0.0_f64), |(least, most), norm| {
                (least.min(norm), most.max(norm))
            });
        let least = if self.region_excludes_zero(LEVEL) {
            least
        } else {
            0.0
        };
        self.expanded(standard, (most - amplitude).max(amplitude - least), scatter)
    }

    /// Uncertainty of the direction, degrees: how far it turns within the joint region.
    pub(super) fn direction_estimate(&self) -> Option<Estimate> {
        let scatter = self.scatter?;
        let amplitude = self.amplitude();
        if amplitude <= 0.0 {
            return None;
        }
        let across = Vector2::new(-self.mean.y, self.mean.x) / amplitude;
        let degrees_per_mm = (1.0 / amplitude).to_degrees() / f64::from(self.count);
        let standard = (self.inverse * across).dot(&across).max(0.0).sqrt()
            * scatter.variance_mm2.sqrt()
            * degrees_per_mm;
        let Some(edge) = self.edge(scatter) else {
            return Estimate::new(standard, scatter.degrees);
        };
        let half_turn = 180.0 / f64::from(self.count);
        let turned = if self.region_excludes_zero(LEVEL) {
            edge.map(|point| {
                let angle = self.mean.perp(&point).atan2(self.mean.dot(&point));
                angle.abs().to_degrees() / f64::from(self.count)
            })
            .fold(0.0, f64::max)
        } else {
            half_turn
        };
        self.expanded(standard, turned, scatter)
    }

    fn expanded(&self, standard: f64, expanded: f64, scatter: Scatter) -> Option<Estimate> {
        let plain = Estimate::new(standard, scatter.degrees)?;
        let coverage_factor = expanded / standard;
        if !(coverage_factor.is_finite() && expanded.is_finite()) {
            return Some(plain);
        }
        Some(Estimate {
            expanded,
            coverage_factor,
            ..plain
        })
    }
}
