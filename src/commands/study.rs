//! `borewright study`: how well a gauge repeats.

use std::fmt::Write as _;
use std::path::PathBuf;

use super::table::{Error, Table};
use super::{Answer, Failure, input, print};
use crate::uncertainty::study::{Method, SCHEMA, Study, Trial, crossed, short};

/// Arguments of `borewright study`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// CSV with a header: `operator,part,reading_mm` for a crossed study, `reading_mm` alone for
    /// repeats on one part; `-` is standard input.
    file: PathBuf,
    /// Write JSON.
    #[arg(long)]
    json: bool,
    /// Upper minus lower limit of what the gauge is to judge, mm.
    #[arg(long, value_name = "MM")]
    tolerance: Option<f64>,
    /// The known size of the one part, such as a setting ring's, mm.
    #[arg(long, value_name = "MM", allow_negative_numbers = true)]
    reference: Option<f64>,
}

/// Computes and prints the study.
///
/// # Errors
/// [`Failure::Wrong`] where the file can't be used, with the place.
pub(super) fn run(args: &Args) -> Result<Answer, Failure> {
    let (name, text) = input(&args.file)?;
    let study = match read(&name, &text).map_err(Failure::wrong)? {
        Readings::OnePart(readings) => Study {
            schema: SCHEMA.to_owned(),
            short: Some(short(&readings, args.reference, args.tolerance).map_err(Failure::wrong)?),
            crossed: None,
        },
        Readings::Crossed(trials) => Study {
            schema: SCHEMA.to_owned(),
            short: None,
            crossed: Some(crossed(&trials, args.tolerance).map_err(Failure::wrong)?),
        },
    };
    if args.json {
        print(&(serde_json::to_string_pretty(&study).map_err(Failure::outside)? + "\n"))?;
    } else {
        print(&text_of(&study))?;
    }
    Ok(Answer::Done)
}

enum Readings {
    OnePart(Vec<f64>),
    Crossed(Vec<Trial>),
}

fn read(file: &str, text: &[u8]) -> Result<Readings, Error> {
    let table = Table::read(
        file,
        text,
        "reading_mm, and operator and part for a crossed study",
    )?;
    let value = match table.find("value")? {
        Some(column) => column,
        None => table.need("reading_mm")?,
    };
    match (table.find("operator")?, table.find("part")?) {
        (None, None) => {
            let readings: Result<Vec<f64>, Error> =
                table.rows()?.map(|row| row.number(&value)).collect();
            Ok(Readings::OnePart(readings?))
        }
        (operator, Some(part)) => {
            let trials: Result<Vec<Trial>, Error> = table
                .rows()?
                .map(|row| {
                    Ok(Trial {
                        operator: match &operator {
                            Some(column) => row.text(column)?.to_owned(),
                            None => "operator".to_owned(),
                        },
                        part: row.text(&part)?.to_owned(),
                        value_mm: row.number(&value)?,
                    })
                })
                .collect();
            Ok(Readings::Crossed(trials?))
        }
        (Some(_), None) => Err(table.wrong_header("the column `part` is missing")),
    }
}

fn text_of(study: &Study) -> String {
    let mut out = String::new();
    if let Some(short) = &study.short {
        let _ = writeln!(
            out,
            "{} readings on one part: mean {:.5} mm, repeatability {:.2} µm ({} degrees of freedom)",
            short.readings,
            short.mean_mm,
            short.repeatability_mm * 1e3,
            short.degrees_of_freedom
        );
        if let (Some(bias), Some(real)) = (short.bias_mm, short.bias_is_real) {
            let _ = writeln!(
                out,
                "bias against the reference {:+.2} µm, {}",
                bias * 1e3,
                if real {
                    "more than chance: set the gauge again"
                } else {
                    "no more than chance gives"
                }
            );
        }
        for (name, value) in [("Cg", short.cg), ("Cgk", short.cgk)] {
            if let Some(value) = value {
                let _ = writeln!(
                    out,
                    "{name} {value:.2}: {} (1.33 or more is usual)",
                    if value >= 1.33 {
                        "good enough"
                    } else {
                        "not good enough"
                    }
                );
            }
        }
    }
    if let Some(crossed) = &study.crossed {
        let _ = writeln!(
            out,
            "{} parts, {} operators, {} trials; standard deviations in µm",
            crossed.parts, crossed.operators, crossed.trials
        );
        let _ = writeln!(
            out,
            "  {:<22} {:>9} {:>9} {:>9} {:>9} {:>9} {:>8} {:>10} {:>4}",
            "", "EV", "AV", "GRR", "PV", "TV", "% of TV", "% of tol.", "ndc"
        );
        if let Some(by_range) = &crossed.average_range {
            row(&mut out, "average and range", &by_range.method);
        }
        row(&mut out, "analysis of variance", &crossed.anova.method);
        let _ = writeln!(
            out,
            "  the interaction of operator and part {}",
            if crossed.anova.pooled {
                "is no more than chance gives, and is pooled with the repeatability"
            } else {
                "is real, and is part of GRR"
            }
        );
    }
    out
}

fn row(out: &mut String, name: &str, method: &Method) {
    let percent = |value: Option<f64>| value.map_or_else(|| "-".to_owned(), |v| format!("{v:.1}"));
    let _ = writeln!(
        out,
        "  {:<22} {:>9.2} {:>9.2} {:>9.2} {:>9.2} {:>9.2} {:>8} {:>10} {:>4}",
        name,
        method.ev_mm * 1e3,
        method.av_mm * 1e3,
        method.grr_mm * 1e3,
        method.pv_mm * 1e3,
        method.tv_mm * 1e3,
        percent(method.grr_percent),
        percent(method.grr_of_tolerance_percent),
        method
            .ndc
            .map_or_else(|| "-".to_owned(), |ndc| ndc.to_string()),
    );
}
