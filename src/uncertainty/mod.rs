//! Budgets, decision rules and repeatability studies.
//!
//! Pure: no file, no clock, no socket.

mod decision;
mod estimate;
mod quantile;
mod random;

pub use decision::{Decision, Limits, Remedy, guard_factor};
pub use estimate::{Estimate, Estimates, LEVEL};
pub use quantile::{fisher, student};
pub use random::Random;
