//! A simulated gauge on a pseudo-terminal, and the bore that it is held into.
//!
//! ```no_run
//! # use std::sync::Arc;
//! # use borewright::gauge::{Description, simulate::{Bore, Simulator}};
//! # use borewright::{bore::Contact, units::Length};
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! let form = Arc::new(Description::named("plain-mm", None)?);
//! let gauge = Simulator::open(form)?;
//! println!("open {}", gauge.path().display());
//! let bore = Bore { mean_mm: 45.96, oval_mm: 0.10, long_axis_deg: 35.0, ..Bore::default() };
//! let size = Length::from_mm(bore.seen_mm(Contact::TwoPoint, 8.0, 45.0)).ok_or("not finite")?;
//! gauge.send_value(size)?; // +0045.9940 mm CR LF
//! gauge.close(); // waits until it is read, then is gone like a pulled plug
//! # Ok(()) }
//! ```

mod bore;
mod hand;
mod pty;
mod rocking;
mod swinging;

use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

pub use bore::{Bore, Lobes, Reamed};
pub use hand::Hand;
pub use rocking::Rocking;
pub use swinging::Swinging;

use self::pty::Pty;
use super::description::Description;
use super::encode::CantSay;
use crate::units::{Angle, Length};

/// How long a gauge that is closed waits for its last bytes to be read.
const LINGER: Duration = Duration::from_secs(2);
/// How long a frame may take to find room in the pseudo-terminal.
const SEND_LIMIT: Duration = Duration::from_secs(5);

/// Why the simulated gauge can't be opened, or can't send.
#[derive(Debug, thiserror::Error)]
pub enum SimulateError {
    /// No pseudo-terminal.
    #[error("no pseudo-terminal can be opened; is /dev/pts mounted?")]
    NoTerminal(#[source] io::Error),
    /// The link to it can't be made.
    #[error("{}: can't be made a link to the simulated gauge", .0.display())]
    NoLink(PathBuf, #[source] io::Error),
    /// The form has no frame for the value.
    #[error(transparent)]
    CantSay(#[from] CantSay),
    /// The terminal is full and stays so.
    #[error("nobody reads {}: it is full, and the frame was not sent", .0.display())]
    NobodyReads(PathBuf),
    /// The terminal failed.
    #[error("the simulated gauge's terminal failed")]
    Failed(#[source] io::Error),
}

/// A gauge of some form on a pseudo-terminal, which any program may open as a serial port.
///
/// Dropping it pulls the plug at once: bytes that were not read are lost. [`Simulator::close`]
/// waits for them first.
///
/// All of this may wait for the reader, so where the reader runs on the same thread of an
/// asynchronous runtime, call it from `spawn_blocking`; only sending into a terminal that has room
/// never waits.
#[derive(Debug)]
pub struct Simulator {
    form: Arc<Description>,
    pty: Pty,
    link: Option<PathBuf>,
    /// What came from the reader and is not yet a whole question.
    heard: Mutex<Vec<u8>>,
}

impl Simulator {
    /// Plugs a gauge of this form in, on a path that the system chooses.
    ///
    /// # Errors
    /// [`SimulateError::NoTerminal`].
    pub fn open(form: Arc<Description>) -> Result<Self, SimulateError> {
        let pty = Pty::open().map_err(SimulateError::NoTerminal)?;
        Ok(Self {
            form,
            pty,
            link: None,
            heard: Mutex::default(),
        })
    }

    /// The same, also found at `link` (replaced where it is a symbolic link already), so that a
    /// gauge can come back on the path on which it was. The link goes with the gauge.
    ///
    /// # Errors
    /// [`SimulateError::NoTerminal`] or [`SimulateError::NoLink`].
    pub fn open_at(form: Arc<Description>, link: &Path) -> Result<Self, SimulateError> {
        let mut gauge = Self::open(form)?;
        make_link(gauge.pty.path(), link)
            .map_err(|error| SimulateError::NoLink(link.to_owned(), error))?;
        gauge.link = Some(link.to_owned());
        Ok(gauge)
    }

    /// The path to open: the link, where there is one.
    pub fn path(&self) -> &Path {
        self.link.as_deref().unwrap_or_else(|| self.pty.path())
    }

    /// How this gauge speaks.
    pub fn form(&self) -> &Description {
        &self.form
    }

    /// Sends the frame that states `value`; gives its bytes.
    ///
    /// # Errors
    /// As [`Simulator::send_bytes`], and [`SimulateError::CantSay`].
    pub fn send_value(&self, value: Length) -> Result<Vec<u8>, SimulateError> {
        let frame = self.form.encode(value)?;
        self.send_bytes(&frame)?;
        Ok(frame)
    }

    /// Sends the frame that states the angle `value`; gives its bytes.
    ///
    /// # Errors
    /// As [`Simulator::send_value`].
    pub fn send_angle(&self, value: Angle) -> Result<Vec<u8>, SimulateError> {
        let frame = self.form.encode_angle(value)?;
        self.send_bytes(&frame)?;
        Ok(frame)
    }

    /// Sends bytes as they are. Waits up to 5 s where the terminal is full (some 20 kB unread).
    ///
    /// # Errors
    /// [`SimulateError::NobodyReads`] or [`SimulateError::Failed`].
    pub fn send_bytes(&self, bytes: &[u8]) -> Result<(), SimulateError> {
        self.pty.forget_owner();
        match self.pty.write_all(bytes, SEND_LIMIT) {
            Ok(true) => Ok(()),
            Ok(false) => Err(SimulateError::NobodyReads(self.path().to_owned())),
            Err(error) => Err(SimulateError::Failed(error)),
        }
    }

    /// Waits up to `limit` for the question of a form that is asked; true when it came. For other
    /// forms, true when any byte came.
    ///
    /// # Errors
    /// [`SimulateError::Failed`].
    pub fn asked(&self, limit: Duration) -> Result<bool, SimulateError> {
        let question = self.form.ask.as_ref().map_or(&[][..], |ask| &ask.send);
        self.pty.forget_owner();
        let deadline = Instant::now() + limit;
        let mut heard = self.heard.lock().unwrap_or_else(PoisonError::into_inner);
        loop {
            let whole = heard
                .windows(question.len().max(1))
                .position(|w| w.starts_with(question));
            if let Some(at) = whole {
                heard.drain(..at + question.len().max(1));
                return Ok(true);
            }
            let left = deadline.saturating_duration_since(Instant::now());
            if !self
                .pty
                .read(&mut heard, left)
                .map_err(SimulateError::Failed)?
            {
                return Ok(false);
            }
        }
    }

    /// Waits up to `limit` until all that was sent is read; true when it is.
    pub fn wait_until_read(&self, limit: Duration) -> bool {
        self.pty.wait_until_read(limit)
    }

    /// Takes the link away, where there is one; the gauge itself stays plugged in.
    pub fn unlink(&self) {
        // Only one's own link: another gauge may have been plugged in at this path since.
        if let Some(link) = &self.link
            && std::fs::read_link(link).is_ok_and(|target| target == self.pty.path())
        {
            let _ = std::fs::remove_file(link);
        }
    }

    /// Waits (2 s at most) until all that was sent is read, then pulls the plug.
    pub fn close(self) {
        self.wait_until_read(LINGER);
    }
}

impl Drop for Simulator {
    fn drop(&mut self) {
        self.unlink();
    }
}

/// Makes `link` point to `target` in one step; anything but a symbolic link is left alone.
fn make_link(target: &Path, link: &Path) -> io::Result<()> {
    match link.symlink_metadata() {
        Ok(there) if !there.file_type().is_symlink() => {
            return Err(io::Error::new(
                io::ErrorKind::AlreadyExists,
                "there is a file at this path, and it is not replaced",
            ));
        }
        _ => {}
    }
    let mut beside = link.as_os_str().to_owned();
    beside.push(format!(".{}", std::process::id()));
    let beside = PathBuf::from(beside);
    std::os::unix::fs::symlink(target, &beside)?;
    std::fs::rename(&beside, link).inspect_err(|_| {
        let _ = std::fs::remove_file(&beside);
    })
}
