//! The bench at work: one thread owns the state and the journal.
//!
//! It takes what waits in its queue, decides which events follow, appends them to the journal
//! with one sync for all, and only then publishes them and answers. A disk that is slow or full
//! holds up this thread and nothing else; nothing is shown as stored before it is on the disk.

mod values;

use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

use tokio::sync::{broadcast, mpsc, oneshot};
use uuid::Uuid;

use self::values::{Came, Is, Values};
use crate::feed::{self, Batch, Line, News};
use crate::gauge::{Arrival, Content};
use crate::job::{
    Bench, Body, Bounces, Command, Derived, Draft, Event, Floods, Following, Job, JobId, Record,
    Refusal, Shop, View,
};
use crate::journal::{self, History, Journal};
use crate::units::Moment;

/// What waits for the bench at most; a gauge that sends faster than the disk takes waits here.
const QUEUE: usize = 4096;
/// What is committed together at most.
const COMMIT: usize = 256;

/// Why the bench can't be opened.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// The journal can't be opened.
    #[error(transparent)]
    Journal(#[from] journal::Error),
    /// The thread can't be started.
    #[error("the bench's thread can't be started")]
    Thread(#[source] std::io::Error),
}

/// The answer to a command: the events that followed, stored, or why it was refused.
pub type Answer = Result<Vec<Line>, Refusal>;

/// Something for the bench to do.
#[derive(Debug)]
pub enum Input {
    /// From a gauge.
    Arrival(Arrival),
    /// From a person or a program.
    Command {
        /// What is asked for.
        command: Command,
        /// Refuse where the job on the bench has newer events than this.
        if_seq: Option<u64>,
        /// Where the answer goes.
        reply: oneshot::Sender<Answer>,
    },
    /// The whole present state, for `GET /state`.
    State(oneshot::Sender<Arc<str>>),
    /// The newest derived objects, for a resume.
    NewestDerived(oneshot::Sender<Vec<Line>>),
    /// Noise that was counted is due to be recorded.
    Tick,
    /// End the thread once what waits before this is done.
    Stop,
}

impl From<Arrival> for Input {
    fn from(arrival: Arrival) -> Self {
        Self::Arrival(arrival)
    }
}

/// The way to the bench for everybody else. Cheap to clone.
#[derive(Debug, Clone)]
pub struct Handle {
    inputs: mpsc::Sender<Input>,
    published: broadcast::Sender<Batch>,
    history: History,
}

/// The bench is gone: the daemon is ending.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("the daemon is ending")]
pub struct Gone;

impl Handle {
    /// Where gauges send what arrives.
    pub fn inputs(&self) -> mpsc::Sender<Input> {
        self.inputs.clone()
    }

    /// Everything published from now on.
    pub fn subscribe(&self) -> broadcast::Receiver<Batch> {
        self.published.subscribe()
    }

    /// Everything that the journal holds.
    pub fn history(&self) -> History {
        self.history.clone()
    }

    /// The newest `section`, `bore` and `job` objects of the job on the bench.
    ///
    /// # Errors
    /// [`Gone`].
    pub async fn newest_derived(&self) -> Result<Vec<Line>, Gone> {
        self.ask(Input::NewestDerived).await
    }

    /// The whole present state as one JSON object.
    ///
    /// # Errors
    /// [`Gone`].
    pub async fn state(&self) -> Result<Arc<str>, Gone> {
        self.ask(Input::State).await
    }

    /// Carries out `command` and returns the events that followed, stored.
    ///
    /// # Errors
    /// [`Gone`]; the inner error is the bench's [`Refusal`].
    pub async fn command(&self, command: Command, if_seq: Option<u64>) -> Result<Answer, Gone> {
        self.ask(|reply| Input::Command {
            command,
            if_seq,
            reply,
        })
        .await
    }

    async fn ask<T>(&self, input: impl FnOnce(oneshot::Sender<T>) -> Input) -> Result<T, Gone> {
        let (reply, answer) = oneshot::channel();
        self.inputs.send(input(reply)).await.map_err(|_| Gone)?;
        answer.await.map_err(|_| Gone)
    }
}

/// The running thread.
#[derive(Debug)]
pub struct Running {
    inputs: mpsc::Sender<Input>,
    thread: std::thread::JoinHandle<()>,
}

impl Running {
    /// Ends the thread when all that waits is done, and waits for it.
    pub async fn stop(self) {
        // A send that fails means that it has ended already.
        let _ = self.inputs.send(Input::Stop).await;
        let _ = tokio::task::spawn_blocking(|| self.thread.join()).await;
    }
}

/// Opens the journal in `folder`, replays it, and starts the thread.
///
/// # Errors
/// [`Error::Journal`] where the folder is in use or damaged; [`Error::Thread`].
pub fn open(folder: &Path, shop: Shop) -> Result<(Handle, Running), Error> {
    let mut bench = Bench::default();
    let mut closed: Vec<Closed> = Vec::new();
    let (journal, opened) = Journal::open(folder, |event| {
        closed.extend(Closed::by(&bench, event));
        bench.apply(event);
    })?;
    for warning in &opened.warnings {
        tracing::warn!("{warning}");
    }
    bench.forget_links();
    let following = Following::of(&bench, &shop);
    let (inputs, queue) = mpsc::channel(QUEUE);
    let (published, _) = broadcast::channel(feed::QUEUE);
    let handle = Handle {
        inputs: inputs.clone(),
        published: published.clone(),
        history: journal.history(),
    };
    let mut owner = Owner {
        bench,
        journal,
        shop,
        following,
        bounces: Bounces::default(),
        values: Values::default(),
        floods: Floods::default(),
        published,
        ticks: Ticks {
            inputs: inputs.downgrade(),
            due: false,
        },
        disk_failed: false,
    };
    for closed in closed
        .iter()
        .filter(|closed| opened.unsealed.contains(&closed.job.id))
    {
        owner.seal(closed);
    }
    let thread = std::thread::Builder::new()
        .name("bench".to_owned())
        .spawn(move || owner.serve(queue))
        .map_err(Error::Thread)?;
    Ok((handle, Running { inputs, thread }))
}

/// A job that an event closes, as it was before.
struct Closed {
    job: Job,
    at: Moment,
    seq: u64,
}

impl Closed {
    fn by(bench: &Bench, event: &Event) -> Option<Self> {
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

/// Asks for a [`Input::Tick`] a second later, once at a time.
struct Ticks {
    inputs: mpsc::WeakSender<Input>,
    due: bool,
}

impl Ticks {
    fn ask(&mut self) {
        if self.due {
            return;
        }
        let Some(inputs) = self.inputs.upgrade() else {
            return;
        };
        // A thread and not a timer of the runtime, since the bench can be used without one; it
        // lives for a second, and only while noise floods in.
        let tick = move || {
            std::thread::sleep(Duration::from_secs(1));
            let _ = inputs.blocking_send(Input::Tick);
        };
        self.due = std::thread::Builder::new()
            .name("tick".to_owned())
            .spawn(tick)
            .is_ok();
    }
}

/// The one owner of state and journal.
struct Owner {
    bench: Bench,
    journal: Journal,
    shop: Shop,
    following: Following,
    bounces: Bounces,
    values: Values,
    floods: Floods,
    published: broadcast::Sender<Batch>,
    ticks: Ticks,
    disk_failed: bool,
}

/// What one commit gathers before it is on the disk.
#[derive(Default)]
struct Gathered {
    events: Vec<Event>,
    /// Who is to be answered with which event.
    replies: Vec<(usize, oneshot::Sender<Answer>)>,
    /// Jobs that this commit closes, as they were before.
    closed: Vec<Closed>,
}

impl Owner {
    fn serve(mut self, mut queue: mpsc::Receiver<Input>) {
        let mut waiting = Vec::with_capacity(COMMIT);
        let mut stop = false;
        while !stop && queue.blocking_recv_many(&mut waiting, COMMIT) > 0 {
            let mut gathered = Gathered::default();
            for input in waiting.drain(..) {
                match input {
                    Input::Arrival(arrival) => self.take_arrival(arrival, &mut gathered),
                    Input::Command {
                        command,
                        if_seq,
                        reply,
                    } => {
                        self.take_command(&command, if_seq, reply, &mut gathered);
                    }
                    Input::Tick => self.ticks.due = false,
                    Input::Stop => stop = true,
                    // What is shown must be stored, so what was gathered so far goes first.
                    Input::State(reply) => {
                        self.commit(std::mem::take(&mut gathered));
                        let _ = reply.send(self.view());
                    }
                    Input::NewestDerived(reply) => {
                        self.commit(std::mem::take(&mut gathered));
                        let _ = reply.send(lines(&self.following.newest(&self.bench)));
                    }
                }
            }
            if !self.ticks.due || stop {
                self.take_counts(&mut gathered);
            }
            self.commit(gathered);
            if self.floods.has_counts() {
                self.ticks.ask();
            }
        }
    }

    fn view(&self) -> Arc<str> {
        let view = View::of(&self.bench, &self.shop, &self.following);
        serde_json::to_string(&view).map_or_else(
            |error| {
                tracing::error!("the state can't be written as JSON: {error}");
                Arc::from("{}")
            },
            Arc::from,
        )
    }

    /// Gives `draft` its number and folds it in, to be stored by the next commit.
    fn gather(&mut self, draft: Draft, gathered: &mut Gathered) {
        // The journal's own count is behind while events wait for their commit.
        let seq = self.journal.next_seq().max(self.bench.last_seq + 1);
        let event = draft.numbered(seq);
        gathered.closed.extend(Closed::by(&self.bench, &event));
        self.bench.apply(&event);
        gathered.events.push(event);
    }

    fn take_arrival(&mut self, arrival: Arrival, gathered: &mut Gathered) {
        let Arrival {
            gauge,
            at,
            since_start,
            content,
        } = arrival;
        let of = self.bench.header();
        let outside = |body| Draft { at, of, body };
        let name = gauge.to_string();
        let draft = match content {
            Content::Reading { raw, value } => {
                let value = Came {
                    at,
                    since_start,
                    frame: (raw, value),
                };
                let Some(draft) = self.take_value(&gauge, value) else {
                    return;
                };
                draft
            }
            Content::Noise { raw, why } => {
                if !self.floods.keep(&gauge, since_start) {
                    return;
                }
                outside(Body::Noise {
                    gauge: name,
                    raw: raw.text(),
                    raw_hex: raw.hex(),
                    why,
                })
            }
            Content::Opened { port } => {
                self.values.forget(&gauge);
                outside(Body::GaugeOpened { gauge: name, port })
            }
            Content::Lost { port, why } => {
                self.values.forget(&gauge);
                outside(Body::GaugeLost {
                    gauge: name,
                    port,
                    why,
                })
            }
        };
        self.gather(draft, gathered);
    }

    /// What follows from a value; `None` where it is no reading, and then it is shown only.
    fn take_value(&mut self, gauge: &Arc<str>, value: Came) -> Option<Draft> {
        let (at, since_start) = (value.at, value.since_start);
        let traits = self.shop.gauges.get(gauge);
        let is = match traits {
            Some(traits) => self.values.judge(gauge, traits, value),
            None => Is::Reading(value.frame),
        };
        let (raw, value) = match is {
            Is::Reading(frame) => frame,
            Is::Shown(line) => {
                self.publish(vec![line]);
                return None;
            }
            Is::Passed => return None,
        };
        let bounce = traits
            .and_then(|traits| traits.bounce)
            .and_then(|window| self.bounces.judge(gauge, &raw.0, since_start, window));
        Some(match bounce {
            Some(after) => self.bench.bounced(gauge, at, &raw, after),
            None => self.bench.reading(&self.shop, gauge, at, &raw, value),
        })
    }

    fn take_counts(&mut self, gathered: &mut Gathered) {
        for (gauge, count) in self.floods.take_counts() {
            let body = Body::NoiseCounted {
                gauge: gauge.to_string(),
                count,
            };
            let draft = Draft {
                at: Moment::now(),
                of: self.bench.header(),
                body,
            };
            self.gather(draft, gathered);
        }
    }

    fn take_command(
        &mut self,
        command: &Command,
        if_seq: Option<u64>,
        reply: oneshot::Sender<Answer>,
        gathered: &mut Gathered,
    ) {
        let moved_on = if_seq
            .zip(self.bench.job())
            .filter(|(seq, job)| job.events.last > *seq);
        let decided = match moved_on {
            Some((seq, job)) => Err(Refusal(format!(
                "the job has moved on: its newest event is {}, this was asked at {seq}; look \
                 again, then ask again",
                job.events.last
            ))),
            None => self.decide(command),
        };
        match decided {
            Ok(draft) => {
                gathered.replies.push((gathered.events.len(), reply));
                self.gather(draft, gathered);
            }
            Err(refusal) => {
                let _ = reply.send(Err(refusal));
            }
        }
    }

    fn decide(&mut self, command: &Command) -> Result<Draft, Refusal> {
        let now = Moment::now();
        if let Command::Take { gauge } = command
            && let Some((raw, value)) = self.values.take(gauge)?
        {
            return Ok(self.bench.reading(&self.shop, gauge, now, &raw, value));
        }
        let fresh = JobId(Uuid::now_v7());
        self.bench.command(&self.shop, command, now, fresh)
    }

    /// Stores what was gathered, then shows it, then answers.
    fn commit(&mut self, gathered: Gathered) {
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
        if std::mem::take(&mut self.disk_failed) {
            batch.push(
                News::Disk {
                    well: true,
                    why: None,
                }
                .into(),
            );
        }
        batch.extend(lines(&self.following.changed(
            &self.bench,
            &self.shop,
            &gathered.events,
        )));
        batch.extend(gathered.events.iter().filter_map(link_news));
        self.publish(batch);
        for (index, reply) in gathered.replies {
            let _ = reply.send(Ok(stored.get(index).cloned().into_iter().collect()));
        }
        for closed in &gathered.closed {
            self.seal(closed);
        }
    }

    /// Says aloud that nothing of this was stored, and goes back to what is.
    fn not_stored(&mut self, gathered: Gathered, error: &journal::Error) {
        let why = with_causes(error);
        tracing::error!("not stored: {why}");
        self.disk_failed = true;
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
        let mut stored = Bench::default();
        match self.journal.refold(|event| stored.apply(event)) {
            Ok(()) => self.bench = stored,
            Err(error) => tracing::error!("can't read back what is stored: {error}"),
        }
        self.bench.links = links;
        self.following = Following::of(&self.bench, &self.shop);
        self.publish(batch);
        for (_, reply) in gathered.replies {
            let _ = reply.send(Err(Refusal(why.clone())));
        }
    }

    /// Writes the record of a closed job beside its events, and announces it.
    fn seal(&mut self, closed: &Closed) {
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
    }

    fn publish(&self, batch: Vec<Line>) {
        // Without any consumer nobody is to be told.
        let _ = self.published.send(Batch::new(batch));
    }
}

/// A gauge that came or went, as news of the moment: it is true even where it can't be stored.
fn link_news(event: &Event) -> Option<Line> {
    let (gauge, port, why) = match &event.body {
        Body::GaugeOpened { gauge, port } => (gauge, port, None),
        Body::GaugeLost { gauge, port, why } => (gauge, port, Some(why.clone())),
        _ => return None,
    };
    let (gauge, port) = (gauge.clone(), port.clone());
    Some(
        News::Gauge {
            gauge,
            port,
            connected: why.is_none(),
            why,
        }
        .into(),
    )
}

/// Derived objects as lines of the feed.
fn lines(derived: &[Derived]) -> Vec<Line> {
    let line = |object: &Derived| match serde_json::to_string(object) {
        Ok(json) => Some(Line::derived(object.seq, &json)),
        Err(error) => {
            tracing::error!("numbers can't be written as JSON: {error}");
            None
        }
    };
    derived.iter().filter_map(line).collect()
}

/// An error and its causes as one sentence.
fn with_causes(error: &dyn std::error::Error) -> String {
    let mut text = error.to_string();
    let mut cause = error.source();
    while let Some(error) = cause {
        text.push_str(": ");
        text.push_str(&error.to_string());
        cause = error.source();
    }
    text
}
