//! What a reading comes to once the gauge's drift and the temperatures are known.

use super::state::{Job, Taken};
use crate::fit::Material;
use crate::uncertainty::thermal::{Body, REFERENCE_C, size_at_20_c};

/// How far the expansion of a material may be off, as a share of it: the sources of
/// [`Material::elastic`] differ by about that much. Judgement.
const EXPANSION_SPREAD: f64 = 0.05;

impl Job {
    /// The part of the gauge's drift that is in `taken`, mm; 0 where it was never re-checked.
    pub fn drift_mm(&self, taken: &Taken) -> f64 {
        let check = self
            .checks
            .get(&taken.gauge)
            .filter(|_| taken.setting_u_mm.is_some());
        check.map_or(0.0, |check| check.share(taken.at))
    }

    /// The size at `taken`, mm: without the gauge's drift, and at 20 °C where the temperatures and
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
        for body in [ring, part] {
            let kelvin = temperature.within_k / 3.0_f64.sqrt();
            u = u.hypot(size_mm * body.expansion_per_k * kelvin);
            let away = body.temperature_c - REFERENCE_C;
            let expansion = body.expansion_per_k * EXPANSION_SPREAD / 3.0_f64.sqrt();
            u = u.hypot(size_mm * away * expansion);
        }
        Some(u)
    }

    /// Ring and part as bodies that expand; `None` where a temperature or the material is unknown.
    fn bodies(&self) -> Option<(Body, Body)> {
        let temperature = self.temperature?;
        let body = |material: Material, temperature_c| {
            let expansion_per_k = material.elastic()?.expansion_per_k;
            Some(Body {
                temperature_c,
                expansion_per_k,
            })
        };
        let ring = body(Material::BearingSteel, temperature.ring_c)?;
        Some((ring, body(self.seat.material?, temperature.part_c)?))
    }
}
