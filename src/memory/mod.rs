//! The shop's memory: the jobs in a data folder, closed and open, without the daemon.
//!
//! Everything is read, nothing written and no lock taken, so it works while the daemon runs and on
//! a copy of the folder alike. A closed job is what the newest revision of its record says; an open
//! one is a record of the job as it stands, made from the journal. A file that can't be read is
//! named in [`Records::troubles`] and passed over: one damaged record never hides the others.
//!
//! | what | by |
//! | --- | --- |
//! | all jobs, newest first | [`Records::read`], or [`Shelf::read`] where it is read again and again |
//! | those that are wanted | [`Filter`] |
//! | one job, from what a person types | [`find`], [`Records::find`] |
//! | its whole record, its events | [`Records::record`], [`Records::events`] |
//! | its readings as rows of a table | [`readings`] |
//! | what many jobs teach | [`Lessons`] |

mod entry;
mod error;
mod filter;
mod learned;
mod readings;
mod records;
mod shelf;
mod statistics;

pub use entry::{BoreGlance, Entry, PhaseGlance, SeatGlance, SectionGlance};
pub use error::{Error, Trouble};
pub use filter::Filter;
pub use learned::{
    GaugeLesson, LEARNED_SCHEMA, Lessons, ReamerLesson, SeatLesson, Value, is_enough,
};
pub use readings::{Reading, readings};
pub use records::{Records, find};
pub use shelf::{Shelf, Taught};
pub use statistics::{ENOUGH, Mean, Quartiles};
