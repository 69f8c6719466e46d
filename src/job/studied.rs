//! What a gauge's last repeatability study hands to the bench.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::decide::Refusal;
use crate::bore::Repeatability;
use crate::uncertainty::study::Study;
use crate::units::Moment;

/// No gauge for bores that scatters more than this is one, mm.
const GREATEST_REPEATABILITY_MM: f64 = 0.5;

/// How well a gauge repeats, by a study of it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct GaugeStudy {
    /// Standard deviation of single readings on one part, mm: of the radius for a gauge that reads
    /// radii.
    pub repeatability_mm: f64,
    /// Its degrees of freedom.
    pub degrees_of_freedom: f64,
    /// How many readings the study has.
    pub readings: u32,
    /// Of how many parts; null where the study does not say.
    #[serde(default)]
    pub parts: Option<u32>,
    /// Mean minus reference, mm; null without a reference. It is kept as found and corrects
    /// nothing: a gauge with a real bias is set again.
    #[serde(default)]
    pub bias_mm: Option<f64>,
    /// What it was studied on as the gauge reads it, such as the setting ring's size, mm; null where
    /// that is not known.
    #[serde(default)]
    pub reference_mm: Option<f64>,
    /// When its last reading was taken, UTC; null where the study does not say.
    #[serde(default)]
    pub studied_at: Option<Moment>,
}

impl GaugeStudy {
    /// What `study` found, its one part being of the size `reference_mm`; `None` where it found
    /// nothing.
    pub fn of(study: &Study, reference_mm: Option<f64>) -> Option<Self> {
        let (repeatability_mm, degrees_of_freedom) = study.repeatability()?;
        Some(Self {
            repeatability_mm,
            degrees_of_freedom,
            readings: study.readings(),
            parts: study.parts(),
            bias_mm: study.short.as_ref().and_then(|short| short.bias_mm),
            reference_mm: reference_mm.filter(|_| study.short.is_some()),
            studied_at: study.studied_at,
        })
    }

    /// As the geometry of a section takes it.
    pub const fn repeatability(&self) -> Repeatability {
        Repeatability {
            standard_mm: self.repeatability_mm,
            degrees_of_freedom: self.degrees_of_freedom,
        }
    }

    /// Whether numbers like these can come from a study.
    pub(super) fn plausible(&self) -> Result<(), Refusal> {
        let spread = (0.0..GREATEST_REPEATABILITY_MM).contains(&self.repeatability_mm);
        let degrees = self.degrees_of_freedom.is_finite() && self.degrees_of_freedom >= 1.0;
        let sizes = [self.bias_mm, self.reference_mm];
        if spread && degrees && sizes.iter().flatten().all(|size| size.is_finite()) {
            return Ok(());
        }
        Err(Refusal(format!(
            "a study states a repeatability from 0 to {GREATEST_REPEATABILITY_MM} mm and 1 degree \
             of freedom or more: send what `borewright study` computed"
        )))
    }
}
