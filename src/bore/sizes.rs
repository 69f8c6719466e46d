//! How well a size is known.

use super::Basis;
use super::numbers::MeanReading;
use super::scatter::Scatter;
use super::section::sum_of;
use crate::uncertainty::Estimate;

/// A mean diameter's uncertainty: its own scatter and rounding, and what is common to all sizes of the
/// job.
pub(super) fn mean_estimate(mean: &MeanReading, basis: &Basis) -> Option<Estimate> {
    let scatter = mean.scatter?;
    let own = (scatter.standard.powi(2), scatter.degrees());
    // Where the reading in the ring has no scatter of its own, both are known from the same readings, and
    // off together.
    let in_ring = basis.setting.and_then(|setting| setting.in_ring);
    let alike = basis.repeatability.is_none()
        && in_ring.is_some_and(|in_ring| in_ring.degrees_of_freedom == 0.0);
    let ring = mean.ring.filter(|_| !alike);
    let own = match mean.ring.filter(|_| alike) {
        Some(ring) => together(own, ring),
        None => own,
    };
    let mut parts = [own; 4];
    let mut count = 1;
    for part in [ring, mean.digit(), mean.setting()].into_iter().flatten() {
        parts[count] = part;
        count += 1;
    }
    Some(sum_of(&parts[..count])?.beside(mean.form_mm))
}

/// What the scatter of the reading in the ring brings to a diameter: a variance, mm², and its degrees
/// of freedom.
pub(super) fn in_ring(scatter: Option<Scatter>, basis: &Basis) -> Option<(f64, f64)> {
    Some(scatter?.in_ring(basis.setting?.in_ring?))
}

/// Whatever is common to all sizes of a job.
pub(super) fn common(setting: Option<(f64, f64)>, ring: Option<(f64, f64)>) -> Option<Estimate> {
    match (setting, ring) {
        (Some(setting), Some(ring)) => sum_of(&[setting, ring]),
        (Some(one), None) | (None, Some(one)) => sum_of(&[one]),
        (None, None) => None,
    }
}

/// Two variances that are off in the same way as one: so are their standard errors.
fn together(a: (f64, f64), b: (f64, f64)) -> (f64, f64) {
    let whole = a.0 + b.0;
    let spread = a.0 / a.1.sqrt() + b.0 / b.1.sqrt();
    let degrees = if spread > 0.0 {
        (whole / spread).powi(2)
    } else {
        f64::INFINITY
    };
    (whole, degrees)
}
