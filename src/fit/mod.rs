//! What a bore does to the bearing pressed into it, and what to do about it.
//!
//! Pure: no file, no clock, no socket.

mod assess;
pub mod bearing;
pub mod cylinders;
mod insert;
pub mod limits;
mod material;
pub mod pendulum;
mod seat;

pub use assess::{ClearanceLeft, Fit, Housing, Meets, Range, SectionFit, assess};
pub use insert::{Bearing, BearingSize, Insert, NotABearing, Outside};
pub use material::{Elastic, Material};
pub use seat::{NoSeat, SeatForm, SeatSection};
