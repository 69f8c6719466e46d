//! What a bore does to the bearing pressed into it, and what to do about it.
//!
//! Pure: no file, no clock, no socket.

mod alignment;
mod along;
mod assess;
pub mod bearing;
mod checklist;
pub mod cylinders;
mod diagnosis;
mod examine;
mod expected;
mod insert;
mod judged;
mod layers;
pub mod limits;
mod material;
mod outcome;
pub mod pendulum;
pub mod plan;
mod seat;
mod service;

pub use alignment::{Alignment, TAKES_UP_MINUTES};
pub use assess::{Housing, assess};
pub use checklist::{Step, checklist};
pub use diagnosis::{AtFault, Case, Cause, CauseKind, Diagnosis, Evidence, Standing, diagnose};
pub use examine::{Examinations, Examined, ExaminedBore, Known, examine};
pub use expected::{ClearanceLeft, Fit, Meets, Range, SectionFit};
pub use insert::{Bearing, BearingSize, Insert, InsertAsked, MEASURED_U_MM, NotABearing, Outside};
pub use judged::{Judged, JudgedBore};
pub use material::{Elastic, Material};
pub use outcome::{
    Change, Done, FormHeld, LeftAt, Outcome, PreviewHeld, Unexplained, learned_cut_mm, outcomes,
};
pub use seat::{NoSeat, SeatForm, SeatSection};
pub use service::{AtTemperature, Finish, smoothing_um};
