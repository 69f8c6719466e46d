//! The sizes of a section and how well they are known: mean, largest and smallest.

use super::harmonics::Harmonics;
use super::numbers::MeanReading;
use super::range::Ends;
use super::scatter::Scatter;
use super::{Basis, Contact, Readings, Section, Setting};
use crate::uncertainty::Estimate;

/// What is added to a reading to make it a diameter; `None` where nobody knows.
const fn origin_mm(readings: Readings) -> Option<f64> {
    match readings {
        Readings::Size => Some(0.0),
        Readings::DeviationFrom(radius_mm) => Some(2.0 * radius_mm),
        Readings::DeviationFromUnknown => None,
    }
}

pub(super) const SIZE_UNKNOWN: &str =
    "readings are deviations from an unknown size; set the gauge in a setting ring";

/// What the smallest and the largest station mean say.
pub(super) fn extremes(
    section: &mut Section,
    contact: Contact,
    [smallest_mm, largest_mm]: [f64; 2],
    basis: &Basis,
) {
    if let Some(origin) = origin_mm(basis.readings) {
        section.largest_mm = Some(origin + largest_mm);
        section.smallest_mm = Some(origin + smallest_mm);
    } else {
        section.withhold("largest_mm", SIZE_UNKNOWN);
        section.withhold("smallest_mm", SIZE_UNKNOWN);
    }
    if contact == Contact::ThreePoint {
        section.withhold(
            "out_of_round_mm",
            "a three-point gauge measures no diameter across the bore, and an oval reads as round: gauge \
             with two points",
        );
    } else if section.stations < 2 {
        section.withhold("out_of_round_mm", "needs 2 directions, has 1");
    } else {
        section.out_of_round_mm = Some(largest_mm - smallest_mm);
    }
}

/// How well that is known: scatter alone, and with what is common to all sizes of the job.
pub(super) fn extremes_known(
    section: &mut Section,
    ends: Option<Ends>,
    scatter: Option<Scatter>,
    basis: &Basis,
) {
    let Some(ends) = ends else {
        return;
    };
    let common = common(
        basis.setting.map(Setting::variance),
        in_ring(scatter, basis),
    );
    for (field, value, own) in [
        ("largest_mm", section.largest_mm, ends.largest),
        ("smallest_mm", section.smallest_mm, ends.smallest),
    ] {
        if value.is_some() {
            section.own.insert(field.to_owned(), own);
            let whole = common.map_or(own, |common| own.and(common));
            section.estimate(field, Some(whole));
        }
    }
    if section.out_of_round_mm.is_some() {
        section.estimate("out_of_round_mm", Some(ends.range));
    }
}

/// Variances with their degrees of freedom as one (Welch-Satterthwaite, JCGM 100:2008, equation
/// G.2b).
pub(super) fn sum_of(parts: &[(f64, f64)]) -> Option<Estimate> {
    let whole: f64 = parts.iter().map(|(variance, _)| variance).sum();
    let spread: f64 = parts.iter().map(|(v, degrees)| v * v / degrees).sum();
    let degrees = if spread > 0.0 {
        whole.powi(2) / spread
    } else if let [(_, degrees)] = parts {
        *degrees
    } else {
        f64::INFINITY
    };
    Estimate::new(whole.sqrt(), degrees)
}

/// A mean as the fit has it.
pub(super) struct Mean {
    /// As a diameter, mm, without its origin.
    diameter_mm: f64,
    /// By how many mm the diameter changes where a reading changes by 1 mm.
    per_reading: f64,
    /// The share of a station's variance in the mean reading.
    share: f64,
    /// What the form is known to add to the diameter beside that, mm.
    form_mm: f64,
}

impl Mean {
    /// As `fit` has it, else the plain mean of so many directions.
    pub(super) fn of_fit(
        fit: Option<&Harmonics>,
        directions: usize,
        plain_mm: impl FnOnce() -> f64,
    ) -> Self {
        #[expect(clippy::cast_precision_loss, reason = "a count of directions")]
        fit.map_or_else(
            || Self::of_diameters(plain_mm(), 1.0 / directions as f64),
            |fit| Self::of_diameters(fit.coefficients[0], fit.inverse[(0, 0)]),
        )
    }

    const fn of_diameters(diameter_mm: f64, share: f64) -> Self {
        Self {
            diameter_mm,
            per_reading: Contact::TwoPoint.diameter_per_reading(),
            share,
            form_mm: 0.0,
        }
    }

    /// Radius and form as radii.
    pub(super) const fn of_radii(radius_mm: f64, share: f64, form_mm: f64) -> Self {
        let per_reading = Contact::Radius.diameter_per_reading();
        Self {
            diameter_mm: per_reading * radius_mm,
            per_reading,
            share,
            form_mm: per_reading * form_mm,
        }
    }
}

/// The mean and how well it is known.
pub(super) fn set_mean(section: &mut Section, mean: Mean, scatter: Option<Scatter>, basis: &Basis) {
    section.scatter_from = scatter.map(|scatter| scatter.from);
    let squared = mean.per_reading.powi(2);
    // A rounding that all readings share counts once, whole.
    let parts = scatter.map(|scatter| {
        if scatter.shares_rounding {
            let (random, degrees) = scatter.random();
            (random, degrees, scatter.digit_mm2)
        } else {
            (scatter.variance_mm2, scatter.degrees, 0.0)
        }
    });
    let reading = MeanReading {
        diameter_mm: mean.diameter_mm,
        scatter: parts.and_then(|(random, degrees, _)| {
            Estimate::new((squared * mean.share * random).sqrt(), degrees)
        }),
        digit_mm: parts.map_or(0.0, |(.., digit)| (squared * digit).sqrt()),
        form_mm: mean.form_mm,
        setting: basis.setting,
        ring: in_ring(scatter, basis),
        drift_mm: basis.drift_mm,
    };
    section.mean_reading = Some(reading);
    match origin_mm(basis.readings) {
        Some(origin) => {
            section.mean_diameter_mm = Some(origin + mean.diameter_mm);
            let known = mean_estimate(&reading, basis);
            section.estimate("mean_diameter_mm", known);
        }
        None => section.withhold("mean_diameter_mm", SIZE_UNKNOWN),
    }
}

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
