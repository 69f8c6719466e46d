//! The setting ring and the temperatures that stand behind a file's readings.

use super::readings::Due;
use super::{Failure, positive};
use crate::bore::{Contact, InRing, Setting, UNSTATED_RING_MM};
use crate::fit::Material;
use crate::job::{BELONGS_WITHIN_MM, Seat, off_its_ring, on_a_bench, possible_ring_uncertainty};
use crate::uncertainty::study::deviation;
use crate::uncertainty::thermal::{Body, PART_EXPANSION_SPREAD, RING_EXPANSION};
use crate::uncertainty::{Budget, Distribution, Input};

/// What the inputs of a setting are called.
const RING: &str = "setting ring";
const SHOWN: &str = "gauge's digit in the ring";
const PART_C: &str = "temperature of the part";
const PART_EXPANSION: &str = "expansion of the part";
const RING_C: &str = "temperature of the ring";
const RING_GROWS: &str = "expansion of the ring";

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
    /// What the gauge showed in the ring, mm, each time that it was held there: the mean counts, and
    /// several show how far it scatters; left out: once the ring's size, half of it for radii, or 0 for
    /// deviations.
    #[arg(
        long,
        value_name = "MM[,MM]",
        requires = "ring",
        value_delimiter = ',',
        allow_negative_numbers = true
    )]
    ring_shown: Vec<f64>,
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
    contact: Contact,
    /// As the gauge reads it: for `radius` half its diameter.
    ring: Option<f64>,
    shown: f64,
    /// Nobody stated the ring's uncertainty.
    assumed: bool,
    in_ring: Option<InRing>,
    part: Body,
    master: Body,
    inputs: Vec<Input>,
}

impl SettingArgs {
    /// The ring's diameter, mm.
    pub(in crate::commands) const fn ring(&self) -> Option<f64> {
        self.ring
    }

    /// The sizes that readings are due to have, by the ring and the seat.
    pub(in crate::commands) fn due(&self, seat: Option<&Seat>) -> Vec<Due> {
        let ring = self.ring.map(|ring| Due {
            sizes_mm: vec![ring],
            within_mm: BELONGS_WITHIN_MM,
            ring: true,
        });
        let seat = seat.map(|seat| Due {
            sizes_mm: seat.bores.iter().map(|bore| bore.nominal_mm).collect(),
            within_mm: seat.belongs_within_mm,
            ring: false,
        });
        ring.into_iter().chain(seat).collect()
    }

    /// The correction that the arguments ask for; `None` where they ask for none. `typical_mm` is a
    /// reading about the middle of all.
    pub(in crate::commands) fn correction(
        &self,
        contact: Contact,
        seat: Option<&Seat>,
        deviations: bool,
        typical_mm: f64,
        resolution: Option<f64>,
    ) -> Result<Option<Correction>, Failure> {
        if self.ring.is_none() && self.temperature.is_empty() {
            return Ok(None);
        }
        let wrong = |what: &str| Err(Failure::wrong(what.to_owned()));
        if self.temperature.len() > 2 {
            return wrong("--temperature takes one or two temperatures in °C, such as 24 or 24,22");
        }
        // A swept indicator finds the ring's wall at half its diameter.
        let as_read = |ring: f64| match contact {
            Contact::Radius => ring / 2.0,
            Contact::TwoPoint | Contact::ThreePoint => ring,
        };
        let due = self.ring.filter(|_| !deviations).map_or(0.0, as_read);
        let (mean, deviation) = deviation(&self.ring_shown);
        let shown = if self.ring_shown.is_empty() {
            due
        } else {
            mean
        };
        let spread = self.temperature_uncertainty;
        if !shown.is_finite() {
            return wrong("--ring-shown must be finite");
        }
        if let Some(uncertainty) = self.ring_uncertainty {
            possible_ring_uncertainty(uncertainty)
                .map_err(|why| Failure::wrong(format!("--ring-uncertainty: {why}")))?;
        }
        on_a_bench(&self.temperature, spread)
            .map_err(|why| Failure::wrong(format!("--temperature: {why}")))?;
        // One that was not said counts as one.
        let m = f64::from(u32::try_from(self.ring_shown.len()).unwrap_or(u32::MAX)).max(1.0);
        let in_ring = self.ring.map(|_| InRing {
            share: contact.diameter_per_reading().powi(2) / m,
            squares_mm2: deviation.powi(2) * (m - 1.0),
            degrees_of_freedom: m - 1.0,
        });
        if let Some(ring) = self.ring {
            let off = (shown - due) * contact.diameter_per_reading();
            off_its_ring(contact, due, shown, off, ring)
                .map_err(|why| Failure::wrong(format!("--ring-shown: {why}")))?;
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
            contact,
            ring: self.ring.map(as_read),
            shown,
            assumed: self.ring.is_some() && self.ring_uncertainty.is_none(),
            in_ring,
            part,
            master,
            inputs: Vec::new(),
        };
        let reading = if deviations || self.ring.is_none() {
            typical_mm
        } else {
            due
        };
        correction.inputs = self.inputs(&correction, reading, resolution);
        Ok(Some(correction))
    }

    /// What makes every size uncertain, each with its sensitivity of the diameter, at a `reading`.
    fn inputs(&self, of: &Correction, reading: f64, resolution: Option<f64>) -> Vec<Input> {
        let mut inputs = Vec::new();
        if let Some(ring) = self.ring {
            if of.assumed {
                eprintln!(
                    "borewright: the ring's uncertainty is not stated and counts as ± {UNSTATED_RING_MM:.3} mm; --ring-uncertainty takes it from the certificate"
                );
            }
            let certified = self.ring_uncertainty.unwrap_or(UNSTATED_RING_MM);
            let digit = resolution.unwrap_or(0.0);
            inputs.extend([
                Input::within(RING, ring, certified, Distribution::Normal),
                Input::digit(SHOWN, of.shown, digit),
            ]);
        }
        if !self.temperature.is_empty() {
            let within = |name: &str, value: f64, half_width: f64| {
                Input::within(name, value, half_width, Distribution::Rectangular)
            };
            let kelvin = self.temperature_uncertainty;
            let expansion = of.part.expansion_per_k;
            inputs.extend([
                within(PART_C, of.part.temperature_c, kelvin),
                within(PART_EXPANSION, expansion, expansion * PART_EXPANSION_SPREAD),
            ]);
            if self.ring.is_some() {
                let expansion = of.master.expansion_per_k;
                inputs.extend([
                    within(RING_C, of.master.temperature_c, kelvin),
                    within(RING_GROWS, expansion, RING_EXPANSION.1),
                ]);
            }
        }
        let names: Vec<String> = inputs.iter().map(|input| input.name.clone()).collect();
        Budget::of_model("setting", inputs, |x| {
            let value = |name: &str, otherwise: f64| {
                let at = names.iter().position(|known| known == name);
                at.and_then(|at| x.get(at)).copied().unwrap_or(otherwise)
            };
            let body = |of: Body, (temperature, expansion): (&str, &str)| Body {
                temperature_c: value(temperature, of.temperature_c),
                expansion_per_k: value(expansion, of.expansion_per_k),
            };
            let radius = of.contact == Contact::Radius;
            let size = diameter(
                of.ring.map(|ring| {
                    let whole = value(RING, if radius { 2.0 * ring } else { ring });
                    if radius { whole / 2.0 } else { whole }
                }),
                value(SHOWN, of.shown),
                body(of.part, (PART_C, PART_EXPANSION)),
                body(of.master, (RING_C, RING_GROWS)),
                reading,
            );
            if radius { 2.0 * size } else { size }
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
    pub(in crate::commands) fn apply(&self, reading: f64) -> f64 {
        diameter(self.ring, self.shown, self.part, self.master, reading)
    }

    /// What ring and temperatures contribute to every size.
    pub(in crate::commands) fn setting(&self) -> Setting {
        let budget = Budget::new("setting", 0.0, self.inputs.clone());
        Setting {
            by_ring: self.has_ring(),
            standard_mm: budget.combined(),
            degrees_of_freedom: budget.degrees(),
            assumed: self.assumed,
            in_ring: self.in_ring,
        }
    }

    /// What makes every size uncertain.
    pub(in crate::commands) fn inputs(&self) -> &[Input] {
        &self.inputs
    }
}
