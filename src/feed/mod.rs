//! Events out: the same objects as lines over TCP, as server-sent events, and on standard output.

mod line;

pub use line::{Batch, Class, Line};
