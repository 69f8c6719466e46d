//! The uncertainty of the ends of many values, and of their range: largest minus smallest.

use std::sync::LazyLock;

use super::shape::Shape;
use crate::uncertainty::{Estimate, LEVEL, Random, student};

/// Trials for few stations; fewer where there are many, as each trial costs a number a station.
const MOST_TRIALS: usize = 1000;
const LEAST_TRIALS: usize = 400;
const NUMBERS: usize = 100_000;

/// So many standard normal numbers are drawn once and kept.
const KEPT: usize = 24 * MOST_TRIALS;
/// These, and their source for more.
static NORMALS: LazyLock<(Vec<f64>, Random)> = LazyLock::new(|| {
    let mut random = Random::new(0x0b0e_3a11);
    let kept = (0..KEPT).map(|_| random.normal()).collect();
    (kept, random)
});

/// With fewer degrees of freedom than this, whether the wall counts as round or as fitted hangs on
/// how the scatter came out, as the interval does: it is then to hold of both.
pub(super) const FEW_DEGREES: f64 = 5.0;

/// What stands beside the ends of some values.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Ends {
    pub smallest: Estimate,
    pub largest: Estimate,
    /// Largest minus smallest.
    pub range: Estimate,
}

/// The uncertainties of the smallest and the largest of station means and of their range, the true
/// values being `wall_mm` and each mean scattering by its own of `standards_mm`, by simulation (JCGM
/// 101:2008) with a fixed seed.
///
/// Scatter makes a range larger, never smaller, where several stations are nearly extreme, and the
/// largest of many lies above the truth: of a round bore the range is scatter alone. So each trial
/// scatters the wall, takes the ends, and the expanded uncertainty is the 95 % quantile of their
/// distance from the wall's own. The standard deviation itself is known to few degrees of freedom,
/// so each trial also draws that. All walls are scattered by the same draws. Below [`FEW_DEGREES`] it is the larger one of this wall and of a
/// round one.
pub(super) fn ends_estimate(wall_mm: &[f64], standards_mm: &[f64], degrees: f64) -> Option<Ends> {
    let trials = Trials::of(degrees);
    let own = trials.ends(wall_mm, standards_mm)?;
    if degrees >= FEW_DEGREES {
        return Some(own);
    }
    let round = trials.ends(&vec![0.0; wall_mm.len()], standards_mm)?;
    Some(Ends {
        smallest: larger(own.smallest, round.smallest),
        largest: larger(own.largest, round.largest),
        range: larger(own.range, round.range),
    })
}

/// An upper bound of the same for a section under way, `standard_mm` that of its least known
/// station: no end is off by more than the worst of its `count` stations is, which Bonferroni's
/// inequality bounds, and no range by more than two.
#[expect(clippy::cast_precision_loss, reason = "counts of stations")]
pub(super) fn ends_bound(count: usize, standard_mm: f64, degrees: f64) -> Option<Ends> {
    let each = (1.0 - LEVEL) / count as f64;
    let one =
        Estimate::new(standard_mm, degrees)?.reaching(standard_mm * student(1.0 - each, degrees)?);
    Some(Ends {
        smallest: one,
        largest: one,
        range: one.times(2.0),
    })
}

/// What beside the smallest of some means, each known as its own of `known` says; `None` where their
/// differences don't exceed what scatter makes of equal ones, so that none of them shows as the
/// smallest.
///
/// A mean that lies no farther from the smallest than scatter takes equal ones may be as small: the
/// simulation starts from so many smallest ones. What all of them say together of the scatter counts
/// for those that came out better known by chance.
pub(super) fn smallest_shown(means_mm: &[f64], known: &[Estimate]) -> Option<Estimate> {
    let (mut squares, mut degrees) = (0.0, 0.0);
    for own in known {
        // So many are as good as infinite, and can be added up.
        let own_degrees = own.degrees().min(1e6);
        squares += own_degrees * own.standard.powi(2);
        degrees += own_degrees;
    }
    let pooled = (squares / degrees).sqrt();
    let standards: Vec<f64> = known.iter().map(|own| own.standard.max(pooled)).collect();
    let (least, most) = ends_of(means_mm.iter().copied());
    let trials = Trials::of(degrees);
    let equal = trials.ends(&vec![0.0; means_mm.len()], &standards)?;
    let reach = equal.range.expanded + ROUNDING_MM;
    if most - least <= reach {
        return None;
    }
    let wall: Vec<f64> = means_mm
        .iter()
        .map(|&mean| {
            if mean - least <= reach {
                0.0
            } else {
                mean - least
            }
        })
        .collect();
    Some(trials.ends(&wall, &standards)?.smallest)
}

/// Below this, mm, a difference is rounding of the arithmetic.
const ROUNDING_MM: f64 = 1e-9;

/// The one that reaches farther.
pub(super) fn larger(one: Estimate, other: Estimate) -> Estimate {
    if other.expanded > one.expanded {
        other
    } else {
        one
    }
}

/// Smallest and largest.
fn ends_of(values: impl Iterator<Item = f64>) -> (f64, f64) {
    values.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), value| {
        (a.min(value), b.max(value))
    })
}

/// Trials of walls whose scatter is known to so many degrees of freedom.
struct Trials {
    degrees: f64,
    /// How the standard deviation comes out in each.
    ratios: Vec<f64>,
}

impl Trials {
    fn of(degrees: f64) -> Self {
        let mut random = Random::new(0x0b0e_3a12);
        let ratios = (0..MOST_TRIALS).map(|_| random.deviation_ratio(degrees));
        Self {
            degrees,
            ratios: ratios.collect(),
        }
    }

    fn ends(&self, wall_mm: &[f64], standards_mm: &[f64]) -> Option<Ends> {
        let (_, widest) = ends_of(standards_mm.iter().copied());
        if wall_mm.is_empty() || wall_mm.len() != standards_mm.len() {
            return None;
        }
        if wall_mm.len() == 1 || widest <= 0.0 {
            let one = Estimate::new(widest, self.degrees)?;
            return Some(Ends {
                smallest: one,
                largest: one,
                range: Estimate::new(0.0, self.degrees)?,
            });
        }
        // Stations that scatter can't make extreme need no numbers.
        let (least, most) = ends_of(wall_mm.iter().copied());
        let reach = 8.0 * widest;
        let mut near: Vec<(f64, f64)> = wall_mm
            .iter()
            .copied()
            .zip(standards_mm.iter().copied())
            .filter(|(value, _)| value - least < reach || most - value < reach)
            .collect();
        // The draws are dealt in order of size, not of angle: a range knows no angles, so that a
        // turned part has the same uncertainty. Stations of one size may change places, as their
        // draws may.
        near.sort_unstable_by(|a, b| b.0.total_cmp(&a.0).then(b.1.total_cmp(&a.1)));

        let trials = (NUMBERS / near.len()).clamp(LEAST_TRIALS, MOST_TRIALS);
        let mut normals = normals();
        let off: Vec<[f64; 3]> = (0..trials)
            .map(|_| {
                let dealt = near.iter().zip(&mut normals);
                let (low, high) =
                    ends_of(dealt.map(|((value, standard), normal)| value + standard * normal));
                [low - least, high - most, high - low - (most - least)]
            })
            .collect();
        let of = |at: usize| {
            let distances = off.iter().map(|off| off[at].abs());
            simulated(distances.zip(self.ratios.iter().copied()), self.degrees)
        };
        Some(Ends {
            smallest: of(0)?,
            largest: of(1)?,
            range: of(2)?,
        })
    }
}

/// Standard normal numbers of a fixed seed, always the same.
fn normals() -> impl Iterator<Item = f64> {
    let (kept, random) = &*NORMALS;
    let mut random = random.clone();
    let more = std::iter::repeat_with(move || random.normal());
    kept.iter().copied().chain(more)
}

/// What trials say of a number: its distances from what they started from, each with how the
/// standard deviation came out, which is known to so many degrees of freedom.
#[expect(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a few thousand trials"
)]
pub(super) fn simulated(
    trials: impl Iterator<Item = (f64, f64)>,
    degrees: f64,
) -> Option<Estimate> {
    let mut squares = 0.0;
    let mut distances: Vec<f64> = trials
        .map(|(distance, ratio)| {
            squares += distance * distance;
            distance / ratio
        })
        .collect();
    let count = distances.len();
    let place = ((count as f64 * LEVEL).ceil() as usize)
        .min(count)
        .checked_sub(1)?;
    let plain = Estimate::new((squares / count as f64).sqrt(), degrees)?;
    let (_, expanded, _) = distances.select_nth_unstable_by(place, f64::total_cmp);
    Some(plain.reaching(*expanded))
}

/// The wall that a simulation starts from: the fitted lobes that are distinguishable from scatter,
/// as the gauge shows them. Where none is, the bore may be round, and the range all scatter.
pub(super) fn likely_wall(shape: Option<&Shape>, angles_rad: &[f64], gain: f64) -> Vec<f64> {
    angles_rad
        .iter()
        .map(|angle| {
            shape.map_or(0.0, |shape| {
                gain * shape.shown_deviation_mm(angle.to_degrees())
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// More stations than the kept numbers reach for are scattered by those that follow them.
    #[test]
    fn kept_numbers_and_those_behind_them_are_one_stream() {
        let mut random = Random::new(0x0b0e_3a11);
        let all = normals().take(KEPT + 1_000);
        assert!(all.into_iter().all(|normal| normal == random.normal()));
        assert_eq!(normals().next(), normals().next());
    }
}
