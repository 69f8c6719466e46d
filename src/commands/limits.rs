//! `borewright limits`: ISO 286 limits of a class, or the fit of two.

use schemars::JsonSchema;
use serde::Serialize;

use super::{Answer, Failure};
use crate::fit::limits::{Feature, FitKind, FitLimits, Limits, LimitsError};
use crate::fit::limits::{fit_limits, limits};

/// Arguments of `borewright limits`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Nominal size, mm.
    #[arg(value_parser = size)]
    size: f64,
    /// A class, such as H7 or p6, or a fit, such as H7/p6.
    class: String,
    /// Write JSON.
    #[arg(long)]
    json: bool,
}

/// What `--json` writes.
#[derive(Serialize, JsonSchema)]
pub(super) struct Output {
    /// Always `borewright.limits/1`.
    schema: &'static str,
    #[serde(flatten)]
    result: Found,
}

#[derive(Serialize, JsonSchema)]
#[serde(untagged)]
enum Found {
    /// The limits of one class.
    One(Limits),
    /// A fit.
    Fit(FitLimits),
}

/// Looks the limits up and prints them.
///
/// # Errors
/// [`Failure::Wrong`] where the size or class isn't held, by name.
pub(super) fn run(args: &Args) -> Result<Answer, Failure> {
    let result = find(args.size, &args.class).map_err(Failure::wrong)?;
    if args.json {
        let output = Output {
            schema: "borewright.limits/1",
            result,
        };
        let text = serde_json::to_string_pretty(&output).map_err(Failure::outside)?;
        println!("{text}");
        return Ok(Answer::Done);
    }
    match result {
        Found::One(limits) => println!("{}", line(&limits)),
        Found::Fit(fit) => print_fit(&fit),
    }
    Ok(Answer::Done)
}

/// A size with a decimal point or comma.
fn size(text: &str) -> Result<f64, String> {
    let parsed = text.trim().replacen(',', ".", 1).parse::<f64>().ok();
    parsed
        .filter(|mm| mm.is_finite())
        .ok_or_else(|| "write the size in millimetres, such as 46 or 46.5".to_owned())
}

fn find(size: f64, text: &str) -> Result<Found, LimitsError> {
    match text.split_once('/') {
        None => limits(size, text.parse()?).map(Found::One),
        Some((hole, shaft)) => fit_limits(size, hole.parse()?, shaft.parse()?).map(Found::Fit),
    }
}

fn print_fit(fit: &FitLimits) {
    println!("{}", line(&fit.hole));
    println!("{}", line(&fit.shaft));
    let (least, greatest) = (fit.least_interference_um, fit.greatest_interference_um);
    match fit.kind {
        FitKind::Interference => {
            println!("interference fit: {least} to {greatest} µm of interference");
        }
        FitKind::Clearance => {
            println!(
                "clearance fit: {} to {} µm of clearance",
                0.0 - greatest,
                0.0 - least
            );
        }
        FitKind::Transition => println!(
            "transition fit: from {} µm of clearance to {greatest} µm of interference",
            0.0 - least
        ),
    }
}

fn line(limits: &Limits) -> String {
    let what = match limits.class.feature {
        Feature::Hole => "hole ",
        Feature::Shaft => "shaft",
    };
    format!(
        "{} {:<4} {what}  {:.4} to {:.4} mm  ({} / {} µm)",
        limits.nominal_mm,
        limits.class.to_string(),
        limits.lower_mm,
        limits.upper_mm,
        signed(limits.lower_um),
        signed(limits.upper_um),
    )
}

fn signed(um: f64) -> String {
    if um == 0.0 {
        "0".to_owned()
    } else {
        format!("{um:+}").replace('-', "−")
    }
}
