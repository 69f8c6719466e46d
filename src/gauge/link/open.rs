//! Opening a link, and saying in words why it can't be or is no longer.

use std::io;
use std::path::Path;
use std::time::Duration;

use rustix::net::sockopt;
use serialport::{DataBits, FlowControl, SerialPort as _, StopBits};
use tokio::net::TcpStream;
use tokio_serial::SerialStream;

use super::super::description::{Flow, Level, Parity, SerialLine};
use super::super::port::Port;
use super::super::ports;
use super::wire::Wire;

/// How long a TCP connection may take to open.
const CONNECT_LIMIT: Duration = Duration::from_secs(5);

/// Why a link can't be opened, and what to do, as a sentence.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum OpenError {
    /// There is nothing at this port.
    #[error("{0}")]
    Absent(String),
    /// There is something, but it can't be used.
    #[error("{0}")]
    Refused(String),
}

/// Opens `port`, sets it as `line` says, for this process alone; also gives the path or address
/// that was opened.
///
/// # Errors
/// [`OpenError`], a sentence that says what to do.
pub async fn open(port: &Port, line: &SerialLine) -> Result<(Wire, String), OpenError> {
    let path = match port {
        Port::Tcp(address) => return tcp(address).await,
        Port::Path(path) => Ok(path.clone()),
        Port::Usb(identity) => {
            let identity = identity.clone();
            blocking(move || {
                identity
                    .among(&ports::list(Path::new("/")))
                    .map_err(OpenError::Absent)
            })
            .await
        }
    }?;
    let line = line.clone();
    blocking(move || serial(&path, &line)).await
}

/// Runs what may wait in the kernel on a thread that may wait.
async fn blocking<T: Send + 'static>(
    work: impl FnOnce() -> Result<T, OpenError> + Send + 'static,
) -> Result<T, OpenError> {
    tokio::task::spawn_blocking(work)
        .await
        .unwrap_or_else(|_| Err(OpenError::Refused("the program is ending".to_owned())))
}

async fn tcp(address: &str) -> Result<(Wire, String), OpenError> {
    let shown = format!("tcp://{address}");
    let failed = |error: io::Error| {
        OpenError::Absent(format!(
            "{shown} can't be reached ({error}): is the device server on, and the address right?"
        ))
    };
    let stream = tokio::time::timeout(CONNECT_LIMIT, TcpStream::connect(address))
        .await
        .map_err(|_| failed(io::ErrorKind::TimedOut.into()))?
        .map_err(failed)?;
    // A pulled network cable says nothing: the kernel asks, so that this process need not wake.
    // Where the system can't, the link works as before, only without notice of such a loss.
    let _ = sockopt::set_socket_keepalive(&stream, true);
    let _ = sockopt::set_tcp_keepidle(&stream, Duration::from_secs(10));
    let _ = sockopt::set_tcp_keepintvl(&stream, Duration::from_secs(5));
    let _ = sockopt::set_tcp_keepcnt(&stream, 3);
    Ok((Wire::tcp(stream), shown))
}

fn serial(path: &Path, line: &SerialLine) -> Result<(Wire, String), OpenError> {
    // Looked at before it is opened: opening a file that is no port must not touch it.
    let shown = path.display().to_string();
    if let Some(why) = ports::blocked(Path::new("/"), path) {
        return Err(match path.try_exists() {
            Ok(false) => OpenError::Absent(why),
            _ => OpenError::Refused(why),
        });
    }
    let builder = serialport::new(shown.as_str(), line.baud)
        .data_bits(match line.data_bits {
            5 => DataBits::Five,
            6 => DataBits::Six,
            7 => DataBits::Seven,
            _ => DataBits::Eight,
        })
        .parity(match line.parity {
            Parity::None => serialport::Parity::None,
            Parity::Even => serialport::Parity::Even,
            Parity::Odd => serialport::Parity::Odd,
        })
        .stop_bits(match line.stop_bits {
            2 => StopBits::Two,
            _ => StopBits::One,
        })
        .flow_control(match line.flow {
            Flow::None => FlowControl::None,
            Flow::Hardware => FlowControl::Hardware,
            Flow::Software => FlowControl::Software,
        });
    let mut stream = SerialStream::open(&builder).map_err(|error| refused(path, &error))?;
    modem_lines(&mut stream, line, &shown);
    Ok((Wire::serial(stream), shown))
}

fn refused(path: &Path, error: &serialport::Error) -> OpenError {
    let shown = path.display();
    OpenError::Refused(match error.kind() {
        // An exclusive port of another program, by lock or by the kernel's own flag.
        serialport::ErrorKind::NoDevice => {
            ports::busy(path, ports::holder(Path::new("/"), path).as_ref())
        }
        serialport::ErrorKind::Unknown if error.description.contains("typewriter") => {
            format!("{shown} is no serial port; `borewright ports` lists those there are")
        }
        _ => format!(
            "{shown} can't be opened: {}. Unplug the gauge and plug it in again.",
            error.description
        ),
    })
}

/// Sets DTR and RTS. A port without such lines (a pseudo-terminal, some adapters) works without.
fn modem_lines(stream: &mut SerialStream, line: &SerialLine, shown: &str) {
    let level = |level| match level {
        Level::High => Some(true),
        Level::Low => Some(false),
        Level::Leave => None,
    };
    if let Some(high) = level(line.dtr)
        && let Err(error) = stream.write_data_terminal_ready(high)
    {
        tracing::debug!(port = shown, %error, "DTR can't be set on this port");
    }
    // With hardware flow control RTS is the driver's.
    if let Some(high) = level(line.rts).filter(|_| line.flow != Flow::Hardware)
        && let Err(error) = stream.write_request_to_send(high)
    {
        tracing::debug!(port = shown, %error, "RTS can't be set on this port");
    }
    tracing::info!(port = shown, dtr = ?line.dtr, rts = ?line.rts, baud = line.baud, "port opened");
}

/// Why a link that was open is no longer, as a sentence without its end.
pub fn lost(port: &str, error: Option<&io::Error>) -> String {
    // End of file and an I/O error both mean that the device was pulled out.
    let pulled = rustix::io::Errno::IO.raw_os_error();
    match error.filter(|error| error.raw_os_error() != Some(pulled)) {
        None => format!("{port} is gone"),
        Some(error) => format!("{port} failed ({error})"),
    }
}

/// What to do about it while the link looks for its port.
pub(super) fn remedy(port: &str) -> &'static str {
    if port.starts_with("tcp://") {
        "it is connected again by itself when the device server answers"
    } else {
        "plug the gauge in again, and it is taken up by itself"
    }
}
