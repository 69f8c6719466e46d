//! What the journal promises, on a healthy disk and on others.

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io;
use std::path::Path;

use tempfile::TempDir;

use super::disk::Disk;
use super::*;
use crate::bore::Contact;
use crate::job::{Body, Event, HousingSaid, JobId, Phase, PlanKind, SCHEMA, Seat, Station};
use crate::units::Moment;

mod faults;
mod history;
mod sealing;
mod torn;

/// Any moment will do.
fn at(seq: u64) -> Moment {
    Moment(jiff::Timestamp::from_second(1_800_000_000 + seq as i64).unwrap())
}

fn job(number: u128) -> JobId {
    JobId(uuid::Uuid::from_u128(number))
}

fn event(seq: u64, job: Option<JobId>, body: Body) -> Event {
    let phase = job.map(|_| Phase::AsFound);
    Event {
        schema: SCHEMA.into(),
        seq,
        at: at(seq),
        job,
        phase,
        body,
    }
}

fn opened(seq: u64, job: JobId) -> Event {
    let seat: Seat = serde_json::from_value(serde_json::json!({
        "name": "a seat", "title": "t", "source": "s", "landmark": "seat tube", "angles": 4,
        "bore": [],
    }))
    .unwrap();
    let body = Body::JobOpened {
        part: "shell".into(),
        seat,
        housing: HousingSaid::default(),
        plan: PlanKind::Quick,
        contact: Contact::TwoPoint,
        stations: vec![],
    };
    event(seq, Some(job), body)
}

fn reading(seq: u64, job: Option<JobId>) -> Event {
    let body = Body::Reading {
        gauge: "bore-gauge".into(),
        raw: format!("+{seq:06}\\r"),
        raw_hex: "2b".into(),
        value_mm: 45.9 + seq as f64 * 1e-4,
        contact: None,
        corrected_mm: None,
        size_set: false,
        setting_u_mm: None,
        ring_mm: None,
        resolution_mm: 0.001,
        deviation_mm: None,
        station: Some(Station {
            bore: "left".into(),
            depth_mm: 8.0,
            angle_deg: 90.0,
        }),
    };
    event(seq, job, body)
}

fn ring(seq: u64, job: Option<JobId>, gauge: &str) -> Event {
    let body = Body::RingSet {
        gauge: gauge.into(),
        ring_mm: 46.0 + seq as f64,
        shown_mm: 0.0,
        ring_uncertainty_mm: None,
        ring_due: None,
        in_ring: None,
    };
    event(seq, job, body)
}

fn connected(seq: u64, gauge: &str) -> Event {
    let body = Body::GaugeOpened {
        gauge: gauge.into(),
        port: "/dev/ttyUSB0".into(),
        calibration: None,
    };
    event(seq, None, body)
}

fn closed(seq: u64, job: JobId) -> Event {
    event(seq, Some(job), Body::JobClosed {})
}

/// The disk without its waits, for tests that open the journal a thousand times.
struct Unsynced;

impl Disk for Unsynced {
    fn sync(&mut self, _: &File) -> io::Result<()> {
        Ok(())
    }

    fn sync_folder(&mut self, _: &Path) -> io::Result<()> {
        Ok(())
    }
}

/// Opens and gives what was folded.
fn reopen(folder: &Path) -> (Journal, Opened, Vec<Event>) {
    let mut events = vec![];
    let fold = |event: &Event| events.push(event.clone());
    let (journal, opened) = Journal::open_on(Box::new(Unsynced), folder, fold).unwrap();
    (journal, opened, events)
}

fn seqs(events: &[Event]) -> Vec<u64> {
    events.iter().map(|event| event.seq).collect()
}

fn history(journal: &Journal, since: u64) -> Vec<u64> {
    let lines = journal.history().since(since).unwrap();
    lines.map(|line| line.unwrap().seq().unwrap()).collect()
}

#[test]
fn what_was_appended_comes_back_as_it_was() {
    let folder = TempDir::new().unwrap();
    let written = vec![
        ring(1, None, "g"),
        opened(2, job(1)),
        reading(3, Some(job(1))),
    ];
    let (mut journal, first) = Journal::open(&folder.path().join("made/here"), |_| {}).unwrap();
    assert_eq!(first, Opened::default());
    let lines = journal.append(&written).unwrap();
    // The line that goes out is the line on the disk, and reads as the event.
    let file = fs::read_to_string(folder.path().join("made/here/journal.jsonl")).unwrap();
    assert_eq!(
        file.lines().skip(1).collect::<Vec<_>>(),
        lines.iter().map(|l| l.json()).collect::<Vec<_>>()
    );
    for (line, event) in lines.iter().zip(&written) {
        assert_eq!(&serde_json::from_str::<Event>(line.json()).unwrap(), event);
        assert_eq!(line.seq(), Some(event.seq));
    }
    drop(journal);
    let (journal, opened, events) = reopen(&folder.path().join("made/here"));
    assert_eq!(events, written);
    assert_eq!(
        (opened.events, opened.warnings.len(), journal.next_seq()),
        (3, 0, 4)
    );
}

#[test]
fn a_second_daemon_is_refused_and_told_who_is_there() {
    let folder = TempDir::new().unwrap();
    let (journal, ..) = reopen(folder.path());
    let Err(error) = Journal::open(folder.path(), |_| {}) else {
        panic!("opened twice")
    };
    let process = Some(std::process::id());
    assert!(
        matches!(&error, Error::InUse { process: found, .. } if *found == process),
        "{error}"
    );
    drop(journal);
    reopen(folder.path());
}

#[test]
fn what_cannot_come_back_the_same_is_not_stored() {
    let folder = TempDir::new().unwrap();
    let (mut journal, ..) = reopen(folder.path());
    let not_finite = event(
        1,
        None,
        Body::RingSet {
            gauge: "g".into(),
            ring_mm: f64::NAN,
            shown_mm: 0.0,
            ring_uncertainty_mm: None,
            ring_due: None,
            in_ring: None,
        },
    );
    assert!(matches!(
        journal.append(&[not_finite]),
        Err(Error::Unwritable { seq: 1, .. })
    ));
    journal.append(&[reading(5, None)]).unwrap();
    assert!(matches!(
        journal.append(&[reading(5, None)]),
        Err(Error::Unwritable { .. })
    ));
    assert!(matches!(
        journal.append(&[reading(7, None), reading(6, None)]),
        Err(Error::Unwritable { seq: 6, .. })
    ));
    drop(journal);
    assert_eq!(seqs(&reopen(folder.path()).2), [5]);
}

proptest::proptest! {
    /// Jobs opened, put to work, closed and sealed in any order, with restarts between: what a
    /// start folds is what was folded live, less the closed jobs; the history has every event once.
    #[test]
    fn replay_equals_what_was_folded_live(steps in proptest::collection::vec((0_u8..7, 0_u128..3), 1..60)) {
        let folder = TempDir::new().unwrap();
        let (mut journal, ..) = reopen(folder.path());
        let mut live: BTreeMap<Option<JobId>, Vec<Event>> = BTreeMap::new();
        let mut rings = BTreeMap::new();
        let mut all = vec![];
        let mut next_job = 10;
        let mut open = BTreeMap::new();
        for (step, which) in steps {
            let seq = journal.next_seq();
            let at_bench = open.get(&which).copied();
            let new = match (step, at_bench) {
                (0, None) => {
                    next_job += 1;
                    open.insert(which, job(next_job));
                    vec![opened(seq, job(next_job))]
                }
                (1, Some(job)) => vec![reading(seq, Some(job)), reading(seq + 1, Some(job))],
                (2, _) => vec![reading(seq, None)],
                (3, owner) => vec![ring(seq, owner, if which == 0 { "a" } else { "b" })],
                (4, Some(job)) => vec![closed(seq, job)],
                (5, _) => {
                    drop(journal);
                    let (again, _, events) = reopen(folder.path());
                    journal = again;
                    for (job, expected) in &live {
                        let found: Vec<_> = events.iter().filter(|e| e.job == *job).cloned().collect();
                        if job.is_some() {
                            proptest::prop_assert_eq!(&found, expected);
                        }
                    }
                    let mut found = BTreeMap::new();
                    for event in events {
                        if let Body::RingSet { gauge, .. } = &event.body {
                            found.insert(gauge.clone(), event.seq);
                        }
                    }
                    proptest::prop_assert_eq!(&found, &rings);
                    vec![]
                }
                _ => vec![],
            };
            journal.append(&new).unwrap();
            for event in new {
                all.push(event.seq);
                if let Body::RingSet { gauge, .. } = &event.body {
                    rings.insert(gauge.clone(), event.seq);
                }
                live.entry(event.job).or_default().push(event.clone());
                if let (Body::JobClosed {}, Some(job)) = (&event.body, event.job) {
                    journal.seal(job, "{}").unwrap();
                    live.remove(&Some(job));
                    open.remove(&which);
                }
            }
            for since in [0, all.len() as u64 / 2, all.len() as u64] {
                let expected: Vec<_> = all.iter().copied().filter(|seq| *seq > since).collect();
                proptest::prop_assert_eq!(history(&journal, since), expected);
            }
        }
    }
}
