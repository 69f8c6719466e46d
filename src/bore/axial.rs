//! Sections along the axis become a bore.

use super::stations::mean;
use super::{Bore, BoreNumbers, Section, Withheld};
use crate::uncertainty::{Estimate, Estimates};

/// Puts the sections of one bore together, in order of depth: the unweighted mean of their mean
/// diameters, and the taper as the least-squares slope of mean diameter over depth.
pub fn bore(name: impl Into<String>, mut sections: Vec<Section>) -> Bore {
    sections.sort_by(|a, b| a.depth_mm.total_cmp(&b.depth_mm));
    let mut numbers = BoreNumbers {
        mean_diameter_mm: None,
        taper_mm_per_mm: None,
        uncertainty: Estimates::new(),
        withheld: Vec::new(),
    };
    set_mean(&mut numbers, &sections);
    set_taper(&mut numbers, &sections);
    Bore {
        bore: name.into(),
        numbers,
        sections,
    }
}

#[expect(clippy::cast_precision_loss, reason = "counts of sections")]
fn set_mean(numbers: &mut BoreNumbers, sections: &[Section]) {
    let means: Vec<f64> = sections.iter().filter_map(|s| s.mean_diameter_mm).collect();
    if means.is_empty() || means.len() < sections.len() {
        numbers.withheld.push(Withheld {
            field: "mean_diameter_mm".to_owned(),
            why: sections
                .iter()
                .find_map(|s| s.why_withheld("mean_diameter_mm"))
                .unwrap_or("no section was gauged")
                .to_owned(),
        });
        return;
    }
    numbers.mean_diameter_mm = Some(mean(means.iter().copied()));
    // What the sections have in common (the ring) does not average out, what they don't does:
    // each section's own scatter is its part without the ring.
    let parts: Option<Vec<(Estimate, Estimate)>> = sections
        .iter()
        .map(|s| {
            let whole = s.uncertainty.get("mean_diameter_mm")?;
            Some((*whole, s.mean_reading?.scatter?))
        })
        .collect();
    if let Some(parts) = parts {
        let count = parts.len() as f64;
        let own: f64 = parts
            .iter()
            .map(|(_, own)| own.standard.powi(2))
            .sum::<f64>()
            / count.powi(2);
        let common = parts
            .iter()
            .map(|(whole, own)| (whole.standard.powi(2) - own.standard.powi(2)).max(0.0))
            .fold(0.0, f64::max);
        let spread: f64 = parts
            .iter()
            .map(|(_, own)| (own.standard / count).powi(4) / own.degrees())
            .sum();
        let degrees = if spread > 0.0 {
            (own + common).powi(2) / spread
        } else {
            f64::INFINITY
        };
        if let Some(estimate) = Estimate::new((own + common).sqrt(), degrees) {
            numbers
                .uncertainty
                .insert("mean_diameter_mm".to_owned(), estimate);
        }
    }
}

fn set_taper(numbers: &mut BoreNumbers, sections: &[Section]) {
    let points: Vec<(f64, f64)> = sections
        .iter()
        .filter_map(|s| Some((s.depth_mm, s.mean_reading?.diameter_mm)))
        .collect();
    let centre = mean(points.iter().map(|p| p.0));
    let spread: f64 = points.iter().map(|p| (p.0 - centre).powi(2)).sum();
    if points.len() < 2 || spread <= 0.0 {
        numbers.withheld.push(Withheld {
            field: "taper_mm_per_mm".to_owned(),
            why: "needs two depths; gauge another section".to_owned(),
        });
        return;
    }
    let level = mean(points.iter().map(|p| p.1));
    let slope = points
        .iter()
        .map(|p| (p.0 - centre) * (p.1 - level))
        .sum::<f64>()
        / spread;
    numbers.taper_mm_per_mm = Some(slope);

    // Propagated from the sections' own scatter; the ring is common to them and drops out.
    let own: Option<Vec<Estimate>> = sections
        .iter()
        .filter_map(|s| s.mean_reading)
        .map(|m| m.scatter)
        .collect();
    if let Some(own) = own {
        let terms = || {
            points.iter().zip(&own).map(|(p, estimate)| {
                (
                    (p.0 - centre) / spread * estimate.standard,
                    estimate.degrees(),
                )
            })
        };
        let variance: f64 = terms().map(|(term, _)| term * term).sum();
        let fourth: f64 = terms().map(|(term, degrees)| term.powi(4) / degrees).sum();
        let degrees = if fourth > 0.0 {
            variance * variance / fourth
        } else {
            f64::INFINITY
        };
        if let Some(estimate) = Estimate::new(variance.sqrt(), degrees) {
            numbers
                .uncertainty
                .insert("taper_mm_per_mm".to_owned(), estimate);
        }
    }
}
