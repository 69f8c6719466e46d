//! Moving what is done with out of the active journal, so that a start reads little.
//!
//! The order of the steps makes each of them safe to be the last: files outside the active journal
//! are put in place whole and synced first, the active journal is replaced after them in one
//! rename. A crash in between leaves events in two files; they are the same lines, a reader gives
//! each number once, and the next seal puts the same files in place again.

use std::borrow::Cow;
use std::collections::{BTreeMap, HashSet};
use std::io;
use std::ops::Range;
use std::os::unix::fs::FileExt as _;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use serde::Deserialize;

use super::error::Error;
use super::header::{self, FORMAT};
use super::history::ClosedFile;
use super::writer::{Journal, encode_header, put_active};
use super::{line, replay};
use crate::job::JobId;

/// The active journal is rewritten without the events outside any job when they fill this much,
/// and at least half of it.
const OUTSIDE_BYTES: u64 = 1 << 20;

/// What sorting needs to know of an event.
#[derive(Deserialize)]
struct Glance<'a> {
    seq: u64,
    job: Option<JobId>,
    #[serde(borrow)]
    kind: Cow<'a, str>,
    #[serde(borrow, default)]
    gauge: Option<Cow<'a, str>>,
}

/// Lines of the active journal, by where they go.
#[derive(Default)]
struct Sorted {
    /// To the job's file.
    job: Vec<(u64, Range<usize>)>,
    /// To a file of events outside any job.
    outside: Vec<(u64, Range<usize>)>,
    /// These stay.
    kept: Vec<(u64, Range<usize>)>,
}

impl Journal {
    /// Seals a closed job: its events go to a file of their own, `record_json` beside it, and the
    /// active journal goes on without them. Gives the path of the record.
    ///
    /// # Errors
    ///
    /// [`Error::NotClosed`] where the active journal holds no such closed job. [`Error::DiskFull`]
    /// and [`Error::Io`] where the disk refuses: the job's events are still in the active journal
    /// then, and the next call, or the next start, does it again.
    pub fn seal(&mut self, job: JobId, record_json: &str) -> Result<PathBuf, Error> {
        if self.jobs.get(&job) != Some(&true) {
            return Err(Error::NotClosed { job });
        }
        self.mend()?;
        let record = self.record_file(job, 1);
        self.move_out(Some((job, &record, record_json)))?;
        Ok(record)
    }

    /// The newest revision of a closed job's record: its number, its file and what stands in it.
    ///
    /// # Errors
    /// [`Error::NotClosed`] where the job has no record; [`Error::Io`].
    pub fn newest_record(&self, job: JobId) -> Result<(u32, PathBuf, Vec<u8>), Error> {
        let exists = |revision: &u32| self.record_file(job, *revision).exists();
        let revision = (1..).take_while(exists).last();
        let revision = revision.ok_or(Error::NotClosed { job })?;
        let path = self.record_file(job, revision);
        let text = std::fs::read(&path).map_err(|source| Error::io("read", &path, source))?;
        Ok((revision, path, text))
    }

    /// Puts a further revision of a closed job's record beside the ones before it.
    ///
    /// # Errors
    /// [`Error::DiskFull`] and [`Error::Io`] where the disk refuses.
    pub fn put_revision(
        &mut self,
        job: JobId,
        revision: u32,
        json: &str,
    ) -> Result<PathBuf, Error> {
        let path = self.record_file(job, revision);
        let put = self.disk.put(&path, format!("{json}\n").as_bytes());
        put.map_err(|source| Error::io("write", &path, source))?;
        self.sync_folder(&self.job_folder(job))?;
        Ok(path)
    }

    /// Where a revision of a closed job's record stands.
    pub fn record_file(&self, job: JobId, revision: u32) -> PathBuf {
        let name = match revision {
            1 => "record.json".to_owned(),
            more => format!("record-{more}.json"),
        };
        self.job_folder(job).join(name)
    }

    /// The folder of a closed job.
    fn job_folder(&self, job: JobId) -> PathBuf {
        self.folder.join("jobs").join(job.to_string())
    }

    /// Whether the events outside any job should leave the active journal by themselves.
    pub(super) const fn is_crowded(&self) -> bool {
        self.outside_bytes >= OUTSIDE_BYTES && self.outside_bytes >= self.length / 2
    }

    /// Moves events outside any job, and those of the job to be sealed, out of the active journal.
    pub(super) fn move_out(&mut self, sealing: Option<(JobId, &Path, &str)>) -> Result<(), Error> {
        let text = self.active_bytes()?;
        let sorted = self.sort(&text, sealing.map(|(job, ..)| job))?;
        let mut closed = vec![];

        if let Some((job, record, json)) = sealing {
            let folder = self.job_folder(job);
            let jobs = self.folder.join("jobs");
            for folder in [&jobs, &folder] {
                let made = self.disk.make_folder(folder);
                made.map_err(|source| Error::io("make", folder, source))?;
            }
            let path = folder.join("events.jsonl");
            closed.extend(self.put_closed(path, Some(job), &text, &sorted.job)?);
            let put = self.disk.put(record, format!("{json}\n").as_bytes());
            put.map_err(|source| Error::io("write", record, source))?;
            self.sync_folder(&folder)?;
            // A crash may have come between making the job's folder and syncing its name.
            self.sync_folder(&jobs)?;
        }
        if let Some((first, _)) = sorted.outside.first() {
            let folder = self.folder.join("outside");
            let made = self.disk.make_folder(&folder);
            made.map_err(|source| Error::io("make", &folder, source))?;
            let path = folder.join(format!("{first:012}.jsonl"));
            closed.extend(self.put_closed(path, None, &text, &sorted.outside)?);
            self.sync_folder(&folder)?;
        }
        self.replace_active(&text, &sorted.kept, closed)?;
        if let Some((job, ..)) = sealing {
            self.jobs.remove(&job);
        }
        Ok(())
    }

    /// The active journal as it is on the disk.
    fn active_bytes(&self) -> Result<Vec<u8>, Error> {
        let file = Arc::clone(&self.history.active().file);
        let failed = |source| Error::io("read", &self.path, source);
        let length =
            usize::try_from(self.length).map_err(|error| failed(io::Error::other(error)))?;
        let mut text = vec![0; length];
        file.read_exact_at(&mut text, 0).map_err(failed)?;
        Ok(text)
    }

    fn sort(&self, text: &[u8], sealing: Option<JobId>) -> Result<Sorted, Error> {
        let mut sorted = Sorted::default();
        // Of each kind and gauge the newest: setting, study, and what was known of its calibration.
        let mut newest: BTreeMap<(String, String), (u64, Range<usize>)> = BTreeMap::new();
        // Settings that readings of open jobs were corrected by, calibrations they were taken under.
        let mut needed = BTreeMap::new();
        let mut start = 0;
        for (number, end) in memchr::memchr_iter(b'\n', text).enumerate() {
            let (range, line) = (start..end + 1, &text[start..end]);
            start = end + 1;
            if number == 0 {
                continue;
            }
            let damaged = || Error::Damaged {
                path: self.path.clone(),
                line: number as u64 + 1,
            };
            if !line::is_whole(line) {
                return Err(damaged());
            }
            let event: Glance<'_> = serde_json::from_slice(line).map_err(|_| damaged())?;
            let place = (event.seq, range);
            let stays = event
                .job
                .is_some_and(|job| Some(job) != sealing && self.jobs.contains_key(&job));
            match (&*event.kind, event.gauge) {
                (kind @ ("ring_set" | "gauge_studied" | "gauge_opened"), Some(gauge)) => {
                    let key = (kind.to_owned(), gauge.into_owned());
                    newest.insert(key, place.clone());
                }
                ("reading" | "angle_reading", Some(gauge)) if stays => {
                    for kind in ["ring_set", "gauge_opened"] {
                        let key = (kind.to_owned(), gauge.clone().into_owned());
                        if let Some((seq, range)) = newest.get(&key) {
                            needed.insert(*seq, range.clone());
                        }
                    }
                }
                _ => {}
            }
            match event.job {
                Some(job) if Some(job) == sealing => sorted.job.push(place),
                Some(_) if stays => sorted.kept.push(place),
                _ if event.seq > self.closed_through => sorted.outside.push(place),
                // A copy carried over earlier; it is kept only while it is the newest or needed.
                _ => {}
            }
        }
        let kept: HashSet<u64> = sorted.kept.iter().map(|(seq, _)| *seq).collect();
        needed.extend(newest.into_values());
        sorted
            .kept
            .extend(needed.into_iter().filter(|(seq, _)| !kept.contains(seq)));
        sorted.kept.sort_by_key(|(seq, _)| *seq);
        Ok(sorted)
    }

    /// Puts a file of events that are done with in place.
    fn put_closed(
        &mut self,
        path: PathBuf,
        job: Option<JobId>,
        text: &[u8],
        lines: &[(u64, Range<usize>)],
    ) -> Result<Option<Arc<ClosedFile>>, Error> {
        let (Some((first_seq, _)), Some((last_seq, _))) = (lines.first(), lines.last()) else {
            return Ok(None);
        };
        let (first_seq, last_seq) = (*first_seq, *last_seq);
        let count = lines.len() as u64;
        let header = header::Closed {
            journal: FORMAT,
            job,
            first_seq,
            last_seq,
            count,
        };
        let mut bytes = encode_header(&path, &header)?;
        for (_, range) in lines {
            bytes.extend_from_slice(&text[range.clone()]);
        }
        self.disk
            .put(&path, &bytes)
            .map_err(|source| Error::io("write", &path, source))?;
        Ok(Some(Arc::new(ClosedFile {
            path,
            first_seq,
            last_seq,
        })))
    }

    fn sync_folder(&mut self, folder: &Path) -> Result<(), Error> {
        self.disk
            .sync_folder(folder)
            .map_err(|source| Error::io("sync", folder, source))
    }

    /// Puts the active journal in place anew, with `kept` alone, and goes on with that.
    fn replace_active(
        &mut self,
        text: &[u8],
        kept: &[(u64, Range<usize>)],
        closed: Vec<Arc<ClosedFile>>,
    ) -> Result<(), Error> {
        let closed_through = closed.iter().map(|file| file.last_seq).max().unwrap_or(0);
        let closed_through = closed_through.max(self.closed_through);
        let header = header::Active {
            journal: FORMAT,
            next_seq: self.next_seq,
            closed_through,
        };
        let mut bytes = encode_header(&self.path, &header)?;
        let mut marks = vec![];
        for (seq, range) in kept {
            replay::mark(&mut marks, *seq, bytes.len() as u64);
            bytes.extend_from_slice(&text[range.clone()]);
        }
        let file = put_active(&mut *self.disk, &self.path, &bytes)?;

        // From the rename on the old file has no name: whatever fails below, nothing more may be
        // written to it, nor to the new one before that is open and its name is on the disk.
        self.length = bytes.len() as u64;
        self.closed_through = closed_through;
        self.outside_bytes = 0;
        self.torn = true;
        self.folder_unsynced = true;
        let mut view = self.history.active();
        view.file = Arc::new(file);
        view.length = self.length;
        view.marks = marks;
        view.closed_now.extend(closed);
        drop(view);
        self.mend()
    }
}
