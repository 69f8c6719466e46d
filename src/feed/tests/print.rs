use std::io::{self, Write};
use std::sync::mpsc;

use super::*;

/// An output that takes nothing until it is let.
struct Blocked {
    go: mpsc::Receiver<()>,
    waited: bool,
    lines: mpsc::Sender<Vec<u8>>,
}

impl Write for Blocked {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        if !self.waited {
            let _ = self.go.recv();
            self.waited = true;
        }
        self.lines.send(bytes.to_vec()).map_err(io::Error::other)?;
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

#[tokio::test]
async fn an_output_that_blocks_holds_up_nobody_and_gets_everything_later() {
    let fake = Fake::new();
    let (let_go, go) = mpsc::channel();
    let (lines, printed) = mpsc::channel();
    let output = Blocked {
        go,
        waited: false,
        lines,
    };
    let head = Line::status(r#"{"kind":"ready","seq":null}"#);
    let stop = CancellationToken::new();
    let ended = super::super::print::start(fake.clone(), head, output, stop.clone()).unwrap();
    let end = QUEUE as u64 + 200;
    for _ in 0..end {
        fake.publish(1, "");
    }
    let_go.send(()).unwrap();
    let reading = tokio::task::spawn_blocking(move || {
        let mut text = Vec::new();
        let mut found = vec![];
        while found.last() != Some(&("section".to_owned(), Some(end))) {
            text.extend(printed.recv_timeout(PATIENCE).expect("more is printed"));
            found = String::from_utf8_lossy(&text).lines().map(named).collect();
        }
        found
    });
    let found = reading.await.unwrap();
    assert_eq!(found[0], ("ready".to_owned(), None));
    let events: Vec<_> = found
        .iter()
        .filter(|(kind, _)| kind == "noted")
        .map(|(_, seq)| seq.unwrap())
        .collect();
    stop.cancel();
    assert!(
        timeout(PATIENCE, ended).await.is_ok(),
        "ends with the daemon"
    );
    assert_eq!(events, (1..=end).collect::<Vec<_>>());
}
