//! The hang test: friction of the bearings from an arm that hangs on the axle.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::event::Phase;
use super::gauges::Calibration;
use crate::fit::pendulum::{Arm, HangKnown, Mass, PendulumError};
use crate::uncertainty::Estimate;
use crate::units::Moment;

/// What was tried.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HangTest {
    /// The arm and any weight hung on it.
    pub masses: Vec<Mass>,
    /// Angles from straight down at which it stayed, degrees.
    #[serde(default)]
    pub stays_deg: Vec<f64>,
    /// Angles at which it slipped by itself, degrees.
    #[serde(default)]
    pub slips_deg: Vec<f64>,
    /// The turning points of a swing that dies away, degrees, sides alternating.
    #[serde(default)]
    pub turning_deg: Vec<f64>,
    /// The same as an angle gauge on the arm shows them: with the sign of the side, and with any
    /// zero, since straight down follows from them.
    #[serde(default)]
    pub shown_deg: Vec<f64>,
    /// How well angles, masses and centres are known.
    #[serde(default)]
    pub known: HangKnown,
}

/// Friction torque, as an interval where that is what is known.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Friction {
    /// Best estimate, N·m.
    pub torque_nm: f64,
    /// At least this, N·m; null from a swing.
    pub at_least_nm: Option<f64>,
    /// Less than this, N·m; null from a swing, or where it was never seen to slip.
    pub less_than_nm: Option<f64>,
    /// Uncertainty of the best estimate, N·m; null where the arm was never seen to slip, and then
    /// the estimate is a least value.
    #[serde(default)]
    pub uncertainty: Option<Estimate>,
}

impl Friction {
    /// Whether the torque is a least value: the arm was never seen to slip.
    pub const fn is_least(&self) -> bool {
        self.at_least_nm.is_some() && self.less_than_nm.is_none()
    }
}

/// A hang test.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct HangView {
    /// Whether the bearings were fitted, or free.
    pub fitted: bool,
    /// When; null in records of older versions.
    #[serde(default)]
    pub at: Option<Moment>,
    /// In which phase of the job; null in records of older versions.
    #[serde(default)]
    pub phase: Option<Phase>,
    /// The angle gauge on the arm; null where angles were typed, and in records of older versions.
    #[serde(default)]
    pub gauge: Option<String>,
    /// What was known of that gauge's calibration; null where nobody said.
    #[serde(default)]
    pub calibration: Option<Calibration>,
    /// What it says.
    #[serde(flatten)]
    pub friction: Friction,
}

/// A hang test whose turning points an angle gauge is sending.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct HangUnderWay {
    /// Since when, UTC.
    pub since: Moment,
    /// Whether the bearings are fitted, or free.
    pub fitted: bool,
    /// The arm and any weight hung on it.
    pub masses: Vec<Mass>,
    /// How well angles, masses and centres are known.
    pub known: HangKnown,
    /// The turning points so far, in order, as the gauge shows them.
    pub turns: Vec<Turn>,
    /// The stroke by which the hand led to the first of them, degrees; null where none was seen.
    pub led_deg: Option<f64>,
    /// The gauge that sends them; null before the first.
    #[serde(default)]
    pub gauge: Option<String>,
    /// What is known of that gauge's calibration; null where nobody said.
    #[serde(default)]
    pub calibration: Option<Calibration>,
}

/// A turning point of a swing.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Turn {
    /// Its event.
    pub seq: u64,
    /// The angle as shown, degrees.
    pub shown_deg: f64,
    /// Whether the gauge tells the sides apart by the sign.
    pub signed: bool,
}

impl Turn {
    /// How far it swings from here to `next`, degrees; without sides how far out that is.
    fn stroke_to(&self, next: &Self) -> f64 {
        if next.signed {
            (next.shown_deg - self.shown_deg).abs()
        } else {
            next.shown_deg.abs()
        }
    }
}

/// A stroke that is longer than the one before it by more than this is the hand's, degrees: of
/// itself an arm swings less far each time (judgement: more than any gauge is off).
const HAND_DEG: f64 = 1.0;

impl HangUnderWay {
    /// Takes the next turning point in. Where the hand lifted the arm, the swing begins anew.
    pub(super) fn turned(&mut self, turn: Turn) {
        if let Some(last) = self.turns.last() {
            let stroke = last.stroke_to(&turn);
            let before = match self.turns.as_slice() {
                [.., from, to] => Some(from.stroke_to(to)),
                _ => self.led_deg,
            };
            if before.is_some_and(|before| stroke > before + HAND_DEG) {
                self.turns.clear();
                self.led_deg = Some(stroke);
            }
        }
        self.turns.push(turn);
    }

    /// The test with what was gathered.
    pub fn test(&self) -> HangTest {
        let shown: Vec<f64> = self.turns.iter().map(|turn| turn.shown_deg).collect();
        let signed = self.turns.iter().all(|turn| turn.signed);
        let (shown_deg, turning_deg) = if signed {
            (shown, Vec::new())
        } else {
            (Vec::new(), shown.iter().map(|deg| deg.abs()).collect())
        };
        HangTest {
            masses: self.masses.clone(),
            stays_deg: Vec::new(),
            slips_deg: Vec::new(),
            turning_deg,
            shown_deg,
            known: self.known,
        }
    }
}

impl HangTest {
    /// The friction that the test shows: from the swing where there is one, since it says more.
    ///
    /// # Errors
    /// Masses without a moment, angles that no hanging arm has, no angle at all, or a swing that what
    /// the arm did at rest contradicts.
    pub fn friction(&self) -> Result<Friction, PendulumError> {
        let arm = Arm::of(&self.masses)?;
        if !self.known.is_sound() {
            return Err(PendulumError::Known);
        }
        let share = self.known.moment_share(&self.masses);
        if !self.shown_deg.is_empty() {
            let decay = arm.shown_decay(&self.shown_deg)?;
            let torque_nm = decay.at_rest_nm.unwrap_or(decay.torque_nm);
            let uncertainty = arm.shown_uncertainty(&self.shown_deg, &self.known, share)?;
            return self.swung(arm, torque_nm, uncertainty);
        }
        if self.turning_deg.len() >= 2 || self.stays_deg.is_empty() {
            let decay = arm.decay(&self.turning_deg)?;
            let torque_nm = decay.at_rest_nm.unwrap_or(decay.torque_nm);
            let uncertainty = arm.decay_uncertainty(&self.turning_deg, &self.known, share)?;
            return self.swung(arm, torque_nm, uncertainty);
        }
        let resting = arm.resting(&self.stays_deg, &self.slips_deg)?;
        let torque_nm = resting.less_than_nm.map_or(resting.at_least_nm, |less| {
            f64::midpoint(resting.at_least_nm, less)
        });
        Ok(Friction {
            torque_nm,
            at_least_nm: Some(resting.at_least_nm),
            less_than_nm: resting.less_than_nm,
            uncertainty: arm.resting_uncertainty(&resting, &self.known, share),
        })
    }

    /// The friction by a swing, unless an angle at which the arm stayed or slipped shows another by
    /// more than angles and swing may be off together (1.96 standard uncertainties of each, added).
    fn swung(
        &self,
        arm: Arm,
        torque_nm: f64,
        uncertainty: Option<Estimate>,
    ) -> Result<Friction, PendulumError> {
        let (off_deg, off_nm) = (
            1.96 * self.known.angle_deg,
            uncertainty.map_or(0.0, |u| u.expanded),
        );
        arm.resting(&self.stays_deg, &self.slips_deg)?;
        let at = |deg: f64| arm.holding_torque_nm(deg.clamp(0.0, 90.0));
        let stays = self.stays_deg.iter().copied().reduce(f64::max);
        let slips = self.slips_deg.iter().copied().reduce(f64::min);
        let rest = match (stays, slips) {
            (Some(deg), _) if at(deg - off_deg)? > torque_nm + off_nm => {
                format!("at least {:.4} N·m", at(deg)?)
            }
            (_, Some(deg)) if at(deg + off_deg)? < torque_nm - off_nm => {
                format!("less than {:.4} N·m", at(deg)?)
            }
            _ => {
                return Ok(Friction {
                    torque_nm,
                    at_least_nm: None,
                    less_than_nm: None,
                    uncertainty,
                });
            }
        };
        Err(PendulumError::Disagrees {
            rest,
            swing_nm: torque_nm,
        })
    }
}
