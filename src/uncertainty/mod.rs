//! Budgets, decision rules and repeatability studies.
//!
//! Pure: no file, no clock, no socket.

mod estimate;
mod quantile;

pub use estimate::{Estimate, Estimates, LEVEL};
pub use quantile::{fisher, student};
