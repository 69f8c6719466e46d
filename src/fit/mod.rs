//! What a bore does to the bearing pressed into it, and what to do about it.
//!
//! Pure: no file, no clock, no socket.

pub mod bearing;
pub mod cylinders;
pub mod limits;
mod material;
pub mod pendulum;

pub use material::{Elastic, Material};
