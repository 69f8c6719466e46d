//! The uncertainties of the reference circles, by simulation.

use nalgebra::{Matrix2, Matrix3, Vector2, Vector3};

use super::program::Program;
use crate::bore::range::{FEW_DEGREES, larger, simulated};
use crate::bore::scatter::Scatter;
use crate::uncertainty::{Estimate, LEVEL, Random, fisher, student};

/// Trials for few stations; fewer where there are many, as each trial costs some numbers a station.
const MOST_TRIALS: usize = 400;
const LEAST_TRIALS: usize = 200;
const NUMBERS: usize = 20_000;

/// The uncertainties of one circle's numbers; see [`crate::bore::Circle`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::bore) struct Uncertain {
    pub centre: Centre,
    pub radius: Estimate,
    pub zone: Estimate,
    pub peak: Estimate,
    pub valley: Estimate,
}

/// How well a centre is known: its covariance, mm², and the square of what covers it, as matrices
/// that turn with the part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::bore) struct Centre {
    standard: Matrix2<f64>,
    expanded: Matrix2<f64>,
    degrees: f64,
}

impl Centre {
    /// Along the axes of the sweep.
    pub(in crate::bore) fn along(&self) -> Option<[Estimate; 2]> {
        let along = |axis: usize| {
            let plain = Estimate::new(self.standard[(axis, axis)].sqrt(), self.degrees)?;
            Some(plain.reaching(self.expanded[(axis, axis)].sqrt()))
        };
        Some([along(0)?, along(1)?])
    }

    /// What reaches as far as both in every direction. The larger one of each axis would not turn
    /// with the part.
    fn larger(&self, other: &Self) -> Option<Self> {
        Some(Self {
            standard: covering(self.standard, other.standard)?,
            expanded: covering(self.expanded, other.expanded)?,
            degrees: self.degrees,
        })
    }
}

/// An ellipse around both: in the axes in which `one` is a unit circle and `other` stands upright,
/// the larger one of each.
fn covering(one: Matrix2<f64>, other: Matrix2<f64>) -> Option<Matrix2<f64>> {
    let root = one.cholesky()?.unpack();
    let back = root.try_inverse()?;
    let mut upright = (back * other * back.transpose()).symmetric_eigen();
    upright
        .eigenvalues
        .apply(|value| *value = f64::max(*value, 1.0));
    Some(root * upright.recompose() * root.transpose())
}

/// Least squares, minimum zone, maximum inscribed, minimum circumscribed.
const CIRCLES: usize = 4;

/// The numbers of one circle: centre, radius, zone, peak, valley.
type Numbers = [f64; 6];

/// Both ends of the edge on which a circle's centre may lie, alike where it is determined.
type Ends = [Numbers; 2];

/// Directions in order, and what each circle needs of them.
struct Circles {
    ways: Vec<[f64; 2]>,
    /// (AᵀA)⁻¹ of the linearised least-squares circle.
    inverse: Matrix3<f64>,
    zone: Program<4>,
    inscribed: Program<3>,
    circumscribed: Program<3>,
    slack: f64,
}

impl Circles {
    fn of(angles: &[f64], slack: f64) -> Option<Self> {
        let ways: Vec<[f64; 2]> = angles.iter().map(|a| [a.cos(), a.sin()]).collect();
        let squares = ways.iter().fold(Matrix3::zeros(), |sum, way| {
            let row = Vector3::new(way[0], way[1], 1.0);
            sum + row * row.transpose()
        });
        Some(Self {
            inverse: squares.try_inverse()?,
            zone: Program::zone(&ways),
            inscribed: Program::inscribed(&ways, angles),
            circumscribed: Program::circumscribed(&ways, angles),
            ways,
            slack,
        })
    }

    /// Starts from the `wall` itself, and leaves out what scatter within `reach` can't touch.
    fn settle(&mut self, wall: &[f64], reach: f64) -> Option<[Ends; CIRCLES]> {
        let zone = self.zone.solve(wall, self.slack)?;
        self.zone.keep(&zone, wall, reach);
        for program in [&mut self.inscribed, &mut self.circumscribed] {
            let circle = program.solve(wall, self.slack)?;
            program.keep(&circle, wall, reach);
        }
        self.numbers(wall)
    }

    fn numbers(&self, wall: &[f64]) -> Option<[Ends; CIRCLES]> {
        let mut sums = [0.0; 3];
        for (way, d) in self.ways.iter().zip(wall) {
            sums[0] += way[0] * d;
            sums[1] += way[1] * d;
            sums[2] += d;
        }
        let least_squares = self.inverse * Vector3::from(sums);
        let zone = self.zone.solved(wall, self.slack)?;
        let inscribed = self.inscribed.solved(wall, self.slack)?;
        let circumscribed = self.circumscribed.solved(wall, self.slack)?;
        let about = |x: f64, y: f64, radius: fn(f64, f64, f64) -> f64| {
            let (mut least, mut most) = (f64::INFINITY, f64::NEG_INFINITY);
            for (way, d) in self.ways.iter().zip(wall) {
                let at = d - x * way[0] - y * way[1];
                least = least.min(at);
                most = most.max(at);
            }
            let radius = radius(least, most, least_squares[2]);
            [x, y, radius, most - least, most - radius, radius - least]
        };
        Some([
            [about(least_squares[0], least_squares[1], |_, _, radius| radius); 2],
            zone.ends(|x| about(x[0], x[1], |least, most, _| f64::midpoint(least, most))),
            inscribed.ends(|x| about(x[0], x[1], |least, _, _| least)),
            circumscribed.ends(|x| about(x[0], x[1], |_, most, _| most)),
        ])
    }
}

/// The uncertainties of the four circles through stations whose true wall is `wall_mm` at
/// `angles_rad`, in order of angle, by simulation (JCGM 101:2008) with a fixed seed: each trial
/// scatters the wall and finds the circles anew, to first order in the deviations. What they are is
/// said in [`ends_estimate`](crate::bore::range::ends_estimate): the distance from the circle of
/// the wall itself, its 95 % quantile with the standard deviation drawn too.
///
/// Of a centre the joint region is simulated and cut down to one axis as Student's t is to
/// Hotelling's T². Two opposite contacts leave the centre free to either side of the line between
/// them, as an egged bore on evenly spread directions does: the distance is that of the farther side.
/// The draws begin at station `first`, which is to be one that turns with the part,
/// so that a turned part has the same uncertainties, turned. With few degrees of freedom each is the
/// larger one of this wall and of a round one, as there; of a centre the ellipse around both.
pub(in crate::bore) fn uncertain(
    angles_rad: &[f64],
    wall_mm: &[f64],
    first: usize,
    scatter: Scatter,
) -> Option<[Uncertain; CIRCLES]> {
    let sigma = scatter.variance_mm2.sqrt();
    // A picometre is rounding of the readings.
    if sigma <= 1e-12 {
        return exact(scatter.degrees);
    }
    let mut found = about(angles_rad, wall_mm, first, scatter)?;
    if scatter.degrees < FEW_DEGREES && wall_mm.iter().any(|&wall| wall.abs() > 0.0) {
        let round = about(angles_rad, &vec![0.0; wall_mm.len()], first, scatter)?;
        for (one, other) in found.iter_mut().zip(round) {
            *one = Uncertain {
                centre: one.centre.larger(&other.centre)?,
                radius: larger(one.radius, other.radius),
                zone: larger(one.zone, other.zone),
                peak: larger(one.peak, other.peak),
                valley: larger(one.valley, other.valley),
            };
        }
    }
    Some(found)
}

fn exact(degrees: f64) -> Option<[Uncertain; CIRCLES]> {
    let none = Estimate::new(0.0, degrees)?;
    let centre = Centre {
        standard: Matrix2::zeros(),
        expanded: Matrix2::zeros(),
        degrees,
    };
    let all = Uncertain {
        centre,
        radius: none,
        zone: none,
        peak: none,
        valley: none,
    };
    Some([all; CIRCLES])
}

fn about(
    angles_rad: &[f64],
    wall_mm: &[f64],
    first: usize,
    scatter: Scatter,
) -> Option<[Uncertain; CIRCLES]> {
    let sigma = scatter.variance_mm2.sqrt();
    let count = wall_mm.len();
    if count < 4 || first >= count || angles_rad.len() != count {
        return None;
    }
    let mut circles = Circles::of(angles_rad, 1e-9 * sigma)?;
    let own = circles.settle(wall_mm, 16.0 * sigma)?;
    let trials = (NUMBERS / count).clamp(LEAST_TRIALS, MOST_TRIALS);
    let mut random = Random::new(0x0c13_c1e5);
    let mut scattered = wall_mm.to_vec();
    let mut found: Vec<([Numbers; CIRCLES], f64)> = Vec::with_capacity(trials);
    for _ in 0..trials {
        for step in 0..count {
            let at = (first + step) % count;
            scattered[at] = wall_mm[at] + sigma * random.normal();
        }
        let ratio = random.deviation_ratio(scatter.degrees);
        let Some(numbers) = circles.numbers(&scattered) else {
            continue;
        };
        found.push((std::array::from_fn(|at| off(&numbers[at], &own[at])), ratio));
    }
    if 2 * found.len() < trials {
        return None;
    }
    let of = |circle: usize| -> Option<Uncertain> {
        let off: Vec<(Numbers, f64)> = found.iter().map(|(all, r)| (all[circle], *r)).collect();
        let number = |place: usize| {
            let distances = off.iter().map(|(of, ratio)| (of[place].abs(), *ratio));
            simulated(distances, scatter.degrees)
        };
        Some(Uncertain {
            centre: centre(&off, scatter.degrees)?,
            radius: number(2)?,
            zone: number(3)?,
            peak: number(4)?,
            valley: number(5)?,
        })
    };
    Some([of(0)?, of(1)?, of(2)?, of(3)?])
}

/// How far a circle is off its own, from either end to either: which of them stands as the number
/// and which is true, nobody can tell. Of the centre the farthest, of the others each its farthest.
fn off(found: &Ends, own: &Ends) -> Numbers {
    let mut most = [0.0; 6];
    for found in found {
        for own in own {
            let off: Numbers = std::array::from_fn(|at| found[at] - own[at]);
            if off[0].hypot(off[1]) > f64::hypot(most[0], most[1]) {
                most[..2].copy_from_slice(&off[..2]);
            }
            for (most, off) in most.iter_mut().zip(off).skip(2) {
                *most = most.max(off.abs());
            }
        }
    }
    most
}

#[expect(clippy::cast_precision_loss, reason = "a few hundred trials")]
fn centre(off: &[(Numbers, f64)], degrees: f64) -> Option<Centre> {
    let place = |of: &Numbers| Vector2::new(of[0], of[1]);
    let squares = off.iter().fold(Matrix2::zeros(), |sum, (of, _)| {
        sum + place(of) * place(of).transpose()
    });
    let covariance = squares / off.len() as f64;
    let precision = covariance.try_inverse()?;
    let reach = simulated(
        off.iter().map(|(of, ratio)| {
            let off = place(of);
            ((precision * off).dot(&off).max(0.0).sqrt(), *ratio)
        }),
        degrees,
    )?;
    let joint = (2.0 * fisher(LEVEL, 2.0, degrees)?).sqrt();
    let factor = reach.expanded * student(LEVEL, degrees)? / joint;
    Some(Centre {
        standard: covariance,
        expanded: covariance * factor.powi(2),
        degrees,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bore::circle::{LeastSquares, Points, circumscribed, inscribed, minimum_zone};

    /// Against the exact searches of this room, which other tests hold against independent ones: a
    /// wall of 20 µm on 1 km is its own limaçon.
    #[test]
    fn linear_programs_find_the_exact_circles() {
        let far = 1e6;
        for count in [4_u32, 5, 9, 24, 100] {
            let mut random = Random::new(u64::from(count));
            let angles: Vec<f64> = (0..count)
                .map(|at| {
                    let turn = (f64::from(at) + 0.4 * random.uniform()) / f64::from(count);
                    turn * std::f64::consts::TAU
                })
                .collect();
            for _ in 0..20 {
                let wall: Vec<f64> = angles.iter().map(|_| 0.02 * random.normal()).collect();
                let circles = Circles::of(&angles, 1e-12).unwrap();
                let found = circles.numbers(&wall).unwrap();
                let points: Vec<[f64; 2]> = angles
                    .iter()
                    .zip(&wall)
                    .map(|(a, d)| [(far + d) * a.cos(), (far + d) * a.sin()])
                    .collect();
                let least_squares = LeastSquares::fit(&points).unwrap();
                let about = Points::about(&points, &least_squares);
                let exact = [
                    [least_squares.x, least_squares.y],
                    minimum_zone(&about).unwrap().centre,
                    inscribed(&about).unwrap().centre,
                    circumscribed(&about).unwrap().centre,
                ];
                for (circle, ([found, _], centre)) in found.iter().zip(exact).enumerate() {
                    let (least, most) = about.reach(centre);
                    let apart = (found[3] - (most - least)).abs();
                    assert!(apart < 1e-7, "{count} stations, circle {circle}: {apart}");
                }
            }
        }
    }
}
