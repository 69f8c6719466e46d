//! Hang tests as arguments: angles become friction torques.

use schemars::JsonSchema;
use serde::Serialize;

use super::super::Failure;
use super::positive;
use crate::fit::pendulum::{HangKnown, Mass};
use crate::job::{Friction, HangTest};

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
    /// Fitted: the angle at which it slipped by itself.
    #[arg(
        long,
        value_name = "DEG,...",
        value_delimiter = ',',
        requires = "hang_fitted"
    )]
    slips_fitted: Vec<f64>,
    /// Free: the angle at which it slipped by itself.
    #[arg(
        long,
        value_name = "DEG,...",
        value_delimiter = ',',
        requires = "hang_free"
    )]
    slips_free: Vec<f64>,
    /// Standard uncertainty of each angle, degrees.
    #[arg(long, value_name = "DEG", value_parser = positive, default_value_t = 0.5)]
    angle_uncertainty: f64,
}

/// Friction by the hang tests.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub(super) struct Hang {
    /// Fitted; null where it wasn't tested.
    pub fitted: Option<Friction>,
    /// Free; null where it wasn't tested.
    pub free: Option<Friction>,
}

impl HangArgs {
    /// The frictions; `None` without an arm.
    pub(super) fn frictions(&self) -> Result<Option<Hang>, Failure> {
        let (Some(mass_kg), Some(centre_mm)) = (self.arm_mass, self.arm_centre) else {
            return Ok(None);
        };
        if self.hang_fitted.is_empty() && self.hang_free.is_empty() {
            return Err(Failure::wrong(
                "an arm alone shows no friction: give the angle at which it stays with --hang-fitted or --hang-free".to_owned(),
            ));
        }
        let friction = |angles: &[f64], slips: &[f64]| {
            if angles.is_empty() && slips.is_empty() {
                return Ok(None);
            }
            let one = angles.len() < 2;
            let test = HangTest {
                masses: vec![Mass { mass_kg, centre_mm }],
                stays_deg: if one { angles.to_vec() } else { Vec::new() },
                slips_deg: slips.to_vec(),
                turning_deg: if one { Vec::new() } else { angles.to_vec() },
                shown_deg: Vec::new(),
                known: HangKnown {
                    angle_deg: self.angle_uncertainty,
                    ..HangKnown::default()
                },
            };
            test.friction().map(Some).map_err(Failure::wrong)
        };
        Ok(Some(Hang {
            fitted: friction(&self.hang_fitted, &self.slips_fitted)?,
            free: friction(&self.hang_free, &self.slips_free)?,
        }))
    }
}
