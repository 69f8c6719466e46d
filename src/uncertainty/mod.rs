//! Budgets, decision rules and repeatability studies.
//!
//! Pure: no file, no clock, no socket.

mod budget;
#[cfg(test)]
mod budget_tests;
mod decision;
mod estimate;
mod quantile;
mod random;
pub mod study;
pub mod thermal;

pub use budget::{Budget, Distribution, Input};
pub use decision::{Decision, Limits, Remedy, guard_band, guard_factor, wrong_factor};
pub(crate) use estimate::behind;
pub use estimate::{Estimate, Estimates, LEVEL, rounded_up};
pub use quantile::{fisher, student};
pub use random::Random;
