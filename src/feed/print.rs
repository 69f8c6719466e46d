//! The feed on standard output, for `run --print`.
//!
//! A pipe can't be opened again by the one who reads it, so here a reader that doesn't keep up is
//! not cut: what it missed is taken from the journal, in order, when it reads again.

use std::io::{self, Write};

use tokio::runtime::Handle;
use tokio::sync::oneshot;
use tokio_util::sync::CancellationToken;

use super::follower::{End, Follower};
use super::{Line, Source};

/// Prints `head` (a line of its own, such as the ready line) and then everything published from
/// now on to `output`, from a thread of its own: an output that blocks holds up nothing else.
/// Called inside a runtime.
///
/// Once `stop` is cancelled what was published before is still printed. What is returned resolves
/// when that is done or the output was closed; an output that blocks may keep it waiting for ever.
///
/// # Errors
///
/// Where the thread can't be started.
pub fn start<S: Source>(
    source: S,
    head: Line,
    output: impl Write + Send + 'static,
    stop: CancellationToken,
) -> io::Result<oneshot::Receiver<()>> {
    let runtime = Handle::current();
    let follower = Follower::live(source.clone());
    let (ended, end) = oneshot::channel();
    let print = move || {
        if let Err(error) = runtime.block_on(follow(source, follower, &head, output, stop)) {
            tracing::warn!("nothing more is printed: {error}");
        }
        drop(ended);
    };
    std::thread::Builder::new()
        .name("print".to_owned())
        .spawn(print)
        .map(|_| end)
}

/// Runs on a thread of its own, so its writes may block.
async fn follow<S: Source>(
    source: S,
    mut follower: Follower<S>,
    head: &Line,
    mut output: impl Write,
    stop: CancellationToken,
) -> io::Result<()> {
    output.write_all(head.with_line_feed())?;
    output.flush()?;
    loop {
        let next = tokio::select! {
            biased;
            next = follower.next() => next,
            () = stop.cancelled() => return Ok(()),
        };
        match next {
            Ok(lines) => {
                let text: Vec<u8> = lines
                    .iter()
                    .flat_map(Line::with_line_feed)
                    .copied()
                    .collect();
                output.write_all(&text)?;
                output.flush()?;
            }
            Err(End::Overflow) => {
                let last = follower.last();
                tracing::info!("the printed feed reads on from event {last} in the journal");
                follower = Follower::resume(source.clone(), last);
            }
            Err(End::Gone) => return Ok(()),
        }
    }
}
