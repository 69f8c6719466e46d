//! The hang test: friction torque of a bearing from an arm that hangs on its axle.
//!
//! Angles are from straight down. Constant (Coulomb) friction, derived from energy: exact for any
//! swing and independent of the arm's inertia.

mod shown;
mod uncertainty;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

pub use uncertainty::HangKnown;

/// Standard acceleration of free fall, m/s² (exact by definition, 3rd CGPM 1901).
pub const FREE_FALL: f64 = 9.806_65;

/// The greatest moment of an arm on an axle, and so the greatest friction that it shows, N·m (judgement:
/// 10 kg at a metre; nobody hangs more on a bearing).
pub const MOST_NM: f64 = 100.0;

/// Why a hang test gives no torque.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PendulumError {
    /// No arm.
    #[error("the arm needs a mass above 0 kg whose centre lies away from the axle, above 0 mm")]
    Arm,
    /// An arm that nobody hangs on a bearing.
    #[error(
        "no arm on an axle has a moment of more than 100 N·m: state masses in kg and their centres in mm"
    )]
    TooHeavy,
    /// An angle that no hanging arm has.
    #[error("{0}°: state angles from straight down, between 0° and 170°, without side")]
    Angle(f64),
    /// An angle at which no arm at rest shows a friction.
    #[error(
        "{0}°: an arm stays or slips between 0° and 90° from straight down, since level weighs most"
    )]
    BeyondLevel(f64),
    /// A swing that did not lose height.
    #[error(
        "a swing from {from_deg}° to {to_deg}° loses nothing: give turning points in order, each on the other side from the one before"
    )]
    Gains {
        /// Turning point.
        from_deg: f64,
        /// The next one.
        to_deg: f64,
    },
    /// How well something is known can't be less than exactly.
    #[error("state how well angle, mass and centre are known as numbers of 0 or more")]
    Known,
    /// Nothing to compute from.
    #[error("a decay needs two turning points or more, has {0}")]
    TooFew(usize),
    /// Too few turning points to find straight down among them.
    #[error(
        "straight down is found from three turning points or more, has {0}: let it swing on, or type the angles from straight down"
    )]
    NoZero(usize),
    /// Two turning points that follow each other on one side.
    #[error(
        "{from_deg}° and {to_deg}° lie on one side: a turning point between them was missed, swing again"
    )]
    OneSide {
        /// Turning point.
        from_deg: f64,
        /// The next one.
        to_deg: f64,
    },
    /// What an arm at rest shows and what its swing shows can't both be.
    #[error(
        "the arm stayed or slipped at an angle that shows a friction of {rest}, but its swing shows {swing_nm:.4} N·m: test the same place again, or record the two as two tests"
    )]
    Disagrees {
        /// What the arm at rest shows, such as `at least 0.0512 N·m`.
        rest: String,
        /// By the swing, N·m.
        swing_nm: f64,
    },
    /// Where it stayed is above where it slipped.
    #[error(
        "it stayed at {stays_deg}° but slipped at {slips_deg}°: the bearing is uneven; test the same place again"
    )]
    Uneven {
        /// The largest angle at which it stayed.
        stays_deg: f64,
        /// The smallest angle at which it slipped.
        slips_deg: f64,
    },
}

/// A mass on the arm: a crank arm itself, or a weight hung on it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Mass {
    /// Mass, kg.
    pub mass_kg: f64,
    /// Distance of its centre from the axle, mm.
    pub centre_mm: f64,
}

/// An arm with the moment of its weight.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Arm {
    /// Greatest moment (arm level), N·m.
    pub moment_nm: f64,
}

/// Friction from an arm that stays, or slips, when let go.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Resting {
    /// The friction is at least this, N·m.
    pub at_least_nm: f64,
    /// The friction is less than this, N·m; null where it was never seen to slip.
    pub less_than_nm: Option<f64>,
}

/// Friction from the turning points of a swing that dies away.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Decay {
    /// Friction torque of each half swing, N·m.
    pub torques_nm: Vec<f64>,
    /// Their mean, N·m.
    pub torque_nm: f64,
    /// Standard error of the mean, N·m; null below three half swings.
    pub standard_error_nm: Option<f64>,
    /// What is left of the torque at no speed, N·m: the mean where the torque does not depend on
    /// the swing; null below four half swings.
    pub at_rest_nm: Option<f64>,
    /// How much of the torque of the first half swing grows with the swing (grease, seals, air):
    /// 0 to 1; null below four half swings.
    pub growing_share: Option<f64>,
}

impl Arm {
    /// The arm that `masses` make, in line with each other.
    ///
    /// # Errors
    /// Where there is no moment.
    pub fn of(masses: &[Mass]) -> Result<Self, PendulumError> {
        let sound = |mass: &Mass| {
            mass.mass_kg.is_finite()
                && mass.centre_mm.is_finite()
                && mass.mass_kg > 0.0
                && mass.centre_mm > 0.0
        };
        if masses.is_empty() || !masses.iter().all(sound) {
            return Err(PendulumError::Arm);
        }
        let moment_nm = masses
            .iter()
            .map(|mass| mass.mass_kg * FREE_FALL * mass.centre_mm / 1e3)
            .sum();
        if moment_nm > MOST_NM {
            return Err(PendulumError::TooHeavy);
        }
        Ok(Self { moment_nm })
    }

    /// The torque that holds the arm at `angle_deg`, N·m: T = m g r sin θ.
    ///
    /// # Errors
    /// An angle that no hanging arm has.
    pub fn holding_torque_nm(self, angle_deg: f64) -> Result<f64, PendulumError> {
        check_angle(angle_deg)?;
        Ok(self.moment_nm * angle_deg.to_radians().sin())
    }

    /// Friction between the largest angle at which the arm stayed and the smallest at which it
    /// slipped by itself.
    ///
    /// # Errors
    /// Angles that contradict each other, or none at which it stayed.
    pub fn resting(self, stays_deg: &[f64], slips_deg: &[f64]) -> Result<Resting, PendulumError> {
        for &angle in stays_deg.iter().chain(slips_deg) {
            // Beyond level the moment falls again, and staying there says less than at 90°.
            if !(0.0..=90.0).contains(&angle) {
                return Err(PendulumError::BeyondLevel(angle));
            }
        }
        let stays = stays_deg.iter().copied().fold(0.0, f64::max);
        let slips = slips_deg.iter().copied().reduce(f64::min);
        if let Some(slips) = slips.filter(|&slips| slips <= stays && !stays_deg.is_empty()) {
            return Err(PendulumError::Uneven {
                stays_deg: stays,
                slips_deg: slips,
            });
        }
        Ok(Resting {
            at_least_nm: self.holding_torque_nm(stays)?,
            less_than_nm: slips.map(|s| self.holding_torque_nm(s)).transpose()?,
        })
    }

    /// Friction torque of one half swing, from rest at `from_deg` on one side to rest at `to_deg`
    /// on the other, N·m: T = m g r (cos θ₁ − cos θ₀) / (θ₀ + θ₁).
    ///
    /// # Errors
    /// Angles that no such swing has.
    pub fn swing_torque_nm(self, from_deg: f64, to_deg: f64) -> Result<f64, PendulumError> {
        check_angle(from_deg)?;
        check_angle(to_deg)?;
        if to_deg >= from_deg {
            return Err(PendulumError::Gains { from_deg, to_deg });
        }
        let (from, to) = (from_deg.to_radians(), to_deg.to_radians());
        // cos θ₁ − cos θ₀ = 2 sin((θ₀+θ₁)/2) sin((θ₀−θ₁)/2): no digits lost at small angles.
        let lost = 2.0 * f64::midpoint(from, to).sin() * ((from - to) / 2.0).sin();
        Ok(self.moment_nm * lost / (from + to))
    }

    /// Friction from consecutive turning points, sides alternating.
    ///
    /// A torque that grows with speed takes from each half swing a loss that grows with
    /// (θ₀ + θ₁)², so against θ₀ + θ₁ the torque is a straight line whose start is the torque at
    /// no speed.
    ///
    /// # Errors
    /// Fewer than two turning points, or a swing that gains.
    #[expect(clippy::cast_precision_loss, reason = "a count of swings")]
    pub fn decay(self, turning_deg: &[f64]) -> Result<Decay, PendulumError> {
        if turning_deg.len() < 2 {
            return Err(PendulumError::TooFew(turning_deg.len()));
        }
        let torques_nm = turning_deg
            .windows(2)
            .map(|pair| self.swing_torque_nm(pair[0], pair[1]))
            .collect::<Result<Vec<_>, _>>()?;
        let count = torques_nm.len() as f64;
        let mean = torques_nm.iter().sum::<f64>() / count;
        let squares: f64 = torques_nm.iter().map(|t| (t - mean).powi(2)).sum();
        let line = (torques_nm.len() >= 4).then(|| {
            let swings: Vec<f64> = turning_deg
                .windows(2)
                .map(|pair| pair[0] + pair[1])
                .collect();
            straight_line(&swings, &torques_nm)
        });
        let at_rest = line.map(|(start, _)| start.clamp(0.0, mean));
        Ok(Decay {
            torque_nm: mean,
            standard_error_nm: (torques_nm.len() >= 3)
                .then(|| (squares / (count - 1.0) / count).sqrt()),
            at_rest_nm: at_rest,
            growing_share: line.map(|(_, slope)| {
                let first = turning_deg[0] + turning_deg[1];
                (slope * first / torques_nm[0]).clamp(0.0, 1.0)
            }),
            torques_nm,
        })
    }
}

/// (start, slope) by least squares.
#[expect(clippy::cast_precision_loss, reason = "a count of swings")]
fn straight_line(x: &[f64], y: &[f64]) -> (f64, f64) {
    let count = x.len() as f64;
    let (mean_x, mean_y) = (x.iter().sum::<f64>() / count, y.iter().sum::<f64>() / count);
    let spread: f64 = x.iter().map(|x| (x - mean_x).powi(2)).sum();
    let slope = if spread > 0.0 {
        x.iter()
            .zip(y)
            .map(|(x, y)| (x - mean_x) * (y - mean_y))
            .sum::<f64>()
            / spread
    } else {
        0.0
    };
    (mean_y - slope * mean_x, slope)
}

fn check_angle(angle_deg: f64) -> Result<(), PendulumError> {
    if (0.0..=170.0).contains(&angle_deg) {
        Ok(())
    } else {
        Err(PendulumError::Angle(angle_deg))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Turning points of m 0.25 kg at 120 mm with 0.0060 N·m of Coulomb friction let go at 60°:
    /// scipy `solve_ivp`, DOP853, with event location, agreeing with root finding to 1e-9°; the
    /// same for two moments of inertia.
    const TURNING_DEG: [f64; 8] = [
        60.0,
        57.199_407_192,
        54.446_900_349,
        51.738_348_425,
        49.070_022_880,
        46.438_539_636,
        43.840_810_898,
        41.274_004_837,
    ];

    fn arm() -> Arm {
        Arm::of(&[Mass {
            mass_kg: 0.25,
            centre_mm: 120.0,
        }])
        .unwrap()
    }

    #[test]
    fn each_swing_of_the_integrated_pendulum_gives_its_friction_back() {
        assert!((arm().moment_nm - 0.294_199_5).abs() < 1e-12);
        let decay = arm().decay(&TURNING_DEG).unwrap();
        for torque in &decay.torques_nm {
            assert!((torque - 0.006).abs() < 1e-12, "{torque}");
        }
        assert!((decay.torque_nm - 0.006).abs() < 1e-12);
        assert!(decay.standard_error_nm.unwrap() < 1e-12);
        assert!((decay.at_rest_nm.unwrap() - 0.006).abs() < 1e-9);
        assert!(decay.growing_share.unwrap() < 1e-6);
    }

    /// From 5° the same pendulum turns at 2.661078335° (the small-angle formula would say 2.66298).
    #[test]
    fn a_small_swing_needs_no_other_formula() {
        let torque = arm().swing_torque_nm(5.0, 2.661_078_335).unwrap();
        assert!((torque - 0.006).abs() < 1e-11, "{torque}");
    }

    /// Torques computed apart; the slip limit of 0.0060 N·m is 1.168589724°.
    #[test]
    fn an_arm_at_rest_bounds_the_friction_from_below() {
        for (angle, torque) in [
            (1.0, 0.005_134_489_2),
            (2.0, 0.010_267_414_5),
            (5.0, 0.025_641_175_9),
            (10.0, 0.051_087_207_0),
            (30.0, 0.147_099_75),
            (1.168_589_724, 0.006),
        ] {
            assert!((arm().holding_torque_nm(angle).unwrap() - torque).abs() < 1e-10);
        }
        let resting = arm().resting(&[2.0, 5.0], &[30.0, 10.0]).unwrap();
        assert!((resting.at_least_nm - 0.025_641_175_9).abs() < 1e-10);
        assert!((resting.less_than_nm.unwrap() - 0.051_087_207_0).abs() < 1e-10);
        assert_eq!(arm().resting(&[2.0], &[]).unwrap().less_than_nm, None);
    }

    /// Turning points of I = 0.0045 kg·m² with 0.0020 N·m constant and 0.0015 N·m·s viscous
    /// friction, scipy `solve_ivp` DOP853 as above.
    #[test]
    fn a_torque_that_grows_with_speed_is_told_apart() {
        let turning = [
            40.0,
            36.549_138_097,
            33.356_320_939,
            30.396_186_276,
            27.647_059_030,
            25.090_205_156,
            22.709_271_580,
            20.489_858_711,
            18.419_189_256,
            16.485_848_195,
        ];
        let decay = arm().decay(&turning).unwrap();
        let at_rest = decay.at_rest_nm.unwrap();
        assert!((at_rest - 0.002).abs() < 0.0004, "{at_rest}");
        assert!(decay.growing_share.unwrap() > 0.5);
        assert!(decay.torque_nm > 0.004);
    }

    #[test]
    fn what_no_hanging_arm_does_is_refused() {
        assert!(matches!(Arm::of(&[]), Err(PendulumError::Arm)));
        assert!(arm().holding_torque_nm(-5.0).is_err());
        assert!(arm().holding_torque_nm(f64::NAN).is_err());
        assert!(matches!(
            arm().decay(&[30.0, 31.0]),
            Err(PendulumError::Gains { .. })
        ));
        assert!(matches!(
            arm().decay(&[30.0]),
            Err(PendulumError::TooFew(1))
        ));
        let uneven = arm().resting(&[10.0], &[5.0]).unwrap_err().to_string();
        assert!(uneven.contains("stayed at 10° but slipped at 5°"));
    }
}
