//! What the uncertainty of every size and form number is made of.

use std::fmt::Write as _;

use serde::Serialize;

use crate::bore::{Bore, Profile, Section};
use crate::uncertainty::{Budget, Estimate, Input};

/// A budget and what it comes to.
#[derive(Debug, Serialize)]
pub(super) struct Stated {
    #[serde(flatten)]
    budget: Budget,
    /// Of the value, of every contribution and of the result: `mm`, or `mm/mm` of a taper.
    unit: &'static str,
    /// Each input's share of the variance, 0 to 1, in their order.
    shares: Vec<f64>,
    /// The name of the input that contributes most.
    dominant: Option<String>,
    /// Combined standard uncertainty, effective degrees of freedom (null where infinite), coverage
    /// factor and expanded uncertainty, 95 %, as they stand beside the number.
    combined: Estimate,
}

impl Stated {
    fn new(budget: Budget, unit: &'static str, combined: Estimate) -> Self {
        Self {
            shares: budget.shares(),
            dominant: budget.dominant().map(|input| input.name.clone()),
            budget,
            unit,
            combined,
        }
    }
}

/// The budgets of a profile: those of the sections' mean diameters are `means`; the `setting` is
/// common to all sizes.
pub(super) fn all(profile: &Profile, means: Vec<Budget>, setting: &[Input]) -> Vec<Stated> {
    let mut all: Vec<Stated> = means
        .into_iter()
        .filter_map(|budget| {
            let combined = budget.estimate()?;
            Some(Stated::new(budget, "mm", combined))
        })
        .collect();
    for bore in &profile.bores {
        for section in &bore.sections {
            all.extend(of_form(bore, section));
        }
        all.extend(of_mean(bore, setting));
        all.extend(of_taper(bore));
        for (what, field, value) in [
            ("barrel", "barrel_mm", bore.numbers.barrel_mm),
            ("bell-mouth", "bell_mouth_mm", bore.numbers.bell_mouth_mm),
        ] {
            let estimate = bore.numbers.uncertainty.get(field);
            all.extend(value.zip(estimate).map(|(value, &estimate)| {
                let name = format!("{what}, {}", bore.bore);
                one_input(name, value, "mm", SECTIONS, estimate)
            }));
        }
    }
    all
}

const SECTIONS: &str = "scatter of the sections' means, through the fit along the axis";

/// A number that one input makes uncertain.
fn one_input(
    name: String,
    value: f64,
    unit: &'static str,
    input: &str,
    estimate: Estimate,
) -> Stated {
    let input = Input::normal(input, value, estimate.standard, estimate.degrees());
    Stated::new(Budget::new(name, value, vec![input]), unit, estimate)
}

/// Form numbers need no setting: what is common to all readings cancels in a difference.
fn of_form(bore: &Bore, section: &Section) -> Vec<Stated> {
    let simulated = "scatter of the readings, simulated";
    let zone = section.roundness.map(|round| round.least_squares.zone_mm);
    [
        (
            "oval",
            "oval.size_mm",
            section.oval.map(|oval| oval.size_mm),
            "scatter of the readings, through the joint region of the lobe",
        ),
        (
            "out-of-round",
            "out_of_round_mm",
            section.out_of_round_mm,
            simulated,
        ),
        (
            "roundness",
            "roundness.least_squares.zone_mm",
            zone,
            simulated,
        ),
    ]
    .into_iter()
    .filter_map(|(what, field, value, input)| {
        let estimate = *section.uncertainty.get(field)?;
        let name = format!("{what}, {} at {} mm", bore.bore, section.depth_mm);
        Some(one_input(name, value?, "mm", input, estimate))
    })
    .collect()
}

/// Each section's own scatter averages out, the setting doesn't.
#[expect(clippy::cast_precision_loss, reason = "counts of sections")]
fn of_mean(bore: &Bore, setting: &[Input]) -> Option<Stated> {
    let mean = bore.numbers.mean_diameter_mm?;
    let estimate = *bore.numbers.uncertainty.get("mean_diameter_mm")?;
    let share = 1.0 / bore.sections.len() as f64;
    let mut inputs = bore
        .sections
        .iter()
        .map(|section| own(section, share))
        .collect::<Option<Vec<Input>>>()?;
    inputs.extend(setting.iter().cloned());
    let name = format!("mean diameter, {}", bore.bore);
    let mut budget = Budget::new(name, mean, inputs);
    let known = budget.combined().powi(2);
    let rest = estimate.standard.powi(2) - known;
    if rest > 1e-9 * known {
        let what = "what the sections have in common beside the setting";
        let rest = Input::normal(what, mean, rest.sqrt(), f64::INFINITY);
        budget.inputs.push(rest);
    }
    Some(Stated::new(budget, "mm", estimate))
}

/// A section's own scatter as an input.
fn own(section: &Section, sensitivity: f64) -> Option<Input> {
    let scatter = section.mean_scatter()?;
    let name = format!("scatter of the section at {} mm", section.depth_mm);
    let input = Input::normal(
        name,
        section.mean_diameter_mm.unwrap_or(0.0),
        scatter.standard,
        scatter.degrees(),
    );
    Some(input.times(sensitivity))
}

/// The slope of a straight line is a weighted sum of the means: their depths less the middle one,
/// over the sum of those squares. Where the sections leave the line by more than their scatter, the
/// slope's uncertainty is from that departure alone.
#[expect(clippy::cast_precision_loss, reason = "counts of sections")]
fn of_taper(bore: &Bore) -> Option<Stated> {
    let taper = bore.numbers.taper_mm_per_mm?;
    let estimate = *bore.numbers.uncertainty.get("taper_mm_per_mm")?;
    let name = format!("taper, {}", bore.bore);
    let depths = || bore.sections.iter().map(|section| section.depth_mm);
    let middle = depths().sum::<f64>() / bore.sections.len() as f64;
    let squares: f64 = depths().map(|depth| (depth - middle).powi(2)).sum();
    let inputs: Option<Vec<Input>> = bore
        .sections
        .iter()
        .map(|section| own(section, (section.depth_mm - middle) / squares))
        .collect();
    let budget = inputs.map(|inputs| Budget::new(name.clone(), taper, inputs));
    let budget = budget
        .filter(|budget| (budget.combined() - estimate.standard).abs() <= 1e-9 * estimate.standard);
    Some(match budget {
        Some(budget) => Stated::new(budget, "mm/mm", estimate),
        None => one_input(
            name,
            taper,
            "mm/mm",
            "departure of the sections from a straight taper",
            estimate,
        ),
    })
}

/// The budgets as tables.
pub(super) fn write(out: &mut String, stated: &[Stated]) {
    for stated in stated {
        write_one(out, stated);
    }
}

fn write_one(out: &mut String, stated: &Stated) {
    let (budget, unit) = (&stated.budget, stated.unit);
    let fine = unit.replacen("mm", "µm", 1);
    let _ = writeln!(out, "\n{}: {:.5} {unit}", budget.quantity, budget.value);
    let _ = writeln!(
        out,
        "  {:<62} {:>12} {:>12} {:>8} {:>12} {:>7}",
        "input",
        "standard",
        "sensitivity",
        "dof",
        format!("gives {fine}"),
        "share"
    );
    for (input, share) in budget.inputs.iter().zip(&stated.shares) {
        let _ = writeln!(
            out,
            "  {:<62} {:>12.3e} {:>12.4e} {:>8} {:>12.3} {:>5.0} %",
            input.name,
            input.standard,
            input.sensitivity,
            degrees(input.degrees_of_freedom),
            input.contribution() * 1e3,
            share * 100.0
        );
    }
    let combined = &stated.combined;
    let _ = writeln!(
        out,
        "  combined {:.3} {fine}, {} effective degrees of freedom, k = {:.2}, U = {:.3} {fine} (95 %)",
        combined.standard * 1e3,
        degrees(combined.degrees_of_freedom),
        combined.coverage_factor,
        combined.expanded * 1e3
    );
    if let Some(dominant) = &stated.dominant {
        let _ = writeln!(out, "  largest: {dominant}");
    }
}

fn degrees(known: Option<f64>) -> String {
    known.map_or_else(|| "∞".to_owned(), |degrees| format!("{degrees:.1}"))
}
