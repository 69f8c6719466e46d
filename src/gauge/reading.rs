//! What arrives from a gauge: readings, noise, and news of the link itself.

use std::fmt::Write as _;
use std::sync::Arc;
use std::time::Duration;

use crate::units::{Angle, Length, Moment};

/// The bytes of one frame, kept exactly as they came.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Raw(pub Vec<u8>);

impl Raw {
    /// As text, with `\xNN` (and `\r`, `\n`, `\t`, `\\`) for bytes outside printable ASCII.
    pub fn text(&self) -> String {
        let mut text = String::with_capacity(self.0.len());
        for &byte in &self.0 {
            match byte {
                b'\r' => text.push_str("\\r"),
                b'\n' => text.push_str("\\n"),
                b'\t' => text.push_str("\\t"),
                b'\\' => text.push_str("\\\\"),
                0x20..=0x7e => text.push(char::from(byte)),
                _ => {
                    let _ = write!(text, "\\x{byte:02x}");
                }
            }
        }
        text
    }

    /// As lower-case hexadecimal digits, two a byte.
    pub fn hex(&self) -> String {
        let mut text = String::with_capacity(self.0.len() * 2);
        for byte in &self.0 {
            let _ = write!(text, "{byte:02x}");
        }
        text
    }
}

/// One thing that came from a gauge's link, in the order it came.
#[derive(Debug, Clone, PartialEq)]
pub struct Arrival {
    /// The gauge's name in the configuration.
    pub gauge: Arc<str>,
    /// Wall-clock moment at which the last byte was read.
    pub at: Moment,
    /// The same on a monotonic clock, since the daemon's start: bounce is judged by it.
    pub since_start: Duration,
    /// What came.
    pub content: Content,
}

/// What an [`Arrival`] holds.
#[derive(Debug, Clone, PartialEq)]
pub enum Content {
    /// A frame that is a reading: the value as the gauge states it (a size or a deviation, by its
    /// description), converted to millimetres.
    Reading {
        /// The frame without its terminator.
        raw: Raw,
        /// The value stated.
        value: Length,
    },
    /// The same from a gauge that states angles.
    Angle {
        /// The frame without its terminator.
        raw: Raw,
        /// The angle stated.
        value: Angle,
    },
    /// Bytes that are no reading, and why.
    Noise {
        /// The bytes.
        raw: Raw,
        /// Why they are no reading, as a sentence fragment.
        why: String,
    },
    /// The link is open and listening.
    Opened {
        /// The device path or address that was opened.
        port: String,
    },
    /// The link is gone; the reader goes on looking for it.
    Lost {
        /// The device path or address that was lost or can't be opened.
        port: String,
        /// What happened and what to do, as a sentence.
        why: String,
    },
}
