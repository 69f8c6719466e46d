//! As left against as found: what changed, whether it is accepted, and whether the preview told
//! the truth.

use std::borrow::Borrow;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::expected::Fit;
use super::judged::JudgedBore;
use super::plan::Predicted;
use super::seat::together;
use crate::bore::{Bore, Section};
use crate::job::{Seat, SeatBore, Verdict};
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
    /// Greatest out-of-round; null where either isn't known.
    pub out_of_round: Option<FormHeld>,
    /// Whether everything agrees within what both may be off.
    pub held: bool,
}

impl PreviewHeld {
    /// Whether the mean diameter alone agrees within what both may be off.
    pub fn mean_held(&self) -> bool {
        (self.measured_mm - self.predicted_mm).abs() <= self.within_mm
    }
}

/// The out-of-round that a preview gave, against what came out.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct FormHeld {
    /// Predicted, mm.
    pub predicted_mm: f64,
    /// As left, mm.
    pub measured_mm: f64,
    /// What both may be off together, 95 %, mm.
    pub within_mm: f64,
}

impl FormHeld {
    /// Whether the out-of-round agrees within what both may be off.
    pub fn held(&self) -> bool {
        (self.measured_mm - self.predicted_mm).abs() <= self.within_mm
    }
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
    /// Why the bore as left is compared with nothing, as a sentence; null where it was gauged as found.
    #[serde(default)]
    pub not_compared: Option<String>,
    /// The preview against what came out; null where there was none, or no size.
    pub preview: Option<PreviewHeld>,
    /// The fit of the insert in the bore as left; null where it can't be said.
    #[serde(default)]
    pub fit: Option<Fit>,
    /// The greatest change that nothing explains: the work left this bore alone, and yet a mean
    /// changed by more than its uncertainty. Null where there is none.
    #[serde(default)]
    pub unexplained: Option<Unexplained>,
}

/// A change of a mean diameter that no work explains.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Unexplained {
    /// Depth from the face, mm.
    pub depth_mm: f64,
    /// Mean diameter as left minus as found, mm.
    pub change_mm: f64,
    /// Its expanded uncertainty, 95 %, mm.
    pub within_mm: f64,
}

/// What is known of the work between the two passes.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Done<'a> {
    /// What the work was predicted to come to, where a reamer cuts.
    pub preview: Option<&'a Predicted>,
    /// The work is known to leave the bore as it is.
    pub left_alone: bool,
    /// The fit of the insert in the bore as left.
    pub fit: Option<&'a Fit>,
}

/// Compares the bores of `seat` before and after work, of which `done` says what is known. A bore
/// that was not shown to conform as found and was not gauged as left is told as well. Nothing
/// where nothing was gauged as left.
pub fn outcomes<'a>(
    seat: &Seat,
    [found, left]: [&[impl Borrow<Bore>]; 2],
    done: impl Fn(&SeatBore) -> Done<'a>,
) -> Vec<Outcome> {
    if left.is_empty() {
        return Vec::new();
    }
    let each = seat.bores.iter().filter_map(|bore| {
        let before = named(found, &bore.name);
        match (before, named(left, &bore.name)) {
            (_, Some(left)) => Some(compare(before, left, bore, done(bore))),
            (Some(found), None) if JudgedBore::of(found, bore).conforms() => None,
            (_, None) => Some(not_gauged(&bore.name)),
        }
    });
    each.collect()
}

fn named<'a>(bores: &'a [impl Borrow<Bore>], name: &str) -> Option<&'a Bore> {
    let mut bores = bores.iter().map(Borrow::borrow);
    bores.find(|bore| bore.bore == name)
}

/// What is said of a bore that was not gauged as left.
fn not_gauged(name: &str) -> Outcome {
    Outcome {
        bore: name.to_owned(),
        accepted: Decision::CantTell,
        why: vec![format!("{name} was not gauged as left")],
        changes: Vec::new(),
        not_compared_mm: Vec::new(),
        not_compared: None,
        preview: None,
        fit: None,
        unexplained: None,
    }
}

/// Compares the same bore before and after work.
fn compare(found: Option<&Bore>, left: &Bore, seat: &SeatBore, done: Done<'_>) -> Outcome {
    let same = |a: &Section, b: &Section| (a.depth_mm - b.depth_mm).abs() < 1e-6;
    let before = found.map_or(&[][..], |found| &found.sections);
    let after = &left.sections[..];
    let changes: Vec<Change> = before
        .iter()
        .filter_map(|before| {
            let after = after.iter().find(|after| same(before, after))?;
            Some(change(before, after))
        })
        .collect();
    let alone = |these: &[Section], others: &[Section]| -> Vec<f64> {
        these
            .iter()
            .filter(|section| !others.iter().any(|other| same(section, other)))
            .map(|section| section.depth_mm)
            .collect()
    };
    let only_before = alone(before, after);
    // What was wrong at a depth is not mended before it is gauged there again.
    let open: Vec<String> = before
        .iter()
        .filter(|section| only_before.contains(&section.depth_mm))
        .filter(|section| Verdict::of(section, seat).worst() == Decision::DoesNotConform)
        .map(|section| {
            let at = format!("{} at {} mm", seat.name, section.depth_mm);
            format!("{at} was not gauged as left")
        })
        .collect();
    let judged = JudgedBore::of(left, seat);
    let accepted = if judged.fails() {
        Decision::DoesNotConform
    } else if judged.conforms() && open.is_empty() {
        Decision::Conforms
    } else {
        Decision::CantTell
    };
    let name = &left.bore;
    let both = |section: &Section| after.iter().find(|after| same(section, after));
    let unlike = |section: &Section| both(section).is_some_and(|a| a.size_set != section.size_set);
    let not_compared = if found.is_none() {
        Some(format!(
            "{name} was not gauged as found: what the work changed is not known"
        ))
    } else if before.iter().any(unlike) {
        Some(format!(
            "{name}: the gauge was set in a ring as found or as left only: what the work changed of \
             its size is not known"
        ))
    } else {
        None
    };
    let why = judged.all().into_iter();
    let mut why: Vec<String> = why
        .filter(|one| one.decision == accepted)
        .map(|one| one.why.clone())
        .collect();
    why.extend(open);
    Outcome {
        bore: left.bore.clone(),
        accepted,
        why,
        unexplained: unexplained(&changes).filter(|_| done.left_alone),
        changes,
        not_compared_mm: [only_before, alone(after, before)].concat(),
        not_compared,
        preview: done.preview.and_then(|preview| held(left, preview)),
        fit: done.fit.cloned(),
    }
}

fn unexplained(changes: &[Change]) -> Option<Unexplained> {
    let beyond = changes.iter().filter_map(|change| {
        let (change_mm, within_mm) = (change.mean_change_mm?, change.mean_change?.expanded);
        (change_mm.abs() > within_mm).then_some(Unexplained {
            depth_mm: change.depth_mm,
            change_mm,
            within_mm,
        })
    });
    beyond.max_by(|a, b| a.change_mm.abs().total_cmp(&b.change_mm.abs()))
}

fn change(before: &Section, after: &Section) -> Change {
    // What a gauge reads that was not set is no size, and with one it makes no change of size.
    let alike = before.size_set == after.size_set;
    let means = before
        .mean_diameter_mm
        .zip(after.mean_diameter_mm)
        .filter(|_| alike);
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
    let within_mm = both(estimate, preview.uncertainty.get("mean_diameter_mm")?)?;
    let mut all = PreviewHeld {
        predicted_mm: preview.mean_diameter_mm,
        measured_mm,
        within_mm,
        out_of_round: form_held(left, preview),
        held: false,
    };
    all.held = all.mean_held() && all.out_of_round.is_none_or(|form| form.held());
    Some(all)
}

fn form_held(left: &Bore, preview: &Predicted) -> Option<FormHeld> {
    let worst = left
        .sections
        .iter()
        .filter(|section| section.out_of_round_mm.is_some())
        .max_by(|a, b| {
            let of = |section: &Section| section.out_of_round_mm.unwrap_or(0.0);
            of(a).total_cmp(&of(b))
        })?;
    let estimate = worst.uncertainty.get("out_of_round_mm")?;
    Some(FormHeld {
        predicted_mm: preview.out_of_round_mm?,
        measured_mm: worst.out_of_round_mm?,
        within_mm: both(estimate, preview.uncertainty.get("out_of_round_mm")?)?,
    })
}

/// What two independent numbers may be apart, 95 %.
fn both(one: &Estimate, other: &Estimate) -> Option<f64> {
    let parts = [one, other].map(|estimate| (estimate.standard, estimate.degrees()));
    together(&parts).map(|estimate| estimate.expanded)
}

/// One place gauged as left: depth and angle, and the diameter found there, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LeftAt {
    /// Depth from the face, mm.
    pub depth_mm: f64,
    /// Angle, degrees.
    pub angle_deg: f64,
    /// Diameter, mm.
    pub diameter_mm: f64,
}

/// As-left minus nominal of a reamer, mm: the mean over the places of `left` where `preview` says
/// that it cut, and cut deep enough that it did so even if it runs small. Fewer than three such
/// places teach nothing: `None`.
pub fn learned_cut_mm(
    found: &Bore,
    left: &[LeftAt],
    preview: &Predicted,
    nominal_mm: f64,
) -> Option<f64> {
    let cut_mm = preview.cut?.diameter_mm - SURELY_CUT_MM;
    let cuts: Vec<f64> = left
        .iter()
        .filter(|at| {
            let before = found
                .sections
                .iter()
                .find(|section| (section.depth_mm - at.depth_mm).abs() < 1e-6)
                .and_then(|section| across_mm(section, at.angle_deg));
            before.is_some_and(|before| before < cut_mm)
        })
        .map(|at| at.diameter_mm - nominal_mm)
        .collect();
    #[expect(clippy::cast_precision_loss, reason = "a count of places")]
    let mean = cuts.iter().sum::<f64>() / cuts.len() as f64;
    // Farther off than any reamer cuts: it was another one, or nothing was reamed.
    (cuts.len() >= 3 && mean.abs() <= PLAUSIBLE_MM).then_some(mean)
}

/// The diameter of the fitted wall across `angle_deg`, mm.
fn across_mm(section: &Section, angle_deg: f64) -> Option<f64> {
    let shape = section.shape.as_ref()?;
    let ends = shape.deviation_mm(angle_deg) + shape.deviation_mm(angle_deg + 180.0);
    Some(section.mean_diameter_mm? + ends)
}

/// The reaming removes at least so much of a diameter that teaches, mm: what a reamer's cut may
/// be off before any was measured (judgement).
const SURELY_CUT_MM: f64 = 0.010;
/// A cut farther from nominal is not learned, mm (judgement).
const PLAUSIBLE_MM: f64 = 0.05;

#[cfg(test)]
mod tests {
    use super::*;

    fn change(depth_mm: f64, change_mm: f64, standard: f64) -> Change {
        Change {
            depth_mm,
            mean_change_mm: Some(change_mm),
            mean_change: Estimate::new(standard, f64::INFINITY),
            out_of_round_before_mm: None,
            out_of_round_after_mm: None,
        }
    }

    #[test]
    fn a_change_within_its_uncertainty_needs_no_explanation() {
        assert_eq!(unexplained(&[change(2.5, 0.0019, 0.001)]), None);
        let found = unexplained(&[
            change(2.5, 0.0021, 0.001),
            change(6.0, -0.013, 0.001),
            change(9.5, 0.004, 0.010),
        ])
        .unwrap();
        assert_eq!(found.depth_mm, 6.0);
        assert_eq!(found.change_mm, -0.013);
    }
}
