//! What the shop owns: reamers with what they really cut, compounds with what they bridge.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Walls thinner than this are not cut further, mm (common practice, no source).
const LEAST_WALL_MM: f64 = 1.5;
/// Stock that one pass of a hand reamer takes sensibly, mm of diameter (common practice, no
/// source).
const GREATEST_STOCK_MM: f64 = 0.2;
/// How well a reamer's cut is known before any was measured, mm (judgement).
const CUT_STANDARD_MM: f64 = 0.005;
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
            off_centre_mm: OFF_CENTRE_MM,
        }
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
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cut {
    /// Diameter of the bore that it leaves, mm.
    pub diameter_mm: f64,
    /// Standard uncertainty of the next one, mm.
    pub standard_mm: f64,
}

impl Reamer {
    /// The diameter that the next bore will have: nominal plus the mean of past cuts, with the
    /// spread of a single future one, s √(1 + 1/n); by judgement below two past cuts.
    #[expect(clippy::cast_precision_loss, reason = "a count of bores")]
    pub fn cut(&self) -> Cut {
        let count = self.past_cuts_mm.len() as f64;
        let mean = if self.past_cuts_mm.is_empty() {
            0.0
        } else {
            self.past_cuts_mm.iter().sum::<f64>() / count
        };
        let standard_mm = if self.past_cuts_mm.len() < 2 {
            CUT_STANDARD_MM
        } else {
            let squares: f64 = self.past_cuts_mm.iter().map(|c| (c - mean).powi(2)).sum();
            (squares / (count - 1.0) * (1.0 + 1.0 / count)).sqrt()
        };
        Cut {
            diameter_mm: self.diameter_mm + mean,
            standard_mm,
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
        assert!((cut.standard_mm - 0.002_449_490).abs() < 1e-9);
    }
}
