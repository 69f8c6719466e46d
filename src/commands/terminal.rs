//! What the commands share of the terminal they run in.

use std::io::Write as _;

use tokio::signal::unix::{SignalKind, signal};

use super::Failure;

/// To standard output, at once; a reader that went away is no failure.
pub(super) fn print(text: &str) -> Result<(), Failure> {
    let mut out = std::io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() != std::io::ErrorKind::BrokenPipe => {
            Err(Failure::outside(error))
        }
        _ => Ok(()),
    }
}

/// Ends when the user or the system asks the program to end: Ctrl-C, SIGTERM, a closed terminal.
pub(super) async fn interrupted() {
    let asked = |kind| async move {
        match signal(kind) {
            Ok(mut signal) => {
                signal.recv().await;
            }
            // Without a handler the signal ends the program by itself.
            Err(_) => std::future::pending().await,
        }
    };
    tokio::select! {
        () = asked(SignalKind::interrupt()) => {}
        () = asked(SignalKind::terminate()) => {}
        () = asked(SignalKind::hangup()) => {}
    }
}
