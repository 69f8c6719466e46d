//! The bench at work: one thread owns the state and the journal.
//!
//! It takes what waits in its queue, decides which events follow, appends them to the journal
//! with one sync for all, and only then publishes them and answers. A disk that is slow or full
//! holds up this thread and nothing else; nothing is shown as stored before it is on the disk.

mod amend;
mod at_work;
mod commands;
mod commit;
mod owner;
mod say;
mod ticks;
mod values;

use std::path::Path;
use std::sync::Arc;

use tokio::sync::{broadcast, mpsc, oneshot};

pub use self::at_work::Token;
use self::commit::Closed;
use self::owner::Owner;
use crate::feed::{self, Batch, Line};
use crate::gauge::Arrival;
use crate::job::{AtWork, Bench, Body, Command, Event, JobId, LearnedCut, Refusal, Shop};
use crate::journal::{self, History, Journal};

/// What waits for the bench at most; a gauge that sends faster than the disk takes waits here.
const QUEUE: usize = 4096;

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

/// A command as it was asked.
#[derive(Debug, Clone, PartialEq)]
pub struct Asked {
    /// What is asked for.
    pub command: Command,
    /// Refuse where the job on the bench has newer events than this.
    pub if_seq: Option<u64>,
    /// The token of the one at work, from whoever has it.
    pub token: Option<Token>,
}

/// By a program that shows no token.
impl From<Command> for Asked {
    fn from(command: Command) -> Self {
        Self {
            command,
            if_seq: None,
            token: None,
        }
    }
}

/// What a command that was carried out is answered with.
#[derive(Debug, Clone, PartialEq)]
pub enum Answered {
    /// The events that followed, stored.
    Stored(Vec<Line>),
    /// The bench was taken: from now on commands need the token.
    Holding {
        /// To be shown with each command.
        token: Token,
        /// What everybody is told.
        at_work: AtWork,
    },
}

/// The answer to a command, or why it was refused.
pub type Answer = Result<Answered, Refusal>;

/// Something for the bench to do.
#[derive(Debug)]
pub enum Input {
    /// From a gauge.
    Arrival(Arrival),
    /// From a person or a program.
    Command {
        /// What is asked for.
        asked: Asked,
        /// Where the answer goes.
        reply: oneshot::Sender<Answer>,
    },
    /// The whole present state, for `GET /state`.
    State(oneshot::Sender<Arc<str>>),
    /// The newest derived objects, for a resume.
    NewestDerived(oneshot::Sender<Vec<Line>>),
    /// What closed jobs taught of the reamers.
    Learned(Vec<(JobId, Vec<LearnedCut>)>),
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

    /// Carries out a command and returns what followed, stored.
    ///
    /// # Errors
    /// [`Gone`]; the inner error is the bench's [`Refusal`].
    pub async fn command(&self, asked: Asked) -> Result<Answer, Gone> {
        self.ask(|reply| Input::Command { asked, reply }).await
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
    let mut amended: Vec<Event> = Vec::new();
    let (journal, opened) = Journal::open(folder, |event| {
        closed.extend(Closed::by(&bench, event));
        if matches!(event.body, Body::JobAmended { .. }) {
            amended.push(event.clone());
        }
        bench.apply(event);
    })?;
    for warning in &opened.warnings {
        tracing::warn!("{warning}");
    }
    bench.forget_links();
    let (inputs, queue) = mpsc::channel(QUEUE);
    let (published, _) = broadcast::channel(feed::QUEUE);
    let handle = Handle {
        inputs: inputs.clone(),
        published: published.clone(),
        history: journal.history(),
    };
    let mut owner = Owner::new(bench, journal, shop, published, inputs.downgrade());
    for closed in closed
        .iter()
        .filter(|closed| opened.unsealed.contains(&closed.job.id))
    {
        owner.seal(closed);
    }
    for event in &amended {
        owner.write_revision(event);
    }
    let thread = std::thread::Builder::new()
        .name("bench".to_owned())
        .spawn(move || owner.serve(queue))
        .map_err(Error::Thread)?;
    Ok((handle, Running { inputs, thread }))
}
