//! Where a live study's values come from: a gauge that is opened here, or a running daemon.

use std::collections::VecDeque;
use std::path::PathBuf;
use std::time::Instant;

use tokio::sync::broadcast::{self, error::RecvError};
use tokio::task::JoinHandle;
use tokio_util::sync::CancellationToken;

use crate::bench::{self, Handle, Running};
use crate::commands::daemon::{self, Address, Feed};
use crate::commands::{Failure, Outcome as _};
use crate::feed::{Batch, Line};
use crate::fit::plan::Shop as Workshop;
use crate::gauge::{Gauge, link};
use crate::job::{Command, Event, Gauges, Seats, Shop, Traits};

/// The source of values.
pub(super) enum Source {
    /// A bench of its own, without a job: which values are readings and which bounce is decided by
    /// the daemon's own rules.
    Own(Box<Own>),
    /// The feed of a running daemon.
    Daemon { feed: Feed, address: Address },
}

/// A bench in a folder that is gone with it.
pub(super) struct Own {
    handle: Handle,
    published: broadcast::Receiver<Batch>,
    waiting: VecDeque<Line>,
    running: Running,
    link: JoinHandle<()>,
    stop: CancellationToken,
    folder: PathBuf,
}

impl Source {
    /// Opens the gauge itself.
    pub(super) fn open(gauge: Gauge, traits: Traits) -> Result<Self, Failure> {
        let folder =
            std::env::temp_dir().join(format!("borewright-study-{}", uuid::Uuid::now_v7()));
        let shop = Shop {
            seats: Seats::built_in(),
            gauges: Gauges::from([(gauge.name.clone(), traits)]),
            workshop: Workshop::default(),
        };
        let (handle, running) = bench::open(&folder, shop).outside()?;
        let published = handle.subscribe();
        let stop = CancellationToken::new();
        let link = link::run(gauge, Instant::now(), handle.inputs(), stop.clone());
        Ok(Self::Own(Box::new(Own {
            link: tokio::spawn(link),
            handle,
            published,
            waiting: VecDeque::new(),
            running,
            stop,
            folder,
        })))
    }

    /// Follows a running daemon, whose bench must be free: what a job's stations take is no study.
    pub(super) async fn follow(address: &Address) -> Result<Self, Failure> {
        // Before the state, so that nothing between the two is missed.
        let feed = Feed::open(address).await?;
        if let Address::Page(host) = address {
            let state = daemon::state(host).await?;
            if let Some(part) = state["on_bench"]["part"].as_str() {
                return Err(Failure::wrong(in_the_way(part)));
            }
        }
        let address = address.clone();
        Ok(Self::Daemon { feed, address })
    }

    /// What happens next.
    pub(super) async fn next(&mut self) -> Result<Event, Failure> {
        loop {
            let event = match self {
                Self::Own(own) => own.next().await?,
                Self::Daemon { feed, .. } => serde_json::from_str(&feed.next().await?).ok(),
            };
            // The rest is numbers and news of the moment.
            if let Some(event) = event {
                return Ok(event);
            }
        }
    }

    /// Takes what `gauge` shows now as a reading; it comes as an event. The error says why not.
    pub(super) async fn take(&self, gauge: &str) -> Result<(), String> {
        let gauge = gauge.to_owned();
        let command = Command::Take { gauge };
        match self {
            Self::Own(own) => match own.handle.command(command.into()).await {
                Ok(Ok(_)) => Ok(()),
                Ok(Err(refusal)) => Err(refusal.to_string()),
                Err(gone) => Err(gone.to_string()),
            },
            Self::Daemon { address, .. } => match address {
                Address::Page(host) => daemon::command(host, &command)
                    .await
                    .map_err(|failure| failure.to_string()),
                Address::Feed(_) => Err(
                    "a value can be taken through the page's address only: --from http://host:port"
                        .to_owned(),
                ),
            },
        }
    }

    /// Lets the gauge go.
    pub(super) async fn end(self) {
        if let Self::Own(own) = self {
            own.stop.cancel();
            // An error says that it has ended already.
            let _ = own.link.await;
            own.running.stop().await;
            let _ = std::fs::remove_dir_all(&own.folder);
        }
    }
}

impl Own {
    async fn next(&mut self) -> Result<Option<Event>, Failure> {
        if let Some(line) = self.waiting.pop_front() {
            return Ok(serde_json::from_str(line.json()).ok());
        }
        match self.published.recv().await {
            Ok(batch) => self.waiting.extend(batch.iter().cloned()),
            // A stream of values that nobody waits for.
            Err(RecvError::Lagged(_)) => {}
            Err(closed @ RecvError::Closed) => return Err(Failure::outside(closed)),
        }
        Ok(None)
    }
}

/// Why no study can be gauged while a job is on the bench.
pub(super) fn in_the_way(part: &str) -> String {
    format!(
        "`{part}` is on the bench, and its stations take the readings: put that job aside, then \
         begin the study"
    )
}
