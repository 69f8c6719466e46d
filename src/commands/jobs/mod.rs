//! `borewright jobs`: the jobs of a data folder, one job's story, what they teach together.

mod learned;
mod list;
mod show;

pub(super) use list::Listed;

use clap::Subcommand;

use super::data::{DataArgs, FilterArgs};
use super::terminal::print;
use super::{Answer, Failure, Outcome as _};
use crate::memory::Lessons;

/// Arguments of `borewright jobs`.
#[derive(Debug, clap::Args)]
#[command(args_conflicts_with_subcommands = true)]
pub struct Args {
    #[command(subcommand)]
    what: Option<What>,
    #[command(flatten)]
    which: FilterArgs,
    #[command(flatten)]
    data: DataArgs,
    /// Write JSON instead of a table.
    #[arg(long)]
    json: bool,
}

/// What to show instead of the list.
#[derive(Debug, Subcommand)]
enum What {
    /// One job's whole story.
    Show {
        /// Its id, the beginning or the end of the id, or words of its part.
        #[arg(value_name = "JOB", required = true)]
        job: Vec<String>,
        #[command(flatten)]
        data: DataArgs,
        /// Write the events as JSON, one a line, instead of sentences.
        #[arg(long)]
        json: bool,
    },
    /// What the jobs teach: how round seats come in, what reamers really cut, how gauges drift.
    Learned {
        #[command(flatten)]
        which: FilterArgs,
        #[command(flatten)]
        data: DataArgs,
        /// Write JSON instead of tables.
        #[arg(long)]
        json: bool,
    },
}

/// Lists, shows or teaches.
///
/// # Errors
/// [`Failure::Wrong`] where no folder, no job or several jobs answer; [`Failure::Outside`] where
/// the disk does not.
pub(super) fn run(args: &Args) -> Result<Answer, Failure> {
    let text = match &args.what {
        Some(What::Show { job, data, json }) => show::text(data, &job.join(" "), *json)?,
        Some(What::Learned { which, data, json }) => {
            let (records, filter) = (data.records()?, which.filter());
            let entries = records.entries().iter().map(|entry| &**entry);
            let lessons = Lessons::of(entries.filter(|entry| filter.takes(entry)));
            if *json {
                serde_json::to_string_pretty(&lessons).outside()? + "\n"
            } else {
                learned::text(&lessons)
            }
        }
        None => {
            let (records, filter) = (args.data.records()?, args.which.filter());
            let entries = records.entries().iter().filter(|entry| filter.takes(entry));
            list::text(entries.map(|entry| &**entry), args.json)?
        }
    };
    print(&text)?;
    Ok(Answer::Done)
}
