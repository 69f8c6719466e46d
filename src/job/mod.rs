//! The job on the bench, pure: commands and readings in, events out, state a fold of events.
//!
//! [`Bench::command`] and [`Bench::reading`] look at the state and say which event follows, or
//! refuse with a reason. [`Bench::apply`] folds an event into the state. Nothing here touches a file, a
//! socket, a clock or a thread, so a restart is a replay and a test is a few lines.

mod amend;
mod bounce;
mod capture;
mod change;
mod command;
mod correction;
mod decide;
mod derived;
mod event;
mod findings;
mod gauges;
mod hang;
mod housing;
mod insert;
mod learned;
mod numbers;
mod plan;
mod record;
mod ring;
mod seat;
mod seats;
mod section;
mod shown;
mod state;
mod studied;
mod swings;
mod typed;
mod verdict;
mod view;

pub use crate::uncertainty::Decision;
pub use amend::Amendment;
pub use bounce::{Bounces, Floods};
pub use capture::{AWAY, SILENCE, STILL, Turning};
pub use change::{EvidenceChange, HousingChange};
pub use command::Command;
pub use correction::on_a_bench;
pub use decide::{Draft, Refusal, Shop};
pub use derived::{BoreFit, BorePlan, Derived, DerivedBody, Following};
pub use event::{Body, Event, JobId, Phase, SCHEMA};
pub use findings::Findings;
pub use gauges::{Calibration, Gauges, Role, Sends, TYPED, Traits, Worth};
pub use hang::{Friction, HangTest, HangUnderWay, HangView, Turn};
pub use insert::{InsertReading, NamedInsert};
pub use learned::{Learned, LearnedCut};
pub use numbers::{NamedBore, Numbers, Progress, SectionNumbers};
pub use plan::{PlanKind, Station, stations};
pub use record::{
    RECORD_SCHEMA, Record, RecordedCheck, RecordedNote, RecordedPhase, RecordedReading,
    RecordedSetting, RecordedStation, RecordedTick, all_settings,
};
pub use ring::{ShownInRing, off_its_ring, possible_ring_uncertainty};
pub use seat::{BELONGS_WITHIN_MM, Facing, HousingSaid, Seat, SeatBore, depth_or_refuse};
pub use seats::Seats;
pub use state::{
    Bench, Check, Chosen, InRing, Job, Link, Note, Place, Setting, Span, Taken, Temperature, Tick,
    Work,
};
pub use studied::GaugeStudy;
pub use swings::Swings;
pub use verdict::{Judgement, Verdict};
pub use view::{
    AtWork, DiskView, DriftView, GaugeView, HangSoFar, InRingView, JobView, LeftOut, OfPhase,
    OpenJob, SeatName, StationView, Status, View,
};

#[cfg(test)]
mod tests;
