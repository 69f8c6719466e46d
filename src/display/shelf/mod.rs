//! The shop's memory as people see it: a list of jobs, one job's story, what the shop learns.
//!
//! | path | what |
//! | --- | --- |
//! | `GET /jobs?q=&seat=&verdict=&since=&until=&open=&page=&lang=` | the list, 50 a page |
//! | `GET /jobs/ID` | one job: what it came to, its report, its story |
//! | `GET /learned` | what the jobs teach: plots and tables |
//!
//! Plain pages without a script: a form asks, links lead on.

mod frame;
mod job;
mod learned;
mod list;
mod routes;
mod story;

pub use routes::router;
pub use story::{Kind, Told, story};

use crate::job::Decision;
use crate::memory::Entry;
use crate::units::{Day, Moment};

use super::screens::work_in_words;
use super::words::Language;

/// A verdict in a word or few; none: nothing was measured.
pub fn decision(lang: Language, decision: Option<Decision>) -> &'static str {
    lang.say(match decision {
        Some(Decision::Conforms) => "decision.conforms",
        Some(Decision::DoesNotConform) => "decision.does-not-conform",
        Some(Decision::CantTell) => "decision.cant-tell",
        None => "decision.not-gauged",
    })
}

/// A moment by the clock of this place, to the minute, as the report writes it.
pub fn minute(lang: Language, at: Moment) -> String {
    let here = jiff::tz::TimeZone::system().to_datetime(at.0);
    format!("{} {}", lang.day(Day(here.date())), here.strftime("%H:%M"))
}

/// What was done in a job, each kind of work once, with what.
pub fn done(lang: Language, entry: &Entry) -> Vec<String> {
    let sentence = |(work, with)| {
        let work = work_in_words(lang, work);
        match with {
            Some(with) => lang.fill("shelf.work-with", &[("work", &work), ("with", &with)]),
            None => work.to_owned(),
        }
    };
    entry.done().into_iter().map(sentence).collect()
}
