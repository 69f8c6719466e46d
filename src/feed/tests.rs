//! The feed on real sockets, with a bench that only stores and publishes.

use std::net::SocketAddr;
use std::sync::{Arc, Mutex};
use std::time::Duration;

use serde_json::Value;
use tempfile::TempDir;
use tokio::io::{AsyncBufReadExt as _, AsyncReadExt as _, AsyncWriteExt as _, BufReader};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::broadcast;
use tokio::time::timeout;
use tokio_util::sync::CancellationToken;

use super::*;
use crate::bench::{Answer, Answered, Asked, Gone};
use crate::job::{Body, Command, Event, Refusal, SCHEMA};
use crate::journal::{History, Journal};
use crate::units::Moment;

mod http;
mod print;
mod tcp;

/// Long enough for a busy machine; a test that waits for it fails.
const PATIENCE: Duration = Duration::from_secs(30);

/// Stores and publishes, and answers commands in a way that shows what arrived.
#[derive(Clone)]
struct Fake(Arc<Inner>);

struct Inner {
    journal: Mutex<Journal>,
    history: History,
    published: broadcast::Sender<Batch>,
    derived: Mutex<Vec<Line>>,
    _folder: TempDir,
}

impl Fake {
    fn new() -> Self {
        let folder = TempDir::new().unwrap();
        let (journal, _) = Journal::open(folder.path(), |_| {}).unwrap();
        let history = journal.history();
        let (published, _) = broadcast::channel(QUEUE);
        let (journal, derived) = (Mutex::new(journal), Mutex::default());
        Self(Arc::new(Inner {
            journal,
            history,
            published,
            derived,
            _folder: folder,
        }))
    }

    /// Publishes `count` events in one commit, and a derived object that includes the last.
    fn publish(&self, count: u64, padding: &str) {
        let mut journal = self.0.journal.lock().unwrap();
        let first = journal.next_seq();
        let events: Vec<_> = (first..first + count)
            .map(|seq| Event {
                schema: SCHEMA.into(),
                seq,
                at: Moment::now(),
                job: None,
                phase: None,
                body: Body::Noted {
                    text: padding.to_owned(),
                },
            })
            .collect();
        let mut lines = journal.append(&events).unwrap();
        let seq = first + count - 1;
        let derived = Line::derived(seq, &format!(r#"{{"kind":"section","seq":{seq}}}"#));
        *self.0.derived.lock().unwrap() = vec![derived.clone()];
        lines.push(derived);
        let _ = self.0.published.send(Batch::new(lines));
    }
}

impl Source for Fake {
    fn subscribe(&self) -> broadcast::Receiver<Batch> {
        self.0.published.subscribe()
    }

    fn history(&self) -> History {
        self.0.history.clone()
    }

    async fn newest_derived(&self) -> Result<Vec<Line>, Gone> {
        let _stored = self.0.journal.lock().unwrap();
        Ok(self.0.derived.lock().unwrap().clone())
    }

    async fn state(&self) -> Result<Arc<str>, Gone> {
        Ok(r#"{"state":"whole"}"#.into())
    }

    async fn command(&self, asked: Asked) -> Result<Answer, Gone> {
        match (asked.command, asked.if_seq) {
            (Command::Undo {}, Some(7)) => Ok(Err(Refusal("the job has moved on".into()))),
            (Command::Undo {}, _) => Ok(Ok(Answered::Stored(vec![
                Line::derived(1, r#"{"seq":1}"#),
                Line::derived(2, r#"{"seq":2}"#),
            ]))),
            _ => Ok(Err(Refusal("only undo".into()))),
        }
    }
}

/// A bench that goes on between its answer and what is read next.
#[derive(Clone)]
struct Busy(Fake);

impl Source for Busy {
    fn subscribe(&self) -> broadcast::Receiver<Batch> {
        self.0.subscribe()
    }

    fn history(&self) -> History {
        self.0.history()
    }

    async fn newest_derived(&self) -> Result<Vec<Line>, Gone> {
        let derived = self.0.newest_derived().await;
        self.0.publish(3, "meanwhile");
        self.0.publish(3, "meanwhile");
        derived
    }

    async fn state(&self) -> Result<Arc<str>, Gone> {
        self.0.state().await
    }

    async fn command(&self, asked: Asked) -> Result<Answer, Gone> {
        self.0.command(asked).await
    }
}

/// What is derived of the first of two commits, both seen in the history already, comes after the events
/// of the second: to resume from its number would repeat these.
#[tokio::test]
async fn a_resume_point_never_goes_back() {
    let busy = Busy(Fake::new());
    busy.0.publish(5, "before");
    let mut follower = follower::Follower::resume(busy.clone(), 0);
    let (mut events, mut point, mut derived) = (0, 0, 0);
    while derived < 11 {
        let lines = timeout(PATIENCE, follower.next()).await.unwrap();
        for line in lines.unwrap_or_else(|_| panic!("cut off")) {
            let seq = line.seq().unwrap();
            match line.class() {
                Class::Event => {
                    assert_eq!(seq, events + 1, "each event once, in order");
                    events = seq;
                }
                _ => derived = seq,
            }
            if line.last_of_seq() {
                assert!(seq >= point, "from {point} back to {seq}");
                assert_eq!(seq, events, "no event is repeated from there");
                point = seq;
            }
        }
    }
    assert_eq!((events, point), (11, 11));
}

/// Serves `fake` over TCP and HTTP; both end with the token.
async fn serve(fake: &Fake) -> (SocketAddr, SocketAddr, CancellationToken) {
    let stop = CancellationToken::new();
    let lines = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let page = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let addresses = (lines.local_addr().unwrap(), page.local_addr().unwrap());
    // A test may read its last line late on a busy machine.
    let tcp = super::tcp::serve_with(lines, fake.clone(), stop.clone(), PATIENCE);
    tokio::spawn(tcp);
    let guard = guard::Guard::new(addresses.1, &["bench.example".to_owned()]);
    let guard = axum::middleware::from_fn_with_state(guard, guard::check);
    let router = super::http::router(fake.clone(), stop.clone()).layer(guard);
    tokio::spawn(super::http::serve(page, router, stop.clone()));
    (addresses.0, addresses.1, stop)
}

/// The next line, within [`PATIENCE`]; `None` at the end.
async fn next(reader: &mut (impl tokio::io::AsyncBufRead + Unpin)) -> Option<String> {
    let mut line = String::new();
    let read = timeout(PATIENCE, reader.read_line(&mut line))
        .await
        .expect("a line in time");
    (read.unwrap() > 0).then(|| line.trim_end().to_owned())
}

/// `kind` and `seq` of an object.
fn named(json: &str) -> (String, Option<u64>) {
    let value: Value = serde_json::from_str(json).unwrap();
    (
        value["kind"].as_str().unwrap().to_owned(),
        value["seq"].as_u64(),
    )
}
