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
use super::{Answer, Failure, input, print};
use crate::bore::{self, Basis, Contact, Profile, Readings, Repeatability, profile};
use crate::config::Config;
use crate::uncertainty::Decision;
use crate::uncertainty::study::Study;

/// Arguments of `borewright profile`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// CSV with the header `bore,depth_mm,angle_deg,reading_mm` (or `reading_in`); `-` is standard
    /// input.
    file: PathBuf,
    /// How the gauge touched the bore.
    #[arg(long, value_enum, default_value_t = Contact::TwoPoint)]
    contact: Contact,
    /// Write JSON.
    #[arg(long)]
    json: bool,
    /// The readings are deviations from a bore of this radius, mm; or `unknown`.
    #[arg(long, value_name = "R_MM|unknown", value_parser = deviations)]
    deviations_from: Option<Deviations>,
    /// The gauge's digit step, mm.
    #[arg(long, value_name = "MM", value_parser = positive)]
    resolution: Option<f64>,
    /// The gauge's repeatability from a study (the JSON of `borewright study --json`), for sections
    /// too sparse to show it.
    #[arg(long, value_name = "FILE")]
    study: Option<PathBuf>,
    /// Draw every section and write the drawing to this file.
    #[arg(long, value_name = "FILE")]
    svg: Option<PathBuf>,
    /// The same as a picture.
    #[arg(long, value_name = "FILE")]
    png: Option<PathBuf>,
    /// Show what the uncertainty of every size and form number is made of.
    #[arg(long)]
    budget: bool,
    #[command(flatten)]
    setting: setting::SettingArgs,
    /// Judge by the limits of this seat.
    #[arg(long, value_name = "NAME")]
    seat: Option<String>,
    /// Exit with 1 where any verdict isn't `conforms`.
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
    let (name, text) = input(&args.file)?;
    let mut file =
        readings::parse(&name, &text, args.deviations_from.is_some()).map_err(Failure::wrong)?;
    let seat = match &args.seat {
        Some(name) => Some(find_seat(args.config.as_deref(), name)?),
        None => None,
    };
    if let (Some(Deviations::Radius(radius)), Some(ring)) =
        (args.deviations_from, args.setting.ring())
        && 2.0 * radius != ring
    {
        return Err(Failure::wrong(format!(
            "--deviations-from {radius} and --ring {ring} contradict each other: a gauge set in a ring deviates from that ring; say --deviations-from unknown with --ring, or leave --ring out"
        )));
    }
    let due = args.setting.due(seat.as_ref());
    file.check_unit(&name, args.contact, args.deviations_from.is_some(), &due)
        .map_err(Failure::wrong)?;
    let mut basis = Basis {
        readings: stated(args, file.deviations),
        resolution_mm: args.resolution,
        last_digit_mm: file.last_digit_mm,
        repeatability: match &args.study {
            Some(file) => Some(repeatability(file)?),
            None => None,
        },
        ..Basis::default()
    };
    let deviations = basis.readings != Readings::Size;
    let correction = args.setting.correction(
        args.contact,
        seat.as_ref(),
        deviations,
        file.typical_mm(),
        args.resolution,
    )?;
    if let Some(correction) = &correction {
        if deviations && !correction.has_ring() {
            return Err(Failure::wrong(
                "--temperature corrects sizes, and these are deviations; add --ring".to_owned(),
            ));
        }
        for reading in &mut file.all {
            let value = &mut reading.observation.reading_mm;
            *value = correction.apply(*value);
        }
        basis.readings = Readings::Size;
        basis.setting = Some(correction.setting());
    }
    let profile = profile(args.contact, &file.all, &basis)
        .map_err(|error: bore::Error| Failure::wrong(error))?;
    let verdicts = match &seat {
        Some(seat) => Some(verdict::judge(&profile, seat)?),
        None => None,
    };
    let whole = match &seat {
        Some(seat) => Some(Whole::of(&profile, seat)?),
        None => None,
    };
    let budgets = args.budget.then(|| {
        let setting = correction
            .as_ref()
            .map_or(&[][..], setting::Correction::inputs);
        budget::all(&profile, setting)
    });

    let drawn = drawn::Drawn {
        profile: &profile,
        readings: &file.all,
        seat: seat.as_ref(),
        stated: basis.readings,
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
    Ok(if args.strict && !all_conform {
        Answer::No
    } else {
        Answer::Done
    })
}

fn repeatability(file: &Path) -> Result<Repeatability, Failure> {
    let (name, text) = input(file)?;
    let study: Study = serde_json::from_slice(&text).map_err(|error| {
        Failure::wrong(format!(
            "{name} is no study: {error}; give what `borewright study --json` writes"
        ))
    })?;
    study
        .repeatability()
        .filter(|&(standard, degrees)| standard.is_finite() && standard >= 0.0 && degrees >= 1.0)
        .map(|(standard_mm, degrees_of_freedom)| Repeatability {
            standard_mm,
            degrees_of_freedom,
        })
        .ok_or_else(|| Failure::wrong(format!("{name} holds no repeatability")))
}

/// What the readings state, by the argument or, where that is left out, by their signs.
fn stated(args: &Args, look_like_deviations: bool) -> Readings {
    match args.deviations_from {
        Some(Deviations::Radius(radius)) => Readings::DeviationFrom(radius),
        Some(Deviations::Unknown) => Readings::DeviationFromUnknown,
        None if look_like_deviations => {
            if !args.setting.has_ring() {
                eprintln!(
                    "borewright: some readings are 0 or less, so all are taken as deviations from an unknown size; --deviations-from R_MM states it"
                );
            }
            Readings::DeviationFromUnknown
        }
        None => Readings::Size,
    }
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
