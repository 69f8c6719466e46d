//! The feed as NDJSON over TCP: one object a line.
//!
//! A consumer need not send anything: it gets what happens from the moment it connected. To resume
//! it sends one line, `{"from":412}`, within [`ASK`] of connecting: then it first gets every event
//! with a greater number, then the newest derived objects, then what happens. Another first
//! line is answered with one `not_understood` line and the connection closed; what comes later is
//! ignored.

use std::io;
use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Duration;

use serde::Deserialize;
use tokio::io::{AsyncRead, AsyncReadExt as _, AsyncWrite, AsyncWriteExt as _};
use tokio::net::TcpListener;
use tokio::sync::Semaphore;
use tokio::time::{self, Instant};
use tokio_util::sync::CancellationToken;
use tokio_util::task::TaskTracker;

use super::follower::{End, Follower};
use super::objects::{Notice, NoticeKind};
use super::{Class, Line, Source};

/// How long a consumer has to ask for a resume.
pub const ASK: Duration = Duration::from_millis(250);
/// How long the last line of a consumer that did not keep up is tried for.
pub const LAST_LINE: Duration = Duration::from_secs(5);
/// How often a write that doesn't get on looks whether the queue has overflowed meanwhile.
const LOOK: Duration = Duration::from_millis(250);
/// Consumers at a time; each holds a file descriptor.
const CONSUMERS: usize = 256;
/// What a consumer may send at most.
const REQUEST_BYTES: usize = 256;

/// What a consumer may send.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Request {
    from: u64,
}

/// Serves consumers on `listener` until `stop`, then lets lines in flight end for at most a second.
pub async fn serve<S: Source>(listener: TcpListener, source: S, stop: CancellationToken) {
    serve_with(listener, source, stop, LAST_LINE).await;
}

/// The same; a last line is tried for `last_line`.
pub(super) async fn serve_with<S: Source>(
    listener: TcpListener,
    source: S,
    stop: CancellationToken,
    last_line: Duration,
) {
    let consumers = TaskTracker::new();
    let places = Arc::new(Semaphore::new(CONSUMERS));
    loop {
        let accepted = tokio::select! {
            () = stop.cancelled() => break,
            accepted = listener.accept() => accepted,
        };
        let (stream, address) = match accepted {
            Ok(accepted) => accepted,
            Err(error) => {
                // Out of descriptors, most likely: it gets better when a consumer leaves.
                tracing::warn!("a feed consumer can't be taken on: {error}");
                time::sleep(Duration::from_millis(500)).await;
                continue;
            }
        };
        let Ok(place) = Arc::clone(&places).try_acquire_owned() else {
            tracing::warn!("{address}: turned away, {CONSUMERS} consumers are on the feed already");
            continue;
        };
        // Lines are small and are to leave at once.
        let _ = stream.set_nodelay(true);
        // Subscribed here, not in the task: nothing published after the connection was taken on is
        // missed.
        let follower = Follower::live(source.clone());
        let consumer = Consumer {
            source: source.clone(),
            address,
            stop: stop.clone(),
            last_line,
        };
        consumers.spawn(async move {
            consumer.serve(stream, follower).await;
            drop(place);
        });
    }
    consumers.close();
    let _ = time::timeout(Duration::from_secs(1), consumers.wait()).await;
}

/// One connection.
struct Consumer<S> {
    source: S,
    address: SocketAddr,
    stop: CancellationToken,
    /// How long a last line is tried for.
    last_line: Duration,
}

/// How sending lines ended.
enum Sent {
    All,
    /// The queue overflowed meanwhile; the line in flight was completed where that was possible.
    Overflow(u64),
}

impl<S: Source> Consumer<S> {
    async fn serve(&self, stream: impl AsyncRead + AsyncWrite + Send, mut follower: Follower<S>) {
        let (mut reader, mut writer) = tokio::io::split(stream);
        match time::timeout(ASK, request(&mut reader)).await {
            Ok(Ok(Some(Request { from }))) => {
                follower = Follower::resume(self.source.clone(), from);
            }
            // More than the queue holds may have come while it could ask: nobody is cut for that.
            Ok(Ok(None)) | Err(_) if follower.has_overflowed() => {
                follower = Follower::resume(self.source.clone(), follower.last());
            }
            Ok(Ok(None)) | Err(_) => {}
            Ok(Err(why)) => return self.turn_away(&mut writer, &why).await,
        }
        let followed = tokio::select! {
            followed = self.follow(&mut writer, &mut follower) => followed,
            error = broken(&mut reader) => Err(error),
        };
        if let Err(error) = followed {
            tracing::debug!("{}: the consumer is gone: {error}", self.address);
        }
    }

    /// Sends what there is until the consumer is gone, is cut, or the daemon ends.
    async fn follow(
        &self,
        writer: &mut (impl AsyncWrite + Unpin),
        follower: &mut Follower<S>,
    ) -> io::Result<()> {
        loop {
            let before = follower.last();
            let next = tokio::select! {
                () = self.stop.cancelled() => return Ok(()),
                next = follower.next() => next,
            };
            let last = match next {
                Ok(lines) => match self.send(writer, &lines, before, follower).await? {
                    Sent::All => continue,
                    Sent::Overflow(last) => last,
                },
                Err(End::Overflow) => follower.last(),
                Err(End::Gone) => return Ok(()),
            };
            tracing::warn!(
                "{}: cut off the feed after event {last}, it reads too slowly",
                self.address
            );
            let cut = Notice::cut(last);
            let _ = time::timeout(self.last_line, writer.write_all(cut.with_line_feed())).await;
            return Ok(());
        }
    }

    /// Sends `lines`, and stops behind the line in flight where the queue overflows meanwhile.
    async fn send(
        &self,
        writer: &mut (impl AsyncWrite + Unpin),
        lines: &[Line],
        before: u64,
        follower: &Follower<S>,
    ) -> io::Result<Sent> {
        let text: Vec<u8> = lines
            .iter()
            .flat_map(Line::with_line_feed)
            .copied()
            .collect();
        let mut sent = 0;
        let mut looks = time::interval_at(Instant::now() + LOOK, LOOK);
        while sent < text.len() {
            tokio::select! {
                biased;
                written = writer.write(&text[sent..]) => match written? {
                    0 => return Err(io::ErrorKind::WriteZero.into()),
                    written => sent += written,
                },
                () = self.stop.cancelled() => return Ok(Sent::All),
                _ = looks.tick() => if follower.has_overflowed() {
                    let finished = finish(writer, &text, sent, lines, before);
                    return time::timeout(self.last_line, finished)
                        .await
                        .map_err(|_| io::ErrorKind::TimedOut)?;
                },
            }
        }
        Ok(Sent::All)
    }

    /// Says why a consumer isn't served.
    async fn turn_away(&self, writer: &mut (impl AsyncWrite + Unpin), why: &str) {
        tracing::warn!("{}: {why}", self.address);
        let line = Notice::line(NoticeKind::NotUnderstood, None, why);
        let _ = time::timeout(self.last_line, writer.write_all(line.with_line_feed())).await;
    }
}

/// Completes the line in flight and gives the last event that was sent whole; `last` is the one
/// before `lines`.
async fn finish(
    writer: &mut (impl AsyncWrite + Unpin),
    text: &[u8],
    sent: usize,
    lines: &[Line],
    mut last: u64,
) -> io::Result<Sent> {
    let mut end = 0;
    for line in lines {
        if end >= sent {
            break;
        }
        end += line.with_line_feed().len();
        if let (Class::Event, Some(seq)) = (line.class(), line.seq()) {
            last = seq;
        }
    }
    writer.write_all(&text[sent..end.max(sent)]).await?;
    Ok(Sent::Overflow(last))
}

/// The consumer's request; `None` where it sent none and closed its side.
async fn request(reader: &mut (impl AsyncRead + Unpin)) -> Result<Option<Request>, String> {
    let mut text = Vec::new();
    let mut bytes = [0; REQUEST_BYTES];
    loop {
        let read = reader.read(&mut bytes).await.unwrap_or(0);
        text.extend_from_slice(&bytes[..read]);
        let line = memchr::memchr(b'\n', &text).map(|end| &text[..end]);
        if let Some(line) = line.or((read == 0).then_some(&text)) {
            if line.trim_ascii().is_empty() {
                return Ok(None);
            }
            return serde_json::from_slice(line).map(Some).map_err(|error| {
                format!(
                    "what you sent isn't understood ({error}): send nothing, or one line such as \
                     {{\"from\":412}} to resume after event 412"
                )
            });
        }
        if text.len() > REQUEST_BYTES {
            return Err(
                "what you sent is too long: send nothing, or one line such as \
                        {\"from\":412} to resume after event 412"
                    .to_owned(),
            );
        }
    }
}

/// Waits until the connection is broken. What the consumer still sends is of no interest, and one
/// that closes its sending side still reads.
async fn broken(reader: &mut (impl AsyncRead + Unpin)) -> io::Error {
    let mut bytes = [0; REQUEST_BYTES];
    loop {
        match reader.read(&mut bytes).await {
            Ok(0) => std::future::pending().await,
            Ok(_) => {}
            Err(error) => return error,
        }
    }
}
