//! Amending the record of a closed job.

use std::fmt::Write as _;
use std::path::PathBuf;

use sha2::{Digest as _, Sha256};

use super::owner::Owner;
use super::say::with_causes;
use crate::feed::News;
use crate::job::{Amendment, Bench, Body, Draft, Event, Job, JobId, Record, Refusal};
use crate::journal;
use crate::units::Moment;

impl Owner {
    /// The event that follows from an amendment. Whatever was asked before must be done by now: it
    /// may have been an amendment of the same record.
    pub(super) fn amend(&self, job: JobId, amendment: &Amendment) -> Result<Draft, Refusal> {
        let amendment = amendment.checked()?;
        if let Some(open) = self.bench.jobs.get(&job) {
            return Err(Refusal(format!(
                "`{}` is still open: take it up and note it there",
                open.part
            )));
        }
        let newest = self.journal.newest_record(job);
        let (revision, _, text) = newest.map_err(|error| match error {
            journal::Error::NotClosed { .. } => Refusal(format!("no closed job is called {job}")),
            error => Refusal(with_causes(&error)),
        })?;
        let record: Record = serde_json::from_slice(&text).map_err(|error| {
            Refusal(format!(
                "the record of job {job} can't be read ({error}): restore it from a backup first"
            ))
        })?;
        let phase = record.phases.last().map(|recorded| recorded.phase);
        Ok(Draft {
            at: Moment::now(),
            of: phase.map(|phase| (job, phase)),
            body: Body::JobAmended {
                revision: revision + 1,
                amends: hash(&text),
                amendment,
            },
        })
    }

    /// Writes the revision that a stored amendment asks for, where it isn't there yet.
    pub(super) fn write_revision(&mut self, event: &Event) {
        let (Some(job), Body::JobAmended { revision, .. }) = (event.job, &event.body) else {
            return;
        };
        if self.journal.record_file(job, *revision).exists() {
            return;
        }
        let (file, why) = match self.revise(job, event) {
            Ok(path) => {
                let file = path.display().to_string();
                tracing::info!("record amended: {file}");
                (Some(file), None)
            }
            // The amendment is stored; the next start writes it again.
            Err(why) => {
                tracing::error!("the record of job {job} is not amended yet: {why}");
                (None, Some(why))
            }
        };
        self.publish(vec![News::Record { job, file, why }.into()]);
    }

    fn revise(&mut self, job: JobId, event: &Event) -> Result<PathBuf, String> {
        let Body::JobAmended {
            revision,
            amends,
            amendment,
        } = &event.body
        else {
            return Err("no amendment".to_owned());
        };
        let newest = self.journal.newest_record(job);
        let (before, path, text) = newest.map_err(|error| with_causes(&error))?;
        if before + 1 != *revision || hash(&text) != *amends {
            return Err(format!(
                "{} is not the file that was amended: it was changed since",
                path.display()
            ));
        }
        let record: Record = serde_json::from_slice(&text).map_err(|error| error.to_string())?;
        let then = amendment.evidence.and_then(|_| self.as_closed(&record));
        let moment = (event.at, event.seq);
        let amended = record.amended(amendment, moment, amends.clone(), then, &self.shop);
        let json = serde_json::to_string_pretty(&amended).map_err(|error| error.to_string())?;
        self.journal
            .put_revision(job, *revision, &json)
            .map_err(|error| with_causes(&error))
    }

    /// The job as it was when it was closed, from its events.
    fn as_closed(&self, record: &Record) -> Option<Job> {
        let before = record.first_seq.checked_sub(1)?;
        let mut bench = Bench::default();
        for line in self.journal.history().since(before).ok()? {
            let event: Event = serde_json::from_str(line.ok()?.json()).ok()?;
            if event.job == Some(record.job) && matches!(event.body, Body::JobClosed {}) {
                return bench.jobs.remove(&record.job);
            }
            bench.apply(&event);
        }
        None
    }
}

/// The SHA-256 of a file's bytes, in hexadecimal.
fn hash(text: &[u8]) -> String {
    let mut hex = String::with_capacity(64);
    for byte in Sha256::digest(text) {
        let _ = write!(hex, "{byte:02x}");
    }
    hex
}
