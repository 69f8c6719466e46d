//! The feed as server-sent events: `GET /feed`.

use std::collections::VecDeque;
use std::convert::Infallible;
use std::time::Duration;

use axum::extract::{Query, State};
use axum::http::{HeaderMap, StatusCode};
use axum::response::sse::{Event, KeepAlive, Sse};
use axum::response::{IntoResponse, Response};
use futures_util::stream;
use serde::Deserialize;

use super::follower::{End, Follower};
use super::http::App;
use super::objects::Notice;
use super::{Class, Line, Source};

/// How long a browser waits before it connects again.
const RETRY: Duration = Duration::from_secs(1);
/// A comment is sent this often, so that both ends notice a broken connection.
const ALIVE: Duration = Duration::from_secs(15);

/// What may stand behind `/feed?`.
#[derive(Debug, Deserialize)]
pub(super) struct Asked {
    from: Option<u64>,
}

/// Streams the feed. `?from=N` gives every event with a number greater than N first; without it
/// `Last-Event-ID` does the same; without both the stream begins now.
pub(super) async fn feed<S: Source>(
    State(app): State<App<S>>,
    Query(asked): Query<Asked>,
    headers: HeaderMap,
) -> Response {
    let last = headers.get("last-event-id").filter(|id| !id.is_empty());
    let last = last.map(|id| id.to_str().ok().and_then(|id| id.parse().ok()));
    let follower = match (asked.from, last) {
        (Some(from), _) | (None, Some(Some(from))) => Follower::resume(app.source, from),
        (None, None) => Follower::live(app.source),
        (None, Some(None)) => {
            let why = "Last-Event-ID is not the number of an event\n";
            return (StatusCode::BAD_REQUEST, why).into_response();
        }
    };
    let sending = Sending {
        follower,
        waiting: VecDeque::new(),
        first: true,
        ended: false,
    };
    let events = stream::unfold((sending, app.stop), |(mut sending, stop)| async move {
        let event = tokio::select! {
            biased;
            () = stop.cancelled() => None,
            event = sending.next() => event,
        };
        event.map(|event| (Ok::<_, Infallible>(event), (sending, stop)))
    });
    let alive = KeepAlive::new().interval(ALIVE);
    Sse::new(events).keep_alive(alive).into_response()
}

/// What is on its way to one consumer.
struct Sending<S> {
    follower: Follower<S>,
    waiting: VecDeque<Line>,
    first: bool,
    ended: bool,
}

impl<S: Source> Sending<S> {
    async fn next(&mut self) -> Option<Event> {
        if std::mem::take(&mut self.first) {
            return Some(Event::default().retry(RETRY));
        }
        // The queue behind it is gone already: what waits here would only be the part of it that
        // is left by chance.
        if self.follower.has_overflowed() && !self.ended {
            self.ended = true;
            let last = self.last_sent();
            self.waiting.clear();
            return Some(event(&Notice::cut(last)));
        }
        while self.waiting.is_empty() && !self.ended {
            match self.follower.next().await {
                Ok(lines) => self.waiting.extend(lines),
                Err(End::Overflow) => {
                    self.ended = true;
                    return Some(event(&Notice::cut(self.follower.last())));
                }
                Err(End::Gone) => self.ended = true,
            }
        }
        self.waiting.pop_front().as_ref().map(event)
    }

    /// The last event that isn't waiting any more.
    fn last_sent(&self) -> u64 {
        let mut waiting = self
            .waiting
            .iter()
            .filter(|line| line.class() == Class::Event);
        let first = waiting.find_map(Line::seq);
        // Between the one before it and it no event has a number.
        first.map_or(self.follower.last(), |first| first.saturating_sub(1))
    }
}

fn event(line: &Line) -> Event {
    let event = Event::default().data(line.json());
    match line.seq().filter(|_| line.last_of_seq()) {
        Some(seq) => event.id(seq.to_string()),
        None => event,
    }
}
