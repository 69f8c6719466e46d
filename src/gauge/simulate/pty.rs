//! The pseudo-terminal under a simulated gauge.
//!
//! Its far end is raw and stays open here before anyone is told its path: else bytes sent before
//! a reader opens it would be echoed and CR LF arrive as LF LF. Both ends close on exec, so that
//! no child process keeps a pulled plug in its socket.

use std::ffi::OsString;
use std::io;
use std::os::fd::OwnedFd;
use std::os::unix::ffi::OsStringExt as _;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use rustix::event::{PollFd, PollFlags, Timespec};
use rustix::fs::{Mode, OFlags};
use rustix::pty::OpenptFlags;
use rustix::termios::OptionalActions;

#[derive(Debug)]
pub(super) struct Pty {
    near: OwnedFd,
    far: OwnedFd,
    path: PathBuf,
}

impl Pty {
    pub(super) fn open() -> io::Result<Self> {
        let flags = OpenptFlags::RDWR | OpenptFlags::NOCTTY | OpenptFlags::CLOEXEC;
        let near = rustix::pty::openpt(flags)?;
        rustix::pty::grantpt(&near)?;
        rustix::pty::unlockpt(&near)?;
        let name = rustix::pty::ptsname(&near, Vec::new())?;
        let path = PathBuf::from(OsString::from_vec(name.into_bytes()));
        let flags = OFlags::RDWR | OFlags::NOCTTY | OFlags::CLOEXEC;
        let far = rustix::fs::open(&path, flags, Mode::empty())?;
        let mut settings = rustix::termios::tcgetattr(&far)?;
        settings.make_raw();
        rustix::termios::tcsetattr(&far, OptionalActions::Now, &settings)?;
        rustix::io::ioctl_fionbio(&near, true)?;
        Ok(Self { near, far, path })
    }

    pub(super) fn path(&self) -> &Path {
        &self.path
    }

    /// Lets the terminal be opened again after a reader that was killed. A real port forgets who had
    /// it for himself when the last reader is gone; this one is never without a reader, the far end
    /// that is open here. Readers that lock the device stay apart as before.
    pub(super) fn forget_owner(&self) {
        // Where it fails the terminal is gone, and the next step says so.
        let _ = rustix::termios::ioctl_tiocnxcl(&self.far);
    }

    /// Writes all; false where there was no room for it within `limit`.
    pub(super) fn write_all(&self, mut bytes: &[u8], limit: Duration) -> io::Result<bool> {
        let deadline = Instant::now() + limit;
        while !bytes.is_empty() {
            match rustix::io::write(&self.near, bytes) {
                Ok(count) => bytes = &bytes[count..],
                Err(rustix::io::Errno::INTR) => {}
                Err(rustix::io::Errno::AGAIN) => {
                    let left = deadline.saturating_duration_since(Instant::now());
                    if left.is_zero() {
                        return Ok(false);
                    }
                    self.wait(PollFlags::OUT, left)?;
                }
                Err(error) => return Err(error.into()),
            }
        }
        Ok(true)
    }

    /// Appends what the reader has sent; false where nothing came within `limit`.
    pub(super) fn read(&self, heard: &mut Vec<u8>, limit: Duration) -> io::Result<bool> {
        let deadline = Instant::now() + limit;
        let mut buffer = [0; 256];
        loop {
            match rustix::io::read(&self.near, &mut buffer) {
                Ok(0) => return Ok(false),
                Ok(count) => {
                    heard.extend_from_slice(&buffer[..count]);
                    return Ok(true);
                }
                Err(rustix::io::Errno::INTR) => {}
                Err(rustix::io::Errno::AGAIN) => {
                    let left = deadline.saturating_duration_since(Instant::now());
                    if left.is_zero() {
                        return Ok(false);
                    }
                    self.wait(PollFlags::IN, left)?;
                }
                Err(error) => return Err(error.into()),
            }
        }
    }

    fn wait(&self, what: PollFlags, limit: Duration) -> io::Result<()> {
        let limit = Timespec::try_from(limit).map_err(io::Error::other)?;
        match rustix::event::poll(&mut [PollFd::new(&self.near, what)], Some(&limit)) {
            Ok(_) | Err(rustix::io::Errno::INTR) => Ok(()),
            Err(error) => Err(error.into()),
        }
    }

    /// True when all that was written has been read, within `limit`.
    pub(super) fn wait_until_read(&self, limit: Duration) -> bool {
        let deadline = Instant::now() + limit;
        // On their way from one end to the other bytes are counted at neither for a moment, so
        // nothing left means nothing left three times in a row.
        let mut empty = 0;
        loop {
            match rustix::io::ioctl_fionread(&self.far) {
                Ok(0) => empty += 1,
                Ok(_) => empty = 0,
                Err(_) => return false,
            }
            if empty == 3 {
                return true;
            }
            if Instant::now() >= deadline {
                return false;
            }
            std::thread::sleep(Duration::from_millis(2));
        }
    }
}
