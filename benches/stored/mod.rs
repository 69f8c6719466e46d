//! What the benchmarks store.

use std::path::Path;

use borewright::bore::Contact;
use borewright::job::{Body, Event, HousingSaid, JobId, Phase, PlanKind, SCHEMA, Seats, Station};
use borewright::journal::Journal;
use borewright::units::Moment;

/// A folder on the disk that the build is on, gone when dropped.
pub(crate) fn folder() -> tempfile::TempDir {
    tempfile::TempDir::new_in(env!("CARGO_TARGET_TMPDIR")).expect("a folder to work in")
}

/// A reading as the daemon would store it.
pub(crate) fn reading(seq: u64, job: JobId) -> Event {
    let value = 45.9 + f64::from(u32::try_from(seq % 1000).expect("small")) * 1e-4;
    Event {
        schema: SCHEMA.into(),
        seq,
        at: Moment::now(),
        job: Some(job),
        phase: Some(Phase::AsFound),
        body: Body::Reading {
            gauge: "bore-gauge".into(),
            raw: format!("+{value:012.7} mm"),
            raw_hex: "2b303034352e39363330206d6d".into(),
            value_mm: value,
            contact: None,
            corrected_mm: Some(value + 0.0011),
            size_set: true,
            deviation_mm: None,
            resolution_mm: 0.001,
            setting_u_mm: None,
            ring_mm: None,
            station: Some(Station {
                bore: "drive side".into(),
                depth_mm: 8.0,
                angle_deg: 90.0,
            }),
        },
    }
}

/// A job opened for a seat that ships.
pub(crate) fn opened(seq: u64, job: JobId) -> Event {
    let seat = Seats::built_in()
        .get("pressfit-46")
        .expect("a seat that ships")
        .clone();
    let body = Body::JobOpened {
        part: "shell".into(),
        seat,
        housing: HousingSaid::default(),
        plan: PlanKind::Seat,
        contact: Contact::TwoPoint,
        stations: vec![],
    };
    Event {
        body,
        ..reading(seq, job)
    }
}

/// A job's identity.
pub(crate) fn job(number: u128) -> JobId {
    JobId(uuid::Uuid::from_u128(number))
}

/// Closed jobs of `readings` each, and one more that is open.
pub(crate) fn many_jobs(folder: &Path, closed: u128, readings: u64) {
    let (mut journal, _) = Journal::open(folder, |_| {}).expect("a new journal");
    for number in 1..=closed + 1 {
        let first = journal.next_seq();
        let mut events = vec![opened(first, job(number))];
        events.extend((first + 1..=first + readings).map(|seq| reading(seq, job(number))));
        let last = first + readings + 1;
        if number <= closed {
            events.push(Event {
                body: Body::JobClosed {},
                ..reading(last, job(number))
            });
        }
        journal.append(&events).expect("stored");
        if number <= closed {
            journal.seal(job(number), "{}").expect("sealed");
        }
    }
}
