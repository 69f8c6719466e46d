//! How a gauge touches a bore, and what it can't see for it.

use std::fmt;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// How the gauge touches the bore.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema, clap::ValueEnum,
)]
#[serde(rename_all = "kebab-case")]
pub enum Contact {
    /// Two points a diameter apart: sees even lobe counts only.
    TwoPoint,
    /// Three points at 120°, self-centring: sees multiples of three only.
    ThreePoint,
    /// An indicator swept from an axis: sees every lobe count.
    Radius,
}

impl Contact {
    /// The turn, in degrees, after which the contact reads the same wall again.
    pub const fn period_deg(self) -> f64 {
        match self {
            Self::TwoPoint => 180.0,
            Self::ThreePoint => 120.0,
            Self::Radius => 360.0,
        }
    }

    /// By how many mm a diameter changes where a reading changes by 1 mm: an indicator swept from
    /// an axis reads radii.
    pub const fn diameter_per_reading(self) -> f64 {
        match self {
            Self::TwoPoint | Self::ThreePoint => 1.0,
            Self::Radius => 2.0,
        }
    }

    /// How much a reading changes where the wall of an n-lobed bore lies 1 mm further out, for
    /// the lobe counts that the contact can see; it is 0 for the others.
    ///
    /// A diameter is r(θ) + r(θ + 180°), so 1 + (-1)^n. A self-centring head with contacts at
    /// 0°, 120° and 240° shows (2/3) Σ r(θ + 120° k): 2 where 3 divides n, else 0; to first order
    /// in the deviation. These are the factors of ISO 4292 for two points, and of the 60° vee of
    /// three-point measurement scaled to a diameter.
    pub const fn gain(self, lobes: u32) -> f64 {
        match self {
            Self::TwoPoint if lobes.is_multiple_of(2) => 2.0,
            Self::ThreePoint if lobes.is_multiple_of(3) => 2.0,
            Self::Radius => 1.0,
            Self::TwoPoint | Self::ThreePoint => 0.0,
        }
    }

    /// The lobe counts that the contact is blind to, in the words of the profile's contract.
    pub const fn unseen_lobes(self) -> &'static str {
        match self {
            Self::TwoPoint => "odd",
            Self::ThreePoint => "not multiples of 3",
            Self::Radius => "none",
        }
    }

    /// What the contact can't see, as a sentence to stand beside the numbers.
    pub const fn blindness(self) -> &'static str {
        match self {
            Self::TwoPoint => {
                "A two-point gauge can't see odd lobes: a bore of three lobes reads as round."
            }
            Self::ThreePoint => {
                "A three-point gauge sees only lobes in multiples of three: an oval reads as round."
            }
            Self::Radius => "A swept indicator sees every lobe.",
        }
    }

    /// The lowest lobe count that the contact sees: the step between the counts it sees.
    pub(super) const fn step(self) -> u32 {
        match self {
            Self::TwoPoint => 2,
            Self::ThreePoint => 3,
            Self::Radius => 1,
        }
    }
}

impl fmt::Display for Contact {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::TwoPoint => "two-point",
            Self::ThreePoint => "three-point",
            Self::Radius => "radius",
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Factors of two-point and of three-point measurement on a symmetrical vee of 60° by lobe count
    /// 2 to 15, by two routes: F = 1 + cos(n (90° + α/2)) / sin(α/2) of ISO 4292:1985 (from memory),
    /// and contacts moved over a lobed wall until they touch, without a formula
    /// (`tests/reference/contacts.py`). Three contacts at 120° are that vee, and read it as a
    /// diameter: two thirds of F.
    #[test]
    fn factors_by_lobe_count_are_those_of_contacts_moved_over_a_lobed_wall() {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/fixtures/contacts.csv");
        let text = std::fs::read_to_string(path).unwrap();
        let rows: Vec<Vec<f64>> = text
            .lines()
            .skip(1)
            .map(|line| {
                line.split(',')
                    .map(|field| field.parse().unwrap())
                    .collect()
            })
            .collect();
        assert_eq!(rows.len(), 14);
        for (lobes, row) in (2..).zip(rows) {
            assert_eq!(row[0], f64::from(lobes));
            // A wall of finite lobes is as near as this to the first order.
            let near = |found: f64, moved: f64| assert!((found - moved).abs() < 0.01, "{lobes}");
            near(Contact::TwoPoint.gain(lobes), row[1]);
            near(Contact::ThreePoint.gain(lobes), row[2]);
            let half_vee = 30.0_f64.to_radians();
            let turn = f64::from(lobes) * (90.0_f64.to_radians() + half_vee);
            let formula = 1.0 + turn.cos() / half_vee.sin();
            near(formula, row[3]);
            assert!((Contact::ThreePoint.gain(lobes) - formula * 2.0 / 3.0).abs() < 1e-9);
        }
    }

    /// The gain must equal what the contact's own geometry gives on r = cos(nθ).
    #[test]
    fn gains_follow_from_where_the_contacts_are() {
        for lobes in 1..=15 {
            let wall = |turn: f64| (f64::from(lobes) * turn.to_radians()).cos();
            let two = wall(0.0) + wall(180.0);
            let three = 2.0 / 3.0 * (wall(0.0) + wall(120.0) + wall(240.0));
            assert!((Contact::TwoPoint.gain(lobes) - two).abs() < 1e-12);
            assert!((Contact::ThreePoint.gain(lobes) - three).abs() < 1e-12);
        }
    }
}
