//! Parts gauged by operators, several times each.

use super::Error;
use crate::uncertainty::quantile::fisher_above;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// One reading of a crossed study.
#[derive(Debug, Clone, PartialEq)]
pub struct Trial {
    /// Who gauged.
    pub operator: String,
    /// Which part.
    pub part: String,
    /// The reading, mm.
    pub value_mm: f64,
}

/// What a method makes of the study: standard deviations, mm.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Method {
    /// Equipment variation: repeatability.
    pub ev_mm: f64,
    /// Appraiser variation: reproducibility.
    pub av_mm: f64,
    /// Gauge: both together, and the interaction of operator and part where it is kept.
    pub grr_mm: f64,
    /// Part variation.
    pub pv_mm: f64,
    /// Total variation.
    pub tv_mm: f64,
    /// Gauge as a share of the total variation, %; null where nothing varies.
    pub grr_percent: Option<f64>,
    /// Six standard deviations of the gauge as a share of the tolerance, %; null without one.
    pub grr_of_tolerance_percent: Option<f64>,
    /// Number of distinct categories that the gauge can tell apart: 1.41 PV / GRR, cut down; null
    /// where the gauge doesn't vary.
    pub ndc: Option<u32>,
}

/// By average and range.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct AverageRange {
    /// The standard deviations.
    #[serde(flatten)]
    pub method: Method,
    /// Mean of the ranges of repeats, mm.
    pub mean_range_mm: f64,
    /// Largest minus smallest of the operators' means, mm.
    pub operator_difference_mm: f64,
    /// Largest minus smallest of the parts' means, mm.
    pub part_range_mm: f64,
}

/// A line of an analysis of variance.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Source {
    /// Sum of squares, mm².
    pub squares_mm2: f64,
    /// Degrees of freedom.
    pub degrees_of_freedom: usize,
}

impl Source {
    /// Mean square, mm².
    #[expect(clippy::cast_precision_loss, reason = "counts of readings")]
    pub fn mean_square(&self) -> f64 {
        if self.degrees_of_freedom == 0 {
            return 0.0;
        }
        self.squares_mm2 / self.degrees_of_freedom as f64
    }
}

/// By analysis of variance, random parts and operators.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Anova {
    /// The standard deviations.
    #[serde(flatten)]
    pub method: Method,
    /// Between parts.
    pub parts: Source,
    /// Between operators.
    pub operators: Source,
    /// Operators by parts.
    pub interaction: Source,
    /// Within repeats.
    pub repeatability: Source,
    /// Probability that chance alone makes an interaction as large; null where there is none to
    /// test.
    pub interaction_p: Option<f64>,
    /// Whether the interaction was pooled with the repeatability, being no larger than chance
    /// makes it (p above 0.25).
    pub pooled: bool,
    /// Standard deviation of the interaction, mm; 0 where it was pooled.
    pub interaction_mm: f64,
}

/// A crossed study.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Crossed {
    /// How many parts.
    pub parts: usize,
    /// How many operators.
    pub operators: usize,
    /// How often each gauged each.
    pub trials: usize,
    /// By average and range; null beyond ten parts, or five operators or trials, for which its
    /// factors aren't held.
    pub average_range: Option<AverageRange>,
    /// By analysis of variance.
    pub anova: Anova,
}

/// What one range of 2 to 10 values is multiplied by for a standard deviation: K2 and K3 of the MSA
/// manual, 4th edition, four digits as printed (1 / d2*, Duncan, "Quality Control and Industrial
/// Statistics", table D3).
const ONE_RANGE: [f64; 9] = [
    std::f64::consts::FRAC_1_SQRT_2,
    0.5231,
    0.4467,
    0.4030,
    0.3742,
    0.3534,
    0.3375,
    0.3249,
    0.3146,
];
/// The same of many ranges of 2 to 5 values: K1 (1 / d2; 4 and 5 from memory).
const MANY_RANGES: [f64; 4] = [0.8862, 0.5908, 0.4857, 0.4299];

/// The probability above which the interaction is pooled (MSA manual, 4th edition, appendix A).
const POOL_ABOVE: f64 = 0.25;

/// The crossed study of `all`, in any order; `tolerance_mm` is what the gauge is to judge, upper
/// minus lower limit, as the gauge reads: of a gauge that reads radii half of a diameter's.
///
/// # Errors
/// Where fewer than two parts or two repeats were gauged, not all as often, or a reading is not
/// finite.
pub fn crossed(all: &[Trial], tolerance_mm: Option<f64>) -> Result<Crossed, Error> {
    let cells = Cells::gather(all)?;
    if tolerance_mm.is_some_and(|t| !(t.is_finite() && t > 0.0)) {
        return Err(Error::Tolerance);
    }
    Ok(Crossed {
        parts: cells.parts,
        operators: cells.operators,
        trials: cells.trials,
        average_range: cells.average_range(tolerance_mm),
        anova: cells.anova(tolerance_mm),
    })
}

/// Readings by operator, then part.
struct Cells {
    parts: usize,
    operators: usize,
    trials: usize,
    cells: Vec<Vec<f64>>,
}

impl Cells {
    fn gather(all: &[Trial]) -> Result<Self, Error> {
        if all.iter().any(|trial| !trial.value_mm.is_finite()) {
            return Err(Error::NotFinite);
        }
        let names = |of: fn(&Trial) -> &str| {
            let mut names: Vec<&str> = Vec::new();
            for trial in all {
                if !names.contains(&of(trial)) {
                    names.push(of(trial));
                }
            }
            names
        };
        let operators = names(|trial| &trial.operator);
        let parts = names(|trial| &trial.part);
        let need = |what, needed, found| {
            if found < needed {
                Err(Error::TooFew {
                    what,
                    needed,
                    found,
                })
            } else {
                Ok(())
            }
        };
        need("parts", 2, parts.len())?;
        let mut cells: Vec<Vec<f64>> = Vec::new();
        for &operator in &operators {
            for &part in &parts {
                let cell: Vec<f64> = all
                    .iter()
                    .filter(|trial| trial.operator == operator && trial.part == part)
                    .map(|trial| trial.value_mm)
                    .collect();
                let expected = cells.first().map_or(cell.len(), Vec::len);
                if cell.len() != expected {
                    return Err(Error::Unbalanced {
                        operator: operator.to_owned(),
                        part: part.to_owned(),
                        found: cell.len(),
                        expected,
                    });
                }
                cells.push(cell);
            }
        }
        let trials = cells.first().map_or(0, Vec::len);
        need("repeats of each part", 2, trials)?;
        Ok(Self {
            parts: parts.len(),
            operators: operators.len(),
            trials,
            cells,
        })
    }

    fn cell_mean(&self, operator: usize, part: usize) -> f64 {
        mean(self.cells[operator * self.parts + part].iter().copied())
    }

    fn operator_means(&self) -> Vec<f64> {
        (0..self.operators)
            .map(|o| mean((0..self.parts).map(|p| self.cell_mean(o, p))))
            .collect()
    }

    fn part_means(&self) -> Vec<f64> {
        (0..self.parts)
            .map(|p| mean((0..self.operators).map(|o| self.cell_mean(o, p))))
            .collect()
    }

    #[expect(clippy::cast_precision_loss, reason = "counts of readings")]
    fn average_range(&self, tolerance_mm: Option<f64>) -> Option<AverageRange> {
        let factor = |table: &[f64], of: usize| table.get(of.checked_sub(2)?).copied();
        let mean_range_mm = mean(self.cells.iter().map(|cell| range(cell)));
        let ev = mean_range_mm * factor(&MANY_RANGES, self.trials)?;
        let operator_difference_mm = range(&self.operator_means());
        let av = if self.operators > 1 {
            if self.operators > 5 {
                return None;
            }
            let by_range = operator_difference_mm * factor(&ONE_RANGE, self.operators)?;
            let repeats = (self.parts * self.trials) as f64;
            (by_range.powi(2) - ev.powi(2) / repeats).max(0.0).sqrt()
        } else {
            0.0
        };
        let part_range_mm = range(&self.part_means());
        let pv = part_range_mm * factor(&ONE_RANGE, self.parts)?;
        Some(AverageRange {
            method: Method::of(ev, av, 0.0, pv, tolerance_mm),
            mean_range_mm,
            operator_difference_mm,
            part_range_mm,
        })
    }

    #[expect(clippy::cast_precision_loss, reason = "counts of readings")]
    fn anova(&self, tolerance_mm: Option<f64>) -> Anova {
        let (n, k, r) = (self.parts as f64, self.operators as f64, self.trials as f64);
        let (operator_means, part_means) = (self.operator_means(), self.part_means());
        let grand = mean(part_means.iter().copied());
        let about_grand =
            |means: &[f64]| -> f64 { means.iter().map(|m| (m - grand).powi(2)).sum() };
        // Less than rounding makes of readings that don't differ is no variation.
        let rounding = n * k * r * (4.0 * f64::EPSILON * grand).powi(2);
        let real = |squares: f64| if squares > rounding { squares } else { 0.0 };
        let parts = Source {
            squares_mm2: real(k * r * about_grand(&part_means)),
            degrees_of_freedom: self.parts - 1,
        };
        let operators = Source {
            squares_mm2: real(n * r * about_grand(&operator_means)),
            degrees_of_freedom: self.operators - 1,
        };
        let mut mixed = 0.0;
        let mut within = 0.0;
        for (o, operator_mean) in operator_means.iter().enumerate() {
            for (p, part_mean) in part_means.iter().enumerate() {
                let cell_mean = self.cell_mean(o, p);
                mixed += (cell_mean - operator_mean - part_mean + grand).powi(2);
                within += self.cells[o * self.parts + p]
                    .iter()
                    .map(|value| (value - cell_mean).powi(2))
                    .sum::<f64>();
            }
        }
        let interaction = Source {
            squares_mm2: real(r * mixed),
            degrees_of_freedom: (self.parts - 1) * (self.operators - 1),
        };
        let repeatability = Source {
            squares_mm2: real(within),
            degrees_of_freedom: self.parts * self.operators * (self.trials - 1),
        };
        let interaction_p = chance_of(interaction, repeatability);
        let pooled = interaction_p.is_none_or(|p| p > POOL_ABOVE);
        let error = if pooled {
            Source {
                squares_mm2: interaction.squares_mm2 + repeatability.squares_mm2,
                degrees_of_freedom: interaction.degrees_of_freedom
                    + repeatability.degrees_of_freedom,
            }
        } else {
            repeatability
        };
        let against = if pooled { error } else { interaction }.mean_square();
        let root = |variance: f64| variance.max(0.0).sqrt();
        let interaction_mm = if pooled {
            0.0
        } else {
            root((interaction.mean_square() - error.mean_square()) / r)
        };
        let av = root((operators.mean_square() - against) / (n * r));
        let pv = root((parts.mean_square() - against) / (k * r));
        Anova {
            method: Method::of(
                root(error.mean_square()),
                av,
                interaction_mm,
                pv,
                tolerance_mm,
            ),
            parts,
            operators,
            interaction,
            repeatability,
            interaction_p,
            pooled,
            interaction_mm,
        }
    }
}

impl Method {
    fn of(ev: f64, av: f64, interaction: f64, pv: f64, tolerance_mm: Option<f64>) -> Self {
        let grr = (ev * ev + av * av + interaction * interaction).sqrt();
        let tv = grr.hypot(pv);
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a positive count; too large a one is cut to the largest"
        )]
        let ndc = (grr > 0.0).then(|| (1.41 * pv / grr).floor() as u32);
        Self {
            ev_mm: ev,
            av_mm: av,
            grr_mm: grr,
            pv_mm: pv,
            tv_mm: tv,
            grr_percent: (tv > 0.0).then(|| 100.0 * grr / tv),
            grr_of_tolerance_percent: tolerance_mm.map(|tolerance| 600.0 * grr / tolerance),
            ndc,
        }
    }
}

/// The probability that chance alone makes `above` as large against `below`: none against repeats
/// that don't differ at all, as in coarse digits. `None` where there is nothing to ask about.
#[expect(clippy::cast_precision_loss, reason = "counts of readings")]
fn chance_of(above: Source, below: Source) -> Option<f64> {
    let ratio = above.mean_square() / below.mean_square();
    if ratio.is_nan() {
        return None;
    }
    fisher_above(
        ratio,
        above.degrees_of_freedom as f64,
        below.degrees_of_freedom as f64,
    )
}

#[expect(clippy::cast_precision_loss, reason = "counts of readings")]
fn mean(values: impl ExactSizeIterator<Item = f64>) -> f64 {
    let count = values.len() as f64;
    values.sum::<f64>() / count
}

fn range(values: &[f64]) -> f64 {
    let most = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let least = values.iter().copied().fold(f64::INFINITY, f64::min);
    most - least
}
