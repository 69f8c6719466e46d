//! Whether the bores lie on one axis, judged by what a bearing takes up.

use std::borrow::Borrow;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::bore::{Bore, Contact, Misalignment, Place, misalignment};
use crate::job::{Facing, Seat, SeatBore};
use crate::uncertainty::{Decision, Estimate, Limits, behind};

/// The misalignment that a single-row deep-groove ball bearing takes up, minutes of arc, by load
/// and clearance: from the least to the greatest figure (bearing catalogue, from memory).
pub const TAKES_UP_MINUTES: (f64, f64) = (2.0, 10.0);

/// How the first and the last bore of a part lie to each other, and what that comes to.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Alignment {
    /// The bore whose axis is the datum.
    pub datum: String,
    /// The bore compared with it.
    pub bore: String,
    /// How their axes lie to each other.
    #[serde(flatten)]
    pub axes: Misalignment,
    /// Whether they lie on one axis, by the seat's limit or, without one, by what a bearing takes
    /// up.
    pub decision: Decision,
    /// Why, as a sentence with the numbers.
    pub why: String,
    /// What this takes for granted.
    pub assumes: String,
}

impl Alignment {
    /// From the bores as measured.
    ///
    /// # Errors
    /// Why nothing can be said, as a sentence.
    pub fn of(seat: &Seat, contact: Contact, bores: &[impl Borrow<Bore>]) -> Result<Self, String> {
        let bores = || bores.iter().map(Borrow::borrow);
        let measured = |of: &SeatBore| bores().find(|bore| bore.bore == of.name);
        let pair = seat.bores.first().zip(seat.bores.last());
        let Some((first, last)) = pair.filter(|_| seat.bores.len() > 1) else {
            return Err("the part has one bore".to_owned());
        };
        let (Some(datum), Some(bore)) = (measured(first), measured(last)) else {
            return Err(format!("gauge both {} and {}", first.name, last.name));
        };
        if contact != Contact::Radius {
            return Err(format!(
                "a {contact} gauge finds diameters and not where their centre lies: sweep both bores \
                 with an indicator from one axis"
            ));
        }
        let (Some(near), Some(far)) = (place(first), place(last)) else {
            return Err(format!(
                "the seat {} does not say where the face of each bore lies and looks: add face_mm and \
                 facing",
                seat.name
            ));
        };
        let axes = misalignment((&datum.sections, near), (&bore.sections, far))
            .ok_or("the axis of a bore needs sections at two depths, each with its centre known")?;
        let (decision, why) = match seat.coaxiality_mm {
            Some(limit) => by_limit(&axes, limit, last.decision_factor),
            None => by_bearing(&axes),
        };
        Ok(Self {
            datum: datum.bore.clone(),
            bore: bore.bore.clone(),
            axes,
            decision,
            why,
            assumes: "both bores were swept from one straight axis, 0° at one landmark".to_owned(),
        })
    }
}

fn place(bore: &SeatBore) -> Option<Place> {
    Some(Place {
        face_mm: bore.face_mm?,
        faces_plus: bore.facing? == Facing::Plus,
    })
}

fn decide(value: f64, estimate: Option<&Estimate>, upper: f64, rule: Option<f64>) -> Decision {
    let limits = Limits {
        lower: None,
        upper: Some(upper),
    };
    estimate.map_or(Decision::CantTell, |estimate| {
        limits.decide(value, estimate, rule)
    })
}

/// By the seat's own limit.
fn by_limit(axes: &Misalignment, limit: f64, rule: Option<f64>) -> (Decision, String) {
    let known = axes.coaxiality_uncertainty.as_ref();
    let why = format!(
        "the bores are coaxial within {:.3}{} mm, limit {limit:.3} mm",
        axes.coaxiality_mm,
        behind(known, 3)
    );
    (decide(axes.coaxiality_mm, known, limit, rule), why)
}

/// By the angle that a straight axle through both bearings asks them to take up.
fn by_bearing(axes: &Misalignment) -> (Decision, String) {
    let known = axes.axle_uncertainty.map(|degrees| degrees.times(60.0));
    let angle = 60.0 * axes.axle_deg;
    let (least, greatest) = TAKES_UP_MINUTES;
    let decision = match (
        decide(angle, known.as_ref(), least, None),
        decide(angle, known.as_ref(), greatest, None),
    ) {
        (Decision::Conforms, _) => Decision::Conforms,
        (_, Decision::DoesNotConform) => Decision::DoesNotConform,
        _ => Decision::CantTell,
    };
    let why = format!(
        "the bores' middles lie {:.3}{} mm beside each other's axis, and an axle through both leans \
         {angle:.1}{}′ in its bearings, which take up {least:.0}′ to {greatest:.0}′",
        axes.offset_mm,
        behind(axes.offset_uncertainty.as_ref(), 3),
        behind(known.as_ref(), 1)
    );
    (decision, why)
}
