//! What can go wrong with the journal, as sentences that say what to do.

use std::io;
use std::path::{Path, PathBuf};

/// Why the journal can't be opened, written or read.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// Another daemon holds the folder.
    #[error(
        "the data folder {} is in use by another borewright{}: stop that one, or give this one \
         another folder with --data", .folder.display(), by_process(*.process)
    )]
    InUse {
        /// The data folder.
        folder: PathBuf,
        /// The process that holds it, where it wrote that down.
        process: Option<u32>,
    },
    /// The disk is full, or a limit on it is reached.
    #[error(
        "nothing more fits on the disk that holds {}: free some space; until then each reading is \
         refused", .path.display()
    )]
    DiskFull {
        /// The file that was written.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// Any other failure of the file system.
    #[error("can't {what} {}", .path.display())]
    Io {
        /// Such as `write`.
        what: &'static str,
        /// The file or folder.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// A damaged line with whole ones behind it: no torn tail, so something changed the file.
    #[error(
        "{}, line {line}: the line is damaged, but lines after it are whole, so this is not the \
         end that a crash leaves; restore the file from a backup, or take that line out and start \
         again (what it said is then lost)", .path.display()
    )]
    Damaged {
        /// The file.
        path: PathBuf,
        /// The first damaged line, counted from 1.
        line: u64,
    },
    /// A line of a closed file is damaged.
    #[error(
        "{}, line {line}: the line is damaged and what it said is lost; restore the file from a \
         backup", .path.display()
    )]
    DamagedLine {
        /// The file.
        path: PathBuf,
        /// Which line, counted from 1.
        line: u64,
    },
    /// A line of the history can't be given.
    #[error(
        "{} is damaged before byte {near}: an event of the history is missing; restore the file \
         from a backup", .path.display()
    )]
    DamagedHistory {
        /// The file.
        path: PathBuf,
        /// The damage is before this offset.
        near: u64,
    },
    /// A whole line that this version can't read.
    #[error(
        "{}, line {line}: the line is whole but says something that this version does not know \
         ({why}); start the version of borewright that wrote it, or a newer one", .path.display()
    )]
    NotUnderstood {
        /// The file.
        path: PathBuf,
        /// Which line, counted from 1.
        line: u64,
        /// What the reader said.
        why: String,
    },
    /// The numbers of two lines are not in order.
    #[error(
        "{}, line {line}: number {seq} stands after number {after}; restore the file from a \
         backup", .path.display()
    )]
    OutOfOrder {
        /// The file.
        path: PathBuf,
        /// Which line, counted from 1.
        line: u64,
        /// Its number.
        seq: u64,
        /// The number before it.
        after: u64,
    },
    /// The first line is not a journal's.
    #[error(
        "{} does not begin as a journal does: restore it from a backup, or move it out of the \
         folder (closed jobs and their records stay; jobs that were open are lost with it)",
        .path.display()
    )]
    NoHeader {
        /// The file.
        path: PathBuf,
    },
    /// A journal of a later format.
    #[error(
        "{} is of journal format {found}, this version reads up to {known}: start a newer \
         borewright", .path.display()
    )]
    Newer {
        /// The file.
        path: PathBuf,
        /// Its format.
        found: u64,
        /// The newest format that can be read.
        known: u64,
    },
    /// An event that can't be written as it is.
    #[error("event {seq} was not stored: {why}")]
    Unwritable {
        /// Its number.
        seq: u64,
        /// Why.
        why: String,
    },
    /// A job that can't be sealed because the journal holds no closed job of that name.
    #[error("job {job} is not a closed job of this journal, so it can't be sealed")]
    NotClosed {
        /// The job.
        job: crate::job::JobId,
    },
}

impl Error {
    /// A failed call on `path`.
    pub(super) fn io(what: &'static str, path: &Path, source: io::Error) -> Self {
        use io::ErrorKind::{FileTooLarge, QuotaExceeded, StorageFull};
        let path = path.to_owned();
        match source.kind() {
            StorageFull | QuotaExceeded | FileTooLarge => Self::DiskFull { path, source },
            _ => Self::Io { what, path, source },
        }
    }
}

fn by_process(process: Option<u32>) -> String {
    process
        .map(|process| format!(" (process {process})"))
        .unwrap_or_default()
}

/// An error and what is behind it, as one sentence.
pub(super) fn chain(error: &dyn std::error::Error) -> String {
    let mut text = error.to_string();
    let mut source = error.source();
    while let Some(error) = source {
        text.push_str(": ");
        text.push_str(&error.to_string());
        source = error.source();
    }
    text
}
