//! What is left of an interference once the surfaces are pressed smooth, and where it runs.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::assess::{END_EFFECTS, Housing, outside_model, scaled};
use super::expected::{Fit, Meets, Range};
use super::insert::Insert;
use super::layers::Layers;

/// How a bore's surface was made.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema, clap::ValueEnum,
)]
#[serde(rename_all = "lowercase")]
pub enum Finish {
    /// Ground, or honed.
    Ground,
    /// Turned, bored or reamed.
    Turned,
}

/// How much of a diametral interference pressing takes away by smoothing the surfaces, µm: 1.0 to
/// 2.5 for a ground seat, 5 to 7 for a turned one (bearing catalogue); by measured roughness
/// 0.8 (Rz₁ + Rz₂) (DIN 7190-1, from memory; a turned seat of Rz 6.3 and a ground ring of Rz 1.6
/// give 6.3 µm, which the catalogue's range holds). `None` where nothing is known of it.
pub fn smoothing_um(finish: Option<Finish>, rz_um: Option<f64>) -> Option<Range> {
    let (least, greatest) = match (rz_um, finish) {
        (Some(sum), _) if sum.is_finite() && sum >= 0.0 => (0.8 * sum, 0.8 * sum),
        (_, Some(Finish::Ground)) => (1.0, 2.5),
        (_, Some(Finish::Turned)) => (5.0, 7.0),
        _ => return None,
    };
    Some(Range { least, greatest })
}

/// The fit at one temperature of all its parts.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct AtTemperature {
    /// The temperature, °C.
    pub celsius: f64,
    /// Interference of the mean diameters, mm.
    pub interference_mm: f64,
    /// How the insert meets the bore, less what pressing smoothed away.
    pub meets: Meets,
    /// Contact pressure, MPa.
    pub pressure_mpa: Range,
    /// Internal clearance on average, µm; null where the bearing's isn't known.
    pub clearance_um: Option<Range>,
}

/// What [`service`] needs to know.
pub(super) struct Service<'a> {
    pub(super) fit: &'a Fit,
    pub(super) insert: &'a Insert,
    pub(super) housing: &'a Housing,
    /// What isn't known of the interference, mm.
    pub(super) reach_mm: f64,
    /// What smoothing takes, mm.
    pub(super) lost_mm: Range,
}

/// The fit at both ends of the temperatures in service; empty where none are stated.
pub(super) fn service(at: &Service<'_>) -> Result<Vec<AtTemperature>, String> {
    let Some((from, to)) = at.housing.service_c else {
        return Ok(Vec::new());
    };
    if let Some(why) = outside_model(at.insert, at.housing) {
        return Err(why);
    }
    let found = Layers::of(at.insert)
        .zip(at.housing.material.and_then(super::Material::elastic))
        .zip(at.housing.wall_mm);
    let Some(((layers, shell), wall)) = found else {
        return Err("what lies inside the cup is not known: name the bearing".to_owned());
    };
    let per_k =
        (layers.outermost().expansion_per_k - shell.expansion_per_k) * at.insert.outside.mean_mm;
    let of = |celsius: f64| {
        let kelvin = celsius - 20.0;
        let interference_mm = at.fit.interference_mm + per_k * kelvin;
        // The growth is in the stack; what is given to it is the interference at 20 °C.
        let press = |delta: f64, stiff: f64| {
            layers.press_warmed(delta, wall, &scaled(&shell, stiff), kelvin)
        };
        let soft = press(
            at.fit.interference_mm - at.reach_mm - at.lost_mm.greatest,
            -1.0,
        )?;
        let stiff = press(at.fit.interference_mm + at.reach_mm - at.lost_mm.least, 1.0)?;
        let ends = |least: f64, greatest: f64| Range {
            least: least * (1.0 - END_EFFECTS),
            greatest: greatest * (1.0 + END_EFFECTS),
        };
        let contraction = ends(soft.contraction, stiff.contraction);
        Some(AtTemperature {
            celsius,
            interference_mm,
            meets: if interference_mm - at.lost_mm.greatest > at.reach_mm {
                Meets::Interference
            } else if interference_mm < -at.reach_mm {
                Meets::Clearance
            } else {
                Meets::CantTell
            },
            pressure_mpa: ends(soft.pressure, stiff.pressure),
            // Rings and balls of one steel grow alike: only the contraction changes.
            clearance_um: at.fit.clearance.map(|clearance| Range {
                least: clearance.initial_um.least - 1e3 * contraction.greatest,
                greatest: clearance.initial_um.greatest - 1e3 * contraction.least,
            }),
        })
    };
    let both: Option<Vec<AtTemperature>> =
        [from.min(to), from.max(to)].into_iter().map(of).collect();
    both.ok_or_else(|| "the diameters of ring, cup and housing don't nest".to_owned())
}
