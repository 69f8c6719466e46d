//! `borewright schema`: the JSON Schemas (2020-12) of what the program writes and takes.

use clap::ValueEnum;
use schemars::{JsonSchema, schema_for};
use serde::Serialize;

use super::terminal::print;
use super::{Answer, Failure};
use crate::feed::{Live, Notice, Status};
use crate::job::{Command, Derived, Event, Record, View};
use crate::uncertainty::study::Study;

/// Arguments of `borewright schema`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Whose schema.
    of: Of,
}

/// What has a schema.
#[derive(Debug, Clone, Copy, ValueEnum)]
enum Of {
    /// One object of the feed: an event, numbers that follow from events, or news.
    Feed,
    /// The record of a closed job.
    Record,
    /// The answer to `GET /state`.
    State,
    /// The body of `POST /commands`.
    Command,
    /// The output of `profile --json`, with or without `--budget` and `--seat`.
    Profile,
    /// The output of `study --json`.
    Study,
    /// The output of `fit --json`.
    Fit,
    /// The output of `limits --json`.
    Limits,
    /// The output of `ports --json`.
    Ports,
    /// One line of the output of `listen --json`.
    Listen,
    /// The output of `jobs --json`: an array.
    Jobs,
    /// The output of `jobs learned --json`.
    Learned,
}

/// One object of the feed.
#[derive(Serialize, JsonSchema)]
#[serde(untagged)]
#[expect(dead_code, reason = "only its schema is used")]
enum Object {
    Event(Event),
    Derived(Derived),
    Status(Status),
    Live(Live),
    Notice(Notice),
}

/// Prints the schema.
///
/// # Errors
/// [`Failure::Outside`] where standard output can't be written.
pub(super) fn run(args: &Args) -> Result<Answer, Failure> {
    let schema = match args.of {
        Of::Feed => schema_for!(Object),
        Of::Record => schema_for!(Record),
        Of::State => schema_for!(View),
        Of::Command => schema_for!(Command),
        Of::Profile => schema_for!(super::profile::Output<'static>),
        Of::Study => schema_for!(Study),
        Of::Fit => schema_for!(super::fit::Output),
        Of::Limits => schema_for!(super::limits::Output),
        Of::Ports => schema_for!(super::ports::Ports),
        Of::Listen => schema_for!(super::listen::Line),
        Of::Jobs => schema_for!(Vec<super::jobs::Listed>),
        Of::Learned => schema_for!(crate::memory::Lessons),
    };
    let text = serde_json::to_string_pretty(&schema).map_err(Failure::outside)?;
    print(&(text + "\n"))?;
    Ok(Answer::Done)
}
