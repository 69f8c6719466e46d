//! The link to one gauge: opens its port, reads it, says when it is gone, and takes it up again
//! when it is back.

mod open;
mod wire;

use std::sync::Arc;
use std::time::{Duration, Instant};

use tokio::sync::mpsc::Sender;
use tokio::time::MissedTickBehavior;
use tokio_util::sync::CancellationToken;

pub use open::{OpenError, lost, open};
pub use wire::Wire;

use super::description::{Ask, Description};
use super::port::Port;
use super::reader::Reader;
use super::reading::{Arrival, Content};
use crate::units::Moment;

/// How soon a lost port is looked for again: at first, and at longest.
const FIRST_LOOK: Duration = Duration::from_millis(100);
const LAST_LOOK: Duration = Duration::from_secs(1);
/// A link that lasted this long was no flicker: the next look is soon again.
const STEADY: Duration = Duration::from_secs(1);
/// How long a question may take to leave; with flow control it may never.
const SEND_LIMIT: Duration = Duration::from_secs(1);

/// One gauge of the configuration.
#[derive(Debug, Clone)]
pub struct Gauge {
    /// Its name in the configuration.
    pub name: Arc<str>,
    /// Where it is.
    pub port: Port,
    /// How it speaks.
    pub form: Arc<Description>,
}

/// Serves one gauge until `cancel` is cancelled or the receiver of `out` is gone.
///
/// `clock_start` is the daemon's start, from which [`Arrival::since_start`] counts. A port that
/// can't be opened or is lost is one [`Content::Lost`] for each cause, however often it is tried.
/// While a gauge that sends by itself sends nothing, this task sleeps without a timer.
///
/// What arrives goes out as whatever `out` carries that an arrival can become.
pub async fn run<T: From<Arrival>>(
    gauge: Gauge,
    clock_start: Instant,
    out: Sender<T>,
    cancel: CancellationToken,
) {
    let teller = Teller {
        gauge: gauge.name.clone(),
        clock_start,
        out,
    };
    tokio::select! {
        () = cancel.cancelled() => {}
        Gone = serve(&gauge, &teller) => {}
    }
}

/// The daemon no longer listens.
struct Gone;

/// Sends what arrives on its way, with its time.
struct Teller<T> {
    gauge: Arc<str>,
    clock_start: Instant,
    out: Sender<T>,
}

impl<T: From<Arrival>> Teller<T> {
    async fn tell(&self, content: Content) -> Result<(), Gone> {
        self.tell_all(&mut vec![content]).await
    }

    async fn tell_all(&self, contents: &mut Vec<Content>) -> Result<(), Gone> {
        let (at, since_start) = (Moment::now(), self.clock_start.elapsed());
        for content in contents.drain(..) {
            let arrival = Arrival {
                gauge: self.gauge.clone(),
                at,
                since_start,
                content,
            };
            self.out.send(arrival.into()).await.map_err(|_| Gone)?;
        }
        Ok(())
    }
}

async fn serve<T: From<Arrival>>(gauge: &Gauge, teller: &Teller<T>) -> Gone {
    let Err(gone) = keep_open(gauge, teller).await;
    gone
}

async fn keep_open<T: From<Arrival>>(
    gauge: &Gauge,
    teller: &Teller<T>,
) -> Result<std::convert::Infallible, Gone> {
    let mut wait = FIRST_LOOK;
    let mut told = Told::default();
    loop {
        match open(&gauge.port, &gauge.form.serial).await {
            Ok((wire, port)) => {
                teller.tell(Content::Opened { port: port.clone() }).await?;
                let since = Instant::now();
                let why = converse(wire, &port, gauge, teller).await?;
                let why = format!("{why}: {}", open::remedy(&port));
                teller.tell(Content::Lost { port, why }).await?;
                told = Told::gone();
                if since.elapsed() >= STEADY {
                    wait = FIRST_LOOK;
                }
            }
            Err(error) if told.is_news(&error) => {
                let (port, why) = (gauge.port.to_string(), error.to_string());
                teller.tell(Content::Lost { port, why }).await?;
            }
            Err(_) => {}
        }
        tokio::time::sleep(wait).await;
        wait = (wait * 2).min(LAST_LOOK);
    }
}

/// What was last said about a port that can't be opened, so that each cause is said once.
#[derive(Default)]
struct Told {
    said: Option<OpenError>,
    /// It was said that the port is gone, so that it isn't there is no news.
    gone: bool,
    /// A new cause, seen once. A device that is being plugged in has no permissions for a moment:
    /// only a cause that stays is news.
    seen: Option<OpenError>,
}

impl Told {
    fn gone() -> Self {
        Self {
            gone: true,
            ..Self::default()
        }
    }

    fn is_news(&mut self, error: &OpenError) -> bool {
        let known = self.said.as_ref() == Some(error)
            || (self.gone && matches!(error, OpenError::Absent(_)));
        let first = self.said.is_none() && !self.gone;
        if known {
            self.seen = None;
        } else if first || self.seen.as_ref() == Some(error) {
            *self = Self {
                said: Some(error.clone()),
                ..Self::default()
            };
            return true;
        } else {
            self.seen = Some(error.clone());
        }
        false
    }
}

/// Reads an open wire until it is lost; the value says why.
async fn converse<T: From<Arrival>>(
    mut wire: Wire,
    port: &str,
    gauge: &Gauge,
    teller: &Teller<T>,
) -> Result<String, Gone> {
    let mut reader = Reader::new(gauge.form.clone());
    let mut asking = gauge.form.ask.as_ref().map(Asking::new);
    let mut contents = Vec::new();
    let mut buffer = [0; 1024];
    loop {
        // All three are cancel-safe: a byte that was read is in `buffer` in the same poll.
        let happened = tokio::select! {
            biased;
            read = wire.read(&mut buffer) => Happened::Read(read),
            () = patience(&reader) => Happened::Quiet,
            () = next_question(&mut asking) => Happened::TimeToAsk,
        };
        match happened {
            Happened::Read(Ok(count)) if count > 0 => {
                if asking.as_mut().is_some_and(Asking::answered) {
                    teller
                        .tell(Content::Opened {
                            port: port.to_owned(),
                        })
                        .await?;
                }
                reader.push(&buffer[..count], &mut contents);
                teller.tell_all(&mut contents).await?;
            }
            Happened::Read(ended) => {
                reader.end(&mut contents);
                teller.tell_all(&mut contents).await?;
                return Ok(lost(port, ended.err().as_ref()));
            }
            Happened::Quiet => {
                reader.quiet(&mut contents);
                teller.tell_all(&mut contents).await?;
            }
            Happened::TimeToAsk => {
                let Some(asking) = &mut asking else { continue };
                // What did not leave in time is followed by a silence, which is told below.
                if let Err(error) = wire.write_within(&asking.send, SEND_LIMIT).await {
                    return Ok(lost(port, Some(&error)));
                }
                if asking.is_silent() {
                    let why = format!(
                        "{port} is open, but the gauge does not answer: is it switched on, and set \
                         to the rate and bits of the form {}? It is asked again and again.",
                        gauge.form.name
                    );
                    teller
                        .tell(Content::Lost {
                            port: port.to_owned(),
                            why,
                        })
                        .await?;
                }
            }
        }
    }
}

enum Happened {
    Read(std::io::Result<usize>),
    Quiet,
    TimeToAsk,
}

/// Ends when an unfinished line has been quiet for too long; never, where nothing is held.
async fn patience(reader: &Reader) {
    match reader.patience() {
        Some(patience) => tokio::time::sleep(patience).await,
        None => std::future::pending().await,
    }
}

async fn next_question(asking: &mut Option<Asking>) {
    match asking {
        Some(asking) => {
            asking.ticks.tick().await;
        }
        None => std::future::pending().await,
    }
}

/// The questions to a gauge that must be asked.
struct Asking {
    send: Vec<u8>,
    ticks: tokio::time::Interval,
    silent_after: Duration,
    last_answer: tokio::time::Instant,
    silent: bool,
}

impl Asking {
    fn new(ask: &Ask) -> Self {
        let mut ticks = tokio::time::interval(ask.every);
        ticks.set_missed_tick_behavior(MissedTickBehavior::Delay);
        Self {
            send: ask.send.clone(),
            ticks,
            silent_after: ask.silent_after,
            last_answer: tokio::time::Instant::now(),
            silent: false,
        }
    }

    /// Something came; true where the gauge had been given up as silent.
    fn answered(&mut self) -> bool {
        self.last_answer = tokio::time::Instant::now();
        std::mem::take(&mut self.silent)
    }

    /// True once, when the silence has lasted too long.
    fn is_silent(&mut self) -> bool {
        let silent = self.last_answer.elapsed() >= self.silent_after;
        silent && !std::mem::replace(&mut self.silent, true)
    }
}
