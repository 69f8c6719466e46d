//! Where to gauge, and in what order.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::seat::Seat;
use crate::bore::Contact;

/// One place to gauge.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Station {
    /// The bore's name in the seat.
    pub bore: String,
    /// Depth from the bore's face, mm.
    pub depth_mm: f64,
    /// Angle from the seat's landmark, degrees in [0, 360), clockwise seen from the bore's face.
    pub angle_deg: f64,
}

impl Station {
    /// The place where the same directions are gauged once more: a two-point gauge half a turn
    /// on, a three-point head a third of a turn on. `None` where a contact has no twin.
    pub fn twin(&self, contact: Contact) -> Option<Self> {
        let period = contact.period_deg();
        (period < 360.0).then(|| Self {
            angle_deg: (self.angle_deg + period) % 360.0,
            ..self.clone()
        })
    }
}

/// How thoroughly to gauge.
#[derive(
    Debug,
    Clone,
    Copy,
    PartialEq,
    Eq,
    Hash,
    Serialize,
    Deserialize,
    JsonSchema,
    Default,
    clap::ValueEnum,
)]
#[serde(rename_all = "snake_case")]
pub enum PlanKind {
    /// One depth, four angles; six for an indicator swept from an axis, which has a centre to find.
    Quick,
    /// The seat's depths, six angles.
    Standard,
    /// The seat's depths, twelve angles.
    Full,
    /// The seat's own depths and number of angles.
    #[default]
    Seat,
}

/// The stations of `kind` in `seat`: bore by bore, depth by depth, the angles spread evenly over
/// one period of `contact`, since a two-point gauge turned further than half a turn meets the
/// same diameters again.
pub fn stations(seat: &Seat, kind: PlanKind, contact: Contact) -> Vec<Station> {
    let angles = match kind {
        PlanKind::Quick => 4,
        PlanKind::Standard => 6,
        PlanKind::Full => 12,
        PlanKind::Seat => seat.angles,
    };
    // Centre and oval of a swept bore are five unknowns.
    let angles = if contact == Contact::Radius {
        angles.max(6)
    } else {
        angles
    };
    let step = contact.period_deg() / f64::from(angles);
    let mut stations = Vec::new();
    for bore in &seat.bores {
        let depths = match kind {
            // The middle depth: where the insert will sit, away from a bell-mouthed face.
            PlanKind::Quick => &bore.depths_mm[bore.depths_mm.len() / 2..][..1],
            _ => &bore.depths_mm[..],
        };
        for &depth_mm in depths {
            stations.extend((0..angles).map(|turn| Station {
                bore: bore.name.clone(),
                depth_mm,
                angle_deg: step * f64::from(turn),
            }));
        }
    }
    stations
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Seats;

    #[test]
    fn a_two_point_plan_never_asks_for_one_direction_twice() {
        let seats = Seats::built_in();
        let seat = seats.get("pressfit-46").unwrap();
        for kind in [
            PlanKind::Quick,
            PlanKind::Standard,
            PlanKind::Full,
            PlanKind::Seat,
        ] {
            let plan = stations(seat, kind, Contact::TwoPoint);
            assert!(plan.iter().all(|station| station.angle_deg < 180.0));
            let depths = if kind == PlanKind::Quick {
                1
            } else {
                seat.bores[0].depths_mm.len()
            };
            let per_section = plan.len() / (depths * seat.bores.len());
            assert!(per_section >= 3, "{kind:?} could not find an oval");
        }
    }

    #[test]
    fn a_quick_plan_is_one_depth_and_four_angles_of_each_bore() {
        let seats = Seats::built_in();
        let plan = stations(
            seats.get("pressfit-46").unwrap(),
            PlanKind::Quick,
            Contact::TwoPoint,
        );
        let angles: Vec<f64> = plan.iter().map(|station| station.angle_deg).collect();
        assert_eq!(angles, [0.0, 45.0, 90.0, 135.0, 0.0, 45.0, 90.0, 135.0]);
        assert!(plan.iter().all(|station| station.depth_mm == 6.0));
    }

    /// Five unknowns: the mean, two of the centre, two of the oval.
    #[test]
    fn a_plan_for_a_swept_indicator_can_find_its_centre_and_an_oval() {
        let seats = crate::job::Seats::built_in();
        let mut seat = seats.get("pressfit-46").unwrap().clone();
        seat.angles = 3;
        for kind in [PlanKind::Quick, PlanKind::Seat] {
            let plan = stations(&seat, kind, Contact::Radius);
            let first = (&plan[0].bore, plan[0].depth_mm);
            let of_first = plan.iter().filter(|s| (&s.bore, s.depth_mm) == first);
            assert!(of_first.count() > 5, "{kind:?}");
        }
    }

    #[test]
    fn the_twin_lies_where_the_contact_meets_the_same_wall() {
        let station = Station {
            bore: "left".into(),
            depth_mm: 3.0,
            angle_deg: 270.0,
        };
        assert_eq!(station.twin(Contact::TwoPoint).unwrap().angle_deg, 90.0);
        assert_eq!(station.twin(Contact::ThreePoint).unwrap().angle_deg, 30.0);
        assert!(station.twin(Contact::Radius).is_none());
    }
}
