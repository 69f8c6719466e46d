//! The description of a gauge: how its line is set, where a frame ends, how a frame is read.
//!
//! A description is a TOML file. Those in `config/gauges/` are embedded in the program; a file of
//! the same name in the user's own folder wins.

mod fault;
mod file;
mod layout;
mod shipped;

use std::fmt;
use std::path::Path;
use std::time::Duration;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

pub use fault::DescriptionError;
pub use layout::{Part, Point, SignRule};

use crate::bore::Contact;
use crate::units::{Length, LengthUnit};

/// How one kind of gauge speaks, checked: every value in it can be relied on.
#[derive(Debug, Clone, PartialEq)]
pub struct Description {
    /// The name by which a configuration asks for it: lower-case letters, digits and hyphens.
    pub name: String,
    /// One line for people.
    pub summary: String,
    /// How the serial line is set. Unused on TCP, but for the number of data bits.
    pub serial: SerialLine,
    /// Where a frame ends.
    pub frame: FrameRule,
    /// What a frame consists of, in order.
    pub layout: Vec<Part>,
    /// Whole frames that are no reading but say something: their text, and what it means.
    pub messages: Vec<(Vec<u8>, String)>,
    /// The unit of a frame that states none, and of `resolution`; unused for an angle gauge.
    pub unit: LengthUnit,
    /// The smallest step that the gauge shows; of an angle gauge the number is degrees.
    pub resolution: Length,
    /// The same as the decimal fraction the file states: mantissa and digits behind the point,
    /// in `unit`, or in degrees.
    pub resolution_decimal: (i64, u32),
    /// What makes the gauge send.
    pub trigger: Trigger,
    /// Within this time the same text again is the bounce of a button; zero where the gauge has
    /// none.
    pub bounce: Duration,
    /// How the gauge is asked; `Some` only where `trigger` is [`Trigger::Ask`].
    pub ask: Option<Ask>,
    /// Whether frames state sizes, deviations from the setting ring, or angles.
    pub sends: Sends,
    /// Whether a bigger bore reads more or less.
    pub bigger_bore_reads: BiggerBoreReads,
    /// How the gauge touches the bore.
    pub contact: Contact,
    /// Which of the values that it sends are readings.
    pub capture: Capture,
}

impl Description {
    /// The description called `name`: from `own_folder/name.toml` where that file exists, else
    /// from those that the program brings.
    ///
    /// # Errors
    /// [`DescriptionError::Unknown`] names those there are; the others say what is wrong, and
    /// where.
    pub fn named(name: &str, own_folder: Option<&Path>) -> Result<Self, DescriptionError> {
        shipped::named(name, own_folder)
    }

    /// The names that [`Description::named`] finds, sorted.
    pub fn names(own_folder: Option<&Path>) -> Vec<String> {
        shipped::names(own_folder)
    }

    /// A description from TOML text; `file` is what errors call the text.
    ///
    /// # Errors
    /// [`DescriptionError::Mistake`] with file, line, column and key.
    pub fn parse(text: &str, file: &str) -> Result<Self, DescriptionError> {
        file::parse(text, file)
    }

    /// +1 where a bigger bore reads more, -1 where it reads less.
    pub const fn sign(&self) -> f64 {
        match self.bigger_bore_reads {
            BiggerBoreReads::More => 1.0,
            BiggerBoreReads::Less => -1.0,
        }
    }

    /// What a gauge of this kind, zeroed in (or set to) a ring of size `ring`, shows in a bore of
    /// size `size`; for `radius` that is a radius, and the ring's size its diameter as ever. `None` only where the result is no finite number.
    pub fn shown(&self, size: Length, ring: Length) -> Option<Length> {
        match self.sends {
            Sends::Size | Sends::Angle => Some(size),
            Sends::Deviation => {
                let ring_mm = ring.mm() / self.contact.diameter_per_reading();
                Length::from_mm(self.sign() * (size.mm() - ring_mm))
            }
        }
    }

    /// Whether frames tell one side from the other by a sign.
    pub fn is_signed(&self) -> bool {
        self.layout.iter().any(|part| matches!(part, Part::Sign(_)))
    }

    /// The bits of a byte that carry a character; with seven data bits the eighth may be parity.
    pub(crate) const fn mask(&self) -> u8 {
        match self.serial.data_bits {
            7 => 0x7f,
            _ => 0xff,
        }
    }
}

/// How a serial line is set when it is opened.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct SerialLine {
    /// Bits a second.
    pub baud: u32,
    /// 5 to 8. With 7, the top bit of each byte is ignored.
    pub data_bits: u8,
    /// The parity bit.
    pub parity: Parity,
    /// 1 or 2.
    pub stop_bits: u8,
    /// Flow control.
    pub flow: Flow,
    /// The DTR line at opening; many gauge cables are powered by it.
    pub dtr: Level,
    /// The RTS line at opening.
    pub rts: Level,
}

impl Default for SerialLine {
    /// 9600 baud, 8 data bits, no parity, 1 stop bit, no flow control, DTR and RTS left as the
    /// system sets them.
    fn default() -> Self {
        Self {
            baud: 9_600,
            data_bits: 8,
            parity: Parity::None,
            stop_bits: 1,
            flow: Flow::None,
            dtr: Level::Leave,
            rts: Level::Leave,
        }
    }
}

impl fmt::Display for SerialLine {
    /// As the trade writes it: `9600 8N1`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let parity = match self.parity {
            Parity::None => 'N',
            Parity::Even => 'E',
            Parity::Odd => 'O',
        };
        write!(
            f,
            "{} {}{parity}{}",
            self.baud, self.data_bits, self.stop_bits
        )
    }
}

/// The parity bit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, clap::ValueEnum)]
#[serde(rename_all = "lowercase")]
pub enum Parity {
    /// No parity bit.
    None,
    /// Even number of ones.
    Even,
    /// Odd number of ones.
    Odd,
}

/// Flow control.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, clap::ValueEnum)]
#[serde(rename_all = "lowercase")]
pub enum Flow {
    /// None.
    None,
    /// RTS and CTS.
    Hardware,
    /// XON and XOFF characters.
    Software,
}

/// The level of a modem line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, clap::ValueEnum)]
#[serde(rename_all = "lowercase")]
pub enum Level {
    /// Raised.
    High,
    /// Lowered.
    Low,
    /// As the system sets it.
    Leave,
}

/// Where a frame ends.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FrameRule {
    /// Any of these byte strings ends a frame. Empty where only a gap does.
    pub ends: Vec<Vec<u8>>,
    /// A silence as long as this ends a frame that is a reading.
    pub idle: Option<Duration>,
    /// More bytes than this without an end are no frame.
    pub longest: usize,
    /// After a silence as long as this, bytes without an end are given up as noise.
    pub unfinished: Duration,
}

/// What makes a gauge send.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Trigger {
    /// A button or pedal, once a press.
    Button,
    /// It sends by itself, again and again.
    Stream,
    /// It answers when asked.
    Ask,
}

/// Which of the values that a gauge sends are readings.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Capture {
    /// Each one.
    Each,
    /// The turning point of a gauge that is rocked, or a value that is held still.
    TurningPoint,
    /// The one that a person asks for.
    OnCommand,
}

/// How a gauge is asked for a reading.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ask {
    /// The bytes to send.
    pub send: Vec<u8>,
    /// How long from one question to the next.
    pub every: Duration,
    /// No answer for as long as this means that the gauge is silent.
    pub silent_after: Duration,
}

/// What the number in a frame is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Sends {
    /// The size of the bore.
    Size,
    /// The deviation from the setting ring.
    Deviation,
    /// An angle in degrees: the file says `unit = "deg"`.
    #[serde(skip)]
    Angle,
}

/// The sense of the number in a frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum BiggerBoreReads {
    /// A bigger bore gives a bigger number.
    More,
    /// A bigger bore gives a smaller number.
    Less,
}
