//! The records on the disk, each parsed once.

use std::collections::HashMap;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::SystemTime;

use super::entry::Entry;
use super::error::{Error, Trouble};
use super::records::Records;
use crate::job::{JobId, LearnedCut};

/// What jobs taught of the shop's reamers.
pub type Taught = Vec<(JobId, Vec<LearnedCut>)>;

/// The records of one data folder. It remembers what it read while the files stay as they are, so
/// that a page that lists jobs doesn't read them all for each view.
#[derive(Debug)]
pub struct Shelf {
    folder: PathBuf,
    known: Mutex<HashMap<PathBuf, Known>>,
}

/// What a file said when it was read.
#[derive(Debug, Clone)]
struct Known {
    stamp: Stamp,
    said: Result<Arc<Entry>, Trouble>,
}

/// When a file was written, and how long it is: a record is replaced in one rename, never changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Stamp {
    at: Option<SystemTime>,
    bytes: u64,
}

/// The records of one closed job, the newest revision last.
#[derive(Debug, Clone, Default)]
pub(super) struct Closed {
    pub(super) revisions: Vec<(Arc<Entry>, PathBuf)>,
}

/// What is on the shelf.
#[derive(Debug, Default)]
pub(super) struct Found {
    pub(super) closed: Vec<Closed>,
    /// Folders of jobs that hold no record.
    pub(super) without: Vec<PathBuf>,
    pub(super) troubles: Vec<Trouble>,
}

impl Shelf {
    /// The shelf of the data `folder`. Nothing is read yet.
    pub fn new(folder: impl Into<PathBuf>) -> Self {
        Self {
            folder: folder.into(),
            known: Mutex::default(),
        }
    }

    /// The data folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// All jobs, as they are now. Blocking: reads files.
    ///
    /// # Errors
    /// [`Error::NoFolder`] and [`Error::Unlisted`]; a file that can't be read is no error.
    pub fn read(&self) -> Result<Records, Error> {
        Records::of(self)
    }

    /// What every closed job taught of the shop's reamers, by the newest revision of its record, and
    /// the files that were passed over. Blocking: reads files.
    ///
    /// # Errors
    /// [`Error::Unlisted`].
    pub fn learned_cuts(&self) -> Result<(Taught, Vec<Trouble>), Error> {
        let found = self.closed()?;
        let newest = found.closed.iter().filter_map(|job| job.revisions.last());
        let taught = newest
            .filter(|(entry, _)| !entry.learned_cuts.is_empty())
            .map(|(entry, _)| (entry.job, entry.learned_cuts.clone()));
        Ok((taught.collect(), found.troubles))
    }

    /// The records of all closed jobs.
    pub(super) fn closed(&self) -> Result<Found, Error> {
        let jobs = self.folder.join("jobs");
        let folders = list(&jobs).map_err(|error| Error::Unlisted(jobs, error))?;
        let mut known = self.known.lock().unwrap_or_else(PoisonError::into_inner);
        let before = std::mem::take(&mut *known);
        let threads = std::thread::available_parallelism().map_or(1, usize::from);
        let share = folders.len().div_ceil(threads.clamp(1, 8)).max(1);
        let read = std::thread::scope(|scope| {
            let at_work: Vec<_> = folders
                .chunks(share)
                .map(|folders| {
                    let before = &before;
                    scope.spawn(move || {
                        let read = folders
                            .iter()
                            .map(|folder| (folder, of_job(folder, before)));
                        read.collect::<Vec<_>>()
                    })
                })
                .collect();
            at_work
                .into_iter()
                .flat_map(|thread| thread.join().unwrap_or_default())
                .collect::<Vec<_>>()
        });
        let mut found = Found::default();
        for (folder, files) in read {
            match files {
                Ok(files) => {
                    found.take(folder, &files);
                    known.extend(files);
                }
                Err(error) => found.troubles.push(Trouble {
                    file: folder.clone(),
                    why: format!("can't be listed ({error}): check its permissions"),
                }),
            }
        }
        Ok(found)
    }
}

impl Found {
    fn take(&mut self, folder: &Path, files: &[(PathBuf, Known)]) {
        let mut closed = Closed::default();
        for (path, known) in files {
            match &known.said {
                Ok(entry) => closed.revisions.push((Arc::clone(entry), path.clone())),
                Err(trouble) => self.troubles.push(trouble.clone()),
            }
        }
        closed.revisions.sort_by_key(|(entry, _)| entry.revision);
        if files.is_empty() {
            self.without.push(folder.to_owned());
        } else if !closed.revisions.is_empty() {
            self.closed.push(closed);
        }
    }
}

/// The records in the folder of one job, those that were read before and are as they were included.
fn of_job(folder: &Path, before: &HashMap<PathBuf, Known>) -> io::Result<Vec<(PathBuf, Known)>> {
    let mut files = Vec::new();
    for entry in fs::read_dir(folder)? {
        let entry = entry?;
        let name = entry.file_name();
        let is_record = name
            .to_str()
            .is_some_and(|name| name.starts_with("record") && name.ends_with(".json"));
        if !is_record {
            continue;
        }
        let path = entry.path();
        let stamp = entry.metadata().map(|about| Stamp {
            at: about.modified().ok(),
            bytes: about.len(),
        })?;
        let known = match before.get(&path).filter(|known| known.stamp == stamp) {
            Some(known) => known.clone(),
            None => Known {
                stamp,
                said: read(&path, folder).map(Arc::new),
            },
        };
        files.push((path, known));
    }
    Ok(files)
}

/// A glance at the record at `path`.
fn read(path: &Path, folder: &Path) -> Result<Entry, Trouble> {
    let trouble = |why: String| Trouble {
        file: path.to_owned(),
        why,
    };
    let text = fs::read(path)
        .map_err(|error| trouble(format!("can't be read ({error}); it is passed over")))?;
    let entry: Entry = serde_json::from_slice(&text).map_err(|error| {
        trouble(format!(
            "is no whole record ({error}); it is passed over: restore it from a backup (the job's \
             events beside it are not touched by this)"
        ))
    })?;
    let of_this_job = |job: JobId| {
        folder
            .file_name()
            .is_some_and(|name| *name == *job.to_string())
    };
    if of_this_job(entry.job) {
        Ok(entry)
    } else {
        Err(trouble(format!(
            "is the record of job {}, not of the job whose folder it is in; it is passed over: \
             put it back where it belongs",
            entry.job
        )))
    }
}

/// The folders in `folder`; none where it isn't there.
fn list(folder: &Path) -> io::Result<Vec<PathBuf>> {
    let entries = match fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
        Err(error) => return Err(error),
    };
    let mut folders = Vec::new();
    for entry in entries {
        let entry = entry?;
        if entry.file_type()?.is_dir() {
            folders.push(entry.path());
        }
    }
    Ok(folders)
}
