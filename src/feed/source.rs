//! What the feed asks of the bench.

use std::future::Future;
use std::sync::Arc;

use tokio::sync::broadcast;

use super::{Batch, Line};
use crate::bench::{Answer, Asked, Gone, Handle};
use crate::journal::History;

/// How many commits wait for a consumer before it is cut; a power of two, as the channel rounds
/// up to one.
pub const QUEUE: usize = 256;

/// What the feed asks of the bench. A trait so that the feed can be tried without one.
pub trait Source: Clone + Send + Sync + 'static {
    /// Everything published from now on, through a channel of [`QUEUE`] commits.
    fn subscribe(&self) -> broadcast::Receiver<Batch>;

    /// Everything that the journal holds. What is published is in it already.
    fn history(&self) -> History;

    /// The newest of each derived object.
    fn newest_derived(&self) -> impl Future<Output = Result<Vec<Line>, Gone>> + Send;

    /// The whole present state as one JSON object.
    fn state(&self) -> impl Future<Output = Result<Arc<str>, Gone>> + Send;

    /// Carries out a command; the inner result is the bench's answer.
    fn command(&self, asked: Asked) -> impl Future<Output = Result<Answer, Gone>> + Send;
}

impl Source for Handle {
    fn subscribe(&self) -> broadcast::Receiver<Batch> {
        Self::subscribe(self)
    }

    fn history(&self) -> History {
        Self::history(self)
    }

    fn newest_derived(&self) -> impl Future<Output = Result<Vec<Line>, Gone>> + Send {
        Self::newest_derived(self)
    }

    fn state(&self) -> impl Future<Output = Result<Arc<str>, Gone>> + Send {
        Self::state(self)
    }

    fn command(&self, asked: Asked) -> impl Future<Output = Result<Answer, Gone>> + Send {
        Self::command(self, asked)
    }
}
