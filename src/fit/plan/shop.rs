//! What the shop owns: reamers with what they really cut, compounds with what they bridge.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::uncertainty::{Estimate, rounded_up};

/// Walls thinner than this are not cut further, mm (common practice, no source).
const LEAST_WALL_MM: f64 = 1.5;
/// Stock that one pass of a hand reamer takes sensibly, mm of diameter (common practice, no
/// source).
const GREATEST_STOCK_MM: f64 = 0.2;
/// How well a reamer's cut is known before any was measured, mm (judgement).
const CUT_STANDARD_MM: f64 = 0.005;
/// What a setting ring leaves unknown of every as-left mean alike, however often the reamer cut, mm
/// (judgement).
const LEAST_CUT_STANDARD_MM: f64 = 0.000_5;
/// How many of a reamer's past cuts count (judgement).
const NEWEST_CUTS: usize = 20;
/// What a bore finished on a lathe or with a reamer keeps to (common practice, no source).
const SLEEVE_GRADE: u8 = 7;
/// How far a piloted reamer is taken to run off the axis, mm (judgement).
const OFF_CENTRE_MM: f64 = 0.02;

/// What the shop owns and how far it goes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Shop {
    /// Reamers.
    #[serde(rename = "reamer")]
    pub reamers: Vec<Reamer>,
    /// Retaining compounds.
    #[serde(rename = "compound")]
    pub compounds: Vec<Compound>,
    /// Walls are not cut thinner than this, mm.
    pub least_wall_mm: f64,
    /// Wall of the sleeves that the shop fits, mm; it fits none where null.
    pub sleeve_wall_mm: Option<f64>,
    /// Grade of ISO 286-1, 5 to 11, within which a sleeve's bore is finished about the seat's target.
    pub sleeve_grade: u8,
    /// How far off the axis a reamer may run, mm: for the bound beside each preview.
    pub off_centre_mm: f64,
}

impl Default for Shop {
    fn default() -> Self {
        Self {
            reamers: Vec::new(),
            compounds: Vec::new(),
            least_wall_mm: LEAST_WALL_MM,
            sleeve_wall_mm: None,
            sleeve_grade: SLEEVE_GRADE,
            off_centre_mm: OFF_CENTRE_MM,
        }
    }
}

impl Shop {
    /// The first thing about it that can't be, as a sentence.
    pub fn mistake(&self) -> Option<String> {
        let size = |mm: f64| mm.is_finite() && mm > 0.0;
        if !(self.least_wall_mm.is_finite() && self.least_wall_mm >= 0.0) {
            return Some("least_wall_mm must be 0 mm or more".to_owned());
        }
        if !(0.0..=1.0).contains(&self.off_centre_mm) {
            return Some("off_centre_mm must lie between 0 and 1 mm".to_owned());
        }
        if self.sleeve_wall_mm.is_some_and(|mm| !size(mm)) {
            return Some("sleeve_wall_mm must be greater than 0 mm".to_owned());
        }
        if !(5..=11).contains(&self.sleeve_grade) {
            return Some("sleeve_grade must be a grade of ISO 286-1 from 5 to 11".to_owned());
        }
        for (at, reamer) in self.reamers.iter().enumerate() {
            let name = &reamer.name;
            if name.trim().is_empty() {
                return Some("a reamer needs a name".to_owned());
            }
            if self.reamers[..at].iter().any(|other| other.name == *name) {
                return Some(format!(
                    "two reamers are called `{name}`; a job says by the name which one cut, so give \
                     one another"
                ));
            }
            if !size(reamer.diameter_mm) || !size(reamer.greatest_stock_mm) {
                return Some(format!(
                    "reamer `{name}`: diameter_mm and greatest_stock_mm must be greater than 0 mm"
                ));
            }
            let far = |mm: &f64| !(mm.is_finite() && mm.abs() <= 0.2);
            if let Some(cut) = reamer.past_cuts_mm.iter().find(|mm| far(mm)) {
                return Some(format!(
                    "reamer `{name}`: a past cut of {cut} mm; state how much the bore came out over \
                     diameter_mm, such as 0.004"
                ));
            }
        }
        self.compounds.iter().find_map(|compound| {
            let (least, greatest) = (compound.least_gap_mm, compound.greatest_gap_mm);
            (!(least >= 0.0 && greatest > least && greatest.is_finite())).then(|| {
                format!(
                    "compound `{}`: greatest_gap_mm must be greater than least_gap_mm, and both 0 mm \
                     or more",
                    compound.name
                )
            })
        })
    }
}

/// A reamer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Reamer {
    /// What the shop calls it.
    pub name: String,
    /// Its nominal cutting diameter, mm.
    pub diameter_mm: f64,
    /// Greatest sensible stock, mm of diameter.
    #[serde(default = "greatest_stock")]
    pub greatest_stock_mm: f64,
    /// As left minus nominal, mm, of bores that it cut all round; see [`Reamer::cut`].
    #[serde(default)]
    pub past_cuts_mm: Vec<f64>,
}

const fn greatest_stock() -> f64 {
    GREATEST_STOCK_MM
}

/// What a reamer really cuts.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Cut {
    /// Diameter of the bore that it leaves, mm.
    pub diameter_mm: f64,
    /// How much that is over its nominal diameter, mm (negative: under).
    pub over_mm: f64,
    /// How many bores that it cut before this rests on.
    pub bores: usize,
    /// Uncertainty of the next bore's diameter, mm.
    pub uncertainty: Estimate,
}

impl Reamer {
    /// The diameter that the next bore will have: nominal plus the mean of past cuts, with the
    /// spread of a single future one, s √(1 + 1/n), and n − 1 degrees of freedom. Below three past
    /// cuts a spread says too little of the next one, and judgement stands in for it. No cut is known
    /// better than the as-left means that it was learned from.
    #[expect(clippy::cast_precision_loss, reason = "a count of bores")]
    pub fn cut(&self) -> Cut {
        // A reamer wears: what it cut long ago says little of the next bore.
        let newest = self.past_cuts_mm.len().saturating_sub(NEWEST_CUTS);
        let past = &self.past_cuts_mm[newest..];
        let count = past.len() as f64;
        let over_mm = if past.is_empty() {
            0.0
        } else {
            past.iter().sum::<f64>() / count
        };
        let squares: f64 = past.iter().map(|cut| (cut - over_mm).powi(2)).sum();
        let (standard, degrees) = if past.len() < 3 {
            (CUT_STANDARD_MM.max(squares.sqrt()), f64::INFINITY)
        } else {
            let spread = (squares / (count - 1.0) * (1.0 + 1.0 / count)).sqrt();
            (spread.max(LEAST_CUT_STANDARD_MM), count - 1.0)
        };
        let unlearned = Cut::unlearned(self.diameter_mm);
        Cut {
            diameter_mm: self.diameter_mm + over_mm,
            over_mm,
            bores: past.len(),
            uncertainty: Estimate::new(standard, degrees).unwrap_or(unlearned.uncertainty),
        }
    }
}

impl Cut {
    /// Of a reamer that cut no bore yet.
    pub(super) fn unlearned(diameter_mm: f64) -> Self {
        Self {
            diameter_mm,
            over_mm: 0.0,
            bores: 0,
            uncertainty: Estimate {
                standard: CUT_STANDARD_MM,
                expanded: 1.96 * CUT_STANDARD_MM,
                coverage_factor: 1.96,
                degrees_of_freedom: None,
            },
        }
    }

    /// What is known of the cut, as a sentence.
    pub fn sentence(&self) -> String {
        let reach = rounded_up(self.uncertainty.expanded, 3);
        let (by, side) = (
            self.over_mm.abs(),
            if self.over_mm < 0.0 { "under" } else { "over" },
        );
        match self.bores {
            0 => format!(
                "what it really cuts is not learned yet: taken as its nominal {:.3} mm, ±{reach:.3} mm",
                self.diameter_mm
            ),
            1 => {
                format!("it cut {by:.3} mm {side} its name in one bore, ±{reach:.3} mm in the next")
            }
            bores => format!(
                "it cut {by:.3} mm {side} its name in {bores} bores, ±{reach:.3} mm in the next"
            ),
        }
    }
}

/// A retaining compound, by its maker's data sheet.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Compound {
    /// What the shop calls it.
    pub name: String,
    /// Least diametral gap that it needs, mm.
    #[serde(default)]
    pub least_gap_mm: f64,
    /// Greatest diametral gap that it fills, mm.
    pub greatest_gap_mm: f64,
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Five cuts of 46.000 mm: +4, +6, +5, +8, +2 µm. Mean 5, s = √(20/4) = 2.236, of the next
    /// s √1.2 = 2.449 µm.
    #[test]
    fn a_reamers_cut_is_learned_with_its_spread() {
        let reamer = Reamer {
            name: "46".into(),
            diameter_mm: 46.0,
            greatest_stock_mm: 0.2,
            past_cuts_mm: vec![0.004, 0.006, 0.005, 0.008, 0.002],
        };
        let cut = reamer.cut();
        assert!((cut.diameter_mm - 46.005).abs() < 1e-12);
        assert!((cut.uncertainty.standard - 0.002_449_490).abs() < 1e-9);
        // Student's t for 4 degrees of freedom, 95 %: 2.776 (table).
        assert!((cut.uncertainty.expanded - 2.776 * 0.002_449_490).abs() < 2e-6);
        assert_eq!(
            cut.sentence(),
            "it cut 0.005 mm over its name in 5 bores, ±0.007 mm in the next"
        );
    }

    /// Four cuts that came out the same were still gauged with a ring: ±0.5 µm, and Student's t for 3
    /// degrees of freedom, 95 %, is 3.182 (table).
    #[test]
    fn cuts_that_came_out_the_same_are_not_known_without_doubt() {
        let reamer = Reamer {
            name: "46".into(),
            diameter_mm: 45.96,
            greatest_stock_mm: 0.2,
            past_cuts_mm: vec![0.004; 4],
        };
        let u = reamer.cut().uncertainty;
        assert!((u.expanded - 3.182 * 0.000_5).abs() < 1e-6, "{u:?}");
        let said = reamer.cut().sentence();
        assert!(said.ends_with("±0.002 mm in the next"), "{said}");
    }

    /// Student's t for 3 degrees of freedom, 95 %: 3.182 (table); 3.182 x 0.001 910 mm = 0.0061 mm.
    #[test]
    fn how_far_the_next_cut_may_be_off_is_rounded_up() {
        let reamer = Reamer {
            name: "46".into(),
            diameter_mm: 46.0,
            greatest_stock_mm: 0.2,
            past_cuts_mm: vec![0.004, 0.006, 0.005, 0.008],
        };
        let said = reamer.cut().sentence();
        assert!(said.ends_with("±0.007 mm in the next"), "{said}");
    }

    #[test]
    fn one_or_two_cuts_move_the_size_and_leave_its_spread_to_judgement() {
        let cut = |past: &[f64]| {
            let reamer = Reamer {
                name: "46".into(),
                diameter_mm: 46.0,
                greatest_stock_mm: 0.2,
                past_cuts_mm: past.to_vec(),
            };
            reamer.cut()
        };
        let none = cut(&[]);
        assert_eq!((none.over_mm, none.uncertainty.standard), (0.0, 0.005));
        assert!(none.sentence().contains("not learned yet"));
        let one = cut(&[-0.004]);
        assert_eq!((one.over_mm, one.uncertainty.standard), (-0.004, 0.005));
        assert!(
            one.sentence()
                .contains("0.004 mm under its name in one bore")
        );
        // Two that disagree say more than judgement.
        assert!(cut(&[0.0, 0.020]).uncertainty.standard > 0.01);
        // Only the newest twenty count.
        let mut worn = vec![0.010; 30];
        worn.extend([0.0; 20]);
        assert_eq!(cut(&worn).over_mm, 0.0);
    }
}
