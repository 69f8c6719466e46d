//! `borewright profile`: a file of readings becomes a bore profile.

mod budget;
mod drawn;
pub(super) mod readings;
pub(super) mod setting;
mod sketch;
mod text;
mod verdict;
mod whole;

use std::path::{Path, PathBuf};

use schemars::JsonSchema;
use serde::Serialize;

use self::verdict::Judged;
use self::whole::Whole;
use super::gauged::GaugedArgs;
use super::{Answer, Failure, print};
use crate::bore::{Profile, Readings};
use crate::config::Config;
use crate::uncertainty::Decision;

/// Arguments of `borewright profile`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// CSV with the header `bore,depth_mm,angle_deg,reading_mm` (or `reading_in`); `-` is standard
    /// input.
    file: PathBuf,
    #[command(flatten)]
    gauged: GaugedArgs,
    /// Write JSON.
    #[arg(long)]
    json: bool,
    /// The readings are deviations from a bore of this radius, mm; or `unknown`.
    #[arg(long, value_name = "R_MM|unknown", value_parser = deviations)]
    deviations_from: Option<Deviations>,
    /// Draw every section and write the drawing to this file.
    #[arg(long, value_name = "FILE")]
    svg: Option<PathBuf>,
    /// The same as a picture.
    #[arg(long, value_name = "FILE")]
    png: Option<PathBuf>,
    /// Show what the uncertainty of every size and form number is made of.
    #[arg(long)]
    budget: bool,
    /// Judge by the limits of this seat.
    #[arg(long, value_name = "NAME")]
    seat: Option<String>,
    /// Exit with 1 where size or form of a section isn't `conforms`, or a bore of the seat is missing;
    /// `fit --strict` judges taper and barrel too.
    #[arg(long, requires = "seat")]
    strict: bool,
    /// The configuration that names a folder of seats.
    #[arg(long, value_name = "FILE")]
    config: Option<PathBuf>,
}

/// What `--deviations-from` says.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Deviations {
    Radius(f64),
    Unknown,
}

fn deviations(text: &str) -> Result<Deviations, String> {
    if text.eq_ignore_ascii_case("unknown") {
        return Ok(Deviations::Unknown);
    }
    positive(text)
        .map(Deviations::Radius)
        .map_err(|why| format!("{why}, or `unknown`"))
}

pub(super) fn positive(text: &str) -> Result<f64, String> {
    text.parse::<f64>()
        .ok()
        .filter(|value| value.is_finite() && *value > 0.0)
        .ok_or_else(|| "state a length in millimetres greater than 0".to_owned())
}

/// The output of `profile --json`: the profile, with a seat its verdicts, with `--budget` what each
/// uncertainty is made of.
#[derive(Serialize, JsonSchema)]
pub(super) struct Output<'a> {
    #[serde(flatten)]
    profile: &'a Profile,
    #[serde(skip_serializing_if = "Option::is_none")]
    verdicts: Option<&'a [Judged]>,
    #[serde(flatten)]
    whole: Option<&'a Whole>,
    #[serde(skip_serializing_if = "Option::is_none")]
    budgets: Option<&'a [budget::Stated]>,
}

/// Computes and prints the profile.
///
/// # Errors
/// [`Failure::Wrong`] where the file or the seat can't be used, with the place;
/// [`Failure::Outside`] where standard input or output fails.
pub(super) fn run(args: &Args) -> Result<Answer, Failure> {
    let seat = match &args.seat {
        Some(name) => Some(find_seat(args.config.as_deref(), name)?),
        None => None,
    };
    if let (Some(Deviations::Radius(radius)), Some(ring)) =
        (args.deviations_from, args.gauged.setting.ring())
        && 2.0 * radius != ring
    {
        return Err(Failure::wrong(format!(
            "--deviations-from {radius} and --ring {ring} contradict each other: a gauge set in a ring deviates from that ring; say --deviations-from unknown with --ring, or leave --ring out"
        )));
    }
    let said = args.deviations_from.map(|said| match said {
        Deviations::Radius(radius) => Readings::DeviationFrom(radius),
        Deviations::Unknown => Readings::DeviationFromUnknown,
    });
    let gauged = args.gauged.read(&args.file, seat.as_ref(), said)?;
    if said.is_none() && gauged.stated == Readings::DeviationFromUnknown {
        eprintln!(
            "borewright: some readings are 0 or less, so all are taken as deviations from an unknown size; --deviations-from R_MM states it"
        );
    }
    let profile = gauged.profile;
    let verdicts = match &seat {
        Some(seat) => Some(verdict::judge(&profile, seat)?),
        None => None,
    };
    let whole = match &seat {
        Some(seat) => Some(Whole::of(&profile, seat)?),
        None => None,
    };
    let budgets = args.budget.then(|| {
        let setting = gauged
            .correction
            .as_ref()
            .map_or(&[][..], setting::Correction::inputs);
        budget::all(&profile, setting)
    });

    let drawn = drawn::Drawn {
        profile: &profile,
        readings: &gauged.readings,
        seat: seat.as_ref(),
        stated: gauged.stated,
    };
    drawn::write(&drawn, args.svg.as_deref(), args.png.as_deref())?;

    let text = if args.json {
        let output = Output {
            profile: &profile,
            verdicts: verdicts.as_deref(),
            whole: whole.as_ref(),
            budgets: budgets.as_deref(),
        };
        serde_json::to_string_pretty(&output).map_err(Failure::outside)? + "\n"
    } else {
        text::write(
            &profile,
            verdicts.as_deref(),
            whole.as_ref(),
            budgets.as_deref(),
        )
    };
    print(&text)?;
    let all_conform = verdicts
        .iter()
        .flatten()
        .all(|judged| judged.verdict.worst() == Decision::Conforms);
    let whole = whole.is_none_or(|whole| whole.not_gauged.is_empty());
    Ok(if args.strict && !(all_conform && whole) {
        Answer::No
    } else {
        Answer::Done
    })
}

pub(super) fn find_seat(config: Option<&Path>, name: &str) -> Result<crate::job::Seat, Failure> {
    let config = match config {
        Some(file) => Config::read(file).map_err(Failure::wrong)?,
        None => Config::default(),
    };
    let seats = config.seats().map_err(Failure::wrong)?;
    seats
        .find(name)
        .ok_or_else(|| Failure::wrong(format!("there is no seat `{name}`; {}", seats.names())))
}
