//! What a seat lets say of whole bores: how much of each is a seat, and how their axes lie.

use std::fmt::Write as _;

use schemars::JsonSchema;
use serde::Serialize;

use super::Failure;
use super::text::plus_minus;
use super::verdict::limits_for;
use crate::bore::{Contact, Profile, RANGE_UNKNOWN, Withheld, straight as straight_of};
use crate::fit::Alignment;
use crate::job::Seat;
use crate::uncertainty::Estimate;

/// How much of a bore is a seat.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct Straight {
    pub bore: String,
    /// The limits of the mean diameter, mm.
    pub lower_mm: f64,
    pub upper_mm: f64,
    /// The longest run of depth whose mean diameter lies within them, mm; nothing is claimed beyond
    /// the first and the last section.
    pub straight_length_mm: Option<f64>,
    /// The shortest and the longest that it may be, for mean diameters within their expanded
    /// uncertainty, mm.
    pub straight_range_mm: Option<[f64; 2]>,
}

/// What is said of the bores beside their sections.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct Whole {
    /// The bores of the seat that were not gauged.
    pub not_gauged: Vec<String>,
    pub straight: Vec<Straight>,
    pub alignment: Option<Alignment>,
    /// The fields that are null, and why.
    pub withheld: Vec<Withheld>,
    #[serde(skip)]
    contact: Contact,
}

impl Whole {
    pub(super) fn of(profile: &Profile, seat: &Seat) -> Result<Self, Failure> {
        let mut withheld = Vec::new();
        let mut straight = Vec::new();
        for bore in &profile.bores {
            let limits = limits_for(seat, &bore.bore)?;
            let (lower_mm, upper_mm) = (limits.lower_mm, limits.upper_mm);
            let found = straight_of(&bore.sections, lower_mm, upper_mm);
            let range = found.and_then(|of| of.range_mm.ok_or(RANGE_UNKNOWN));
            for (field, why) in [
                ("straight_length_mm", found.err()),
                ("straight_range_mm", range.err()),
            ] {
                withheld.extend(why.map(|why| Withheld {
                    field: format!("straight[{}].{field}", straight.len()),
                    why: why.to_owned(),
                }));
            }
            straight.push(Straight {
                bore: bore.bore.clone(),
                lower_mm,
                upper_mm,
                straight_length_mm: found.ok().map(|of| of.length_mm),
                straight_range_mm: range.ok(),
            });
        }
        let alignment = Alignment::of(seat, profile.contact, &profile.bores);
        let alignment = alignment.map_err(|why| {
            withheld.push(Withheld {
                field: "alignment".to_owned(),
                why,
            });
        });
        Ok(Self {
            not_gauged: not_gauged(profile, seat),
            straight,
            alignment: alignment.ok(),
            withheld,
            contact: profile.contact,
        })
    }

    /// As a person reads it.
    pub(super) fn write(&self, out: &mut String) {
        for bore in &self.not_gauged {
            let _ = writeln!(out, "{bore} was not gauged");
        }
        for one in &self.straight {
            if let Some(length) = one.straight_length_mm {
                let range = one
                    .straight_range_mm
                    .map_or_else(String::new, |[least, most]| {
                        format!(" ({least:.1} mm to {most:.1} mm)")
                    });
                let _ = writeln!(
                    out,
                    "{}: {length:.1} mm{range} of the gauged length lie within {:.3} mm to {:.3} mm",
                    one.bore, one.lower_mm, one.upper_mm
                );
            }
        }
        if let Some(alignment) = &self.alignment {
            let axes = &alignment.axes;
            let reach = |known: Option<Estimate>| plus_minus(known.as_ref(), 1.0);
            let _ = writeln!(
                out,
                "{} to {}: coaxiality {:.4}{} mm, tilt {:.4}{}°: {}",
                alignment.bore,
                alignment.datum,
                axes.coaxiality_mm,
                reach(axes.coaxiality_uncertainty),
                axes.tilt_deg,
                reach(axes.tilt_uncertainty),
                alignment.why
            );
        } else if self.contact == Contact::Radius {
            let why = self.withheld.iter().find(|w| w.field == "alignment");
            if let Some(withheld) = why {
                let _ = writeln!(out, "no coaxiality: {}", withheld.why);
            }
        }
    }
}

/// The bores of `seat` that `profile` lacks. A bore of another name stands for one of them.
fn not_gauged(profile: &Profile, seat: &Seat) -> Vec<String> {
    let gauged = |name: &str| profile.bores.iter().any(|bore| bore.bore == name);
    let own = |name: &str| seat.bores.iter().any(|bore| bore.name == name);
    let others = profile.bores.iter().filter(|bore| !own(&bore.bore)).count();
    let missing = seat.bores.iter().filter(|bore| !gauged(&bore.name));
    missing.skip(others).map(|bore| bore.name.clone()).collect()
}
