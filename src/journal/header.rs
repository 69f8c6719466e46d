//! The first line of each file.

use serde::{Deserialize, Serialize};

use super::line;
use crate::job::JobId;

/// The format that this version writes. It reads every format up to it.
pub(super) const FORMAT: u64 = 1;

/// What a first line says at least.
#[derive(Deserialize)]
struct Format {
    journal: u64,
}

/// The first line of `journal.jsonl`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Active {
    /// The format's number.
    pub(super) journal: u64,
    /// No event after this line has a smaller number, unless it was carried over.
    pub(super) next_seq: u64,
    /// The greatest number that was moved out to a closed file: events outside any job up to here
    /// are copies that were carried over because the present state needs them.
    pub(super) closed_through: u64,
}

/// The first line of a file of events that are done with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Closed {
    /// The format's number.
    pub(super) journal: u64,
    /// The job whose events these are; null for events outside any job.
    pub(super) job: Option<JobId>,
    /// The first event's number.
    pub(super) first_seq: u64,
    /// The last event's number.
    pub(super) last_seq: u64,
    /// How many events there are.
    pub(super) count: u64,
}

/// Why a first line can't be used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Unreadable {
    /// It is no such line.
    No,
    /// It is of a later format.
    Newer(u64),
}

/// Reads a first line, given without its line feed.
pub(super) fn read<'a, T: Deserialize<'a>>(text: &'a [u8]) -> Result<T, Unreadable> {
    if !line::is_whole(text) {
        return Err(Unreadable::No);
    }
    match serde_json::from_slice::<Format>(text) {
        Ok(Format { journal }) if journal > FORMAT => Err(Unreadable::Newer(journal)),
        Ok(_) => serde_json::from_slice(text).map_err(|_| Unreadable::No),
        Err(_) => Err(Unreadable::No),
    }
}
