//! Bytes to readings: links, framing, decoding, descriptions, and the simulated gauge.

mod reading;

pub use reading::{Arrival, Content, Raw};
