//! Which gauge is meant, and its setting ring.

use super::{Refusal, Shop};
use crate::gauge::Capture;
use crate::job::event::Body;
use crate::job::gauges::{Sends, TYPED, Traits, typed};
use crate::job::state::Bench;
use crate::units::Day;

/// A setting ring as a command states it.
pub(super) struct Ring {
    pub(super) size_mm: f64,
    pub(super) shown_mm: Option<f64>,
    pub(super) uncertainty_mm: Option<f64>,
    pub(super) due: Option<Day>,
}

impl Bench {
    pub(super) fn check_ring(
        &self,
        shop: &Shop,
        gauge: &str,
        shown_mm: f64,
    ) -> Result<Body, Refusal> {
        let traits = gauge_or_refuse(shop, gauge)?;
        let setting = self.settings.get(gauge).ok_or_else(|| {
            Refusal(format!(
                "`{gauge}` was never set in a ring: set it first, then gauge"
            ))
        })?;
        let more = shown_mm - setting.shown_mm;
        let drift_mm = match traits.sends {
            Sends::Size => more,
            Sends::Deviation { sign } => sign * more,
        };
        off_its_ring(drift_mm, shown_mm, setting.ring_mm)?;
        Ok(Body::RingChecked {
            gauge: gauge.to_owned(),
            shown_mm,
            set_at: setting.at,
            drift_mm,
        })
    }
}

pub(super) fn gauge_or_refuse(shop: &Shop, gauge: &str) -> Result<Traits, Refusal> {
    match shop.gauges.get(gauge) {
        Some(traits) => Ok(traits.clone()),
        None if gauge == TYPED => Ok(typed()),
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

/// Why no value of `gauge` can be taken.
pub(super) fn nothing_to_take(shop: &Shop, gauge: &str) -> Refusal {
    match gauge_or_refuse(shop, gauge) {
        Err(refusal) => refusal,
        Ok(traits) if traits.capture == Capture::Each => Refusal(format!(
            "each value of `{gauge}` is a reading by itself: nothing is to be taken"
        )),
        Ok(_) => Refusal(format!(
            "`{gauge}` has sent no value yet: see that it is connected and switched on"
        )),
    }
}

pub(super) fn set_ring(shop: &Shop, gauge: &str, ring: Ring) -> Result<Body, Refusal> {
    let traits = gauge_or_refuse(shop, gauge)?;
    if !(ring.size_mm.is_finite() && ring.size_mm > 0.0) {
        return Err(Refusal(
            "a setting ring has a size greater than 0 mm".to_owned(),
        ));
    }
    let due_to_show = match traits.sends {
        Sends::Size => ring.size_mm,
        Sends::Deviation { .. } => 0.0,
    };
    let shown_mm = ring.shown_mm.unwrap_or(due_to_show);
    off_its_ring(shown_mm - due_to_show, shown_mm, ring.size_mm)?;
    if ring
        .uncertainty_mm
        .is_some_and(|u| !(0.0..0.1).contains(&u))
    {
        return Err(Refusal(
            "a ring's uncertainty lies between 0 and 0.1 mm: take it from the certificate"
                .to_owned(),
        ));
    }
    Ok(Body::RingSet {
        gauge: gauge.to_owned(),
        ring_mm: ring.size_mm,
        shown_mm,
        ring_uncertainty_mm: ring.uncertainty_mm,
        ring_due: ring.due,
    })
}

/// Whether a gauge that is `off_mm` from its ring can have been in it. Further off than 2 mm it was
/// not, or one of the two is in inches.
fn off_its_ring(off_mm: f64, shown_mm: f64, ring_mm: f64) -> Result<(), Refusal> {
    if off_mm.abs() <= 2.0 {
        return Ok(());
    }
    Err(Refusal(format!(
        "{shown_mm} mm can't be what the gauge shows in a ring of {ring_mm} mm: check the ring's \
         mark, the gauge's seating and the unit"
    )))
}
