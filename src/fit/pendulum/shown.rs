//! Turning points as an angle gauge on the arm shows them: with a sign, and with a zero that need
//! not be straight down. An arm that hangs still hangs anywhere within its friction, so setting the
//! gauge to zero there is not good enough.

use super::uncertainty::propagated;
use super::{Arm, Decay, HangKnown, PendulumError};
use crate::uncertainty::Estimate;

/// Straight down is found to this, degrees.
const FOUND_DEG: f64 = 1e-9;
/// Newton's method needs four steps where there is a straight down.
const STEPS: usize = 50;

impl Arm {
    /// Friction from turning points as shown, sides alternating.
    ///
    /// # Errors
    /// As for [`Arm::decay`], and as for [`Arm::from_straight_down`].
    pub fn shown_decay(self, shown_deg: &[f64]) -> Result<Decay, PendulumError> {
        self.decay(&self.from_straight_down(shown_deg)?)
    }

    /// Uncertainty of that friction, as [`Arm::decay_uncertainty`] gives it; the place of straight
    /// down moves with the angles.
    ///
    /// # Errors
    /// As for [`Arm::shown_decay`].
    pub fn shown_uncertainty(
        self,
        shown_deg: &[f64],
        known: &HangKnown,
        moment_share: f64,
    ) -> Result<Option<Estimate>, PendulumError> {
        propagated(shown_deg, known, moment_share, |shown| {
            self.shown_decay(shown)
        })
    }

    /// The angles from straight down, degrees without side, of turning points as shown.
    ///
    /// With straight down in the wrong place the half swings to one side seem to lose more than those
    /// to the other, so it is where the torques don't alternate: their part in (-1)^i, beside a mean
    /// and from four turning points on a straight line in the swing, is zero.
    ///
    /// # Errors
    /// Fewer than three turning points, two on one side, or no such place.
    pub fn from_straight_down(self, shown_deg: &[f64]) -> Result<Vec<f64>, PendulumError> {
        if shown_deg.len() < 3 {
            return Err(PendulumError::NoZero(shown_deg.len()));
        }
        let middle = middle_deg(shown_deg);
        let from_middle: Vec<f64> = shown_deg.iter().map(|at| wrapped(at - middle)).collect();
        if let Some(at) = from_middle
            .windows(2)
            .position(|two| two[0] * two[1] >= 0.0)
        {
            return Err(PendulumError::OneSide {
                from_deg: shown_deg[at],
                to_deg: shown_deg[at + 1],
            });
        }
        let angles = |zero: f64| -> Vec<f64> {
            let from = from_middle.iter();
            from.map(|at| (at - zero) * at.signum()).collect()
        };
        let step = 1e-4;
        let mut zero = 0.0;
        for _ in 0..STEPS {
            let here = self.alternating(&angles(zero));
            let slope = (self.alternating(&angles(zero + step)) - here) / step;
            let by = here / slope;
            // A flat course, or a place beyond the swing, is no straight down.
            if !by.is_finite() || by.abs() > 180.0 {
                break;
            }
            zero -= by;
            if by.abs() < FOUND_DEG {
                return Ok(angles(zero));
            }
        }
        Err(PendulumError::NoZero(shown_deg.len()))
    }

    /// The part of the half swings' torques that changes sign with each, N·m.
    #[expect(clippy::cast_precision_loss, reason = "a count of swings")]
    fn alternating(self, angles_deg: &[f64]) -> f64 {
        let swings = angles_deg.windows(2);
        let sums: Vec<f64> = swings
            .clone()
            .map(|two| (two[0] + two[1]).to_radians())
            .collect();
        let torques: Vec<f64> = swings
            .map(|two| two[1].to_radians().cos() - two[0].to_radians().cos())
            .zip(&sums)
            .map(|(lost, sum)| self.moment_nm * lost / sum)
            .collect();
        let count = sums.len() as f64;
        let signs: Vec<f64> = (0..sums.len())
            .map(|at| if at % 2 == 0 { 1.0 } else { -1.0 })
            .collect();
        // Least squares by Gram and Schmidt: what is left of the signs beside the mean and the swing.
        let centred = |values: &[f64]| -> Vec<f64> {
            let mean = values.iter().sum::<f64>() / count;
            values.iter().map(|value| value - mean).collect()
        };
        let dot = |a: &[f64], b: &[f64]| -> f64 { a.iter().zip(b).map(|(a, b)| a * b).sum() };
        let (swing, mut sign) = (centred(&sums), centred(&signs));
        if sums.len() >= 3 {
            let share = dot(&sign, &swing) / dot(&swing, &swing);
            for (sign, swing) in sign.iter_mut().zip(&swing) {
                *sign -= share * swing;
            }
        }
        dot(&torques, &sign) / dot(&sign, &sign)
    }
}

/// The direction about which the turning points lie, degrees: the circular mean of the middles of
/// neighbours, so that a gauge may be fixed to the arm at any angle.
fn middle_deg(shown_deg: &[f64]) -> f64 {
    let middles = shown_deg
        .windows(2)
        .map(|two| two[0] + wrapped(two[1] - two[0]) / 2.0);
    let (sin, cos) = middles.fold((0.0, 0.0), |(sin, cos), middle| {
        let (s, c) = middle.to_radians().sin_cos();
        (sin + s, cos + c)
    });
    sin.atan2(cos).to_degrees()
}

/// In [-180, 180).
fn wrapped(deg: f64) -> f64 {
    (deg + 180.0).rem_euclid(360.0) - 180.0
}

#[cfg(test)]
mod tests {
    use super::super::Mass;
    use super::*;

    fn arm() -> Arm {
        Arm::of(&[Mass {
            mass_kg: 0.25,
            centre_mm: 120.0,
        }])
        .unwrap()
    }

    #[test]
    fn straight_down_is_not_found_where_it_can_t_be() {
        let of = |shown: &[f64]| arm().from_straight_down(shown).unwrap_err();
        assert_eq!(of(&[30.0, -28.0]), PendulumError::NoZero(2));
        let missed = of(&[60.0, -57.2, 54.4, 49.1, -46.4]).to_string();
        assert!(
            missed.contains("54.4° and 49.1° lie on one side"),
            "{missed}"
        );
    }
}
