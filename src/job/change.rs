//! What is said anew of a part: what is left out stays as it was said before, null takes it back.

use schemars::JsonSchema;
use serde::{Deserialize, Deserializer, Serialize};

use super::seat::HousingSaid;
use crate::fit::{Evidence, Finish, Material};

/// What is to be said anew of one part's housing. What is left out stays as it was said before; null
/// takes it back, and it is as the seat says.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct HousingChange {
    /// What this part is made of.
    #[serde(deserialize_with = "named", skip_serializing_if = "Option::is_none")]
    pub material: Option<Option<Material>>,
    /// The wall round its bores, mm. Nothing is cut while it is unknown.
    #[serde(deserialize_with = "named", skip_serializing_if = "Option::is_none")]
    pub wall_mm: Option<Option<f64>>,
    /// Its yield strength by its data sheet, MPa. No stress is judged while it is unknown.
    #[serde(deserialize_with = "named", skip_serializing_if = "Option::is_none")]
    pub yield_mpa: Option<Option<f64>>,
    /// How its bores were made.
    #[serde(deserialize_with = "named", skip_serializing_if = "Option::is_none")]
    pub finish: Option<Option<Finish>>,
    /// The temperatures between which it runs, °C, the coldest first: the fit is given at both.
    #[serde(deserialize_with = "named", skip_serializing_if = "Option::is_none")]
    pub service_c: Option<Option<(f64, f64)>>,
}

/// What is to be noted anew of what was seen and felt. What is left out stays as it was noted before;
/// null takes it back. A torque takes with it how well the one before was known.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct EvidenceChange {
    /// It runs tight when fitted.
    #[serde(deserialize_with = "named", skip_serializing_if = "Option::is_none")]
    pub runs_tight: Option<Option<bool>>,
    /// Taken out, it is free in the hand.
    #[serde(deserialize_with = "named", skip_serializing_if = "Option::is_none")]
    pub free_once_out: Option<Option<bool>>,
    /// Where it is tight, degrees from the seat's landmark.
    #[serde(deserialize_with = "named", skip_serializing_if = "Option::is_none")]
    pub tight_towards_deg: Option<Option<f64>>,
    /// It feels gritty.
    #[serde(deserialize_with = "named", skip_serializing_if = "Option::is_none")]
    pub gritty: Option<Option<bool>>,
    /// Each bearing runs free by itself; it binds only with the axle through both.
    #[serde(deserialize_with = "named", skip_serializing_if = "Option::is_none")]
    pub only_with_axle: Option<Option<bool>>,
    /// Friction torque by the hang test, fitted, N·m.
    #[serde(deserialize_with = "named", skip_serializing_if = "Option::is_none")]
    pub hang_fitted_nm: Option<Option<f64>>,
    /// Friction torque by the hang test, once out or before pressing, N·m.
    #[serde(deserialize_with = "named", skip_serializing_if = "Option::is_none")]
    pub hang_free_nm: Option<Option<f64>>,
    /// Standard uncertainty of the torque fitted, N·m.
    #[serde(deserialize_with = "named", skip_serializing_if = "Option::is_none")]
    pub hang_fitted_u_nm: Option<Option<f64>>,
    /// Standard uncertainty of the torque once out, N·m.
    #[serde(deserialize_with = "named", skip_serializing_if = "Option::is_none")]
    pub hang_free_u_nm: Option<Option<f64>>,
    /// The torque fitted is a least value: the arm was never seen to slip.
    #[serde(deserialize_with = "named", skip_serializing_if = "Option::is_none")]
    pub hang_fitted_least: Option<Option<bool>>,
    /// The torque once out is a least value.
    #[serde(deserialize_with = "named", skip_serializing_if = "Option::is_none")]
    pub hang_free_least: Option<Option<bool>>,
}

/// A field that is there, be it null.
fn named<'de, D, T>(field: D) -> Result<Option<Option<T>>, D::Error>
where
    D: Deserializer<'de>,
    T: Deserialize<'de>,
{
    Option::deserialize(field).map(Some)
}

impl HousingChange {
    /// What is said after it, where this was `said` before.
    pub fn of(self, said: HousingSaid) -> HousingSaid {
        HousingSaid {
            material: self.material.unwrap_or(said.material),
            wall_mm: self.wall_mm.unwrap_or(said.wall_mm),
            yield_mpa: self.yield_mpa.unwrap_or(said.yield_mpa),
            finish: self.finish.unwrap_or(said.finish),
            service_c: self.service_c.unwrap_or(said.service_c),
        }
    }
}

impl EvidenceChange {
    /// What is noted after it, where this was `noted` before.
    pub fn of(self, mut noted: Evidence) -> Evidence {
        if self.hang_fitted_nm.is_some() {
            (noted.hang_fitted_u_nm, noted.hang_fitted_least) = (None, false);
        }
        if self.hang_free_nm.is_some() {
            (noted.hang_free_u_nm, noted.hang_free_least) = (None, false);
        }
        let least =
            |anew: Option<Option<bool>>, noted| anew.map_or(noted, Option::unwrap_or_default);
        Evidence {
            runs_tight: self.runs_tight.unwrap_or(noted.runs_tight),
            free_once_out: self.free_once_out.unwrap_or(noted.free_once_out),
            tight_towards_deg: self.tight_towards_deg.unwrap_or(noted.tight_towards_deg),
            gritty: self.gritty.unwrap_or(noted.gritty),
            only_with_axle: self.only_with_axle.unwrap_or(noted.only_with_axle),
            hang_fitted_nm: self.hang_fitted_nm.unwrap_or(noted.hang_fitted_nm),
            hang_free_nm: self.hang_free_nm.unwrap_or(noted.hang_free_nm),
            hang_fitted_u_nm: self.hang_fitted_u_nm.unwrap_or(noted.hang_fitted_u_nm),
            hang_free_u_nm: self.hang_free_u_nm.unwrap_or(noted.hang_free_u_nm),
            hang_fitted_least: least(self.hang_fitted_least, noted.hang_fitted_least),
            hang_free_least: least(self.hang_free_least, noted.hang_free_least),
        }
    }
}
