//! `borewright export`: readings as CSV, records as JSON, for other programs.

use std::fs::File;
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

use clap::ValueEnum;

use super::data::{DataArgs, FilterArgs, failure};
use super::{Answer, Failure, Outcome as _};
use crate::job::{self, Record};
use crate::memory::readings;

/// Arguments of `borewright export`.
///
/// The columns of the CSV, one line a reading: bore, depth_mm, angle_deg, reading_mm (the size by
/// the setting ring, or what the gauge stated where none is known), phase, job, part, seat, gauge,
/// at (UTC), value_mm (as stated), seq (its event). New columns are added at the end.
#[derive(Debug, clap::Args)]
#[command(group = clap::ArgGroup::new("form").required(true).args(["csv", "json", "ndjson"]))]
pub struct Args {
    #[command(flatten)]
    which: FilterArgs,
    /// Readings as a table; `profile` reads those of one job and phase. `-` is standard output.
    #[arg(long, value_name = "FILE")]
    csv: Option<PathBuf>,
    /// Records as one JSON array. `-` is standard output.
    #[arg(long, value_name = "FILE")]
    json: Option<PathBuf>,
    /// Records as JSON, one a line. `-` is standard output.
    #[arg(long, value_name = "FILE")]
    ndjson: Option<PathBuf>,
    /// Of the table only the readings of this phase.
    #[arg(long, requires = "csv")]
    phase: Option<PhaseArg>,
    #[command(flatten)]
    data: DataArgs,
}

/// A phase as an argument.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum PhaseArg {
    /// Before any work.
    AsFound,
    /// After the work.
    AsLeft,
}

/// Why not all of it was written.
#[derive(Debug, thiserror::Error)]
#[error("{file} can't be written: check its folder and the room on the disk")]
struct Unwritten {
    file: String,
    source: io::Error,
}

/// Writes the jobs that were asked for, newest first.
///
/// # Errors
/// [`Failure::Wrong`] for the folder; [`Failure::Outside`] where a record can't be read or the
/// output can't be written.
pub(super) fn run(args: &Args) -> Result<Answer, Failure> {
    let records = args.data.records()?;
    let (filter, shop) = (args.which.filter(), args.data.shop()?);
    let wanted = records.entries().iter().filter(|entry| filter.takes(entry));
    // One at a time: a shop's records of years need not fit into memory.
    let mut all = wanted.map(|entry| records.record(entry, &shop).map_err(failure));
    match (&args.csv, &args.json, &args.ndjson) {
        (Some(file), _, _) => write(file, |out| csv(out, &mut all, args.phase)),
        (_, Some(file), _) => write(file, |out| json(out, &mut all)),
        (_, _, Some(file)) => write(file, |out| ndjson(out, &mut all)),
        (None, None, None) => Err(Failure::wrong("say where to: --csv FILE or --json FILE")),
    }
}

type Records<'a> = &'a mut dyn Iterator<Item = Result<Record, Failure>>;

/// What stops an export.
enum Stop {
    Failure(Failure),
    Output(io::Error),
}

impl From<Failure> for Stop {
    fn from(failure: Failure) -> Self {
        Self::Failure(failure)
    }
}

impl From<io::Error> for Stop {
    fn from(error: io::Error) -> Self {
        Self::Output(error)
    }
}

impl From<serde_json::Error> for Stop {
    fn from(error: serde_json::Error) -> Self {
        Self::Output(error.into())
    }
}

impl From<csv::Error> for Stop {
    fn from(error: csv::Error) -> Self {
        // What kind of failure it was must be known to the writer of the last word.
        Self::Output(match error.into_kind() {
            csv::ErrorKind::Io(error) => error,
            other => io::Error::other(format!("{other:?}")),
        })
    }
}

fn write(
    file: &Path,
    with: impl FnOnce(&mut dyn Write) -> Result<(), Stop>,
) -> Result<Answer, Failure> {
    let to_screen = file == Path::new("-");
    let unwritten = |source| Unwritten {
        file: if to_screen {
            "standard output".to_owned()
        } else {
            file.display().to_string()
        },
        source,
    };
    let out: Box<dyn Write> = if to_screen {
        Box::new(io::stdout().lock())
    } else {
        Box::new(File::create(file).map_err(unwritten).outside()?)
    };
    let mut out = BufWriter::new(out);
    let written = with(&mut out).and_then(|()| Ok(out.flush()?));
    match written {
        Ok(()) => Ok(Answer::Done),
        Err(Stop::Failure(failure)) => Err(failure),
        // A reader that has seen enough is no failure.
        Err(Stop::Output(error)) if to_screen && error.kind() == io::ErrorKind::BrokenPipe => {
            Ok(Answer::Done)
        }
        Err(Stop::Output(error)) => Err(Failure::outside(unwritten(error))),
    }
}

fn csv(out: &mut dyn Write, records: Records<'_>, phase: Option<PhaseArg>) -> Result<(), Stop> {
    let mut table = csv::WriterBuilder::new()
        .has_headers(false)
        .from_writer(out);
    table.write_record([
        "bore",
        "depth_mm",
        "angle_deg",
        "reading_mm",
        "phase",
        "job",
        "part",
        "seat",
        "gauge",
        "at",
        "value_mm",
        "seq",
    ])?;
    let wanted = phase.map(|phase| match phase {
        PhaseArg::AsFound => job::Phase::AsFound,
        PhaseArg::AsLeft => job::Phase::AsLeft,
    });
    for record in records {
        let record = record?;
        let rows = readings(&record).filter(|row| wanted.is_none_or(|phase| row.phase == phase));
        for row in rows {
            table.serialize(row)?;
        }
    }
    table.flush()?;
    Ok(())
}

fn json(out: &mut dyn Write, records: Records<'_>) -> Result<(), Stop> {
    let mut before = "[\n";
    for record in records {
        out.write_all(before.as_bytes())?;
        serde_json::to_writer(&mut *out, &record?)?;
        before = ",\n";
    }
    let empty = before == "[\n";
    out.write_all(if empty { b"[]\n" } else { b"\n]\n" })?;
    Ok(())
}

fn ndjson(out: &mut dyn Write, records: Records<'_>) -> Result<(), Stop> {
    for record in records {
        serde_json::to_writer(&mut *out, &record?)?;
        out.write_all(b"\n")?;
    }
    Ok(())
}
