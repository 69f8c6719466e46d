//! The uncertainty of a range: largest minus smallest.

use super::scatter::Scatter;
use super::shape::Shape;
use crate::uncertainty::{Estimate, LEVEL, Random};

/// Trials for few stations; fewer where there are many, as each trial costs a number a station.
const MOST_TRIALS: usize = 1000;
const LEAST_TRIALS: usize = 400;
const NUMBERS: usize = 100_000;

/// With fewer degrees of freedom than this, whether the wall counts as round or as fitted hangs on
/// how the scatter came out, as the interval does: it is then to hold of both.
pub(super) const FEW_DEGREES: f64 = 5.0;

/// The uncertainty of the range of station means whose true values are `wall_mm`, by simulation
/// (JCGM 101:2008) with a fixed seed.
///
/// Scatter makes a range larger, never smaller, where several stations are nearly extreme: of a
/// round bore the range is scatter alone. So each trial scatters the wall, takes the range, and
/// the expanded uncertainty is the 95 % quantile of its distance from the wall's own range. The
/// standard deviation itself is known to few degrees of freedom, so each trial also draws that. Below
/// [`FEW_DEGREES`] it is the larger one of this wall and of a round one.
pub(super) fn range_estimate(wall_mm: &[f64], scatter: Scatter) -> Option<Estimate> {
    let own = range_about(wall_mm, scatter)?;
    if scatter.degrees >= FEW_DEGREES {
        return Some(own);
    }
    let round = range_about(&vec![0.0; wall_mm.len()], scatter)?;
    Some(larger(own, round))
}

/// The one that reaches farther.
pub(super) fn larger(one: Estimate, other: Estimate) -> Estimate {
    if other.expanded > one.expanded {
        other
    } else {
        one
    }
}

fn range_about(wall_mm: &[f64], scatter: Scatter) -> Option<Estimate> {
    let sigma = scatter.variance_mm2.sqrt();
    if wall_mm.len() < 2 {
        return None;
    }
    if sigma <= 0.0 {
        return Estimate::new(0.0, scatter.degrees);
    }
    let range = |values: &mut dyn Iterator<Item = f64>| {
        let (least, most) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), value| {
            (a.min(value), b.max(value))
        });
        most - least
    };
    let own = range(&mut wall_mm.iter().copied());
    // Stations that scatter can't make extreme need no numbers.
    let (least, most) = wall_mm
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), &value| {
            (a.min(value), b.max(value))
        });
    let reach = 8.0 * sigma;
    let mut near: Vec<f64> = wall_mm
        .iter()
        .copied()
        .filter(|value| value - least < reach || most - value < reach)
        .collect();
    // The draws are dealt in order of size, not of angle: a range knows no angles, so that a turned
    // part has the same uncertainty. Stations of one size may change places, as their draws may.
    near.sort_unstable_by(|a, b| b.total_cmp(a));

    let trials = (NUMBERS / near.len()).clamp(LEAST_TRIALS, MOST_TRIALS);
    let mut random = Random::new(0x0b0e_3a11);
    let distances = (0..trials).map(|_| {
        let scattered = range(&mut near.iter().map(|value| value + sigma * random.normal()));
        let distance = (scattered - own).abs();
        (distance, random.deviation_ratio(scatter.degrees))
    });
    simulated(distances, scatter.degrees)
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
