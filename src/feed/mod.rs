//! Events out: the same objects as lines over TCP, as server-sent events, and on standard output.
//!
//! The text of an event is made once, by the journal, and shared by all who send it. Every consumer
//! has a bounded queue; one that doesn't keep up is cut and told from where to resume, and never
//! slows the bench.

mod follower;
pub mod guard;
pub mod http;
mod line;
mod objects;
pub mod print;
mod source;
mod sse;
mod status;
pub mod tcp;
#[cfg(test)]
mod tests;

pub use line::{Batch, Class, Line};
pub use objects::{Notice, NoticeKind};
pub use source::{QUEUE, Source};
pub use status::{Live, News, Status};
