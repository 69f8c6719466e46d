//! Which port a gauge is on.

use std::fmt;
use std::path::PathBuf;
use std::str::FromStr;

use super::ports::{self, SerialPort};

/// Where a gauge is found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Port {
    /// A device path, taken as it is: `/dev/ttyUSB0`, a link under `/dev/serial/by-id`, a
    /// pseudo-terminal.
    Path(PathBuf),
    /// Whichever port this USB device has now.
    Usb(UsbIdentity),
    /// A device server that passes the bytes on: host and port.
    Tcp(String),
}

/// The identity of a USB device: found again on whatever path it comes back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UsbIdentity {
    /// Vendor number.
    pub vendor: u16,
    /// Product number.
    pub product: u16,
    /// Serial number; needed where two alike are plugged in.
    pub serial: Option<String>,
}

/// Why a text names no port.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "`{0}` is no port: write a device path such as /dev/ttyUSB0, usb:VENDOR:PRODUCT or \
     usb:VENDOR:PRODUCT:SERIAL as `borewright ports` shows them, or tcp://host:port"
)]
pub struct NotAPort(String);

impl FromStr for Port {
    type Err = NotAPort;

    fn from_str(text: &str) -> Result<Self, NotAPort> {
        let wrong = || NotAPort(text.to_owned());
        if let Some(address) = text.strip_prefix("tcp://") {
            let (host, port) = address.rsplit_once(':').ok_or_else(wrong)?;
            let valid = !host.is_empty() && port.parse::<u16>().is_ok();
            return if valid {
                Ok(Self::Tcp(address.to_owned()))
            } else {
                Err(wrong())
            };
        }
        if let Some(identity) = text.strip_prefix("usb:") {
            let mut fields = identity.splitn(3, ':');
            let mut number = || {
                let digits = fields.next().filter(|digits| digits.len() == 4)?;
                u16::from_str_radix(digits, 16).ok()
            };
            let (Some(vendor), Some(product)) = (number(), number()) else {
                return Err(wrong());
            };
            let serial = fields.next().map(str::to_owned);
            if serial.as_deref() == Some("") {
                return Err(wrong());
            }
            return Ok(Self::Usb(UsbIdentity {
                vendor,
                product,
                serial,
            }));
        }
        // Anything else would be taken for a path in the working folder, and never be there.
        if text.starts_with('/') {
            Ok(Self::Path(PathBuf::from(text)))
        } else {
            Err(wrong())
        }
    }
}

impl fmt::Display for Port {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Path(path) => path.display().fmt(f),
            Self::Usb(identity) => identity.fmt(f),
            Self::Tcp(address) => write!(f, "tcp://{address}"),
        }
    }
}

impl fmt::Display for UsbIdentity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "usb:{:04x}:{:04x}", self.vendor, self.product)?;
        self.serial
            .iter()
            .try_for_each(|serial| write!(f, ":{serial}"))
    }
}

impl UsbIdentity {
    /// The path that this device has among `found`.
    ///
    /// # Errors
    /// A sentence that says what to do, where there is none or more than one.
    pub fn among(&self, found: &[SerialPort]) -> Result<PathBuf, String> {
        let is_it = |usb: &ports::Usb| {
            usb.vendor == self.vendor
                && usb.product == self.product
                && self
                    .serial
                    .as_ref()
                    .is_none_or(|serial| usb.serial.as_ref() == Some(serial))
        };
        let mut matching = found
            .iter()
            .filter(|port| port.usb.as_ref().is_some_and(is_it));
        match (matching.next(), matching.next()) {
            (Some(port), None) => Ok(port.path.clone()),
            (None, _) => Err(format!(
                "no port belongs to {self}: plug the gauge in; `borewright ports` lists what there \
                 is"
            )),
            (Some(one), Some(other)) => Err(format!(
                "{self} fits both {} and {}: add the serial number to the port, or use a link \
                 under /dev/serial/by-id",
                one.path.display(),
                other.path.display()
            )),
        }
    }
}
