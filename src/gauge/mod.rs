//! Bytes to readings: links, framing, decoding, descriptions, and the simulated gauge.

mod decode;
mod description;
mod framer;
mod reader;
mod reading;

pub use decode::Decoded;
pub use description::{
    Ask, BiggerBoreReads, Description, DescriptionError, Flow, FrameRule, Level, Parity, Part,
    Point, Sends, SerialLine, SignRule, Trigger,
};
pub use framer::{Framer, Piece};
pub use reader::Reader;
pub use reading::{Arrival, Content, Raw};
