//! A profile against the limits of a seat.

use serde::Serialize;

use super::Failure;
use crate::bore::{Profile, Section};
use crate::job::{Seat, SeatBore};
use crate::uncertainty::{Decision, Limits};

/// One number of one section against its limits.
#[derive(Debug, Serialize)]
pub(super) struct Verdict {
    pub bore: String,
    pub depth_mm: f64,
    /// `mean_diameter_mm` or `out_of_round_mm`.
    pub field: &'static str,
    pub value_mm: Option<f64>,
    pub lower_mm: Option<f64>,
    pub upper_mm: Option<f64>,
    pub decision: Decision,
    /// What is missing where nothing can be told.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub why: Option<String>,
}

/// Judges the mean diameter and the out-of-round of every section.
pub(super) fn judge(profile: &Profile, seat: &Seat) -> Result<Vec<Verdict>, Failure> {
    let mut verdicts = Vec::new();
    for bore in &profile.bores {
        let limits = limits_for(seat, &bore.bore)?;
        for section in &bore.sections {
            verdicts.push(one(
                &bore.bore,
                section,
                "mean_diameter_mm",
                section.mean_diameter_mm,
                Limits {
                    lower: Some(limits.lower_mm),
                    upper: Some(limits.upper_mm),
                },
            ));
            verdicts.push(one(
                &bore.bore,
                section,
                "out_of_round_mm",
                section.out_of_round_mm,
                Limits {
                    lower: None,
                    upper: Some(limits.out_of_round_limit_mm),
                },
            ));
        }
    }
    Ok(verdicts)
}

/// The seat's bore of that name; where the names differ but all bores of the seat are bored alike,
/// the first.
fn limits_for<'a>(seat: &'a Seat, name: &str) -> Result<&'a SeatBore, Failure> {
    if let Some(bore) = seat.bores.iter().find(|bore| bore.name == name) {
        return Ok(bore);
    }
    let alike = |a: &SeatBore, b: &SeatBore| {
        (a.lower_mm, a.upper_mm, a.out_of_round_limit_mm)
            == (b.lower_mm, b.upper_mm, b.out_of_round_limit_mm)
    };
    match seat.bores.as_slice() {
        [first, rest @ ..] if rest.iter().all(|bore| alike(first, bore)) => Ok(first),
        bores => {
            let held: Vec<&str> = bores.iter().map(|bore| bore.name.as_str()).collect();
            Err(Failure::wrong(format!(
                "the seat `{}` has no bore `{name}`; it has {}",
                seat.name,
                held.join(" and ")
            )))
        }
    }
}

fn one(
    bore: &str,
    section: &Section,
    field: &'static str,
    value_mm: Option<f64>,
    limits: Limits,
) -> Verdict {
    let uncertainty = section.uncertainty.get(field);
    let (decision, why) = match (value_mm, uncertainty) {
        (None, _) => (
            Decision::CannotTell,
            section.why_withheld(field).map(str::to_owned),
        ),
        (Some(_), _) if field == "mean_diameter_mm" && !section.size_set => (
            Decision::CannotTell,
            Some("no setting ring stands behind the size".to_owned()),
        ),
        (Some(_), None) => (
            Decision::CannotTell,
            Some("its uncertainty is not known; gauge more directions or repeat them".to_owned()),
        ),
        (Some(value), Some(uncertainty)) => (limits.decide(value, uncertainty, None), None),
    };
    Verdict {
        bore: bore.to_owned(),
        depth_mm: section.depth_mm,
        field,
        value_mm,
        lower_mm: limits.lower,
        upper_mm: limits.upper,
        decision,
        why,
    }
}
