//! The one who writes the journal.

use std::collections::BTreeMap;
use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, Read as _, Seek as _, SeekFrom, Write as _};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use serde::Serialize;

use super::disk::{Disk, Real};
use super::error::Error;
use super::header::{self, FORMAT};
use super::history::{self, ActiveView, History};
use super::{line, replay};
use crate::feed::Line;
use crate::job::{Body, Event, JobId};

/// The journal of a data folder, open for writing. Holds the folder's lock until it is dropped.
pub struct Journal {
    pub(super) folder: PathBuf,
    pub(super) path: PathBuf,
    pub(super) disk: Box<dyn Disk>,
    /// The active journal, opened for appending.
    pub(super) file: File,
    /// How much of it is known to be on the disk.
    pub(super) length: u64,
    pub(super) next_seq: u64,
    /// See [`header::Active::closed_through`].
    pub(super) closed_through: u64,
    /// Jobs whose events are in the active journal, and whether they are closed.
    pub(super) jobs: BTreeMap<JobId, bool>,
    /// Bytes of events outside any job since the active journal was last rewritten.
    pub(super) outside_bytes: u64,
    /// A write or a sync failed and the tail isn't cut back yet.
    pub(super) torn: bool,
    /// A rename succeeded and the sync of its folder didn't yet.
    pub(super) folder_unsynced: bool,
    pub(super) history: History,
    _lock: File,
}

/// What opening the journal found.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Opened {
    /// What the people at the bench should know, as sentences.
    pub warnings: Vec<String>,
    /// How many events were replayed.
    pub events: u64,
    /// Jobs that were closed but not sealed yet when the daemon stopped: their record is to be
    /// made again and given to [`Journal::seal`].
    pub unsealed: Vec<JobId>,
}

impl Journal {
    /// Opens the journal in `folder` (made where it isn't there), gives each event that the
    /// present state depends on to `fold`, in order, and leaves it ready for [`Self::append`].
    ///
    /// # Errors
    ///
    /// [`Error::InUse`] where another daemon holds the folder; [`Error::Damaged`] and its kin
    /// where the journal isn't one that a crash leaves behind; [`Error::Io`].
    pub fn open(folder: &Path, fold: impl FnMut(&Event)) -> Result<(Self, Opened), Error> {
        Self::open_on(Box::new(Real), folder, fold)
    }

    pub(super) fn open_on(
        mut disk: Box<dyn Disk>,
        folder: &Path,
        mut fold: impl FnMut(&Event),
    ) -> Result<(Self, Opened), Error> {
        disk.make_folder(folder)
            .map_err(|source| Error::io("make", folder, source))?;
        let lock = lock(folder)?;
        let path = folder.join("journal.jsonl");
        if !path.exists() {
            let closed_through = history::greatest_closed(folder)?;
            let header = header::Active {
                journal: FORMAT,
                next_seq: closed_through + 1,
                closed_through,
            };
            begin_active(&mut *disk, folder, &path, header, &[])?;
        }

        let mut opened = Opened::default();
        let mut jobs = BTreeMap::new();
        let mut outside_bytes = 0;
        let found = replay::replay(&path, |event, length| {
            opened.events += 1;
            if follow(&mut jobs, event) == Whose::Nobodys {
                outside_bytes += length;
            }
            fold(event);
        })?;
        let closed_through = found.header.closed_through;
        let mut length = found.length;
        let mut next_seq = found
            .header
            .next_seq
            .max(found.last_seq.map_or(0, |last| last + 1));
        if found.damaged > 0 {
            // The numbers of the lines cut off may have been seen by somebody: never used again.
            next_seq += found.damaged;
            let header = header::Active {
                journal: FORMAT,
                next_seq,
                closed_through,
            };
            let kept = set_aside(&mut *disk, folder, &path, length, next_seq)?;
            let head = head_length(&path)?;
            let whole = read_range(&path, head, length)?;
            length = begin_active(&mut *disk, folder, &path, header, &whole)?;
            opened.warnings.push(warning(&path, found.damaged, &kept));
        }
        opened.unsealed = jobs
            .iter()
            .filter(|(_, closed)| **closed)
            .map(|(job, _)| *job)
            .collect();

        let file = disk
            .open_append(&path)
            .map_err(|source| Error::io("open", &path, source))?;
        let marks = if found.damaged > 0 {
            vec![]
        } else {
            found.marks
        };
        let view = ActiveView {
            path: path.as_path().into(),
            file: Arc::new(File::open(&path).map_err(|source| Error::io("open", &path, source))?),
            length,
            marks,
            closed_now: vec![],
            next_seq,
        };
        let journal = Self {
            folder: folder.to_owned(),
            history: History::new(folder, closed_through, view),
            path,
            disk,
            file,
            length,
            next_seq,
            closed_through,
            jobs,
            outside_bytes,
            torn: false,
            folder_unsynced: false,
            _lock: lock,
        };
        Ok((journal, opened))
    }

    /// Gives each event that is stored and not sealed to `fold` once more, in order: the way back
    /// for a state that ran ahead of a failed [`Self::append`].
    ///
    /// # Errors
    ///
    /// As [`Self::open`].
    pub fn refold(&self, mut fold: impl FnMut(&Event)) -> Result<(), Error> {
        replay::replay_up_to(&self.path, self.length, |event, _| fold(event)).map(|_| ())
    }

    /// The number that the next event must carry, or a greater one.
    pub const fn next_seq(&self) -> u64 {
        self.next_seq
    }

    /// All events stored, for those who resume.
    pub fn history(&self) -> History {
        self.history.clone()
    }

    /// Stores `events`, in one write and one sync, and gives the lines that may now be sent. When
    /// this returns they are on the disk.
    ///
    /// # Errors
    ///
    /// [`Error::DiskFull`] or [`Error::Io`] where the write or the sync failed: none of `events` is
    /// stored then, and the journal is as before. Each later call tries the disk anew.
    /// [`Error::Unwritable`] for an event with a number that is not finite, or out of order.
    pub fn append(&mut self, events: &[Event]) -> Result<Vec<Line>, Error> {
        let mut text = String::with_capacity(events.len() * 512);
        let mut ends = Vec::with_capacity(events.len());
        let mut next = self.next_seq;
        for event in events {
            let unwritable = |why| Error::Unwritable {
                seq: event.seq,
                why,
            };
            if event.seq < next {
                return Err(unwritable(format!("numbers below {next} are taken")));
            }
            line::write(&mut text, event).map_err(|error| unwritable(error.to_string()))?;
            next = event.seq + 1;
            ends.push(text.len());
        }
        if events.is_empty() {
            return Ok(vec![]);
        }

        self.mend()?;
        if self.is_crowded() {
            // Housekeeping: no reason to refuse what a gauge sends. Tried again some way on.
            if let Err(error) = self.move_out(None) {
                self.outside_bytes = 0;
                tracing::warn!("{}", crate::journal::error::chain(&error));
            }
            self.mend()?;
        }
        let stored = self
            .disk
            .write(&self.file, text.as_bytes())
            .map_err(|source| Error::io("write to", &self.path, source))
            .and_then(|()| {
                let synced = self.disk.sync(&self.file);
                synced.map_err(|source| Error::io("sync", &self.path, source))
            });
        if let Err(error) = stored {
            self.torn = true;
            // Tried now so that a healthy disk has no torn tail; tried again before the next write
            // where it fails, so its own error is of no interest here.
            let _ = self.mend();
            return Err(error);
        }

        let starts = std::iter::once(0).chain(ends.iter().copied());
        let text: Arc<str> = text.into();
        let mut lines = Vec::with_capacity(events.len());
        let mut view = self.history.active();
        for ((event, start), end) in events.iter().zip(starts).zip(&ends) {
            replay::mark(&mut view.marks, event.seq, self.length + start as u64);
            lines.push(Line::event(event.seq, Arc::clone(&text), start, *end));
            if follow(&mut self.jobs, event) == Whose::Nobodys {
                self.outside_bytes += (end - start) as u64;
            }
        }
        self.length += text.len() as u64;
        self.next_seq = next;
        view.length = self.length;
        view.next_seq = next;
        drop(view);
        Ok(lines)
    }

    /// Makes the file what it was after the last sync, where a failure left it otherwise.
    pub(super) fn mend(&mut self) -> Result<(), Error> {
        if self.torn {
            let failed = |source| Error::io("cut the torn end off", &self.path, source);
            let file = self.disk.open_append(&self.path).map_err(failed)?;
            self.disk.cut(&file, self.length).map_err(failed)?;
            self.disk.sync(&file).map_err(failed)?;
            self.file = file;
            self.torn = false;
        }
        if self.folder_unsynced {
            let synced = self.disk.sync_folder(&self.folder);
            synced.map_err(|source| Error::io("sync", &self.folder, source))?;
            self.folder_unsynced = false;
        }
        Ok(())
    }
}

/// Where an event belongs.
#[derive(PartialEq, Eq)]
enum Whose {
    /// To a job in the active journal.
    AJobs,
    /// To none of them.
    Nobodys,
}

/// Keeps count of the jobs in the active journal.
fn follow(jobs: &mut BTreeMap<JobId, bool>, event: &Event) -> Whose {
    let Some(job) = event.job else {
        return Whose::Nobodys;
    };
    if let Body::JobOpened { .. } = event.body {
        jobs.insert(job, false);
    }
    let Some(closed) = jobs.get_mut(&job) else {
        return Whose::Nobodys;
    };
    *closed |= matches!(event.body, Body::JobClosed {});
    Whose::AJobs
}

/// Takes the folder's lock and writes down who has it.
fn lock(folder: &Path) -> Result<File, Error> {
    let path = folder.join("lock");
    let failed = |source| Error::io("lock", &path, source);
    let open = OpenOptions::new()
        .read(true)
        .write(true)
        .create(true)
        .truncate(false)
        .open(&path);
    let mut file = open.map_err(failed)?;
    match file.try_lock() {
        Ok(()) => {
            // For people only: the lock is what counts, so a full disk is no reason to stop here.
            // Over the old one and not cut first, since some file systems sync a file that was
            // emptied and written, and a start would wait for that.
            let _ = file.write_all(format!("{:<10}\n", std::process::id()).as_bytes());
            Ok(file)
        }
        Err(TryLockError::WouldBlock) => {
            let mut text = String::new();
            let read = file
                .seek(SeekFrom::Start(0))
                .and_then(|_| file.read_to_string(&mut text));
            let process = read.ok().and_then(|_| text.trim().parse().ok());
            Err(Error::InUse {
                folder: folder.to_owned(),
                process,
            })
        }
        Err(TryLockError::Error(source)) => Err(failed(source)),
    }
}

/// Puts a new active journal in place at once and gives it, for reading. Its name is on the disk
/// once the folder is synced.
pub(super) fn put_active(disk: &mut dyn Disk, path: &Path, bytes: &[u8]) -> Result<File, Error> {
    disk.put(path, bytes)
        .map_err(|source| Error::io("write", path, source))
}

/// A first line.
pub(super) fn encode_header(path: &Path, header: &impl Serialize) -> Result<Vec<u8>, Error> {
    let mut text = String::new();
    line::write(&mut text, header).map_err(|source| Error::io("write", path, source))?;
    Ok(text.into_bytes())
}

/// A new active journal with `lines`, on the disk when this returns. Gives its length.
fn begin_active(
    disk: &mut dyn Disk,
    folder: &Path,
    path: &Path,
    header: header::Active,
    lines: &[u8],
) -> Result<u64, Error> {
    let mut bytes = encode_header(path, &header)?;
    bytes.extend_from_slice(lines);
    put_active(disk, path, &bytes)?;
    disk.sync_folder(folder)
        .map_err(|source| Error::io("sync", folder, source))?;
    Ok(bytes.len() as u64)
}

/// Keeps what stands behind byte `from` of the journal in a file of its own.
fn set_aside(
    disk: &mut dyn Disk,
    folder: &Path,
    path: &Path,
    from: u64,
    next_seq: u64,
) -> Result<PathBuf, Error> {
    let tail = read_range(path, from, u64::MAX)?;
    let aside = folder.join("set-aside");
    let kept = aside.join(format!("before-{next_seq:012}.jsonl"));
    let failed = |source| Error::io("write", &kept, source);
    disk.make_folder(&aside).map_err(failed)?;
    disk.put(&kept, &tail).map_err(failed)?;
    disk.sync_folder(&aside).map_err(failed)?;
    Ok(kept)
}

fn head_length(path: &Path) -> Result<u64, Error> {
    let bytes = read_range(path, 0, 4096)?;
    Ok(memchr::memchr(b'\n', &bytes).map_or(0, |at| at as u64 + 1))
}

fn read_range(path: &Path, from: u64, to: u64) -> Result<Vec<u8>, Error> {
    let read = || -> io::Result<Vec<u8>> {
        let mut file = fs::File::open(path)?;
        file.seek(SeekFrom::Start(from))?;
        let mut bytes = vec![];
        file.take(to - from).read_to_end(&mut bytes)?;
        Ok(bytes)
    };
    read().map_err(|source| Error::io("read", path, source))
}

fn warning(path: &Path, damaged: u64, kept: &Path) -> String {
    let lines = if damaged == 1 {
        "the last line was".to_owned()
    } else {
        format!("the last {damaged} lines were")
    };
    format!(
        "{}: {lines} not whole, as a crash or a power cut leaves it: cut off and kept in {}",
        path.display(),
        kept.display()
    )
}
