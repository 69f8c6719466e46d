//! The setting ring and the temperatures that stand behind a file's readings.

use super::{Failure, positive};
use crate::bore::{Contact, Profile, ScatterFrom, Setting};
use crate::fit::Material;
use crate::job::Seat;
use crate::uncertainty::thermal::Body;
use crate::uncertainty::{Budget, Distribution, Estimate, Input};

/// Thermal expansion of a steel setting ring, 1/K, and its half-width (JCGM 100:2008, H.1.3.4).
const RING_EXPANSION: (f64, f64) = (11.5e-6, 2e-6);
/// How far a handbook's expansion of a part's material may be off, as a share: sources differ by
/// about as much for one alloy.
const EXPANSION_SPREAD: f64 = 0.05;

/// Ring and temperatures, as arguments.
#[derive(Debug, Clone, clap::Args)]
#[command(next_help_heading = "Setting ring and temperature")]
pub(in crate::commands) struct SettingArgs {
    /// The setting ring's calibrated diameter at 20 °C, mm.
    #[arg(long, value_name = "MM", value_parser = positive)]
    ring: Option<f64>,
    /// The ring's expanded uncertainty from its certificate (k = 2), mm.
    #[arg(long, value_name = "MM", requires = "ring", value_parser = positive)]
    ring_uncertainty: Option<f64>,
    /// What the gauge showed in the ring, mm; left out: the ring's size, or 0 for deviations.
    #[arg(
        long,
        value_name = "MM",
        requires = "ring",
        allow_negative_numbers = true
    )]
    ring_shown: Option<f64>,
    /// Temperature of the part, or of part and ring, °C.
    #[arg(
        long,
        value_name = "PART[,RING]",
        value_delimiter = ',',
        num_args = 1,
        allow_negative_numbers = true,
        value_parser = celsius
    )]
    temperature: Vec<f64>,
    /// How far a stated temperature may be off, K.
    #[arg(long, value_name = "K", default_value_t = 1.0)]
    temperature_uncertainty: f64,
    /// What the part is made of; left out: what the seat says.
    #[arg(long, value_enum)]
    pub(in crate::commands) material: Option<Material>,
}

fn celsius(text: &str) -> Result<f64, String> {
    let celsius = text
        .parse::<f64>()
        .ok()
        .filter(|celsius| celsius.is_finite());
    celsius.ok_or_else(|| "state one or two temperatures in °C, such as 24 or 24,22".to_owned())
}

/// How a reading becomes a diameter at 20 °C.
pub(in crate::commands) struct Correction {
    ring: Option<f64>,
    shown: f64,
    part: Body,
    master: Body,
    inputs: Vec<Input>,
}

impl SettingArgs {
    /// The correction that the arguments ask for; `None` where they ask for none.
    pub(in crate::commands) fn correction(
        &self,
        seat: Option<&Seat>,
        deviations: bool,
        resolution: Option<f64>,
    ) -> Result<Option<Correction>, Failure> {
        if self.ring.is_none() && self.temperature.is_empty() {
            return Ok(None);
        }
        let wrong = |what: &str| Err(Failure::wrong(what.to_owned()));
        if self.temperature.len() > 2 {
            return wrong("--temperature takes one or two temperatures in °C, such as 24 or 24,22");
        }
        let shown = self.ring_shown.unwrap_or(if deviations {
            0.0
        } else {
            self.ring.unwrap_or(0.0)
        });
        let spread = self.temperature_uncertainty;
        if !(shown.is_finite() && spread.is_finite() && spread >= 0.0) {
            return wrong(
                "--ring-shown and --temperature-uncertainty must be finite, the latter not negative",
            );
        }
        let (mut part, mut master) = (at_20(0.0), at_20(RING_EXPANSION.0));
        if let Some(&first) = self.temperature.first() {
            let material = self.material.or(seat.and_then(|seat| seat.material));
            let Some(material) = material else {
                return wrong(
                    "a temperature corrects nothing without the part's material; state it with --material",
                );
            };
            let Some(elastic) = material.elastic() else {
                return Err(Failure::wrong(format!(
                    "{} has no one thermal expansion; gauge the part at 20 °C and leave --temperature out",
                    material.word()
                )));
            };
            part = Body {
                temperature_c: first,
                expansion_per_k: elastic.expansion_per_k,
            };
            master.temperature_c = self.temperature.get(1).copied().unwrap_or(first);
        }
        let mut correction = Correction {
            ring: self.ring,
            shown,
            part,
            master,
            inputs: Vec::new(),
        };
        correction.inputs = self.inputs(&correction, deviations, resolution);
        Ok(Some(correction))
    }

    /// What makes the setting uncertain, each with its sensitivity at the ring's size.
    fn inputs(
        &self,
        correction: &Correction,
        deviations: bool,
        resolution: Option<f64>,
    ) -> Vec<Input> {
        let Some(ring) = self.ring else {
            return Vec::new();
        };
        if self.ring_uncertainty.is_none() {
            eprintln!(
                "borewright: the ring's uncertainty is not stated and counts as none; --ring-uncertainty takes it from the certificate"
            );
        }
        let spread = self.temperature_uncertainty;
        let (part, master) = (correction.part, correction.master);
        let mut inputs = vec![
            Input::within(
                "setting ring",
                ring,
                self.ring_uncertainty.unwrap_or(0.0),
                Distribution::Normal,
            ),
            Input::digit(
                "gauge's digit in the ring",
                correction.shown,
                resolution.unwrap_or(0.0),
            ),
        ];
        if !self.temperature.is_empty() {
            let rectangular = Distribution::Rectangular;
            inputs.extend([
                Input::within(
                    "temperature of the part",
                    part.temperature_c,
                    spread,
                    rectangular,
                ),
                Input::within(
                    "temperature of the ring",
                    master.temperature_c,
                    spread,
                    rectangular,
                ),
                Input::within(
                    "expansion of the part",
                    part.expansion_per_k,
                    part.expansion_per_k * EXPANSION_SPREAD,
                    rectangular,
                ),
                Input::within(
                    "expansion of the ring",
                    master.expansion_per_k,
                    RING_EXPANSION.1,
                    rectangular,
                ),
            ]);
        }
        let reading = if deviations { 0.0 } else { ring };
        Budget::of_model("setting", inputs, |x| {
            let part = Body {
                temperature_c: *x.get(2).unwrap_or(&part.temperature_c),
                expansion_per_k: *x.get(4).unwrap_or(&part.expansion_per_k),
            };
            let master = Body {
                temperature_c: *x.get(3).unwrap_or(&master.temperature_c),
                expansion_per_k: *x.get(5).unwrap_or(&master.expansion_per_k),
            };
            diameter(Some(x[0]), x[1], part, master, reading)
        })
        .inputs
    }
}

const fn at_20(expansion_per_k: f64) -> Body {
    Body {
        temperature_c: crate::uncertainty::thermal::REFERENCE_C,
        expansion_per_k,
    }
}

fn diameter(ring: Option<f64>, shown: f64, part: Body, master: Body, reading: f64) -> f64 {
    ring.map_or(reading / part.growth(), |ring| {
        crate::uncertainty::thermal::size_at_20_c(ring, reading - shown, master, part)
    })
}

impl Correction {
    /// Whether readings become sizes by a ring.
    pub(in crate::commands) const fn has_ring(&self) -> bool {
        self.ring.is_some()
    }

    /// A reading as a size at 20 °C: a diameter, or for `radius` a radius.
    pub(in crate::commands) fn apply(&self, contact: Contact, reading: f64) -> f64 {
        if contact == Contact::Radius {
            // The ring's wall lies at half its diameter, where the indicator showed `shown`.
            let halved = self.ring.map(|ring| ring / 2.0);
            let shown = match self.ring {
                Some(ring) if (self.shown - ring).abs() < 1e-9 => ring / 2.0,
                _ => self.shown,
            };
            return diameter(halved, shown, self.part, self.master, reading);
        }
        diameter(self.ring, self.shown, self.part, self.master, reading)
    }

    /// What the ring contributes to every size.
    pub(in crate::commands) fn setting(&self) -> Option<Setting> {
        self.ring?;
        let budget = Budget::new("setting", 0.0, self.inputs.clone());
        Some(Setting {
            standard_mm: budget.combined(),
            degrees_of_freedom: budget.degrees(),
        })
    }

    /// The budget of each section's mean diameter.
    pub(in crate::commands) fn budgets(&self, profile: &Profile) -> Vec<Budget> {
        budgets(profile, &self.inputs)
    }
}

/// What the scatter of a section is called in its budget.
const fn scatter_name(from: Option<ScatterFrom>) -> &'static str {
    match from {
        Some(ScatterFrom::Study) => "repeatability, from the gauge's study",
        Some(ScatterFrom::ReadingsAndStudy) => "scatter, of the readings and the study",
        Some(ScatterFrom::Readings) | None => "scatter of the readings about the fit",
    }
}

/// The budget of each section's mean diameter: `setting`, and the scatter of its readings.
pub(in crate::commands) fn budgets(profile: &Profile, setting: &[Input]) -> Vec<Budget> {
    let mut all = Vec::new();
    for bore in &profile.bores {
        for section in &bore.sections {
            let (Some(mean), Some(scatter)) = (section.mean_diameter_mm, section.mean_scatter())
            else {
                continue;
            };
            let name = format!("mean diameter, {} at {} mm", bore.bore, section.depth_mm);
            let mut inputs = vec![Input::normal(
                scatter_name(section.scatter_from),
                mean,
                scatter.standard,
                Estimate::degrees(&scatter),
            )];
            inputs.extend(setting.iter().cloned());
            all.push(Budget::new(name, mean, inputs));
        }
    }
    all
}
