//! One lobe count as a vector: its size, its direction, and the joint region of both.

use nalgebra::{Matrix2, Vector2};

use super::Contact;
use super::harmonics::Harmonics;
use super::region::Region;
use super::scatter::Scatter;
use crate::uncertainty::{Estimate, LEVEL};

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
    pub(super) fn direction(&self) -> Result<f64, &'static str> {
        let rounding = 1e-11;
        if self.amplitude() <= rounding {
            return Err("there is no such lobe, so it has no direction");
        }
        let Some(region) = self.region() else {
            return Err(
                "how far the readings scatter is not known, so no direction shows; gauge more directions or repeat them",
            );
        };
        // With one or two degrees of freedom 95 % would hide an oval that anyone can see.
        let level = if region.degrees < 3.0 { 0.90 } else { LEVEL };
        if !region.excludes_zero(level) {
            return Err(
                "not distinguishable from scatter, so it has no direction; gauge more directions or repeat them",
            );
        }
        let period = 360.0 / f64::from(self.count);
        let peak = (self.mean.y.atan2(self.mean.x).to_degrees() / f64::from(self.count))
            .rem_euclid(period);
        Ok(if peak >= period { 0.0 } else { peak })
    }

    fn region(&self) -> Option<Region> {
        let scatter = self.scatter?;
        Some(Region {
            mean: self.mean,
            covariance: self.inverse * scatter.variance_mm2,
            degrees: scatter.degrees,
        })
    }

    /// Uncertainty of the amplitude; see [`Region::length`].
    pub(super) fn amplitude_estimate(&self) -> Option<Estimate> {
        self.region()?.length()
    }

    /// Uncertainty of the direction, degrees.
    pub(super) fn direction_estimate(&self) -> Option<Estimate> {
        let turned = self.region()?.direction()?;
        Some(turned.times(1.0 / f64::from(self.count)))
    }
}
