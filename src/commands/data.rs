//! What the commands that read records share: which data folder, and which jobs of it.

use std::path::PathBuf;

use clap::ValueEnum;

use super::Failure;
use crate::config::Config;
use crate::job::{Decision, Shop};
use crate::memory::{Error, Filter, Records};
use crate::units::Day;

/// Where the records are.
#[derive(Debug, clap::Args)]
pub(super) struct DataArgs {
    /// The configuration file; left out: every default.
    #[arg(long, value_name = "FILE", env = "BOREWRIGHT_CONFIG")]
    config: Option<PathBuf>,
    /// The data folder, instead of the configured one.
    #[arg(long, value_name = "DIR")]
    data: Option<PathBuf>,
}

/// Which jobs.
#[derive(Debug, clap::Args)]
pub(super) struct FilterArgs {
    /// Words that must all be in the part, the seat, a note or the id.
    #[arg(value_name = "WORDS")]
    words: Vec<String>,
    /// Only this seat.
    #[arg(long, value_name = "NAME")]
    seat: Option<String>,
    /// Only this verdict: as left where that was gauged, else as found.
    #[arg(long)]
    verdict: Option<VerdictArg>,
    /// Opened on this day or later.
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = day)]
    since: Option<Day>,
    /// Opened on this day or earlier.
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = day)]
    until: Option<Day>,
    /// Only jobs that are still open.
    #[arg(long)]
    open: bool,
}

/// A verdict as an argument.
#[derive(Debug, Clone, Copy, ValueEnum)]
enum VerdictArg {
    /// Everything asked is inside by more than the guard band.
    Conforms,
    /// A limit is passed by more than the guard band.
    DoesNotConform,
    /// Neither is proven.
    CantTell,
}

fn day(text: &str) -> Result<Day, String> {
    text.parse().map(Day).map_err(|_| {
        format!("`{text}` is no day: write it as year, month and day, such as 2026-03-31")
    })
}

impl DataArgs {
    fn config(&self) -> Result<Config, Failure> {
        match &self.config {
            Some(file) => Config::read(file).map_err(Failure::wrong),
            None => Ok(Config::default()),
        }
    }

    /// The jobs of the folder. What was passed over is said on standard error.
    pub(super) fn records(&self) -> Result<Records, Failure> {
        let folder = match &self.data {
            Some(folder) => folder.clone(),
            None => self.config()?.data_folder().map_err(Failure::wrong)?,
        };
        let records = Records::read(&folder).map_err(failure)?;
        for trouble in records.troubles() {
            tracing::warn!("{trouble}");
        }
        Ok(records)
    }

    /// What an open job's plan rests on.
    pub(super) fn shop(&self) -> Result<Shop, Failure> {
        let config = self.config()?;
        let (_, gauges) = config.gauges().map_err(Failure::wrong)?;
        Ok(Shop {
            seats: config.seats().map_err(Failure::wrong)?,
            gauges,
            workshop: config.workshop,
        })
    }
}

impl FilterArgs {
    pub(super) fn filter(&self) -> Filter {
        Filter {
            words: self.words.join(" "),
            seat: self.seat.clone(),
            verdict: self.verdict.map(|verdict| match verdict {
                VerdictArg::Conforms => Decision::Conforms,
                VerdictArg::DoesNotConform => Decision::DoesNotConform,
                VerdictArg::CantTell => Decision::CantTell,
            }),
            since: self.since,
            until: self.until,
            open: self.open,
        }
    }
}

/// Which exit code an error of the memory has.
pub(super) fn failure(error: Error) -> Failure {
    match error {
        Error::NoFolder(_) | Error::NoneFound { .. } | Error::Several { .. } => {
            Failure::wrong(error)
        }
        Error::Unlisted(..) | Error::Trouble(_) | Error::Journal(_) => Failure::outside(error),
    }
}
