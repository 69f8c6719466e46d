//! The open end of a link: a serial port or a TCP stream.

use std::io;
use std::time::Duration;

use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
use tokio::net::TcpStream;
use tokio_serial::SerialStream;

/// An open link, as bytes. It is never flushed or shut down: on a serial port both wait in the
/// kernel until all is sent, which with flow control may be never. For the same reason it is
/// closed on a thread that may wait.
#[derive(Debug)]
pub struct Wire(Option<Stream>);

#[derive(Debug)]
enum Stream {
    Serial(SerialStream),
    Tcp(TcpStream),
}

impl Wire {
    pub(super) fn serial(stream: SerialStream) -> Self {
        Self(Some(Stream::Serial(stream)))
    }

    pub(super) fn tcp(stream: TcpStream) -> Self {
        Self(Some(Stream::Tcp(stream)))
    }

    /// Reads what has come, at least one byte; 0 means that the other end is gone. Cancel-safe.
    ///
    /// # Errors
    /// As the system gives them; an interrupted read is tried again.
    pub async fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        loop {
            let read = match &mut self.0 {
                Some(Stream::Serial(stream)) => stream.read(buffer).await,
                Some(Stream::Tcp(stream)) => stream.read(buffer).await,
                None => Ok(0),
            };
            match read {
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                other => return other,
            }
        }
    }

    /// Writes all of `bytes`; what finds no room within `limit` is given up, and the answer is
    /// false.
    ///
    /// # Errors
    /// As the system gives them.
    pub async fn write_within(&mut self, bytes: &[u8], limit: Duration) -> io::Result<bool> {
        let written = tokio::time::timeout(limit, async {
            match &mut self.0 {
                Some(Stream::Serial(stream)) => stream.write_all(bytes).await,
                Some(Stream::Tcp(stream)) => stream.write_all(bytes).await,
                None => Err(io::ErrorKind::BrokenPipe.into()),
            }
        });
        match written.await {
            Ok(result) => result.map(|()| true),
            Err(_elapsed) => Ok(false),
        }
    }
}

impl Drop for Wire {
    fn drop(&mut self) {
        if let Some(stream @ Stream::Serial(_)) = self.0.take()
            && let Ok(runtime) = tokio::runtime::Handle::try_current()
        {
            runtime.spawn_blocking(move || drop(stream));
        }
    }
}
