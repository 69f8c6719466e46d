//! `borewright report`: the customer's report on a job.

use std::path::{Path, PathBuf};

use super::{Answer, Failure, print};
use crate::config::Config;
use crate::job::Shop;
use crate::memory::{Error, Records};
#[cfg(feature = "pdf")]
use crate::report::Paper;
use crate::report::{Found, Report, Source, find};

/// Arguments of `borewright report`.
///
/// Without --html and --pdf it writes both beside the record, in the job's own folder (of a job that
/// isn't closed: here, named after the job). The shop's name and logo, the language and the unit
/// come from [shop] in the configuration.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The job: its id, the beginning of it, or words of its part.
    job: String,
    /// Write HTML to this file; `-` is standard output.
    #[arg(long, value_name = "FILE")]
    html: Option<PathBuf>,
    /// Write PDF to this file; `-` is standard output.
    #[cfg(feature = "pdf")]
    #[arg(long, value_name = "FILE")]
    pdf: Option<PathBuf>,
    /// The paper of the PDF; an HTML report prints on any.
    #[cfg(feature = "pdf")]
    #[arg(long, value_enum)]
    paper: Option<Paper>,
    /// Report on a job that isn't closed too, marked so, as it stands.
    #[arg(long)]
    open_job: bool,
    /// The configuration file; left out: no shop, every default.
    #[arg(long, value_name = "FILE", env = "BOREWRIGHT_CONFIG")]
    config: Option<PathBuf>,
    /// The data folder, instead of the configured one.
    #[arg(long, value_name = "DIR")]
    data: Option<PathBuf>,
}

/// Writes the report.
///
/// # Errors
/// [`Failure::Wrong`] where no job is meant, [`Failure::Outside`] where a file can't be read or
/// written.
pub(super) fn run(args: &Args) -> Result<Answer, Failure> {
    let config = match &args.config {
        Some(file) => Config::read(file).map_err(Failure::wrong)?,
        None => Config::default(),
    };
    let folder = match &args.data {
        Some(folder) => folder.clone(),
        None => config.data_folder().map_err(Failure::wrong)?,
    };
    let style = config.report_style().map_err(Failure::wrong)?;
    let (_, gauges) = config.gauges().map_err(Failure::wrong)?;
    let shop = Shop {
        seats: config.seats().map_err(Failure::wrong)?,
        gauges,
        workshop: config.workshop,
    };
    let records = Records::read(&folder);
    let found = records.and_then(|records| find(&records, &args.job, &shop));
    let found = found.map_err(|error| match error {
        Error::NoFolder(_) | Error::NoneFound { .. } | Error::Several { .. } => {
            Failure::wrong(error)
        }
        _ => Failure::outside(error),
    })?;
    if found.record.closed_at.is_none() && !args.open_job {
        return Err(Failure::wrong(format!(
            "the job {} is not closed: close it first, or report on it as it stands with --open-job",
            found.record.job
        )));
    }
    let source = Source {
        record: &found.record,
        sha256: found.sha256.as_deref(),
    };
    let report = Report::of(&source, &style);
    let (html, pdf) = files(args, &found);
    if let Some(file) = html {
        write(&file, report.html().as_bytes())?;
    }
    #[cfg(feature = "pdf")]
    if let Some(file) = pdf {
        let paper = args.paper.unwrap_or(style.paper);
        write(&file, &report.pdf(paper).map_err(Failure::outside)?)?;
    }
    #[cfg(not(feature = "pdf"))]
    let () = pdf;
    Ok(Answer::Done)
}

/// Where HTML and PDF go.
#[cfg(feature = "pdf")]
fn files(args: &Args, found: &Found) -> (Option<PathBuf>, Option<PathBuf>) {
    if args.html.is_some() || args.pdf.is_some() {
        return (args.html.clone(), args.pdf.clone());
    }
    (Some(usual(found, "html")), Some(usual(found, "pdf")))
}

/// Where HTML goes.
#[cfg(not(feature = "pdf"))]
fn files(args: &Args, found: &Found) -> (Option<PathBuf>, ()) {
    let html = args.html.clone();
    (Some(html.unwrap_or_else(|| usual(found, "html"))), ())
}

/// Where a report goes that nobody named a file for.
fn usual(found: &Found, kind: &str) -> PathBuf {
    match &found.folder {
        Some(folder) => folder.join(format!("report.{kind}")),
        None => PathBuf::from(format!("{}.{kind}", found.record.job)),
    }
}

/// Writes `bytes` to `file` and says so.
fn write(file: &Path, bytes: &[u8]) -> Result<(), Failure> {
    use std::io::Write as _;
    if file == Path::new("-") {
        let written = std::io::stdout().write_all(bytes);
        return written.map_err(Failure::outside);
    }
    std::fs::write(file, bytes).map_err(|error| {
        Failure::outside(format!("{} can't be written: {error}", file.display()))
    })?;
    print(&format!("{}\n", file.display()))
}
