//! What pressing an insert into a seat comes to: its numbers, and what they say in words.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::limits::{Class, Feature, Letter, fit_limits};
use super::service::AtTemperature;
use crate::bore::Withheld;
use crate::uncertainty::{Decision, Estimates};

/// From least to greatest.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Range {
    /// Least.
    pub least: f64,
    /// Greatest.
    pub greatest: f64,
}

impl Range {
    /// Both ends rounded to whole numbers, for sentences; nothing is no minus zero.
    pub(super) fn whole(self) -> (f64, f64) {
        (self.least.round() + 0.0, self.greatest.round() + 0.0)
    }
}

/// How the insert meets the bore, less what pressing smooths away.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Meets {
    /// Interference is shown.
    Interference,
    /// Neither is shown.
    CantTell,
    /// Clearance is shown: the insert is loose.
    Clearance,
}

/// Interference at one depth. Positive is interference, negative clearance; diametral.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct SectionFit {
    /// Depth from the face, mm.
    pub depth_mm: f64,
    /// Of the mean diameters, mm.
    pub interference_mm: f64,
    /// Across the largest diameter, mm.
    pub least_mm: Option<f64>,
    /// Across the smallest diameter, mm.
    pub greatest_mm: Option<f64>,
}

/// Radial internal clearance of the bearing, µm.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ClearanceLeft {
    /// Before fitting, by its group.
    pub initial_um: Range,
    /// After fitting, all round on average.
    pub mean_um: Range,
    /// After fitting, across the tight axis; null where the oval isn't known.
    pub tight_axis_um: Option<Range>,
    /// Whether clearance is left where it is least known: across the tight axis, else on average.
    pub left: Decision,
}

/// What pressing an insert into a seat does.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Fit {
    /// What is pressed in.
    pub insert: String,
    /// Its outside diameter, mm.
    pub insert_mm: f64,
    /// Where that diameter comes from.
    pub insert_from: String,
    /// How it meets the bore.
    pub meets: Meets,
    /// Insert minus mean bore diameter, mm.
    pub interference_mm: f64,
    /// Greatest minus least interference round the circumference of any section, mm.
    pub spread_round_mm: Option<f64>,
    /// Greatest minus least mean interference along the depth, mm.
    pub spread_depth_mm: Option<f64>,
    /// Section by section.
    pub sections: Vec<SectionFit>,
    /// Interference lost as the surfaces are pressed smooth, mm; null where the finish isn't known,
    /// and then all of the interference counts.
    #[serde(default)]
    pub smoothing_mm: Option<Range>,
    /// Contact pressure, MPa.
    pub pressure_mpa: Option<Range>,
    /// Hoop stress at the wall of the bore, MPa.
    pub hoop_stress_mpa: Option<Range>,
    /// Yield strength of the housing, MPa, as stated; null where it is not.
    #[serde(default)]
    pub yield_mpa: Option<f64>,
    /// Whether the hoop stress stays below the yield strength stated.
    pub below_yield: Option<Decision>,
    /// Force to press in, N.
    pub press_force_n: Option<Range>,
    /// How much the outer raceway shrinks in diameter, mm.
    pub raceway_contraction_mm: Option<Range>,
    /// How much of the bore's oval the ring takes, 0 to 1.
    pub oval_share: Option<Range>,
    /// Internal clearance before and after.
    pub clearance: Option<ClearanceLeft>,
    /// Change of interference for each kelvin that both parts warm, mm/K.
    pub interference_per_k_mm: Option<f64>,
    /// At the ends of the temperatures in service; empty where none are stated.
    #[serde(default)]
    pub service: Vec<AtTemperature>,
    /// Uncertainties by field path.
    pub uncertainty: Estimates,
    /// The fields that are null, and why.
    pub withheld: Vec<Withheld>,
}

impl Fit {
    /// The hoop stress against the yield strength, as words; `None` where either isn't known.
    pub fn stress(&self) -> Option<String> {
        let (hoop, limit) = (self.hoop_stress_mpa?, self.yield_mpa?);
        Some(format!(
            "a hoop stress of {:.0} to {:.0} MPa at the bore against a yield strength of {limit:.0} MPa",
            hoop.least, hoop.greatest
        ))
    }

    /// What is wrong with the insert in a seat that is as it should be, with the numbers and what
    /// to take instead; `None` where nothing is shown wrong.
    pub fn unfit(&self) -> Option<String> {
        if self.below_yield == Some(Decision::DoesNotConform)
            && let Some(stress) = self.stress()
        {
            return Some(format!(
                "{} would bring {stress}, and the housing yields: take a smaller insert",
                self.insert
            ));
        }
        let lost = |clearance: &ClearanceLeft| clearance.left == Decision::DoesNotConform;
        if let Some(clearance) = self.clearance.filter(lost) {
            let (least, most) = clearance.tight_axis_um.unwrap_or(clearance.mean_um).whole();
            return Some(format!(
                "{} has {:.3} mm of interference and would be left {least:.0} to {most:.0} µm of \
                 internal clearance: take a smaller insert, or a larger clearance group",
                self.insert, self.interference_mm
            ));
        }
        let cold = self.service.iter().find_map(|at| {
            let left = at.clearance_um.filter(|um| um.greatest < 0.0)?;
            Some((at.celsius, left.whole()))
        });
        if let Some((celsius, (least, most))) = cold {
            return Some(format!(
                "at {celsius:.0} °C {} would be left {least:.0} to {most:.0} µm of internal \
                 clearance: take a smaller insert, or a larger clearance group",
                self.insert
            ));
        }
        if let Some(why) = self.too_tight() {
            return Some(format!("{why}: take a smaller insert"));
        }
        (self.meets == Meets::Clearance).then(|| {
            format!(
                "{} is {:.3} mm smaller than the bore and would sit loose: take a larger insert, or \
                 bond it",
                self.insert, -self.interference_mm
            )
        })
    }

    /// That no interference can be shown, with the numbers.
    pub fn may_be_loose(&self) -> String {
        match self.smoothing_mm {
            Some(lost) if self.interference_mm > 0.0 => format!(
                "{} has {:.3} mm of interference and pressing smooths {:.3} to {:.3} mm of it away: \
                 whether it holds can't be told, press drag will show",
                self.insert, self.interference_mm, lost.least, lost.greatest
            ),
            _ => format!(
                "whether {} has interference can't be told ({:+.3} mm): press drag will show",
                self.insert, self.interference_mm
            ),
        }
    }

    /// The internal clearance left where it is least known, as words; `None` where it isn't.
    pub fn clearance_left(&self) -> Option<String> {
        let clearance = self.clearance?;
        let (least, most) = clearance.tight_axis_um.unwrap_or(clearance.mean_um).whole();
        Some(format!(
            "{least:.0} to {most:.0} µm of internal clearance where it is tightest"
        ))
    }

    /// That the interference is more than a press fit of this diameter has, whatever the model can
    /// say of the housing, as a sentence; `None` where it isn't. The bound is the greatest
    /// interference of H7/s6, a medium drive fit (ISO 286-2; its name by ANSI B4.2, from memory),
    /// and beyond the tables 0.2 % of the diameter (judgement: H7/s6 has 0.08 % at 120 mm, 0.5 % at 5).
    pub fn too_tight(&self) -> Option<String> {
        let bore_mm = self.insert_mm - self.interference_mm;
        let class = |feature, letter, grade| Class {
            feature,
            letter,
            grade,
        };
        let drive = fit_limits(
            bore_mm,
            class(Feature::Hole, Letter::H, 7),
            class(Feature::Shaft, Letter::S, 6),
        );
        let (most_mm, source) = drive.map_or_else(
            |_| (0.002 * bore_mm, "0.2 % of the diameter is"),
            |drive| {
                let um = drive.greatest_interference_um;
                (um / 1e3, "a medium drive fit has, H7/s6 of ISO 286-2")
            },
        );
        (self.interference_mm > most_mm).then(|| {
            format!(
                "{} has {:.3} mm of interference, more than the {most_mm:.3} mm that {source}",
                self.insert, self.interference_mm
            )
        })
    }

    /// Without what overflowed: null says so, with the reason.
    pub(super) fn finite(mut self) -> Self {
        let sound = |range: &Range| range.least.is_finite() && range.greatest.is_finite();
        let mut lost = Vec::new();
        for (field, range) in [
            ("pressure_mpa", &mut self.pressure_mpa),
            ("hoop_stress_mpa", &mut self.hoop_stress_mpa),
            ("press_force_n", &mut self.press_force_n),
            ("raceway_contraction_mm", &mut self.raceway_contraction_mm),
            ("oval_share", &mut self.oval_share),
        ] {
            if range.as_ref().is_some_and(|range| !sound(range)) {
                *range = None;
                lost.push(field);
            }
        }
        let left =
            |of: &ClearanceLeft| sound(&of.mean_um) && of.tight_axis_um.is_none_or(|um| sound(&um));
        if self.clearance.as_ref().is_some_and(|of| !left(of)) {
            self.clearance = None;
            lost.push("clearance");
        }
        let runs = |at: &AtTemperature| {
            at.interference_mm.is_finite()
                && sound(&at.pressure_mpa)
                && at.clearance_um.is_none_or(|um| sound(&um))
        };
        if !self.service.iter().all(runs) {
            self.service.clear();
            lost.push("service");
        }
        for field in lost {
            self.withhold(
                field,
                "sizes so far apart can't be computed with: check wall and length",
            );
        }
        self
    }

    pub(super) fn withhold(&mut self, field: &str, why: impl Into<String>) {
        self.withheld.push(Withheld {
            field: field.to_owned(),
            why: why.into(),
        });
    }
}
