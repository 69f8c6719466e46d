//! Which gauge is meant, and its setting ring.

use super::{Refusal, Shop};
use crate::gauge::Capture;
use crate::job::event::Body;
use crate::job::gauges::{Sends, TYPED, Traits, typed};
use crate::job::ring::{ShownInRing, possible_ring_uncertainty};
use crate::job::state::Bench;
use crate::units::Day;

/// Readings in one ring that are further apart than this, and than three digit steps, are no
/// turning points of one ring. Judgement.
const APART_MM: f64 = 0.01;

/// A setting ring as a command states it.
pub(super) struct Ring {
    pub(super) size_mm: f64,
    pub(super) shown_mm: Option<f64>,
    pub(super) uncertainty_mm: Option<f64>,
    pub(super) due: Option<Day>,
}

/// What a gauge shows in a ring, mm, and the readings that this is the mean of; `None` for what is
/// stated.
type Shown = (f64, Option<ShownInRing>);

impl Bench {
    pub(super) fn check_ring(
        &self,
        shop: &Shop,
        gauge: &str,
        shown_mm: Option<f64>,
    ) -> Result<Body, Refusal> {
        let traits = self.set_in_rings(shop, gauge)?;
        let shown = match shown_mm {
            Some(shown_mm) => Some((shown_mm, None)),
            None => self.shown_in_ring(gauge, &traits)?,
        };
        let (shown_mm, in_ring) = shown.ok_or_else(|| {
            Refusal(format!(
                "say what `{gauge}` shows in the ring, or begin the ring and rock it there"
            ))
        })?;
        let setting = self.settings.get(gauge).ok_or_else(|| {
            Refusal(format!(
                "`{gauge}` was never set in a ring: set it first, then gauge"
            ))
        })?;
        let drift_mm = traits.larger_mm(shown_mm - setting.shown_mm);
        traits
            .can_show(shown_mm, drift_mm, setting.ring_mm)
            .map_err(Refusal)?;
        Ok(Body::RingChecked {
            gauge: gauge.to_owned(),
            shown_mm,
            set_at: setting.at,
            drift_mm,
            in_ring,
        })
    }

    pub(super) fn set_ring(&self, shop: &Shop, gauge: &str, ring: Ring) -> Result<Body, Refusal> {
        let traits = self.set_in_rings(shop, gauge)?;
        let shown = match ring.shown_mm {
            Some(shown_mm) => Some((shown_mm, None)),
            None => self.shown_in_ring(gauge, &traits)?,
        };
        let ring = Ring {
            shown_mm: shown.map(|(shown_mm, _)| shown_mm),
            ..ring
        };
        set_ring(
            gauge,
            &traits,
            &ring,
            shown.and_then(|(_, in_ring)| in_ring),
        )
    }

    pub(super) fn begin_ring(&self, shop: &Shop, gauge: &str) -> Result<Body, Refusal> {
        self.set_in_rings(shop, gauge)?;
        Ok(Body::RingBegun {
            gauge: gauge.to_owned(),
        })
    }

    pub(super) fn cancel_ring(&self, gauge: &str) -> Result<Body, Refusal> {
        if !self.in_ring.contains_key(gauge) {
            return Err(Refusal(format!("`{gauge}` is in no ring")));
        }
        Ok(Body::RingCancelled {
            gauge: gauge.to_owned(),
        })
    }

    /// The traits of readings that are typed: as from the gauge of the job on the bench, or of the
    /// next one.
    pub(in crate::job) fn typed(&self, shop: &Shop) -> Traits {
        typed(self.job().map_or_else(|| shop.contact(), |job| job.contact))
    }

    pub(super) fn gauge_or_refuse(&self, shop: &Shop, gauge: &str) -> Result<Traits, Refusal> {
        match shop.gauges.get(gauge) {
            Some(traits) => Ok(traits.clone()),
            None if gauge == TYPED => Ok(self.typed(shop)),
            None => {
                let names: Vec<&str> = shop.gauges.keys().map(AsRef::as_ref).collect();
                let known = if names.is_empty() {
                    TYPED.to_owned()
                } else {
                    names.join(", ")
                };
                Err(Refusal(format!(
                    "there is no gauge `{gauge}`; there are: {known}"
                )))
            }
        }
    }

    /// A gauge that is set in rings: one that states angles is not.
    fn set_in_rings(&self, shop: &Shop, gauge: &str) -> Result<Traits, Refusal> {
        let traits = self.gauge_or_refuse(shop, gauge)?;
        match traits.sends {
            Sends::Angle { .. } => Err(Refusal(format!(
                "`{gauge}` states angles and is set in no ring: name the gauge that measures the \
                 bore"
            ))),
            Sends::Size | Sends::Deviation { .. } => Ok(traits),
        }
    }

    /// Why no value of `gauge` can be taken.
    pub(super) fn nothing_to_take(&self, shop: &Shop, gauge: &str) -> Refusal {
        match self.gauge_or_refuse(shop, gauge) {
            Err(refusal) => refusal,
            Ok(traits) if traits.capture == Capture::Each => Refusal(format!(
                "each value of `{gauge}` is a reading by itself: nothing is to be taken"
            )),
            Ok(_) => Refusal(format!(
                "`{gauge}` has sent no value yet: see that it is connected and switched on"
            )),
        }
    }

    /// The mean of what `gauge` sent since it was put into a ring, and the readings behind it; `None`
    /// where it sent nothing.
    fn shown_in_ring(&self, gauge: &str, traits: &Traits) -> Result<Option<Shown>, Refusal> {
        let Some(in_ring) = self.in_ring.get(gauge) else {
            return Ok(None);
        };
        let apart_mm = in_ring.apart_mm();
        if apart_mm > APART_MM.max(3.0 * traits.resolution_mm) {
            return Err(Refusal(format!(
                "what `{gauge}` showed in the ring is {apart_mm:.4} mm apart: begin the ring \
                 again and rock it to the turning point each time"
            )));
        }
        let shown = in_ring.shown();
        Ok(shown.map(|(mean_mm, readings)| (mean_mm, Some(readings))))
    }
}

fn set_ring(
    gauge: &str,
    traits: &Traits,
    ring: &Ring,
    in_ring: Option<ShownInRing>,
) -> Result<Body, Refusal> {
    if !(ring.size_mm.is_finite() && ring.size_mm > 0.0) {
        return Err(Refusal(
            "a setting ring has a size greater than 0 mm".to_owned(),
        ));
    }
    let due_mm = traits.due_in_ring_mm(ring.size_mm);
    let shown_mm = ring.shown_mm.unwrap_or(due_mm);
    traits
        .can_show(shown_mm, traits.larger_mm(shown_mm - due_mm), ring.size_mm)
        .map_err(Refusal)?;
    if let Some(uncertainty_mm) = ring.uncertainty_mm {
        possible_ring_uncertainty(uncertainty_mm).map_err(Refusal)?;
    }
    Ok(Body::RingSet {
        gauge: gauge.to_owned(),
        ring_mm: ring.size_mm,
        shown_mm,
        ring_uncertainty_mm: ring.uncertainty_mm,
        ring_due: ring.due,
        in_ring,
    })
}
