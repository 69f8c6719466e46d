//! The list of jobs, newest first.

use schemars::JsonSchema;
use serde::Serialize;

use crate::commands::columns::columns;
use crate::commands::{Failure, Outcome as _};
use crate::display::Language;
use crate::display::shelf;
use crate::job::{Decision, JobId, Phase};
use crate::memory::Entry;
use crate::units::Moment;

/// The output of `jobs --json`: an array of these, newest first.
#[derive(Debug, Serialize, JsonSchema)]
pub(crate) struct Listed {
    /// The job.
    job: JobId,
    /// Which revision of its record this is.
    revision: u32,
    /// The part.
    part: String,
    /// The seat's name.
    seat: String,
    /// When it was opened, UTC.
    opened_at: Moment,
    /// When it was closed, UTC; null while it is open.
    closed_at: Option<Moment>,
    /// The worst verdict as found; null where nothing was gauged.
    as_found: Option<Decision>,
    /// The worst verdict as left; null where nothing was gauged.
    as_left: Option<Decision>,
    /// What was done, each kind of work once.
    done: Vec<String>,
}

impl Listed {
    fn of(entry: &Entry) -> Self {
        Self {
            job: entry.job,
            revision: entry.revision,
            part: entry.part.clone(),
            seat: entry.seat.name.clone(),
            opened_at: entry.opened_at,
            closed_at: entry.closed_at,
            as_found: entry.verdict(Phase::AsFound),
            as_left: entry.verdict(Phase::AsLeft),
            done: shelf::done(Language::En, entry),
        }
    }
}

pub(super) fn text<'a>(
    entries: impl Iterator<Item = &'a Entry>,
    json: bool,
) -> Result<String, Failure> {
    let entries: Vec<&Entry> = entries.collect();
    if json {
        let listed: Vec<Listed> = entries.iter().map(|entry| Listed::of(entry)).collect();
        return Ok(serde_json::to_string_pretty(&listed).outside()? + "\n");
    }
    if entries.is_empty() {
        return Ok("no job answers to that\n".to_owned());
    }
    let verdict = |entry: &Entry, phase| {
        let decision = entry.verdict(phase);
        decision.map_or_else(|| "-".to_owned(), |decision| decision.to_string())
    };
    let rows: Vec<[String; 8]> = entries
        .iter()
        .map(|entry| {
            [
                entry.short_id(),
                entry.part.clone(),
                entry.seat.name.clone(),
                entry.opened_at.day_here().to_string(),
                entry
                    .closed_at
                    .map_or_else(|| "open".to_owned(), |at| at.day_here().to_string()),
                verdict(entry, Phase::AsFound),
                verdict(entry, Phase::AsLeft),
                shelf::done(Language::En, entry).join("; "),
            ]
        })
        .collect();
    let head = [
        "job", "part", "seat", "opened", "closed", "as found", "as left", "done",
    ];
    Ok(columns(head, &rows, &[]))
}
