//! What one consumer is to be sent: what it missed, then what comes.

use tokio::sync::broadcast::{Receiver, error::RecvError};
use tokio::task::spawn_blocking;

use super::objects::{Notice, NoticeKind};
use super::{Batch, Class, Line, QUEUE, Source};
use crate::bench::Gone;
use crate::journal::{self, Lines};

/// Lines read from the history at a time.
const STRETCH: usize = 256;
/// A replay of more than this starts over from where it got before the live events are joined, so
/// that the queue doesn't fill meanwhile.
const LONG: usize = 4 * STRETCH;

/// Why a follower has no more for its consumer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum End {
    /// The consumer did not keep up and its queue is gone.
    Overflow,
    /// The daemon is ending.
    Gone,
}

impl From<Gone> for End {
    fn from(Gone: Gone) -> Self {
        Self::Gone
    }
}

/// One consumer's place in the feed. Gives every event after that place once, in order.
pub(super) struct Follower<S> {
    source: S,
    receiver: Receiver<Batch>,
    stage: Stage,
    seen: Seen,
    /// The last event given to the consumer, or the one after which it began.
    given: u64,
}

enum Stage {
    /// Events that it missed; how many were given since the last start over.
    Behind(Option<Box<Lines>>, usize),
    /// The rest of what it missed, with the live events waiting; then the derived objects.
    Joining {
        lines: Option<Box<Lines>>,
        held: Vec<Line>,
        derived: Vec<Line>,
    },
    Live,
}

/// What a consumer was sent already.
#[derive(Debug, Clone, Copy, Default)]
struct Seen {
    /// The last event.
    event: Option<u64>,
    /// The newest event that a derived object included.
    derived: u64,
}

impl Seen {
    /// Whether `line` is news, and from now on it is not.
    fn take(&mut self, line: &Line) -> bool {
        match (line.class(), line.seq()) {
            (Class::Event, seq) if seq <= self.event => false,
            (Class::Event, seq) => {
                self.event = seq;
                true
            }
            (Class::Derived, Some(seq)) => seq > self.derived,
            (Class::Derived | Class::Status, _) => true,
        }
    }

    /// Notes that `derived` were sent: the newest of each object.
    fn take_newest(&mut self, derived: &[Line]) {
        self.derived = derived.iter().filter_map(Line::seq).max().unwrap_or(0);
    }
}

impl<S: Source> Follower<S> {
    /// Follows from now on.
    pub(super) fn live(source: S) -> Self {
        let given = source.history().next_seq().saturating_sub(1);
        let receiver = source.subscribe();
        Self {
            source,
            receiver,
            stage: Stage::Live,
            seen: Seen::default(),
            given,
        }
    }

    /// Follows from the event after number `seq`.
    pub(super) fn resume(source: S, seq: u64) -> Self {
        let seen = Seen {
            event: Some(seq),
            derived: 0,
        };
        let receiver = source.subscribe();
        Self {
            source,
            receiver,
            stage: Stage::Behind(None, 0),
            seen,
            given: seq,
        }
    }

    /// The number of the last event that was given, or the one it began after.
    pub(super) const fn last(&self) -> u64 {
        self.given
    }

    /// Whether live events were lost already: the next call of [`Self::next`] will say so.
    pub(super) fn has_overflowed(&self) -> bool {
        matches!(self.stage, Stage::Live) && self.receiver.len() > QUEUE
    }

    /// The next lines; waits where there are none.
    ///
    /// Safe to drop while it waits for live events. While it reads what was missed it is not: the
    /// lines read would be lost, so it must be driven to its end there.
    pub(super) async fn next(&mut self) -> Result<Vec<Line>, End> {
        let lines = self.news().await?;
        let last = lines.iter().rfind(|line| line.class() == Class::Event);
        self.given = last.and_then(Line::seq).unwrap_or(self.given);
        Ok(lines)
    }

    async fn news(&mut self) -> Result<Vec<Line>, End> {
        loop {
            let news = match std::mem::replace(&mut self.stage, Stage::Live) {
                Stage::Behind(lines, given) => self.behind(lines, given).await?,
                Stage::Joining {
                    lines,
                    held,
                    derived,
                } => self.join(lines, held, derived).await?,
                Stage::Live => {
                    let batch = self.receiver.recv().await.map_err(|error| match error {
                        RecvError::Lagged(_) => End::Overflow,
                        RecvError::Closed => End::Gone,
                    })?;
                    let mut news = Vec::with_capacity(batch.len());
                    for line in batch.iter() {
                        if self.seen.take(line) {
                            // Joined while events came, it has seen newer ones than this may include.
                            news.push(line.clone().after(self.seen.event));
                        }
                    }
                    news
                }
            };
            if !news.is_empty() {
                return Ok(news);
            }
        }
    }

    async fn behind(&mut self, lines: Option<Box<Lines>>, given: usize) -> Result<Vec<Line>, End> {
        let (lines, batch) = self.read(lines).await?;
        let given = given + batch.len();
        if lines.is_some() {
            self.stage = Stage::Behind(lines, given);
        } else if given > LONG {
            self.stage = Stage::Behind(None, 0);
        } else {
            self.receiver = self.source.subscribe();
            // Asked for before the rest is read: so the rest holds every event that these include.
            let derived = self.source.newest_derived().await?;
            self.stage = Stage::Joining {
                lines: None,
                held: batch,
                derived,
            };
            return Ok(vec![]);
        }
        Ok(batch)
    }

    /// The last lines read are held back until it is known whether a derived object has the number
    /// of the last event.
    async fn join(
        &mut self,
        lines: Option<Box<Lines>>,
        mut held: Vec<Line>,
        derived: Vec<Line>,
    ) -> Result<Vec<Line>, End> {
        let (lines, batch) = self.read(lines).await?;
        if lines.is_some() {
            self.stage = Stage::Joining {
                lines,
                held: batch,
                derived,
            };
            return Ok(held);
        }
        held.extend(batch);
        self.seen.take_newest(&derived);
        held.extend(derived);
        Ok(Batch::after(self.seen.event, held).to_vec())
    }

    /// Reads a stretch of the history on a thread that may wait for the disk.
    async fn read(
        &mut self,
        lines: Option<Box<Lines>>,
    ) -> Result<(Option<Box<Lines>>, Vec<Line>), End> {
        let history = self.source.history();
        let after = self.seen.event.unwrap_or(0);
        let read = spawn_blocking(move || {
            let mut lines = match lines {
                Some(lines) => lines,
                None => match history.since(after) {
                    Ok(lines) => Box::new(lines),
                    Err(error) => return (None, vec![damaged(&error)]),
                },
            };
            let mut batch = Vec::with_capacity(STRETCH);
            for line in lines.by_ref().take(STRETCH) {
                batch.push(line.unwrap_or_else(|error| damaged(&error)));
            }
            let more = batch.len() == STRETCH;
            (more.then_some(lines), batch)
        });
        let (lines, mut batch) = read.await.map_err(|_| End::Gone)?;
        batch.retain(|line| self.seen.take(line));
        Ok((lines, batch))
    }
}

/// A gap in the history, said aloud.
fn damaged(error: &journal::Error) -> Line {
    Notice::line(NoticeKind::HistoryDamaged, None, &error.to_string())
}
