//! What a reading comes to once the gauge's drift and the temperatures are known.

use super::ring::ShownInRing;
use super::state::{Check, Job, Taken};
use crate::bore::{InRing, UNSTATED_RING_MM};
use crate::uncertainty::thermal::{
    Body, PART_EXPANSION_SPREAD, REFERENCE_C, RING_EXPANSION, size_at_20_c,
};
use crate::units::Moment;

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

/// How a gauge drifted about a reading.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Course {
    /// The drift at the reading, mm of diameter.
    drift_mm: f64,
    /// How much it grew between the two visits to the ring about the reading, or the last two before
    /// it, mm.
    step_mm: f64,
    /// The variance that the readings in the ring bring to it where a single one has a variance of 1:
    /// between two visits of m and n readings, a share w of the way, (1 − w)²/m + w²/n.
    share: f64,
}

/// How many readings a mean in the ring is of: what was stated counts as one.
fn readings(in_ring: Option<ShownInRing>) -> f64 {
    in_ring.map_or(1.0, |shown| f64::from(shown.readings.max(1)))
}

fn seconds(from: Moment, to: Moment) -> f64 {
    to.0.duration_since(from.0).as_secs_f64()
}

impl Job {
    /// The part of the gauge's drift that is in `taken`, mm of diameter; 0 where it was never re-checked.
    pub fn drift_mm(&self, taken: &Taken) -> f64 {
        self.course(taken).drift_mm
    }

    /// Between its setting and each re-check of it a gauge is taken to drift evenly, behind the last
    /// one no more.
    fn course(&self, taken: &Taken) -> Course {
        let checks = self.checks.get(&taken.gauge).map_or(&[][..], Vec::as_slice);
        // An old journal no longer keeps the setting itself.
        let known = checks.iter().map(|check| check.set_at);
        let set_at = match taken.set {
            Some(set) => Some(set.at),
            None => known.filter(|set_at| *set_at <= taken.at).max(),
        };
        let Some(set_at) = set_at.filter(|_| taken.setting_u_mm.is_some()) else {
            return Course {
                share: 1.0,
                ..Course::default()
            };
        };
        let mut course = Course {
            share: 1.0 / readings(taken.set.and_then(|set| set.in_ring)),
            ..Course::default()
        };
        let mut since = set_at;
        for check in checks.iter().filter(|check| check.set_at == set_at) {
            let step_mm = check.drift_mm - course.drift_mm;
            let share = 1.0 / readings(check.in_ring);
            if taken.at < check.at {
                let way = seconds(since, taken.at) / seconds(since, check.at);
                let way = way.clamp(0.0, 1.0);
                return Course {
                    drift_mm: course.drift_mm + way * step_mm,
                    step_mm,
                    share: (1.0 - way).powi(2) * course.share + way.powi(2) * share,
                };
            }
            course = Course {
                drift_mm: check.drift_mm,
                step_mm,
                share,
            };
            since = check.at;
        }
        course
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

    /// Whether the ring behind `taken` has no stated uncertainty.
    pub(super) fn is_ring_assumed(&self, taken: &Taken) -> bool {
        taken
            .set
            .is_some_and(|set| set.ring_uncertainty_mm.is_none())
    }

    /// The readings in the ring behind `taken`, of its setting and of all re-checks of that; `None`
    /// where no ring stands behind it.
    pub(super) fn in_ring(&self, taken: &Taken) -> Option<InRing> {
        taken.setting_u_mm?;
        let across = self.contact.diameter_per_reading();
        let checks = self.checks.get(&taken.gauge).map_or(&[][..], Vec::as_slice);
        let of_setting = |check: &&Check| taken.set.is_some_and(|set| set.at == check.set_at);
        let checks = checks.iter().filter(of_setting);
        let visits = checks.filter_map(|check| check.in_ring);
        let visits = visits.chain(taken.set.and_then(|set| set.in_ring));
        let none = (0.0, 0.0);
        let (squares_mm2, degrees_of_freedom) = visits.fold(none, |(squares, degrees), shown| {
            let own = f64::from(shown.readings.saturating_sub(1));
            (squares + own * shown.deviation_mm.powi(2), degrees + own)
        });
        Some(InRing {
            share: across.powi(2) * self.course(taken).share,
            squares_mm2,
            degrees_of_freedom,
        })
    }

    /// The standard uncertainty common to all sizes like `taken`, mm: the ring and the reading in
    /// it without its scatter, the drift (its course between two visits to the ring is not known:
    /// rectangular), and the temperatures. `None` where no ring stands behind it.
    pub fn size_u_mm(&self, taken: &Taken) -> Option<f64> {
        let mut u = taken.setting_u_mm?;
        // A journal of an older version took a ring of unknown uncertainty for certain.
        if self.is_ring_assumed(taken) {
            u = u.max(UNSTATED_RING_MM / 2.0);
        }
        u = u.hypot(self.course(taken).step_mm / 12.0_f64.sqrt());
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
