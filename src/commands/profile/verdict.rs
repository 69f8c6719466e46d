//! A profile against the limits of a seat, by the rule of the live bench.

use schemars::JsonSchema;
use serde::Serialize;

use super::Failure;
use crate::bore::Profile;
use crate::job::{Seat, SeatBore, Verdict};

/// One section's verdict and where it is.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct Judged {
    pub bore: String,
    pub depth_mm: f64,
    #[serde(flatten)]
    pub verdict: Verdict,
}

/// Judges every section.
pub(super) fn judge(profile: &Profile, seat: &Seat) -> Result<Vec<Judged>, Failure> {
    let mut all = Vec::new();
    for bore in &profile.bores {
        let limits = limits_for(seat, &bore.bore)?;
        all.extend(bore.sections.iter().map(|section| Judged {
            bore: bore.bore.clone(),
            depth_mm: section.depth_mm,
            verdict: Verdict::of(section, limits),
        }));
    }
    Ok(all)
}

/// The seat's bore of that name; where the names differ but all bores of the seat are bored alike,
/// the first.
pub(super) fn limits_for<'a>(seat: &'a Seat, name: &str) -> Result<&'a SeatBore, Failure> {
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
