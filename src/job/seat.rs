//! What a bore should be.

use std::ops::RangeInclusive;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::fit::{BearingSize, Finish, Material};

/// A kind of part with one or more bores, from `config/seats/*.toml` or the user's own folder.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Seat {
    /// The name by which a job asks for it, such as `pressfit-46`.
    pub name: String,
    /// One line for people.
    pub title: String,
    /// Where its sizes come from.
    pub source: String,
    /// What 0° points at, such as `seat tube`.
    pub landmark: String,
    /// How far from nominal a reading may be and still belong to the bore, mm.
    #[serde(default = "two_millimetres")]
    pub belongs_within_mm: f64,
    /// How many directions the seat's own plan gauges at each depth.
    pub angles: u32,
    /// Distance between the outer faces of the first and the last bore, mm; unknown where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub width_mm: Option<f64>,
    /// What the housing is made of; unknown where absent (a shell size says nothing about it).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub material: Option<Material>,
    /// The bearing that goes straight into the bores; absent where cups or several kinds do.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bearing: Option<BearingSize>,
    /// How its bores were made: `ground`, or `turned` (also bored or reamed); unknown where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub finish: Option<Finish>,
    /// Yield strength of the housing by its data sheet, MPa; without it no stress is judged.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub yield_mpa: Option<f64>,
    /// The temperatures between which it runs, °C, the coldest first: the fit is given at both.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub service_c: Option<(f64, f64)>,
    /// How far the last bore's axis may lie from the first's, as the diameter of a zone about it
    /// (coaxiality, ISO 1101), mm; without it the angle that a bearing takes up is the limit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub coaxiality_mm: Option<f64>,
    /// The bores, in the order in which they are gauged.
    #[serde(rename = "bore")]
    pub bores: Vec<SeatBore>,
}

/// What is said of one part's housing, in place of what its seat says.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct HousingSaid {
    /// What this part is made of.
    pub material: Option<Material>,
    /// The wall round its bores, mm. Nothing is cut while it is unknown.
    pub wall_mm: Option<f64>,
    /// Its yield strength by its data sheet, MPa. No stress is judged while it is unknown.
    pub yield_mpa: Option<f64>,
    /// How its bores were made.
    pub finish: Option<Finish>,
    /// The temperatures between which it runs, °C, the coldest first: the fit is given at both.
    pub service_c: Option<(f64, f64)>,
}

impl HousingSaid {
    /// Whether a part can be so.
    ///
    /// # Errors
    /// A sentence that says what can't be.
    pub fn plausible(&self) -> Result<(), &'static str> {
        let beyond = |value: Option<f64>, range: &RangeInclusive<f64>| {
            value.is_some_and(|value| !range.contains(&value))
        };
        if beyond(self.wall_mm, &WALL_MM) {
            return Err("a wall is 0.3 to 100 mm thick; leave it out if unknown");
        }
        if beyond(self.yield_mpa, &YIELD_MPA) {
            return Err("a yield strength is 10 to 3000 MPa; leave it out if unknown");
        }
        if self.service_c.is_some_and(|service| !runs_between(service)) {
            return Err(
                "a part runs between two temperatures from -60 to 200 °C, the coldest first; leave \
                 them out if unknown",
            );
        }
        Ok(())
    }
}

impl Seat {
    /// The nominal diameter of its bores, mm; `None` where they are not alike.
    pub fn nominal_mm(&self) -> Option<f64> {
        let first = self.bores.first()?.nominal_mm;
        let alike = self.bores.iter().all(|bore| bore.nominal_mm == first);
        alike.then_some(first)
    }

    /// How deep its bore called `name` is to be gauged at most, mm: its length, or where the seat asks
    /// for more, that. `None` where the length is unknown, or there is no such bore.
    pub fn length_mm(&self, name: &str) -> Option<f64> {
        let bore = self.bores.iter().find(|bore| bore.name == name)?;
        let [_, deepest] = bore.depths_between_mm()?;
        Some(bore.length_mm?.max(deepest))
    }

    /// The seat of a part of which this is said: what is left out is as the seat says.
    #[must_use]
    pub fn of_part(&self, said: &HousingSaid) -> Self {
        let mut seat = self.clone();
        seat.material = said.material.or(seat.material);
        seat.yield_mpa = said.yield_mpa.or(seat.yield_mpa);
        seat.finish = said.finish.or(seat.finish);
        seat.service_c = said.service_c.or(seat.service_c);
        for bore in &mut seat.bores {
            bore.wall_mm = said.wall_mm.or(bore.wall_mm);
        }
        seat
    }
}

/// Whether a seat of this length, mm, can be gauged at a depth, mm.
///
/// # Errors
/// A sentence that says where it can.
pub fn depth_or_refuse(depth_mm: f64, length_mm: Option<f64>) -> Result<(), String> {
    let length = length_mm.unwrap_or(f64::MAX);
    if (0.0..=length).contains(&depth_mm) {
        return Ok(());
    }
    Err(match length_mm {
        Some(length) if depth_mm > length => format!(
            "{depth_mm} mm is behind the seat, which is {length} mm long: gauge where the insert sits"
        ),
        _ => "a depth is measured from the face inwards: 0 mm or more".to_owned(),
    })
}

/// Walls that a housing may have, mm (judgement: foil is none, and behind 100 mm more changes nothing).
pub(super) const WALL_MM: RangeInclusive<f64> = 0.3..=100.0;

/// Yield strengths that a housing may have, MPa (judgement: from soft plastics to spring steel).
pub(super) const YIELD_MPA: RangeInclusive<f64> = 10.0..=3000.0;

/// Temperatures that a part in service may have, °C (judgement: bearing greases run in no others).
const SERVICE_C: RangeInclusive<f64> = -60.0..=200.0;

/// Whether a part may run between these temperatures, °C, the coldest first.
pub(super) fn runs_between((coldest, warmest): (f64, f64)) -> bool {
    SERVICE_C.contains(&coldest) && SERVICE_C.contains(&warmest) && coldest <= warmest
}

/// How far from what is due a size may be and still belong, where nobody says otherwise, mm.
pub const BELONGS_WITHIN_MM: f64 = 2.0;

const fn two_millimetres() -> f64 {
    BELONGS_WITHIN_MM
}

/// One bore of a [`Seat`].
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SeatBore {
    /// Such as `drive side`.
    pub name: String,
    /// Nominal diameter, mm.
    pub nominal_mm: f64,
    /// Least mean diameter, mm.
    pub lower_mm: f64,
    /// Greatest mean diameter, mm.
    pub upper_mm: f64,
    /// The mean diameter to aim at, mm.
    pub target_mm: f64,
    /// Greatest out-of-round (largest minus smallest diameter), mm.
    pub out_of_round_limit_mm: f64,
    /// How many standard uncertainties wide the guard band beside each limit is (decision rule of
    /// ISO 14253-1), 1 to 5; where absent the configuration's, else one-sided 95 %: 1.65, and by
    /// Student's t for few degrees of freedom.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub decision_factor: Option<f64>,
    /// Depths to gauge, from the face, mm.
    pub depths_mm: Vec<f64>,
    /// Length over which the insert is held, from the face, mm; unknown where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub length_mm: Option<f64>,
    /// Wall round the bore, mm; unknown where absent. Nothing is cut while it is unknown.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wall_mm: Option<f64>,
    /// Where the bore's face lies along the part's axis, mm; without it two bores can't be
    /// compared for coaxiality.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub face_mm: Option<f64>,
    /// Which way along the part's axis the face looks, away from the material.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub facing: Option<Facing>,
}

impl SeatBore {
    /// The least and the greatest depth to gauge, mm; `None` where there is none.
    pub fn depths_between_mm(&self) -> Option<[f64; 2]> {
        let depths = || self.depths_mm.iter().copied();
        Some([depths().reduce(f64::min)?, depths().reduce(f64::max)?])
    }
}

/// Which way along the part's axis the face of a bore looks. Angles run clockwise seen from the
/// face, so those of two bores that face opposite ways are mirrored when compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Facing {
    /// Towards greater positions.
    Plus,
    /// Towards smaller positions.
    Minus,
}
