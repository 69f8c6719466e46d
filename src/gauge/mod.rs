//! Bytes to readings: links, framing, decoding, descriptions, and the simulated gauge.

mod decode;
mod description;
mod encode;
mod framer;
pub mod link;
mod port;
pub mod ports;
mod reader;
mod reading;
pub mod simulate;

pub use decode::Decoded;
pub use description::{
    Ask, BiggerBoreReads, Capture, Description, DescriptionError, Flow, FrameRule, Level, Parity,
    Part, Point, Sends, SerialLine, SignRule, Trigger,
};
pub use encode::CantSay;
pub use framer::{Framer, Piece};
pub use link::Gauge;
pub use port::{NotAPort, Port, UsbIdentity};
pub use reader::Reader;
pub use reading::{Arrival, Content, Raw};
