//! How well a hang test knows the friction: JCGM 100:2008, 5.1.2, from angles, masses and arm.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Arm, Decay, FREE_FALL, Mass, PendulumError, Resting};
use crate::uncertainty::Estimate;

/// Standard uncertainties of what a hang test is made from.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct HangKnown {
    /// Of each angle, degrees: half a degree by eye against a protractor, 0.1° from a digital angle
    /// gauge (judgement).
    pub angle_deg: f64,
    /// Of each mass, kg: a gram on a kitchen scale (judgement).
    pub mass_kg: f64,
    /// Of each centre of gravity, mm: a millimetre when balanced on an edge (judgement).
    pub centre_mm: f64,
}

impl Default for HangKnown {
    fn default() -> Self {
        Self {
            angle_deg: 0.5,
            mass_kg: 0.001,
            centre_mm: 1.0,
        }
    }
}

impl HangKnown {
    /// Whether every part is a number of 0 or more.
    pub fn is_sound(&self) -> bool {
        let parts = [self.angle_deg, self.mass_kg, self.centre_mm];
        parts.iter().all(|u| u.is_finite() && *u >= 0.0)
    }

    /// Relative standard uncertainty of the moment of `masses`: M = Σ m g r.
    pub fn moment_share(&self, masses: &[Mass]) -> f64 {
        let mut variance = 0.0;
        let mut moment = 0.0;
        for Mass { mass_kg, centre_mm } in masses {
            moment += mass_kg * FREE_FALL * centre_mm;
            variance += (FREE_FALL * centre_mm * self.mass_kg).powi(2)
                + (FREE_FALL * mass_kg * self.centre_mm).powi(2);
        }
        variance.sqrt() / moment
    }
}

impl Arm {
    /// Uncertainty of the friction between `resting`'s bounds: the arm's friction lies anywhere
    /// between them (rectangular), each of them known as well as its angle and the moment are.
    /// `None` where it was never seen to slip: then there is a least friction and no estimate.
    pub fn resting_uncertainty(
        self,
        resting: &Resting,
        known: &HangKnown,
        moment_share: f64,
    ) -> Option<Estimate> {
        let (least, most) = (resting.at_least_nm, resting.less_than_nm?);
        let middle = f64::midpoint(least, most);
        let between = (most - least) / 12.0_f64.sqrt();
        // M cos θ with sin θ = T / M.
        let slope = (self.moment_nm.powi(2) - middle.powi(2)).max(0.0).sqrt();
        // The middle of two angles, each with its own error.
        let angle = slope * known.angle_deg.to_radians() / std::f64::consts::SQRT_2;
        let parts = [between, angle, middle * moment_share];
        let standard = parts.iter().map(|u| u * u).sum::<f64>().sqrt();
        Estimate::new(standard, f64::INFINITY)
    }

    /// Uncertainty of the friction that a decay gives at no speed, or on average below four half
    /// swings: from the angles through numeric derivatives, or from how the half swings scatter
    /// where that is more; and from the moment.
    ///
    /// # Errors
    /// As for [`Arm::decay`].
    pub fn decay_uncertainty(
        self,
        turning_deg: &[f64],
        known: &HangKnown,
        moment_share: f64,
    ) -> Result<Option<Estimate>, PendulumError> {
        propagated(turning_deg, known, moment_share, |turning| {
            self.decay(turning)
        })
    }
}

/// Uncertainty of the friction of the decay that `of` makes of `angles_deg`.
pub(super) fn propagated(
    angles_deg: &[f64],
    known: &HangKnown,
    moment_share: f64,
    of: impl Fn(&[f64]) -> Result<Decay, PendulumError>,
) -> Result<Option<Estimate>, PendulumError> {
    let friction = |decay: &Decay| decay.at_rest_nm.unwrap_or(decay.torque_nm);
    let decay = of(angles_deg)?;
    let torque = friction(&decay);
    // Small against any angle that is read, large against rounding.
    let step = 1e-4;
    let mut angles = 0.0;
    for at in 0..angles_deg.len() {
        let mut moved = angles_deg.to_vec();
        moved[at] += step;
        // A step may leave the swing's order where two points lie closer than that.
        let Ok(other) = of(&moved) else {
            return Ok(None);
        };
        angles += ((friction(&other) - torque) / step * known.angle_deg).powi(2);
    }
    let scatter = decay.standard_error_nm.unwrap_or(0.0);
    let random = angles.sqrt().max(scatter);
    Ok(Estimate::new(
        random.hypot(torque * moment_share),
        f64::INFINITY,
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    const MASS: Mass = Mass {
        mass_kg: 0.25,
        centre_mm: 120.0,
    };

    fn arm() -> Arm {
        Arm::of(&[MASS]).unwrap()
    }

    /// By hand: 1 g in 250 g and 1 mm in 120 mm are 0.4 % and 0.833 %, together 0.9244 %.
    #[test]
    fn mass_and_arm_enter_by_their_shares() {
        let share = HangKnown::default().moment_share(&[MASS]);
        assert!((share - 0.004_f64.hypot(1.0 / 120.0)).abs() < 1e-12);
    }

    /// By hand, stays at 2°, slips at 4°: T = M (sin 2° + sin 4°)/2; the two bounds stand
    /// 0.2941995 (0.0697565 - 0.0348995) = 0.0102549 N·m apart.
    #[test]
    fn an_arm_that_stays_and_slips_knows_its_friction_to_a_third_of_the_step() {
        let resting = arm().resting(&[2.0], &[4.0]).unwrap();
        let exact = HangKnown {
            angle_deg: 0.0,
            mass_kg: 0.0,
            centre_mm: 0.0,
        };
        let of = |known: &HangKnown| {
            let share = known.moment_share(&[MASS]);
            arm().resting_uncertainty(&resting, known, share).unwrap()
        };
        assert!((of(&exact).standard - 0.010_254_9 / 12.0_f64.sqrt()).abs() < 1e-7);
        let half_degree = HangKnown {
            angle_deg: 0.5,
            ..exact
        };
        let angle =
            0.294_199_5 * 3.0_f64.to_radians().cos() * 0.5_f64.to_radians() / 2.0_f64.sqrt();
        let whole = of(&half_degree).standard.powi(2) - of(&exact).standard.powi(2);
        assert!(
            (whole.sqrt() - angle).abs() < 1e-6,
            "{} {angle}",
            whole.sqrt()
        );
        let stays = arm().resting(&[2.0], &[]).unwrap();
        assert_eq!(arm().resting_uncertainty(&stays, &half_degree, 0.0), None);
    }

    /// One half swing from 60° to 57.2°: T = M (cos θ₁ - cos θ₀)/(θ₀ + θ₁), derived by hand:
    /// ∂T/∂θ₀ = (M sin θ₀ - T)/(θ₀ + θ₁), ∂T/∂θ₁ = -(M sin θ₁ + T)/(θ₀ + θ₁).
    #[test]
    fn the_angles_of_a_swing_enter_by_their_derivatives() {
        let (from, to) = (60.0_f64, 57.2_f64);
        let torque = arm().swing_torque_nm(from, to).unwrap();
        let moment = arm().moment_nm;
        let sum = (from + to).to_radians();
        let by_hand = ((moment * from.to_radians().sin() - torque) / sum)
            .hypot((moment * to.to_radians().sin() + torque) / sum)
            * 0.5_f64.to_radians();
        let got = arm()
            .decay_uncertainty(&[from, to], &HangKnown::default(), 0.0)
            .unwrap()
            .unwrap();
        assert!(
            (got.standard - by_hand).abs() < 1e-7,
            "{} {by_hand}",
            got.standard
        );
        // More swings of the same friction know it better, the moment's share stays.
        let long = [60.0, 57.199_4, 54.446_9, 51.738_3];
        let longer = arm()
            .decay_uncertainty(&long, &HangKnown::default(), 0.0)
            .unwrap()
            .unwrap();
        assert!(longer.standard < got.standard / 2.0);
        let with_moment = arm()
            .decay_uncertainty(&long, &HangKnown::default(), 0.5)
            .unwrap()
            .unwrap();
        assert!(
            (with_moment.standard - 0.003).abs() < 2e-4,
            "{}",
            with_moment.standard
        );
    }
}
