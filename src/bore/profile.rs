//! Readings at any bore, depth and angle become a profile of the whole part.

use std::borrow::Cow;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Basis, Bore, Contact, Error, Observation, bore, section};

/// The schema name of a batch profile.
pub const PROFILE_SCHEMA: &str = "borewright.profile/1";

/// One reading and where it was taken.
#[derive(Debug, Clone, PartialEq)]
pub struct Located {
    /// The bore's name.
    pub bore: String,
    /// Depth from its face, mm.
    pub depth_mm: f64,
    /// The reading.
    pub observation: Observation,
}

/// The bores of a part, as other programs read them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Profile {
    /// Always `borewright.profile/1`.
    pub schema: Cow<'static, str>,
    /// How the gauge touched the bores.
    pub contact: Contact,
    /// In the order in which the readings name them.
    pub bores: Vec<Bore>,
}

/// Groups `readings` by bore and depth and computes each.
///
/// # Errors
/// As [`section`].
pub fn profile(contact: Contact, readings: &[Located], basis: &Basis) -> Result<Profile, Error> {
    let mut names: Vec<&str> = Vec::new();
    for reading in readings {
        if !names.contains(&reading.bore.as_str()) {
            names.push(&reading.bore);
        }
    }
    let mut bores = Vec::with_capacity(names.len());
    for name in names {
        let mut own: Vec<&Located> = readings.iter().filter(|r| r.bore == name).collect();
        own.sort_by(|a, b| a.depth_mm.total_cmp(&b.depth_mm));
        let mut sections = Vec::new();
        for group in own.chunk_by(|a, b| same_depth(a.depth_mm, b.depth_mm)) {
            let observations: Vec<Observation> = group.iter().map(|r| r.observation).collect();
            sections.push(section(contact, group[0].depth_mm, &observations, basis)?);
        }
        bores.push(bore(name, sections));
    }
    Ok(Profile {
        schema: PROFILE_SCHEMA.into(),
        contact,
        bores,
    })
}

/// Depths within a nanometre are one section; -0 is 0.
fn same_depth(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-6
}
