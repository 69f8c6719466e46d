//! What can go wrong with the shop's memory, as sentences that say what to do.

use std::io;
use std::path::PathBuf;

use crate::journal;

/// Why nothing, or not that job, can be given.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// There is no such folder.
    #[error(
        "there is no data folder {}: name the one that the daemon writes to with --data DIR, or \
         its configuration with --config FILE", .0.display()
    )]
    NoFolder(PathBuf),
    /// A folder can't be listed.
    #[error("{} can't be listed: check its permissions", .0.display())]
    Unlisted(PathBuf, #[source] io::Error),
    /// No job answers to these words.
    #[error(
        "no job answers to `{words}`: give its id, the beginning or the end of the id, or words \
         of its part; `borewright jobs` lists what there is"
    )]
    NoneFound {
        /// What was asked for.
        words: String,
    },
    /// More than one job answers.
    #[error("{} jobs answer to `{words}`, say which by its id:{}", .jobs.len(), listed(.jobs))]
    Several {
        /// What was asked for.
        words: String,
        /// The id and part of each, newest first.
        jobs: Vec<(String, String)>,
    },
    /// A record that could be read before can't be now.
    #[error(transparent)]
    Trouble(#[from] Trouble),
    /// The events of a job can't be read.
    #[error(transparent)]
    Journal(#[from] journal::Error),
}

/// A file that was passed over, and why.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{}: {why}", .file.display())]
pub struct Trouble {
    /// The file or folder.
    pub file: PathBuf,
    /// Why, and what to do.
    pub why: String,
}

/// Jobs one a line, as many as help.
fn listed(jobs: &[(String, String)]) -> String {
    const ENOUGH: usize = 12;
    let mut text = String::new();
    for (id, part) in jobs.iter().take(ENOUGH) {
        text.push_str(&format!("\n  {id}  {part}"));
    }
    if let Some(more) = jobs.len().checked_sub(ENOUGH).filter(|more| *more > 0) {
        text.push_str(&format!("\n  and {more} more"));
    }
    text
}
