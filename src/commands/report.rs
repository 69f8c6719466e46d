//! `borewright report`: the customer's report on a job.

use std::path::{Path, PathBuf};

use super::{Answer, Failure, print};
use crate::config::Config;
use crate::report::{FindError, Report, Source, find};

/// Arguments of `borewright report`.
///
/// Without --html and --pdf the report is written beside the record, in the job's folder, as
/// report.html and report.pdf. Shop, language and units come from [shop] in the configuration.
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub struct Args {
    /// The job: its id, the beginning of it, or text of the part.
    job: String,
    /// The configuration file; left out: no shop, every default.
    #[arg(long, value_name = "FILE", env = "BOREWRIGHT_CONFIG")]
    config: Option<PathBuf>,
    /// The data folder, instead of the configured one.
    #[arg(long, value_name = "DIR")]
    data: Option<PathBuf>,
    /// Write HTML to this file; `-` is standard output.
    #[arg(long, value_name = "FILE")]
    html: Option<PathBuf>,
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
    let found = find(&folder, &args.job).map_err(|error| match error {
        FindError::None { .. } | FindError::Several { .. } => Failure::wrong(error),
        _ => Failure::outside(error),
    })?;
    let source = Source {
        record: &found.record,
        sha256: found.sha256.as_deref(),
    };
    let report = Report::of(&source, &style);
    let mut said = String::new();
    let beside = args.html.is_none();
    if let Some(file) = args
        .html
        .clone()
        .or_else(|| beside.then(|| found.folder.join("report.html")))
    {
        write(&file, report.html().as_bytes(), &mut said)?;
    }
    print(&said)?;
    Ok(Answer::Done)
}

/// Writes `bytes` to `file` and notes its name.
fn write(file: &Path, bytes: &[u8], said: &mut String) -> Result<(), Failure> {
    use std::io::Write as _;
    if file == Path::new("-") {
        return std::io::stdout().write_all(bytes).map_err(Failure::outside);
    }
    std::fs::write(file, bytes).map_err(|error| {
        Failure::outside(format!("{} can't be written: {error}", file.display()))
    })?;
    said.push_str(&format!("{}\n", file.display()));
    Ok(())
}
