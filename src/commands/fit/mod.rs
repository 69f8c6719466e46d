//! `borewright fit`: what a measured bore does to an insert, what is at fault, what to do.

mod hang;
mod text;

use std::path::{Path, PathBuf};

use schemars::JsonSchema;
use serde::Serialize;

use super::gauged::GaugedArgs;
use super::profile::{find_seat, positive};
use super::{Answer, Failure, input, print};
use crate::bore::Bore;
use crate::fit::bearing::{BearingClass, ClearanceGroup};
use crate::fit::limits::Class;
use crate::fit::plan::{Shop, Work};
use crate::fit::{
    BearingSize, Done, Evidence, Examined, ExaminedBore, Finish, Insert, InsertAsked, Known,
    Material, Outcome, examine, outcomes,
};
use crate::job::{Friction, HousingSaid, Seat};
use crate::mistake::Mistake;
use crate::uncertainty::Decision;

/// Arguments of `borewright fit`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Readings as found: CSV with the header `bore,depth_mm,angle_deg,reading_mm` (or
    /// `reading_in`); `-` is standard input.
    file: PathBuf,
    /// The seat that the bores should be.
    #[arg(long, value_name = "NAME")]
    seat: String,
    #[command(flatten)]
    gauged: GaugedArgs,
    /// Readings of the same bores as left, to compare.
    #[arg(long, value_name = "FILE")]
    as_left: Option<PathBuf>,
    #[command(flatten)]
    insert: InsertArgs,
    /// Wall round the bores, mm.
    #[arg(long, value_name = "MM", value_parser = positive)]
    wall: Option<f64>,
    /// Yield strength of the housing by its data sheet, MPa.
    #[arg(long, value_name = "MPA", value_parser = positive)]
    yield_strength: Option<f64>,
    /// How the bores were made: takes off what pressing smooths away.
    #[arg(long, value_enum)]
    finish: Option<Finish>,
    /// The same from measured roughness: Rz of bore and insert together, µm.
    #[arg(long, value_name = "UM", value_parser = roughness)]
    roughness_sum: Option<f64>,
    /// The coldest that it runs, °C: the fit is given there too.
    #[arg(
        long,
        value_name = "C",
        allow_hyphen_values = true,
        requires = "service_to"
    )]
    service_from: Option<f64>,
    /// The hottest that it runs, °C.
    #[arg(
        long,
        value_name = "C",
        allow_hyphen_values = true,
        requires = "service_from"
    )]
    service_to: Option<f64>,
    /// The shop's reamers and compounds, TOML.
    #[arg(long, value_name = "FILE")]
    shop: Option<PathBuf>,
    #[command(flatten)]
    evidence: EvidenceArgs,
    #[command(flatten)]
    hang: hang::HangArgs,
    /// Write JSON.
    #[arg(long)]
    json: bool,
    /// Exit with 1 where a bore of the seat (as left, where given) is not shown to conform.
    #[arg(long)]
    strict: bool,
    /// The configuration that names a folder of seats.
    #[arg(long, value_name = "FILE")]
    config: Option<PathBuf>,
}

/// What is pressed in.
#[derive(Debug, clap::Args)]
struct InsertArgs {
    /// The bearing, bore x outside x width in mm, such as 30x42x7; left out: the seat's.
    #[arg(long = "insert", value_name = "dxDxB")]
    bearing: Option<BearingSize>,
    /// Its tolerance class after ISO 492.
    #[arg(long, value_enum, default_value_t = BearingClass::Normal)]
    class: BearingClass,
    /// Its internal clearance group after ISO 5753-1.
    #[arg(long, value_enum, default_value_t = ClearanceGroup::Cn, ignore_case = true)]
    clearance: ClearanceGroup,
    /// The bearing sits in a cup of this material.
    #[arg(long, value_enum, value_name = "MATERIAL")]
    cup: Option<Material>,
    /// Outside diameter of bearing or cup as measured, mm.
    #[arg(long, value_name = "MM", value_parser = positive)]
    insert_diameter: Option<f64>,
    /// Where it was not measured: the tolerance class of a cup after ISO 286, such as p6, on the
    /// bore's nominal size.
    #[arg(long, value_name = "CLASS", conflicts_with = "insert_diameter")]
    insert_class: Option<Class>,
    /// The nominal size of that class, mm, where it is not the bore's.
    #[arg(long, value_name = "MM", value_parser = positive, requires = "insert_class")]
    insert_nominal: Option<f64>,
    /// Standard uncertainty of it, mm.
    #[arg(long, value_name = "MM", value_parser = positive, default_value_t = 0.002)]
    insert_uncertainty: f64,
    /// Length held in the bore, mm; the bearing's width where absent.
    #[arg(long, value_name = "MM", value_parser = positive)]
    insert_length: Option<f64>,
}

/// What was seen and felt: `yes` or `no`.
#[derive(Debug, clap::Args)]
struct EvidenceArgs {
    /// Runs tight when fitted.
    #[arg(long, value_name = "yes|no", value_parser = yes_or_no)]
    runs_tight: Option<bool>,
    /// Free in the hand once out.
    #[arg(long, value_name = "yes|no", value_parser = yes_or_no)]
    free_once_out: Option<bool>,
    /// Feels gritty.
    #[arg(long, value_name = "yes|no", value_parser = yes_or_no)]
    gritty: Option<bool>,
    /// Binds only with the axle through both bearings.
    #[arg(long, value_name = "yes|no", value_parser = yes_or_no)]
    only_with_axle: Option<bool>,
    /// Tight towards this angle, degrees.
    #[arg(long, value_name = "DEG")]
    tight_towards: Option<f64>,
}

fn roughness(text: &str) -> Result<f64, String> {
    text.parse()
        .ok()
        .filter(|um| (0.01..=200.0).contains(um))
        .ok_or_else(|| "a sum of roughness Rz between 0.01 and 200 µm".to_owned())
}

fn yes_or_no(text: &str) -> Result<bool, String> {
    match text {
        "yes" => Ok(true),
        "no" => Ok(false),
        _ => Err("write yes or no".to_owned()),
    }
}

/// What `--json` writes.
#[derive(Serialize, JsonSchema)]
pub(super) struct Output {
    /// Always `borewright.fit/1`.
    schema: &'static str,
    /// The seat's name.
    seat: String,
    /// The hang tests; left out where there was none.
    #[serde(skip_serializing_if = "Option::is_none")]
    hang: Option<hang::Hang>,
    #[serde(flatten)]
    examined: Examined,
    /// As left against as found; left out without `--as-left`.
    #[serde(skip_serializing_if = "Option::is_none")]
    as_left: Option<Vec<Outcome>>,
}

/// Computes and prints the fit.
///
/// # Errors
/// [`Failure::Wrong`] where a file, the seat or the insert can't be used.
pub(super) fn run(args: &Args) -> Result<Answer, Failure> {
    let seat = find_seat(args.config.as_deref(), &args.seat)?;
    let bores = measured(args, &seat, &args.file)?;
    let hang = args.hang.frictions()?;
    let known = known(args, &seat, hang.as_ref())?;
    let examined = examine(&seat, args.gauged.contact, &bores, &known);
    let as_left = match &args.as_left {
        None => None,
        Some(file) => {
            let left = measured(args, &seat, file)?;
            let fitted = examine(&seat, args.gauged.contact, &left, &known);
            Some(self::as_left(&seat, [&bores, &left], &examined, &fitted))
        }
    };
    let accepted = match &as_left {
        Some(outcomes) => outcomes.iter().all(|o| o.accepted == Decision::Conforms),
        None => {
            let mut bores = examined.bores.iter();
            examined.not_gauged.is_empty() && bores.all(|bore| bore.plan.advice == Work::Press)
        }
    };
    let output = Output {
        schema: "borewright.fit/1",
        seat: seat.name,
        hang,
        examined,
        as_left,
    };
    let text = if args.json {
        serde_json::to_string_pretty(&output).map_err(Failure::outside)? + "\n"
    } else {
        text::write(
            &output.examined,
            output.hang.as_ref(),
            output.as_left.as_deref(),
        )
    };
    print(&text)?;
    Ok(if args.strict && !accepted {
        Answer::No
    } else {
        Answer::Done
    })
}

fn measured(args: &Args, seat: &Seat, file: &Path) -> Result<Vec<Bore>, Failure> {
    let bores = args.gauged.read(file, Some(seat), None)?.profile.bores;
    let held = |name: &str| seat.bores.iter().any(|bore| bore.name == name);
    if let Some(stranger) = bores.iter().find(|bore| !held(&bore.bore)) {
        let names: Vec<&str> = seat.bores.iter().map(|bore| bore.name.as_str()).collect();
        return Err(Failure::wrong(format!(
            "{}: the seat `{}` has no bore `{}`; it has {}",
            file.display(),
            seat.name,
            stranger.bore,
            names.join(", ")
        )));
    }
    Ok(bores)
}

fn known(args: &Args, seat: &Seat, hang: Option<&hang::Hang>) -> Result<Known, Failure> {
    let evidence = &args.evidence;
    let fitted = hang.and_then(|hang| hang.fitted);
    let free = hang.and_then(|hang| hang.free);
    let standard = |friction: Option<Friction>| Some(friction?.uncertainty?.standard);
    let said = HousingSaid {
        wall_mm: args.wall,
        yield_mpa: args.yield_strength,
        service_c: args.service_from.zip(args.service_to),
        ..HousingSaid::default()
    };
    said.plausible()
        .map_err(|why| Failure::wrong(why.to_owned()))?;
    let known = Known {
        insert: insert(&args.insert, seat)?,
        material: args.gauged.setting.material,
        wall_mm: said.wall_mm,
        yield_mpa: said.yield_mpa,
        finish: args.finish,
        rz_um: args.roughness_sum,
        service_c: said.service_c,
        shop: args
            .shop
            .as_deref()
            .map(shop)
            .transpose()?
            .unwrap_or_default(),
        evidence: Evidence {
            runs_tight: evidence.runs_tight,
            free_once_out: evidence.free_once_out,
            tight_towards_deg: evidence.tight_towards,
            gritty: evidence.gritty,
            only_with_axle: evidence.only_with_axle,
            hang_fitted_nm: fitted.map(|friction| friction.torque_nm),
            hang_free_nm: free.map(|friction| friction.torque_nm),
            hang_fitted_u_nm: standard(fitted),
            hang_free_u_nm: standard(free),
            hang_fitted_least: fitted.is_some_and(|friction| friction.is_least()),
            hang_free_least: free.is_some_and(|friction| friction.is_least()),
        },
    };
    let plausible = known.evidence.plausible();
    plausible.map_err(|why| Failure::wrong(why.to_owned()))?;
    Ok(known)
}

/// The insert as the arguments describe it; a seat that takes one bearing says which.
fn insert(args: &InsertArgs, seat: &Seat) -> Result<Option<Insert>, Failure> {
    let own = seat.bearing.filter(|_| args.cup.is_none());
    let asked = InsertAsked {
        bearing: args.bearing.or(own),
        class: args.class,
        clearance: args.clearance,
        cup: args.cup,
        outside_mm: args.insert_diameter,
        outside_class: args.insert_class,
        nominal_mm: args.insert_nominal,
        outside_u_mm: args.insert_diameter.map(|_| args.insert_uncertainty),
        length_mm: args.insert_length,
    };
    asked.insert(seat.nominal_mm()).map_err(Failure::wrong)
}

fn shop(file: &Path) -> Result<Shop, Failure> {
    let (name, bytes) = input(file)?;
    let text = String::from_utf8(bytes)
        .map_err(|_| Failure::wrong(format!("{name} is not UTF-8 text")))?;
    let shop: Shop = toml::from_str(&text)
        .map_err(|error| Failure::wrong(Mistake::toml(&name, &text, &error)))?;
    match shop.mistake() {
        None => Ok(shop),
        Some(what) => Err(Failure::wrong(format!("{name}: {what}"))),
    }
}

/// As left against as found, with the preview of what was advised.
fn as_left(
    seat: &Seat,
    bores: [&[Bore]; 2],
    examined: &Examined,
    fitted: &Examined,
) -> Vec<Outcome> {
    outcomes(seat, bores, |seat_bore| {
        let of = |bore: &&ExaminedBore| bore.bore == seat_bore.name;
        let plan = examined.bores.iter().find(of).map(|bore| &bore.plan);
        let advised = plan.and_then(|plan| {
            let mut options = plan.options.iter();
            options.find(|option| option.work == plan.advice && option.with == plan.with)
        });
        Done {
            preview: advised
                .and_then(|option| option.predicted.as_ref())
                .filter(|predicted| predicted.reamed.is_some()),
            fit: fitted
                .bores
                .iter()
                .find(of)
                .and_then(|bore| bore.fit.as_ref()),
            // A file does not say what was done.
            left_alone: false,
        }
    })
}
