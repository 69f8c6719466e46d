//! The joint region of a vector in the plane: how uncertain its length and its direction are.

use nalgebra::{Matrix2, Vector2};

use crate::uncertainty::{Estimate, LEVEL, fisher};

/// Points on the edge of the joint region that are looked at; the region is an ellipse, and its
/// farthest point lies within 0.1 % of the farthest of so many.
const EDGE: u32 = 72;

/// A vector with the covariance of its two parts.
pub(super) struct Region {
    pub mean: Vector2<f64>,
    pub covariance: Matrix2<f64>,
    /// Degrees of freedom of the covariance.
    pub degrees: f64,
}

impl Region {
    /// Whether the joint region of `level` leaves out the vector of no length.
    pub(super) fn excludes_zero(&self, level: f64) -> bool {
        let Some(precision) = self.covariance.try_inverse() else {
            return true;
        };
        let squared = (precision * self.mean).dot(&self.mean);
        fisher(level, 2.0, self.degrees).is_none_or(|bound| squared > 2.0 * bound)
    }

    /// The edge of the joint 95 % region of both parts (Hotelling's T² for two coefficients of a
    /// linear fit: an ellipse with 2 F(0.95; 2, ν)).
    fn edge(&self) -> Option<impl Iterator<Item = Vector2<f64>> + use<>> {
        let bound = 2.0 * fisher(LEVEL, 2.0, self.degrees)?;
        // In the vector's own directions, so that the points turn with the part.
        let along = self.along();
        let frame = Matrix2::new(along.x, -along.y, along.y, along.x);
        let own = frame.transpose() * self.covariance * frame;
        let root = frame * (own * bound).cholesky()?.l();
        let mean = self.mean;
        Some((0..EDGE).map(move |step| {
            let (sine, cosine) =
                (f64::from(step) * std::f64::consts::TAU / f64::from(EDGE)).sin_cos();
            mean + root * Vector2::new(cosine, sine)
        }))
    }

    /// The unit vector that the mean points along.
    fn along(&self) -> Vector2<f64> {
        self.mean.try_normalize(0.0).unwrap_or_else(Vector2::x)
    }

    fn standard(&self, way: &Vector2<f64>) -> f64 {
        (self.covariance * way).dot(way).max(0.0).sqrt()
    }

    /// Uncertainty of the length: standard along the vector; expanded so that it reaches the
    /// farthest length of the joint region, which holds the true one with 95 % or more.
    pub(super) fn length(&self) -> Option<Estimate> {
        let length = self.mean.norm();
        let plain = Estimate::new(self.standard(&self.along()), self.degrees)?;
        let Some(edge) = self.edge() else {
            return Some(plain);
        };
        let (least, most) = edge
            .map(|point| point.norm())
            .fold((f64::INFINITY, 0.0_f64), |(least, most), norm| {
                (least.min(norm), most.max(norm))
            });
        let least = if self.excludes_zero(LEVEL) {
            least
        } else {
            0.0
        };
        Some(plain.reaching((most - length).max(length - least)))
    }

    /// Uncertainty of the direction, degrees: how far it turns within the joint region. `None` of a
    /// vector without length.
    pub(super) fn direction(&self) -> Option<Estimate> {
        let length = self.mean.norm();
        if length <= 0.0 {
            return None;
        }
        let across = Vector2::new(-self.mean.y, self.mean.x) / length;
        let standard = (self.standard(&across) / length).to_degrees();
        let plain = Estimate::new(standard, self.degrees)?;
        let Some(edge) = self.edge() else {
            return Some(plain);
        };
        let turned = if self.excludes_zero(LEVEL) {
            edge.map(|point| {
                let angle = self.mean.perp(&point).atan2(self.mean.dot(&point));
                angle.abs().to_degrees()
            })
            .fold(0.0, f64::max)
        } else {
            180.0
        };
        Some(plain.reaching(turned))
    }
}
