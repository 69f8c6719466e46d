//! What a reading comes to once the gauge's drift and the temperatures are known.

use super::state::{Job, Taken};
use crate::uncertainty::thermal::{
    Body, PART_EXPANSION_SPREAD, REFERENCE_C, RING_EXPANSION, size_at_20_c,
};

/// Whether a part and its gauge can lie on a bench at temperatures of `celsius`, known to within
/// `within_k`. Judgement.
///
/// # Errors
/// Why they can't, as a sentence.
pub fn on_a_bench(celsius: &[f64], within_k: f64) -> Result<(), String> {
    let possible = |celsius: &f64| (-20.0..=60.0).contains(celsius);
    if celsius.iter().all(possible) && (0.0..=20.0).contains(&within_k) {
        return Ok(());
    }
    let what = "temperatures lie between -20 and 60 °C, known to within 20 K: let part and gauge lie \
                on the bench together, then measure them";
    Err(what.to_owned())
}

impl Job {
    /// The part of the gauge's drift that is in `taken`, mm of diameter; 0 where it was never re-checked.
    pub fn drift_mm(&self, taken: &Taken) -> f64 {
        let check = self
            .checks
            .get(&taken.gauge)
            .filter(|_| taken.setting_u_mm.is_some());
        check.map_or(0.0, |check| check.share(taken.at))
    }

    /// The size at `taken`, a diameter, mm: without the gauge's drift, and at 20 °C where the temperatures and
    /// the part's material are known.
    pub fn size_mm(&self, taken: &Taken) -> Option<f64> {
        let size = taken.size_mm? - self.drift_mm(taken);
        Some(match (self.bodies(), taken.ring_mm) {
            (Some((ring, part)), Some(ring_mm)) => {
                size_at_20_c(ring_mm, size - ring_mm, ring, part)
            }
            _ => size,
        })
    }

    /// The standard uncertainty common to all sizes like `taken`, mm: the ring and the reading in
    /// it, the drift (its course between setting and check is not known: rectangular), and the
    /// temperatures. `None` where no ring stands behind it.
    pub fn size_u_mm(&self, taken: &Taken) -> Option<f64> {
        let mut u = taken.setting_u_mm?;
        u = u.hypot(self.drift_mm(taken) / 12.0_f64.sqrt());
        let (Some((ring, part)), Some(temperature)) = (self.bodies(), self.temperature) else {
            return Some(u);
        };
        let size_mm = taken.size_mm?;
        let part_spread = part.expansion_per_k * PART_EXPANSION_SPREAD;
        for (body, spread) in [(ring, RING_EXPANSION.1), (part, part_spread)] {
            let kelvin = temperature.within_k / 3.0_f64.sqrt();
            u = u.hypot(size_mm * body.expansion_per_k * kelvin);
            let away = body.temperature_c - REFERENCE_C;
            u = u.hypot(size_mm * away * spread / 3.0_f64.sqrt());
        }
        Some(u)
    }

    /// Ring and part as bodies that expand; `None` where a temperature or the material is unknown.
    fn bodies(&self) -> Option<(Body, Body)> {
        let temperature = self.temperature?;
        let body = |expansion_per_k, temperature_c| Body {
            temperature_c,
            expansion_per_k,
        };
        let part = self.seat.material?.elastic()?.expansion_per_k;
        Some((
            body(RING_EXPANSION.0, temperature.ring_c),
            body(part, temperature.part_c),
        ))
    }
}
