//! As left against as found: what changed, whether it is accepted, and whether the preview told
//! the truth.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::judged::JudgedBore;
use super::plan::Predicted;
use crate::bore::{Bore, Section};
use crate::job::SeatBore;
use crate::uncertainty::{Decision, Estimate};

/// One section before and after.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Change {
    /// Depth from the face, mm.
    pub depth_mm: f64,
    /// Mean diameter as left minus as found, mm.
    pub mean_change_mm: Option<f64>,
    /// Uncertainty of that change; what both passes share (the ring) drops out only in part and
    /// is kept whole here.
    pub mean_change: Option<Estimate>,
    /// Out-of-round as found, mm.
    pub out_of_round_before_mm: Option<f64>,
    /// Out-of-round as left, mm.
    pub out_of_round_after_mm: Option<f64>,
}

/// The preview against what came out.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PreviewHeld {
    /// Mean diameter predicted, mm.
    pub predicted_mm: f64,
    /// Mean diameter as left, mm.
    pub measured_mm: f64,
    /// What both may be off together, 95 %, mm.
    pub within_mm: f64,
    /// Whether they agree within that.
    pub held: bool,
}

/// As left against as found.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Outcome {
    /// The bore's name.
    pub bore: String,
    /// Whether the bore as left is as its seat asks.
    pub accepted: Decision,
    /// Why, as sentences.
    pub why: Vec<String>,
    /// The sections gauged both times.
    pub changes: Vec<Change>,
    /// Depths gauged in one pass only, mm.
    pub not_compared_mm: Vec<f64>,
    /// The preview against what came out; null where there was none, or no size.
    pub preview: Option<PreviewHeld>,
}

/// Compares the same bore before and after work.
pub fn compare(found: &Bore, left: &Bore, seat: &SeatBore, preview: Option<&Predicted>) -> Outcome {
    let same = |a: &Section, b: &Section| (a.depth_mm - b.depth_mm).abs() < 1e-6;
    let changes = found
        .sections
        .iter()
        .filter_map(|before| {
            let after = left.sections.iter().find(|after| same(before, after))?;
            Some(change(before, after))
        })
        .collect();
    let alone = |these: &Bore, others: &Bore| -> Vec<f64> {
        these
            .sections
            .iter()
            .filter(|section| !others.sections.iter().any(|other| same(section, other)))
            .map(|section| section.depth_mm)
            .collect()
    };
    let mut not_compared_mm = alone(found, left);
    not_compared_mm.extend(alone(left, found));
    let judged = JudgedBore::of(left, seat);
    let accepted = if judged.fails() {
        Decision::DoesNotConform
    } else if judged.conforms() {
        Decision::Conforms
    } else {
        Decision::CantTell
    };
    Outcome {
        bore: left.bore.clone(),
        accepted,
        why: judged
            .all()
            .into_iter()
            .filter(|one| one.decision == accepted)
            .map(|one| one.why.clone())
            .collect(),
        changes,
        not_compared_mm,
        preview: preview.and_then(|preview| held(left, preview)),
    }
}

fn change(before: &Section, after: &Section) -> Change {
    let means = before.mean_diameter_mm.zip(after.mean_diameter_mm);
    let of = |section: &Section| section.uncertainty.get("mean_diameter_mm").copied();
    Change {
        depth_mm: before.depth_mm,
        mean_change_mm: means.map(|(before, after)| after - before),
        mean_change: means.and_then(|_| {
            let (a, b) = (of(before)?, of(after)?);
            Estimate::new(a.standard.hypot(b.standard), a.degrees().min(b.degrees()))
        }),
        out_of_round_before_mm: before.out_of_round_mm,
        out_of_round_after_mm: after.out_of_round_mm,
    }
}

fn held(left: &Bore, preview: &Predicted) -> Option<PreviewHeld> {
    let measured_mm = left.numbers.mean_diameter_mm?;
    let estimate = left.numbers.uncertainty.get("mean_diameter_mm")?;
    let both = Estimate::new(
        estimate.standard.hypot(preview.standard_mm),
        estimate.degrees(),
    )?;
    Some(PreviewHeld {
        predicted_mm: preview.mean_diameter_mm,
        measured_mm,
        within_mm: both.expanded,
        held: (measured_mm - preview.mean_diameter_mm).abs() <= both.expanded,
    })
}

/// As-left minus nominal of a reamer, mm, from the sections of `left` that `preview` says it cut
/// all round; `None` where there are none. Only these teach what the reamer really cuts.
#[expect(clippy::cast_precision_loss, reason = "a count of sections")]
pub fn learned_cut_mm(left: &Bore, preview: &Predicted, nominal_mm: f64) -> Option<f64> {
    let reamed = preview.reamed.as_ref()?;
    let cuts: Vec<f64> = reamed
        .sections
        .iter()
        .filter(|section| section.share_cut >= 1.0)
        .filter_map(|cut| {
            left.sections
                .iter()
                .find(|section| (section.depth_mm - cut.depth_mm).abs() < 1e-6)?
                .mean_diameter_mm
        })
        .map(|mean| mean - nominal_mm)
        .collect();
    (!cuts.is_empty()).then(|| cuts.iter().sum::<f64>() / cuts.len() as f64)
}
