//! Storing what was gathered, showing it, answering; and going back where the disk refuses.

use tokio::sync::oneshot;

use super::owner::Owner;
use super::say::{lines, link_news, with_causes};
use super::{Answer, Answered};
use crate::feed::{Batch, Line, News};
use crate::job::{Bench, Body, Event, Following, Job, Record, Refusal};
use crate::journal;
use crate::units::Moment;

/// A job that an event closes, as it was before.
pub(super) struct Closed {
    pub(super) job: Job,
    at: Moment,
    seq: u64,
}

impl Closed {
    pub(super) fn by(bench: &Bench, event: &Event) -> Option<Self> {
        let closes = matches!(event.body, Body::JobClosed {});
        let job = event
            .job
            .filter(|_| closes)
            .and_then(|id| bench.jobs.get(&id))?
            .clone();
        Some(Self {
            job,
            at: event.at,
            seq: event.seq,
        })
    }
}

/// What one commit gathers before it is on the disk.
#[derive(Default)]
pub(super) struct Gathered {
    pub(super) events: Vec<Event>,
    /// Who is to be answered with which event.
    pub(super) replies: Vec<(usize, oneshot::Sender<Answer>)>,
    /// Jobs that this commit closes, as they were before.
    pub(super) closed: Vec<Closed>,
}

impl Owner {
    /// Stores what was gathered, then shows it, then answers.
    pub(super) fn commit(&mut self, gathered: Gathered) {
        if gathered.events.is_empty() {
            return;
        }
        match self.journal.append(&gathered.events) {
            Ok(lines) => self.stored(gathered, lines),
            Err(error) => self.not_stored(gathered, &error),
        }
    }

    fn stored(&mut self, gathered: Gathered, stored: Vec<Line>) {
        let mut batch = stored.clone();
        if self.disk.take().is_some() {
            batch.push(
                News::Disk {
                    well: true,
                    why: None,
                }
                .into(),
            );
        }
        batch.extend(gathered.events.iter().filter_map(link_news));
        let amended: Vec<Event> = gathered
            .events
            .iter()
            .filter(|event| matches!(event.body, Body::JobAmended { .. }))
            .cloned()
            .collect();
        if self.following.concerns(&self.bench, &gathered.events) {
            self.unshown.extend(gathered.events);
        }
        self.send(if self.unshown.is_empty() {
            Batch::new(batch)
        } else {
            Batch::with_more_to_come(batch)
        });
        for (index, reply) in gathered.replies {
            let _ = reply.send(Ok(Answered::Stored(
                stored.get(index).cloned().into_iter().collect(),
            )));
        }
        for closed in &gathered.closed {
            self.seal(closed);
        }
        for event in &amended {
            self.write_revision(event);
        }
    }

    /// Computes and shows the objects that follow from what was stored since the last time.
    pub(super) fn show_numbers(&mut self) {
        let events = std::mem::take(&mut self.unshown);
        if events.is_empty() {
            return;
        }
        let derived = self.following.changed(&self.bench, &self.shop, &events);
        self.publish(lines(&derived));
    }

    /// Says aloud that nothing of this was stored, and goes back to what is.
    fn not_stored(&mut self, gathered: Gathered, error: &journal::Error) {
        let why = with_causes(error);
        tracing::error!("not stored: {why}");
        self.disk = Some(why.clone());
        let mut batch = vec![
            News::Disk {
                well: false,
                why: Some(why.clone()),
            }
            .into(),
        ];
        for event in &gathered.events {
            match &event.body {
                Body::Reading { gauge, raw, .. } | Body::ReadingRefused { gauge, raw, .. } => {
                    let (gauge, raw, why) = (gauge.clone(), raw.clone(), why.clone());
                    batch.push(News::Unstored { gauge, raw, why }.into());
                }
                _ => batch.extend(link_news(event)),
            }
        }
        // A link that came or went did so, stored or not.
        let links = std::mem::take(&mut self.bench.links);
        self.bench = Bench::default();
        self.bench.links = links;
        self.read_back();
        self.publish(batch);
        // What was stored before has its numbers now, among those of the whole.
        let unshown = std::mem::take(&mut self.unshown);
        if !unshown.is_empty() && self.unread.is_none() {
            self.publish(lines(&self.following.newest(&self.bench)));
        }
        for (_, reply) in gathered.replies {
            let _ = reply.send(Err(Refusal(why.clone())));
        }
    }

    /// Makes the state what is stored. Where that can't be read it is empty: it never holds what is
    /// not stored, and nothing is taken until it can be read.
    pub(super) fn read_back(&mut self) {
        let mut stored = Bench::default();
        match self.journal.refold(|event| stored.apply(event)) {
            Ok(()) => {
                stored.links = std::mem::take(&mut self.bench.links);
                self.bench = stored;
                self.unread = None;
            }
            Err(error) => {
                let why = format!(
                    "nothing is taken, since what is stored can't be read back: {}",
                    with_causes(&error)
                );
                tracing::error!("{why}");
                self.disk = Some(why.clone());
                self.unread = Some(why);
            }
        }
        self.following = Following::of(&self.bench, &self.shop);
    }

    /// Writes the record of a closed job beside its events, and announces it.
    pub(super) fn seal(&mut self, closed: &Closed) {
        let record = Record::of(&closed.job, closed.at, closed.seq, &self.bench, &self.shop);
        let sealed = serde_json::to_string_pretty(&record)
            .map_err(|error| error.to_string())
            .and_then(|json| {
                self.journal
                    .seal(closed.job.id, &json)
                    .map_err(|error| with_causes(&error))
            });
        let job = closed.job.id;
        let news = match sealed {
            Ok(path) => {
                let file = path.display().to_string();
                tracing::info!("record written: {file}");
                News::Record {
                    job,
                    file: Some(file),
                    why: None,
                }
            }
            // The job is closed and its events are stored; the next start seals it again.
            Err(why) => {
                tracing::error!(
                    "the record of `{}` is not written yet: {why}",
                    closed.job.part
                );
                News::Record {
                    job,
                    file: None,
                    why: Some(why),
                }
            }
        };
        self.publish(vec![news.into()]);
        if !record.learned_cuts.is_empty() {
            self.learn(vec![(job, record.learned_cuts)]);
        }
    }

    pub(super) fn publish(&self, lines: Vec<Line>) {
        self.send(Batch::new(lines));
    }

    fn send(&self, batch: Batch) {
        // Without any consumer nobody is to be told.
        let _ = self.published.send(batch);
    }
}
