//! All jobs of a data folder, and one of them from what a person types.

use std::cmp::Reverse;
use std::collections::{BTreeMap, HashSet};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::entry::Entry;
use super::error::{Error, Trouble};
use super::filter;
use super::shelf::{Closed, Found, Shelf};
use crate::fit::plan::Shop as Workshop;
use crate::job::{Bench, Body, Event, Gauges, Job, JobId, Learned, Record, Seats, Shop};
use crate::journal;
use crate::units::Moment;

/// All jobs of a data folder as they were when it was read.
#[derive(Debug)]
pub struct Records {
    folder: PathBuf,
    entries: Vec<Arc<Entry>>,
    closed: BTreeMap<JobId, Closed>,
    /// Jobs that the active journal holds.
    held: BTreeMap<JobId, Held>,
    /// The state of the bench, for the settings of the gauges.
    bench: Bench,
    troubles: Vec<Trouble>,
}

/// A job of the active journal: open, or closed and not sealed yet.
#[derive(Debug)]
struct Held {
    job: Job,
    closed: Option<(Moment, u64)>,
}

impl Held {
    fn record(&self, bench: &Bench, shop: &Shop) -> Record {
        match self.closed {
            Some((at, seq)) => Record::of(&self.job, at, seq, bench, shop),
            None => Record::so_far(&self.job, bench, shop),
        }
    }
}

/// The record of the one job that `words` name: its id, the beginning or the end of it, or words
/// of its part. An open job gives a record of it as it stands, judged without the shop's reamers
/// and compounds; see [`Records::record`] for those.
///
/// # Errors
/// [`Error::NoneFound`], [`Error::Several`], and what keeps the folder or the record from being
/// read.
pub fn find(folder: &Path, words: &str) -> Result<Record, Error> {
    let records = Records::read(folder)?;
    let entry = records.find(words)?;
    records.record(entry, &no_shop())
}

/// A shop that owns nothing and knows the seats that ship.
fn no_shop() -> Shop {
    Shop {
        seats: Seats::built_in(),
        gauges: Gauges::new(),
        workshop: Workshop::default(),
    }
}

impl Records {
    /// Reads the data `folder`. Blocking.
    ///
    /// # Errors
    /// [`Error::NoFolder`] and [`Error::Unlisted`]; a file that can't be read is named in
    /// [`Self::troubles`] and passed over.
    pub fn read(folder: &Path) -> Result<Self, Error> {
        Self::of(&Shelf::new(folder))
    }

    pub(super) fn of(shelf: &Shelf) -> Result<Self, Error> {
        let folder = shelf.folder();
        if !folder.is_dir() {
            return Err(Error::NoFolder(folder.to_owned()));
        }
        // The journal first: a job that is sealed between the two is then found in both, never in
        // neither.
        let mut bench = Bench::default();
        let mut held = BTreeMap::new();
        let read = journal::read_active(folder, |event| follow(&mut bench, &mut held, event));
        held.extend(open_jobs(&bench));
        let Found {
            closed,
            without,
            mut troubles,
        } = shelf.closed()?;
        if let Err(error) = read {
            troubles.push(Trouble {
                file: folder.join("journal.jsonl"),
                why: format!("open jobs may be missing from this list: {error}"),
            });
        }
        let closed: BTreeMap<JobId, Closed> = closed
            .into_iter()
            .filter_map(|closed| Some((closed.revisions.first()?.0.job, closed)))
            .collect();
        held.retain(|job, _| !closed.contains_key(job));
        let ids: HashSet<String> = held.keys().map(ToString::to_string).collect();
        let lost = without.into_iter().filter(|folder| {
            let name = folder.file_name().and_then(|name| name.to_str());
            // Between the job's events and its record the daemon may just be at work.
            name.is_none_or(|name| !ids.contains(name))
        });
        troubles.extend(lost.map(|file| Trouble {
            file,
            why: "holds no record; it is passed over: restore record.json from a backup".into(),
        }));

        let mut records = Self {
            folder: folder.to_owned(),
            entries: Vec::new(),
            closed,
            held,
            bench,
            troubles,
        };
        records.list();
        Ok(records)
    }

    /// Makes the list, newest first.
    fn list(&mut self) {
        let newest = |closed: &Closed| closed.revisions.last().map(|(entry, _)| Arc::clone(entry));
        self.entries = self.closed.values().filter_map(newest).collect();
        let shop = no_shop();
        for held in self.held.values() {
            match glance(&held.record(&self.bench, &shop)) {
                Ok(entry) => self.entries.push(Arc::new(entry)),
                Err(error) => self.troubles.push(Trouble {
                    file: self.folder.join("journal.jsonl"),
                    why: format!("job {} can't be shown: {error}", held.job.id),
                }),
            }
        }
        self.entries
            .sort_by_key(|entry| Reverse((entry.opened_at, entry.job)));
    }

    /// All jobs, the one opened last first.
    pub fn entries(&self) -> &[Arc<Entry>] {
        &self.entries
    }

    /// The files that were passed over.
    pub fn troubles(&self) -> &[Trouble] {
        &self.troubles
    }

    /// The one job that `words` name: its id, the beginning or the end of it (4 characters at
    /// least), or words of its part.
    ///
    /// # Errors
    /// [`Error::NoneFound`], or [`Error::Several`], which lists them.
    pub fn find(&self, words: &str) -> Result<&Entry, Error> {
        let words = words.trim();
        if let Some(entry) = self.by_id(words) {
            return Ok(entry);
        }
        let mut named = self
            .entries
            .iter()
            .filter(|entry| !words.is_empty() && filter::names(entry, words));
        match (named.next(), named.next()) {
            (Some(one), None) => Ok(one),
            (Some(one), Some(two)) => Err(Error::Several {
                words: words.to_owned(),
                jobs: [one, two]
                    .into_iter()
                    .chain(named)
                    .map(|entry| (entry.job.to_string(), entry.part.clone()))
                    .collect(),
            }),
            (None, _) => Err(Error::NoneFound {
                words: words.to_owned(),
            }),
        }
    }

    fn by_id(&self, id: &str) -> Option<&Entry> {
        let id = JobId(id.parse().ok()?);
        let mut entries = self.entries.iter();
        entries.find(|entry| entry.job == id).map(|entry| &**entry)
    }

    /// The whole record of a job of this list, the newest revision. An open job's is made from the
    /// journal as it stands; `shop` is what its plan rests on, and a closed job doesn't need it.
    ///
    /// # Errors
    /// [`Error::Trouble`] where the file changed meanwhile and can't be read.
    pub fn record(&self, entry: &Entry, shop: &Shop) -> Result<Record, Error> {
        if let Some(held) = self.held.get(&entry.job) {
            let shop = Shop {
                workshop: self.learned().taught(&shop.workshop),
                ..shop.clone()
            };
            return Ok(held.record(&self.bench, &shop));
        }
        let file = self
            .closed
            .get(&entry.job)
            .and_then(|closed| closed.revisions.last())
            .map(|(_, file)| file.clone())
            .ok_or_else(|| Error::NoneFound {
                words: entry.job.to_string(),
            })?;
        read_record(file)
    }

    /// The file of a closed job's newest record; `None` for a job that isn't closed.
    pub fn file(&self, entry: &Entry) -> Option<&Path> {
        let (_, file) = self.closed.get(&entry.job)?.revisions.last()?;
        Some(file)
    }

    /// The older revisions of a closed job's record, the first one first.
    ///
    /// # Errors
    /// As [`Self::record`].
    pub fn older_revisions(&self, entry: &Entry) -> Result<Vec<Record>, Error> {
        let Some(closed) = self.closed.get(&entry.job) else {
            return Ok(Vec::new());
        };
        let older = closed.revisions.len().saturating_sub(1);
        closed.revisions[..older]
            .iter()
            .map(|(_, file)| read_record(file.clone()))
            .collect()
    }

    /// How many revisions of a job's record there are; 1 while it is open.
    pub fn revisions(&self, entry: &Entry) -> usize {
        let closed = self.closed.get(&entry.job);
        closed.map_or(1, |closed| closed.revisions.len())
    }

    /// The events of a job, in order, the amendments of its record among them, and what of them can't
    /// be read.
    ///
    /// # Errors
    /// [`Error::Journal`] where none can be read.
    pub fn events(&self, entry: &Entry) -> Result<(Vec<Event>, Vec<journal::Error>), Error> {
        let sealed = self
            .folder
            .join("jobs")
            .join(entry.job.to_string())
            .join("events.jsonl");
        if sealed.exists() {
            let (mut events, mut damaged) = journal::read_closed(&sealed)?;
            let amended = self.revisions(entry).saturating_sub(1);
            if amended > 0 {
                let (amendments, unread) = self.amendments(entry.job, amended);
                events.extend(amendments);
                damaged.extend(unread);
            }
            return Ok((events, damaged));
        }
        let mut events = Vec::new();
        let read = journal::read_active(&self.folder, |event| {
            if event.job == Some(entry.job) {
                events.push(event.clone());
            }
        });
        match read {
            Ok(()) => Ok((events, Vec::new())),
            Err(error) if events.is_empty() => Err(error.into()),
            Err(error) => Ok((events, vec![error])),
        }
    }

    /// The amendments of a closed job, `count` of them in order, and where some are missing what can't
    /// be read. They stand in the active journal, or in the files of what happened outside any job: the
    /// newest is read first, until all are found.
    fn amendments(&self, job: JobId, count: usize) -> (Vec<Event>, Vec<journal::Error>) {
        let is_one =
            |event: &Event| event.job == Some(job) && matches!(event.body, Body::JobAmended { .. });
        // An event may stand in two files for a while.
        let mut found = BTreeMap::new();
        let mut unread = Vec::new();
        let read = journal::read_active(&self.folder, |event| {
            if is_one(event) {
                found.insert(event.seq, event.clone());
            }
        });
        unread.extend(read.err());
        let files = std::fs::read_dir(self.folder.join("outside"));
        let files = files.into_iter().flatten().flatten();
        let mut files: Vec<PathBuf> = files.map(|file| file.path()).collect();
        files.sort();
        while found.len() < count
            && let Some(file) = files.pop()
        {
            match journal::read_closed(&file) {
                Ok((outside, damaged)) => {
                    let amendments = outside.into_iter().filter(is_one);
                    found.extend(amendments.map(|event| (event.seq, event)));
                    unread.extend(damaged);
                }
                Err(error) => unread.push(error),
            }
        }
        // Damage elsewhere in these files is none of this job's.
        if found.len() >= count {
            unread.clear();
        }
        (found.into_values().collect(), unread)
    }

    /// What closed jobs teach of the shop's reamers.
    fn learned(&self) -> Learned {
        let mut learned = Learned::default();
        for entry in &self.entries {
            learned.take(entry.job, entry.learned_cuts.clone());
        }
        learned
    }
}

/// Folds `event` in and keeps the jobs that it closes.
fn follow(bench: &mut Bench, held: &mut BTreeMap<JobId, Held>, event: &Event) {
    let closes = event
        .job
        .filter(|_| matches!(event.body, Body::JobClosed {}));
    let job = closes.and_then(|id| bench.jobs.get(&id)).cloned();
    bench.apply(event);
    if let Some(job) = job {
        let closed = Some((event.at, event.seq));
        held.insert(job.id, Held { job, closed });
    }
}

fn open_jobs(bench: &Bench) -> Vec<(JobId, Held)> {
    let held = |job: &Job| Held {
        job: job.clone(),
        closed: None,
    };
    bench.jobs.values().map(|job| (job.id, held(job))).collect()
}

/// A glance at a record that is not on the disk.
fn glance(record: &Record) -> serde_json::Result<Entry> {
    serde_json::from_value(serde_json::to_value(record)?)
}

fn read_record(file: PathBuf) -> Result<Record, Error> {
    let read = std::fs::read(&file).map_err(|error| error.to_string());
    let record =
        read.and_then(|text| serde_json::from_slice(&text).map_err(|error| error.to_string()));
    record.map_err(|why| {
        let why = format!("can't be read ({why}): restore it from a backup");
        Error::Trouble(Trouble { file, why })
    })
}
