//! The job on the bench, pure: commands and readings in, events out, state a fold of events.
//!
//! [`decide`] looks at the [`Bench`] and one [`Input`] and says which events follow, or refuses
//! with a reason. [`Bench::apply`] folds an event into the state. Nothing here touches a file, a
//! socket, a clock or a thread, so a restart is a replay and a test is a few lines.

mod command;
mod event;
mod plan;
mod seat;
mod seats;

pub use command::Command;
pub use event::{Body, Event, JobId, Phase, SCHEMA};
pub use plan::{PlanKind, Station};
pub use seat::{Facing, Seat, SeatBore};
pub use seats::Seats;
