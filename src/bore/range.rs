//! The uncertainty of the ends of many values, and of their range: largest minus smallest.

use super::shape::Shape;
use crate::uncertainty::{Estimate, LEVEL, Random, student};

/// Trials for few stations; fewer where there are many, as each trial costs a number a station.
const MOST_TRIALS: usize = 1000;
const LEAST_TRIALS: usize = 400;
const NUMBERS: usize = 100_000;

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
/// so each trial also draws that. Below [`FEW_DEGREES`] it is the larger one of this wall and of a
/// round one.
pub(super) fn ends_estimate(wall_mm: &[f64], standards_mm: &[f64], degrees: f64) -> Option<Ends> {
    let own = ends_about(wall_mm, standards_mm, degrees)?;
    if degrees >= FEW_DEGREES {
        return Some(own);
    }
    let round = ends_about(&vec![0.0; wall_mm.len()], standards_mm, degrees)?;
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
    let equal = ends_about(&vec![0.0; means_mm.len()], &standards, degrees)?;
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
    Some(ends_about(&wall, &standards, degrees)?.smallest)
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

fn ends_about(wall_mm: &[f64], standards_mm: &[f64], degrees: f64) -> Option<Ends> {
    let (_, widest) = ends_of(standards_mm.iter().copied());
    if wall_mm.is_empty() || wall_mm.len() != standards_mm.len() {
        return None;
    }
    if wall_mm.len() == 1 || widest <= 0.0 {
        let one = Estimate::new(widest, degrees)?;
        return Some(Ends {
            smallest: one,
            largest: one,
            range: Estimate::new(0.0, degrees)?,
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
    // The draws are dealt in order of size, not of angle: a range knows no angles, so that a turned
    // part has the same uncertainty. Stations of one size may change places, as their draws may.
    near.sort_unstable_by(|a, b| b.0.total_cmp(&a.0).then(b.1.total_cmp(&a.1)));

    let trials = (NUMBERS / near.len()).clamp(LEAST_TRIALS, MOST_TRIALS);
    let mut random = Random::new(0x0b0e_3a11);
    let off: Vec<([f64; 3], f64)> = (0..trials)
        .map(|_| {
            let scattered = near
                .iter()
                .map(|(value, standard)| value + standard * random.normal());
            let (low, high) = ends_of(scattered);
            let off = [low - least, high - most, high - low - (most - least)];
            (off, random.deviation_ratio(degrees))
        })
        .collect();
    let of = |at: usize| {
        let distances = off.iter().map(|(off, ratio)| (off[at].abs(), *ratio));
        simulated(distances, degrees)
    };
    Some(Ends {
        smallest: of(0)?,
        largest: of(1)?,
        range: of(2)?,
    })
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
