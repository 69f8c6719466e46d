//! How much the mean diameter changes along the depth: taper, barrel and bell-mouth.

use super::seat::together;
use crate::bore::{Bore, Section, drift_between_mm, telling};
use crate::uncertainty::Estimate;

/// Greatest less least mean diameter of a bore's sections.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Along {
    /// By how much, mm.
    pub(super) by_mm: f64,
    /// How well that is known; `None` where it isn't.
    pub(super) estimate: Option<Estimate>,
    /// Depths of the first and the last section, mm.
    ends_mm: (f64, f64),
    /// Depths of the widest and of the narrowest section, mm.
    extremes_mm: (f64, f64),
}

impl Along {
    /// `None` below two depths. A section whose form is not known says nothing beside others.
    pub(super) fn of(bore: &Bore) -> Option<Self> {
        let mut known: Vec<&Section> = telling(bore.sections.iter())
            .filter(|section| section.mean_diameter_mm.is_some())
            .collect();
        known.sort_by(|a, b| a.depth_mm.total_cmp(&b.depth_mm));
        let [first, .., last] = known.as_slice() else {
            return None;
        };
        let mean = |section: &Section| section.mean_diameter_mm.unwrap_or_default();
        let by_mean = |a: &&&Section, b: &&&Section| mean(a).total_cmp(&mean(b));
        let (narrow, wide) = (known.iter().min_by(by_mean)?, known.iter().max_by(by_mean)?);
        // The ring is common to both and drops out of a difference.
        let own = |section: &Section| {
            let whole = section.uncertainty.get("mean_diameter_mm").copied();
            let scatter = section.mean_own().or(whole)?;
            let form = section.form_of("mean_diameter_mm");
            together(&[(scatter.standard, scatter.degrees()), (form, f64::INFINITY)])
        };
        // The course of a drift between setting and check is not known: a jump moves two sections apart
        // by all of it. Rectangular (JCGM 100:2008, 4.3.7).
        let drift = drift_between_mm(known.iter().copied()) / 3.0_f64.sqrt();
        let difference = |a: Estimate, b: Estimate| {
            together(&[
                (a.standard, a.degrees()),
                (b.standard, b.degrees()),
                (drift, f64::INFINITY),
            ])
        };
        Some(Self {
            by_mm: mean(wide) - mean(narrow),
            estimate: own(wide)
                .zip(own(narrow))
                .and_then(|(a, b)| difference(a, b)),
            ends_mm: (first.depth_mm, last.depth_mm),
            extremes_mm: (wide.depth_mm, narrow.depth_mm),
        })
    }

    /// From the first to the last depth, mm.
    pub(super) const fn span_mm(&self) -> f64 {
        self.ends_mm.1 - self.ends_mm.0
    }

    /// What changes in the bore called `name`, beside the limit, as a sentence.
    pub(super) fn sentence(&self, name: &str, limit_mm: f64) -> String {
        let (by, (first, last), (wide, narrow)) = (self.by_mm, self.ends_mm, self.extremes_mm);
        let inner = |depth: f64| first < depth && depth < last;
        if by >= 0.000_5 && (inner(wide) || inner(narrow)) {
            let shape = if inner(wide) { "barrel" } else { "bell-mouth" };
            return format!(
                "{name}: {by:.3} mm wider at {wide} mm of depth than at {narrow} mm ({shape}), limit \
                 {limit_mm:.3} mm"
            );
        }
        let changes = if by < 0.000_5 {
            "as wide inside as outside".to_owned()
        } else if wide > narrow {
            format!("{by:.3} mm wider inside")
        } else {
            format!("{by:.3} mm narrower inside")
        };
        let over = (self.span_mm() * 100.0).round() / 100.0;
        format!("{name}: {changes} over {over} mm of depth, limit {limit_mm:.3} mm")
    }
}
