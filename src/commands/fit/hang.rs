//! Hang tests as arguments: angles become friction torques.

use schemars::JsonSchema;
use serde::Serialize;

use super::super::Failure;
use super::positive;
use crate::fit::pendulum::{Arm, Mass};

/// A hang test before and after.
#[derive(Debug, clap::Args)]
#[command(next_help_heading = "Hang test")]
pub(super) struct HangArgs {
    /// Mass of the hanging arm, kg.
    #[arg(long, value_name = "KG", value_parser = positive, requires = "arm_centre")]
    arm_mass: Option<f64>,
    /// Distance of its centre of gravity from the axle, mm.
    #[arg(long, value_name = "MM", value_parser = positive, requires = "arm_mass")]
    arm_centre: Option<f64>,
    /// Fitted: the angle from straight down at which it stays, or its turning points as it swings
    /// out, sides alternating, degrees.
    #[arg(
        long,
        value_name = "DEG,...",
        value_delimiter = ',',
        requires = "arm_mass"
    )]
    hang_fitted: Vec<f64>,
    /// The same free of the seat.
    #[arg(
        long,
        value_name = "DEG,...",
        value_delimiter = ',',
        requires = "arm_mass"
    )]
    hang_free: Vec<f64>,
}

/// Friction torques by the hang test.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub(super) struct Hang {
    /// Fitted, N·m; from one angle it is a lower bound.
    pub fitted_nm: Option<f64>,
    /// Free, N·m; from one angle it is a lower bound.
    pub free_nm: Option<f64>,
}

impl HangArgs {
    /// The torques; `None` without an arm.
    pub(super) fn torques(&self) -> Result<Option<Hang>, Failure> {
        let (Some(mass_kg), Some(centre_mm)) = (self.arm_mass, self.arm_centre) else {
            return Ok(None);
        };
        let arm = Arm::of(&[Mass { mass_kg, centre_mm }]).map_err(Failure::wrong)?;
        let torque = |angles: &[f64]| match angles {
            [] => Ok(None),
            [stays] => arm
                .resting(&[*stays], &[])
                .map(|resting| Some(resting.at_least_nm)),
            swings => arm.decay(swings).map(|decay| Some(decay.torque_nm)),
        };
        Ok(Some(Hang {
            fitted_nm: torque(&self.hang_fitted).map_err(Failure::wrong)?,
            free_nm: torque(&self.hang_free).map_err(Failure::wrong)?,
        }))
    }
}
