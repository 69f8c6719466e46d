//! Points about the least-squares centre, and searches among them.

use super::LeastSquares;

/// Sectors from which a search takes its first points.
const SECTORS: usize = 8;

/// A reference circle and the points that determine it.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Found {
    /// Centre.
    pub centre: [f64; 2],
    /// Radius; of a minimum zone, midway between the two circles.
    pub radius: f64,
    /// Points outside that touch it, as indices.
    pub outer: Vec<usize>,
    /// Points inside that touch it, as indices.
    pub inner: Vec<usize>,
}

/// Points relative to the centre of their least-squares circle: near the origin differences of
/// squares keep their digits.
pub(crate) struct Points {
    pub(super) all: Vec<[f64; 2]>,
    origin: [f64; 2],
    pub(super) radius: f64,
    /// Rounding of a distance.
    pub(super) slack: f64,
}

impl Points {
    /// `points` about `circle`.
    pub(crate) fn about(points: &[[f64; 2]], circle: &LeastSquares) -> Self {
        Self {
            all: points
                .iter()
                .map(|p| [p[0] - circle.x, p[1] - circle.y])
                .collect(),
            origin: [circle.x, circle.y],
            radius: circle.radius,
            slack: 4.0 * f64::EPSILON * (circle.radius + circle.x.abs() + circle.y.abs()),
        }
    }

    /// The largest angle between neighbouring points as seen from the centre, degrees.
    pub(crate) fn widest_gap_deg(&self) -> f64 {
        let mut angles: Vec<f64> = self.all.iter().map(|p| p[1].atan2(p[0])).collect();
        angles.sort_by(f64::total_cmp);
        let around = angles
            .first()
            .zip(angles.last())
            .map_or(std::f64::consts::TAU, |(first, last)| {
                first + std::f64::consts::TAU - last
            });
        angles
            .windows(2)
            .map(|pair| pair[1] - pair[0])
            .fold(around, f64::max)
            .to_degrees()
    }

    /// Nearest and farthest point from `centre`: index and distance.
    pub(super) fn extremes(&self, centre: [f64; 2]) -> ((usize, f64), (usize, f64)) {
        let (mut near, mut far) = ((0, f64::INFINITY), (0, -1.0));
        for (index, point) in self.all.iter().enumerate() {
            let (dx, dy) = (point[0] - centre[0], point[1] - centre[1]);
            let squared = dx * dx + dy * dy;
            if squared < near.1 {
                near = (index, squared);
            }
            if squared > far.1 {
                far = (index, squared);
            }
        }
        ((near.0, near.1.sqrt()), (far.0, far.1.sqrt()))
    }

    /// Smallest and largest distance from a centre in the caller's coordinates.
    pub(crate) fn reach(&self, centre: [f64; 2]) -> (f64, f64) {
        let ((_, near), (_, far)) =
            self.extremes([centre[0] - self.origin[0], centre[1] - self.origin[1]]);
        (near, far)
    }

    /// Whether the points are a circle within rounding.
    pub(super) fn perfect(&self) -> bool {
        let ((_, near), (_, far)) = self.extremes([0.0, 0.0]);
        far - near <= 4.0 * self.slack
    }

    /// The nearest and the farthest point of each sector.
    pub(super) fn first_guess(&self, near: bool, far: bool) -> Vec<usize> {
        let mut nearest = [(usize::MAX, f64::INFINITY); SECTORS];
        let mut farthest = [(usize::MAX, -1.0); SECTORS];
        for (index, point) in self.all.iter().enumerate() {
            let squared = point[0] * point[0] + point[1] * point[1];
            let sector = usize::from(point[0] > 0.0)
                + 2 * usize::from(point[1] > 0.0)
                + 4 * usize::from(point[0].abs() > point[1].abs());
            if squared < nearest[sector].1 {
                nearest[sector] = (index, squared);
            }
            if squared > farthest[sector].1 {
                farthest[sector] = (index, squared);
            }
        }
        let mut chosen: Vec<usize> = nearest
            .iter()
            .filter(|_| near)
            .chain(farthest.iter().filter(|_| far))
            .map(|&(index, _)| index)
            .filter(|&index| index != usize::MAX)
            .collect();
        chosen.sort_unstable();
        chosen.dedup();
        chosen
    }

    pub(super) fn distance(&self, index: usize, centre: [f64; 2]) -> f64 {
        let point = self.all[index];
        (point[0] - centre[0]).hypot(point[1] - centre[1])
    }

    /// The point as far from `a` as from `b`, and as far from `c` as from `d`.
    pub(super) fn equidistant(
        &self,
        (a, b): (usize, usize),
        (c, d): (usize, usize),
    ) -> Option<[f64; 2]> {
        let line = |from: [f64; 2], to: [f64; 2]| {
            let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
            // Half of |to|² - |from|² as a product, which keeps its digits.
            let offset = dx.mul_add(to[0] + from[0], dy * (to[1] + from[1])) / 2.0;
            (dx, dy, offset)
        };
        let (ax, ay, ao) = line(self.all[a], self.all[b]);
        let (cx, cy, co) = line(self.all[c], self.all[d]);
        let determinant = ax * cy - ay * cx;
        let size = ax.hypot(ay) * cx.hypot(cy);
        (determinant.abs() > 1e-9 * size).then(|| {
            [
                (ao * cy - ay * co) / determinant,
                (ax * co - ao * cx) / determinant,
            ]
        })
    }

    pub(super) fn found(
        &self,
        centre: [f64; 2],
        radius: f64,
        outer: Vec<usize>,
        inner: Vec<usize>,
    ) -> Found {
        Found {
            centre: [centre[0] + self.origin[0], centre[1] + self.origin[1]],
            radius,
            outer,
            inner,
        }
    }
}
