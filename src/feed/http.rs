//! What other programs and the page ask over HTTP: `GET /feed`, `GET /state`, `POST /commands`.

use std::io;
use std::pin::Pin;
use std::task::{Context, Poll};
use std::time::Duration;

use axum::Router;
use axum::body::Bytes;
use axum::extract::{DefaultBodyLimit, State};
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use axum::serve::Listener;
use serde_json::{Value, json};
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::{TcpListener, TcpStream};
use tokio::time::{self, Instant, Sleep};
use tokio_util::sync::CancellationToken;

use super::{Line, Source, sse};
use crate::bench::{Answered, Asked, Gone, Token};
use crate::job::Command;

/// A command is never longer than this.
const COMMAND_BYTES: usize = 64 * 1024;
/// A connection whose other end takes nothing for this long is closed.
const STALLED: Duration = Duration::from_secs(10);
/// How long open connections are waited for at the end.
const ENDING: Duration = Duration::from_secs(2);

/// What the handlers share.
#[derive(Debug, Clone)]
pub(super) struct App<S> {
    pub(super) source: S,
    pub(super) stop: CancellationToken,
}

/// The routes `/feed`, `/state` and `/commands`. Streams end when `stop` is cancelled. To be laid
/// under the guard ([`super::guard`]) together with the page.
pub fn router<S: Source>(source: S, stop: CancellationToken) -> Router {
    Router::new()
        .route("/feed", get(sse::feed::<S>))
        .route("/state", get(state::<S>))
        .route("/commands", post(commands::<S>))
        .layer(DefaultBodyLimit::max(COMMAND_BYTES))
        .with_state(App { source, stop })
}

/// Serves `router` on `listener` until `stop`, then waits for open connections for at most two
/// seconds.
///
/// # Errors
///
/// Where the listener fails for good.
pub async fn serve(
    listener: TcpListener,
    router: Router,
    stop: CancellationToken,
) -> io::Result<()> {
    let stopping = stop.clone().cancelled_owned();
    let serving = axum::serve(Watched(listener), router).with_graceful_shutdown(stopping);
    let capped = async {
        stop.cancelled().await;
        time::sleep(ENDING).await;
    };
    tokio::select! {
        served = serving.into_future() => served,
        () = capped => Ok(()),
    }
}

async fn state<S: Source>(State(app): State<App<S>>) -> Response {
    match app.source.state().await {
        Ok(state) => (JSON, String::from(&*state)).into_response(),
        Err(Gone) => ending(),
    }
}

async fn commands<S: Source>(
    State(app): State<App<S>>,
    headers: HeaderMap,
    body: Bytes,
) -> Response {
    if !is_json(&headers) {
        let why = "a command is sent as Content-Type: application/json";
        return refused(StatusCode::UNSUPPORTED_MEDIA_TYPE, why);
    }
    let (command, if_seq) = match read(&body) {
        Ok(read) => read,
        Err(why) => return refused(StatusCode::UNPROCESSABLE_ENTITY, &why),
    };
    let token = headers.get("bench-token");
    let token = match token.map(HeaderValue::to_str).transpose() {
        Ok(token) => token.map(Token::from),
        Err(_) => {
            let why = "the Bench-Token is none that this daemon gave";
            return refused(StatusCode::CONFLICT, why);
        }
    };
    let asked = Asked {
        command,
        if_seq,
        token,
    };
    match app.source.command(asked).await {
        Ok(Ok(Answered::Holding { token, at_work })) => {
            let answer = json!({"token": token.text(), "at_work": at_work});
            (JSON, answer.to_string()).into_response()
        }
        Ok(Ok(Answered::Stored(lines))) => {
            let lines: Vec<_> = lines.iter().map(Line::json).collect();
            (JSON, format!("[{}]", lines.join(","))).into_response()
        }
        Ok(Err(refusal)) => refused(StatusCode::CONFLICT, &refusal.to_string()),
        Err(Gone) => ending(),
    }
}

const JSON: [(header::HeaderName, &str); 2] = [
    (header::CONTENT_TYPE, "application/json"),
    (header::CACHE_CONTROL, "no-store"),
];

fn refused(status: StatusCode, why: &str) -> Response {
    (status, JSON, json!({"refused": why}).to_string()).into_response()
}

fn ending() -> Response {
    refused(StatusCode::SERVICE_UNAVAILABLE, &Gone.to_string())
}

fn is_json(headers: &HeaderMap) -> bool {
    let kind = headers
        .get(header::CONTENT_TYPE)
        .and_then(|kind| kind.to_str().ok());
    let kind = kind.and_then(|kind| kind.split(';').next()).map(str::trim);
    kind.is_some_and(|kind| kind.eq_ignore_ascii_case("application/json"))
}

/// A command, and the number that the job's newest event must have for it to be carried out.
fn read(body: &[u8]) -> Result<(Command, Option<u64>), String> {
    let say = |error: serde_json::Error| format!("the command isn't understood: {error}");
    let mut object: serde_json::Map<String, Value> = serde_json::from_slice(body).map_err(say)?;
    let if_seq = object.remove("if_seq").filter(|value| !value.is_null());
    let if_seq = if_seq.map(serde_json::from_value).transpose();
    let if_seq = if_seq.map_err(|error| format!("if_seq isn't understood: {error}"))?;
    Ok((serde_json::from_value(object.into()).map_err(say)?, if_seq))
}

/// A listener whose connections are closed when their other end takes nothing any more: a stream
/// that is stuck for good would stay open for ever.
struct Watched(TcpListener);

impl Listener for Watched {
    type Io = WatchedStream;
    type Addr = std::net::SocketAddr;

    async fn accept(&mut self) -> (Self::Io, Self::Addr) {
        let (stream, address) = Listener::accept(&mut self.0).await;
        // Events are small and are to leave at once.
        let _ = stream.set_nodelay(true);
        (
            WatchedStream {
                stream,
                stalled: None,
            },
            address,
        )
    }

    fn local_addr(&self) -> io::Result<Self::Addr> {
        self.0.local_addr()
    }
}

struct WatchedStream {
    stream: TcpStream,
    /// Runs while a write can't get on.
    stalled: Option<Pin<Box<Sleep>>>,
}

impl WatchedStream {
    fn watch<T>(
        &mut self,
        context: &mut Context<'_>,
        poll: Poll<io::Result<T>>,
    ) -> Poll<io::Result<T>> {
        if poll.is_ready() {
            self.stalled = None;
            return poll;
        }
        let stalled = self
            .stalled
            .get_or_insert_with(|| Box::pin(time::sleep_until(Instant::now() + STALLED)));
        stalled
            .as_mut()
            .poll(context)
            .map(|()| Err(io::ErrorKind::TimedOut.into()))
    }
}

impl AsyncRead for WatchedStream {
    fn poll_read(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        buffer: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_read(context, buffer)
    }
}

impl AsyncWrite for WatchedStream {
    fn poll_write(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        bytes: &[u8],
    ) -> Poll<io::Result<usize>> {
        let poll = Pin::new(&mut self.stream).poll_write(context, bytes);
        self.watch(context, poll)
    }

    fn poll_write_vectored(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        bytes: &[io::IoSlice<'_>],
    ) -> Poll<io::Result<usize>> {
        let poll = Pin::new(&mut self.stream).poll_write_vectored(context, bytes);
        self.watch(context, poll)
    }

    fn is_write_vectored(&self) -> bool {
        self.stream.is_write_vectored()
    }

    fn poll_flush(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_flush(context)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_shutdown(context)
    }
}
