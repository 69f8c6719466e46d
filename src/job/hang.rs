//! The hang test: friction of the bearings from an arm that hangs on the axle.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::event::Phase;
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

/// A hang test.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct HangView {
    /// Whether the bearings were fitted, or free.
    pub fitted: bool,
    /// When; null in records of older versions.
    #[serde(default)]
    pub at: Option<Moment>,
    /// In which phase of the job; null in records of older versions.
    #[serde(default)]
    pub phase: Option<Phase>,
    /// What it says.
    #[serde(flatten)]
    pub friction: Friction,
}

impl HangTest {
    /// The friction that the test shows: from the swing where there is one, since it says more.
    ///
    /// # Errors
    /// Masses without a moment, angles that no hanging arm has, or no angle at all.
    pub fn friction(&self) -> Result<Friction, PendulumError> {
        let arm = Arm::of(&self.masses)?;
        if !self.known.is_sound() {
            return Err(PendulumError::Known);
        }
        let share = self.known.moment_share(&self.masses);
        if self.turning_deg.len() >= 2 || self.stays_deg.is_empty() {
            let decay = arm.decay(&self.turning_deg)?;
            let torque_nm = decay.at_rest_nm.unwrap_or(decay.torque_nm);
            return Ok(Friction {
                torque_nm,
                at_least_nm: None,
                less_than_nm: None,
                uncertainty: arm.decay_uncertainty(&self.turning_deg, &self.known, share)?,
            });
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
}
