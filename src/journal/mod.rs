//! The durable event log: one event a line, on the disk before anybody sees it.

mod disk;
mod error;
mod finite;
mod header;
mod history;
mod line;
mod replay;
mod seal;
mod writer;

#[cfg(test)]
mod tests;

pub use error::Error;
pub use history::{History, Lines};
pub use writer::{Journal, Opened};
