//! What the uncertainty of every number of a profile is made of.
//!
//! Every field that has an uncertainty has a budget: [`all`] walks the fields, so that none is left
//! out, and [`inputs`] says what each is made of.

use std::fmt::Write as _;

use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Value;

use super::text::two_digits;
use crate::bore::{Bore, Profile, ScatterFrom, Section};
use crate::uncertainty::{Budget, Distribution, Estimate, Estimates, Input};

/// A budget and what it comes to.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct Stated {
    /// Whose number it is.
    bore: String,
    /// The section's depth from the bore's face, mm; null for a number of the whole bore.
    depth_mm: Option<f64>,
    /// The path of the number, as its uncertainty stands under.
    field: String,
    #[serde(flatten)]
    budget: Budget,
    /// Of the value, of every contribution and of the result: `mm`, `deg`, or `mm/mm` of a taper.
    unit: &'static str,
    /// Each input's share of the variance, 0 to 1, in their order.
    shares: Vec<f64>,
    /// The name of the input that contributes most.
    dominant: Option<String>,
    /// Combined standard uncertainty, effective degrees of freedom (null where infinite), coverage
    /// factor and expanded uncertainty, 95 %, as they stand beside the number.
    combined: Estimate,
}

/// A number that has an uncertainty.
struct Number<'a> {
    bore: &'a Bore,
    /// `None` for a number of the whole bore.
    section: Option<&'a Section>,
    field: &'a str,
    value: f64,
    estimate: Estimate,
}

impl Number<'_> {
    fn stated(&self, inputs: Vec<Input>) -> Stated {
        let place = self.section.map_or_else(String::new, |section| {
            format!(" at {} mm", section.depth_mm)
        });
        let name = format!("{}, {}{place}", self.name(), self.bore.bore);
        let budget = Budget::new(name, self.value, inputs);
        Stated {
            bore: self.bore.bore.clone(),
            depth_mm: self.section.map(|section| section.depth_mm),
            field: self.field.to_owned(),
            unit: match self.field {
                field if field.ends_with("_mm_per_mm") => "mm/mm",
                field if field.ends_with("_deg") => "deg",
                _ => "mm",
            },
            shares: budget.shares(),
            dominant: budget.dominant().map(|input| input.name.clone()),
            budget,
            combined: self.estimate,
        }
    }

    /// What the number is, for people.
    fn name(&self) -> String {
        let lobes = |rest: &str| {
            let at = rest.split_once(']')?.0.parse::<usize>().ok()?;
            Some(self.section?.lobes.get(at)?.count)
        };
        match self.field {
            "mean_diameter_mm" => "mean diameter".to_owned(),
            "largest_mm" => "largest diameter".to_owned(),
            "smallest_mm" => "smallest diameter".to_owned(),
            "out_of_round_mm" => "out-of-round".to_owned(),
            "oval.size_mm" => "oval".to_owned(),
            "oval.long_axis_deg" => "long axis of the oval".to_owned(),
            "oval.tight_axis_deg" => "tight axis of the oval".to_owned(),
            "taper_mm_per_mm" => "taper".to_owned(),
            "barrel_mm" => "barrel".to_owned(),
            "bell_mouth_mm" => "bell-mouth".to_owned(),
            "waist.diameter_mm" => "waist".to_owned(),
            field => {
                if let Some(count) = field.strip_prefix("lobes[").and_then(lobes) {
                    let what = if field.ends_with("_deg") {
                        "peak"
                    } else {
                        "amplitude"
                    };
                    return format!("{what} of {count} lobes");
                }
                if field.starts_with("disagreeing[") {
                    return "section off the line through the others".to_owned();
                }
                field
                    .strip_prefix("roundness.")
                    .and_then(|rest| rest.split_once('.'))
                    .map_or_else(|| field.to_owned(), of_circle)
            }
        }
    }
}

/// A number of a reference circle, by the symbols of ISO 12181-1.
fn of_circle((circle, number): (&str, &str)) -> String {
    let circle = match circle {
        "least_squares" => "least-squares circle",
        "minimum_zone" => "minimum zone",
        "max_inscribed" => "maximum inscribed circle",
        "min_circumscribed" => "minimum circumscribed circle",
        other => other,
    };
    let number = match number {
        "x_mm" => "centre towards 0°",
        "y_mm" => "centre towards 90°",
        "radius_mm" => "radius",
        "zone_mm" => "RONt",
        "peak_mm" => "RONp",
        "valley_mm" => "RONv",
        other => other,
    };
    format!("{number}, {circle}")
}

/// The budgets of a profile; the `setting` is common to all sizes, its sensitivities a diameter's.
pub(super) fn all(profile: &Profile, setting: &[Input]) -> Vec<Stated> {
    let mut all = Vec::new();
    for bore in &profile.bores {
        for section in &bore.sections {
            let held = serde_json::to_value(section).unwrap_or_default();
            let numbers = numbers(bore, Some(section), &section.uncertainty, &held);
            all.extend(numbers.map(|number| number.stated(inputs(section, &number, setting))));
        }
        let held = serde_json::to_value(&bore.numbers).unwrap_or_default();
        let numbers = numbers(bore, None, &bore.numbers.uncertainty, &held);
        all.extend(numbers.map(|number| number.stated(of_bore(&number, setting))));
    }
    all
}

/// Every number of `held` that has an uncertainty.
fn numbers<'a>(
    bore: &'a Bore,
    section: Option<&'a Section>,
    known: &'a Estimates,
    held: &'a Value,
) -> impl Iterator<Item = Number<'a>> {
    known.iter().filter_map(move |(field, &estimate)| {
        let pointer = format!("/{}", field.replace(['.', '['], "/").replace(']', ""));
        Some(Number {
            bore,
            section,
            field,
            value: held.pointer(&pointer)?.as_f64()?,
            estimate,
        })
    })
}

/// What a section's number is made of. A size has the setting in it; what is common to all readings
/// cancels in a difference.
fn inputs(section: &Section, number: &Number<'_>, setting: &[Input]) -> Vec<Input> {
    let field = number.field;
    let Some(scatter) = section.scatter_of(field) else {
        let lobe = field.starts_with("lobes") || field.starts_with("oval");
        let cause = if lobe {
            "scatter of the readings, through the joint region of the lobe"
        } else {
            SIMULATED
        };
        return one(cause, number);
    };
    let extreme = ["largest_mm", "smallest_mm"].contains(&field);
    let cause = if extreme || field.starts_with("roundness") && !field.contains("least_squares") {
        SIMULATED
    } else {
        scatter_name(section.scatter_from)
    };
    let standard = scatter.standard;
    let mut inputs = vec![Input::normal(
        cause,
        number.value,
        standard,
        scatter.degrees(),
    )];
    inputs.extend(shared(section.digit_of(field)));
    inputs.extend(uneven(section.form_of(field)));
    // The setting is a diameter's; a centre has none of it.
    let share = match field {
        field if field.ends_with("radius_mm") => 0.5,
        field if field.starts_with("roundness") => 0.0,
        _ => 1.0,
    };
    let setting = setting.iter().cloned().chain(in_ring([section]));
    let part = |input: Input| {
        let sensitivity = share * input.sensitivity;
        input.times(sensitivity)
    };
    inputs.extend(setting.filter(|_| share > 0.0).map(part));
    inputs
}

/// The rounding that readings share, by its standard uncertainty, mm; nothing where they don't.
fn shared(digit_mm: f64) -> Option<Input> {
    let half = digit_mm * 3.0_f64.sqrt();
    let name = "gauge's digit, the same in all readings";
    (half > 0.0).then(|| Input::within(name, 0.0, half, Distribution::Rectangular))
}

/// What a number is off by for an oval on uneven directions, mm; nothing where it isn't.
fn uneven(form_mm: f64) -> Option<Input> {
    let name = "oval on uneven directions";
    (form_mm.abs() > 0.0).then(|| Input::normal(name, 0.0, form_mm.abs(), f64::INFINITY))
}

/// What the reading in the ring brings by its scatter: the most that it does in any of the sections.
fn in_ring<'a>(sections: impl IntoIterator<Item = &'a Section>) -> Option<Input> {
    let sections = sections.into_iter().filter_map(Section::ring_scatter);
    let ring = sections.max_by(|a, b| a.standard.total_cmp(&b.standard))?;
    let name = "scatter of the reading in the ring";
    Some(Input::normal(name, 0.0, ring.standard, ring.degrees()))
}

const SIMULATED: &str = "scatter of the readings, simulated";
const SMALLEST: &str = "scatter of the sections' means, simulated";

/// What the scatter of a section is called in its budget.
const fn scatter_name(from: Option<ScatterFrom>) -> &'static str {
    match from {
        Some(ScatterFrom::Study) => "repeatability, from the gauge's study",
        Some(ScatterFrom::ReadingsAndStudy) => "scatter, of the readings and the study",
        Some(ScatterFrom::Readings) | None => "scatter of the readings about the fit",
    }
}

/// One input makes a number uncertain.
fn one(cause: &str, number: &Number<'_>) -> Vec<Input> {
    let Estimate { standard, .. } = number.estimate;
    let degrees = number.estimate.degrees();
    vec![Input::normal(cause, number.value, standard, degrees)]
}

/// What a number of the whole bore is made of.
fn of_bore(number: &Number<'_>, setting: &[Input]) -> Vec<Input> {
    let made_of = match number.field {
        "mean_diameter_mm" => of_mean(number, setting),
        "taper_mm_per_mm" => of_taper(number),
        "waist.diameter_mm" => of_waist(number, setting),
        _ => None,
    };
    made_of.unwrap_or_else(|| {
        let cause = match number.field {
            "taper_mm_per_mm" => "departure of the sections from a straight taper",
            _ => "scatter of the sections' means, through the fit along the axis",
        };
        one(cause, number)
    })
}

/// Each section's own scatter averages out, the setting doesn't.
#[expect(clippy::cast_precision_loss, reason = "counts of sections")]
fn of_mean(number: &Number<'_>, setting: &[Input]) -> Option<Vec<Input>> {
    let sections = &number.bore.sections;
    let share = 1.0 / sections.len() as f64;
    let own = sections.iter().map(|section| own(section, share));
    let mut inputs = own.collect::<Option<Vec<Input>>>()?;
    inputs.extend(shared(sections.iter().map(of_digit).fold(0.0, f64::max)));
    let forms = sections.iter().map(of_form);
    inputs.extend(uneven(share * forms.sum::<f64>()));
    inputs.extend(setting.iter().cloned().chain(in_ring(sections)));
    Some(inputs)
}

/// The smallest of several is simulated; of one section it is the mean diameter there.
fn of_waist(number: &Number<'_>, setting: &[Input]) -> Option<Vec<Input>> {
    let waist = number.bore.numbers.waist?;
    let sections = &number.bore.sections;
    let section = sections.iter().find(|s| s.depth_mm == waist.depth_mm)?;
    if sections.len() == 1 {
        let mean = Number {
            field: "mean_diameter_mm",
            ..*number
        };
        return Some(inputs(section, &mean, setting));
    }
    let squares = |inputs: &[Input]| -> f64 {
        let parts = inputs.iter().map(|input| input.contribution().powi(2));
        parts.sum()
    };
    let form = uneven(of_form(section));
    let scatter = number.estimate.standard.powi(2) - squares(setting) - squares(form.as_slice());
    // The rest of the effective degrees of freedom (Welch-Satterthwaite) is the scatter's.
    let share = scatter / (scatter + squares(setting));
    let degrees = number.estimate.degrees() * share * share;
    let standard = scatter.max(0.0).sqrt();
    let mut inputs = vec![Input::normal(SMALLEST, number.value, standard, degrees)];
    inputs.extend(form);
    inputs.extend(setting.iter().cloned());
    Some(inputs)
}

/// What a section's mean is off by for its oval, mm.
fn of_form(section: &Section) -> f64 {
    section.form_of("mean_diameter_mm")
}

/// The rounding that all readings of a section share, mm.
fn of_digit(section: &Section) -> f64 {
    section.digit_of("mean_diameter_mm")
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
/// over the sum of those squares. `None` where the sections leave the line by more than their
/// scatter: the slope's uncertainty is from that departure alone.
#[expect(clippy::cast_precision_loss, reason = "counts of sections")]
fn of_taper(number: &Number<'_>) -> Option<Vec<Input>> {
    let sections = &number.bore.sections;
    let depths = || sections.iter().map(|section| section.depth_mm);
    let middle = depths().sum::<f64>() / sections.len() as f64;
    let squares: f64 = depths().map(|depth| (depth - middle).powi(2)).sum();
    let weight = |section: &Section| (section.depth_mm - middle) / squares;
    let inputs = sections.iter().map(|section| own(section, weight(section)));
    let mut inputs = inputs.collect::<Option<Vec<Input>>>()?;
    let digits = sections.iter().filter_map(|section| {
        let digit = shared(of_digit(section))?;
        Some(digit.times(weight(section)))
    });
    inputs.extend(digits);
    let forms = sections
        .iter()
        .map(|section| weight(section) * of_form(section));
    inputs.extend(uneven(forms.sum()));
    let whole = inputs
        .iter()
        .map(|input| input.contribution().powi(2))
        .sum::<f64>()
        .sqrt();
    let standard = number.estimate.standard;
    ((whole - standard).abs() <= 1e-7 * standard).then_some(inputs)
}

/// The budgets as tables.
pub(super) fn write(out: &mut String, stated: &[Stated]) {
    for stated in stated {
        write_one(out, stated);
    }
}

fn write_one(out: &mut String, stated: &Stated) {
    let budget = &stated.budget;
    // Contributions in a thousandth of a length's unit.
    let (unit, fine, scale) = match stated.unit {
        "mm" => ("mm", "µm", 1e3),
        "mm/mm" => ("mm/mm", "µm/mm", 1e3),
        _ => ("°", "°", 1.0),
    };
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
            input.contribution() * scale,
            share * 100.0
        );
    }
    let combined = &stated.combined;
    let _ = writeln!(
        out,
        "  combined {:.3} {fine}, {} effective degrees of freedom, k = {:.2}, U = {} {fine} (95 %)",
        combined.standard * scale,
        degrees(combined.degrees_of_freedom),
        combined.coverage_factor,
        two_digits(combined.expanded * scale)
    );
    if let Some(dominant) = stated.dominant.as_ref().filter(|_| stated.shares.len() > 1) {
        let _ = writeln!(out, "  largest: {dominant}");
    }
}

fn degrees(known: Option<f64>) -> String {
    known.map_or_else(|| "∞".to_owned(), |degrees| format!("{degrees:.1}"))
}
