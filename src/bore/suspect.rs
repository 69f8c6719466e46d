//! One wild reading among the others: found, named, and shown with what the section would be
//! without it. Whether it is dropped is for the mechanic to say.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::harmonics::Harmonics;
use super::stations::Stations;
use super::{Contact, Observation, Oval, Section};
use crate::uncertainty::student;

/// How often chance alone may name a reading of a section.
const CHANCE: f64 = 0.01;
/// Below so many degrees of freedom nothing tells a wild reading from a lobe.
const LEAST_DEGREES: usize = 4;

/// A reading that the others contradict.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Suspect {
    /// Where it was taken, degrees.
    pub angle_deg: f64,
    /// The reading, mm.
    pub reading_mm: f64,
    /// How far it lies from the fit through the others' section, mm.
    pub residual_mm: f64,
    /// What the others say that a reading there should be, mm; null in records of older versions.
    #[serde(default)]
    pub others_mm: Option<f64>,
    /// That residual in standard deviations estimated without it (externally studentised).
    pub studentised: f64,
    /// The value that chance exceeds in one section of a hundred, for so many readings.
    pub threshold: f64,
    /// Which of the section's readings it is, in the order in which they were given.
    #[serde(skip)]
    pub index: usize,
    /// The section's numbers without it.
    pub without: Without,
}

/// A section's numbers without a suspect reading.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Without {
    /// See [`Section::mean_diameter_mm`].
    pub mean_diameter_mm: Option<f64>,
    /// See [`Section::largest_mm`].
    pub largest_mm: Option<f64>,
    /// See [`Section::smallest_mm`].
    pub smallest_mm: Option<f64>,
    /// See [`Section::out_of_round_mm`].
    pub out_of_round_mm: Option<f64>,
    /// See [`Section::oval`].
    pub oval: Option<Oval>,
}

impl From<&Section> for Without {
    fn from(section: &Section) -> Self {
        Self {
            mean_diameter_mm: section.mean_diameter_mm,
            largest_mm: section.largest_mm,
            smallest_mm: section.smallest_mm,
            out_of_round_mm: section.out_of_round_mm,
            oval: section.oval,
        }
    }
}

/// Too few degrees of freedom to call a reading wild.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct TooFew {
    /// Where the reading lies that is furthest from the fit, degrees; `None` where the fit goes
    /// through all of them.
    pub furthest_deg: Option<f64>,
}

impl TooFew {
    pub(super) const WHY: &str = "a wild reading can't be told from form with fewer than 4 degrees of freedom; where one looks wrong, gauge it again";
}

/// A reading found wild, before the section without it is computed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Wild {
    /// Index among the observations.
    pub index: usize,
    pub residual_mm: f64,
    /// What the fit without it says there: the reading less its deleted residual e/(1 − h).
    pub others_mm: f64,
    pub studentised: f64,
    pub threshold: f64,
}

/// Looks for the wildest reading by its externally studentised residual against Student's t with
/// Bonferroni's correction for the number of readings (Cook and Weisberg, "Residuals and Influence
/// in Regression" (1982), section 2.2).
///
/// The fit is to station means, so a reading's leverage is that of its station shared among the
/// station's readings; exact where all stations have as many.
#[expect(clippy::cast_precision_loss, reason = "counts of readings")]
pub(super) fn wildest(
    contact: Contact,
    observations: &[Observation],
    stations: &Stations,
    fit: &Harmonics,
    angles_rad: &[f64],
    step_mm: f64,
    deviations: impl Fn(usize, f64) -> f64,
) -> Result<Option<Wild>, TooFew> {
    let unknowns = fit.coefficients.len();
    let count = observations.len();
    let mut squares = 0.0;
    let mut wildest: Option<(usize, f64, f64, f64)> = None;
    // In an order of their own, so that the order of arrival can't change a sum's last digit.
    let mut order: Vec<usize> = (0..count).collect();
    order.sort_by(|&a, &b| {
        let (a, b) = (&observations[a], &observations[b]);
        a.angle_deg
            .total_cmp(&b.angle_deg)
            .then(a.reading_mm.total_cmp(&b.reading_mm))
    });
    for index in order {
        let observation = &observations[index];
        let Some(at) = stations.find(contact, observation.angle_deg) else {
            continue;
        };
        let row = fit.row(angles_rad[at]);
        let leverage = (&fit.inverse * &row).dot(&row) / f64::from(stations.all[at].readings);
        let residual = deviations(at, observation.reading_mm) - row.dot(&fit.coefficients);
        squares += residual * residual;
        let room = (1.0 - leverage).max(1e-9);
        let reduced = residual * residual / room;
        if wildest.is_none_or(|(_, best, ..)| reduced > best) {
            wildest = Some((index, reduced, residual, residual / room));
        }
    }
    let Some((index, reduced, residual_mm, deleted_mm)) = wildest else {
        return Ok(None);
    };
    if count < unknowns + LEAST_DEGREES {
        let furthest = (count > unknowns).then_some(observations[index].angle_deg);
        return Err(TooFew {
            furthest_deg: furthest,
        });
    }
    let degrees = (count - unknowns - 1) as f64;
    let variance = ((squares - reduced) / degrees).max(0.0);
    // All others agree to rounding: anything but rounding is wild, and nothing is where this one
    // is rounding too.
    let floor = (64.0 * f64::EPSILON * observations[index].reading_mm.abs()).max(1e-12);
    if residual_mm.abs() < floor {
        return Ok(None);
    }
    // A digit step is no contradiction, and no scatter is known better than the digit.
    if deleted_mm.abs() <= 1.001 * step_mm {
        return Ok(None);
    }
    let least = (floor * floor).max(step_mm * step_mm / 12.0);
    let studentised = residual_mm.signum() * (reduced / variance.max(least)).sqrt();
    let Some(threshold) = student(1.0 - CHANCE / count as f64, degrees) else {
        return Ok(None);
    };
    Ok((studentised.abs() > threshold).then_some(Wild {
        index,
        residual_mm,
        others_mm: observations[index].reading_mm - deleted_mm,
        studentised,
        threshold,
    }))
}
