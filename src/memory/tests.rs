//! The memory of jobs that a real bench did: opened by commands, gauged by readings, closed.

use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

use serde_json::Value;

use super::{Error, Filter, Records, Shelf, Trouble, find};
use crate::bench::{self, Handle, Input, Running};
use crate::bore::Contact;
use crate::fit::plan::Shop as Workshop;
use crate::gauge::{Arrival, Capture, Content, Raw};
use crate::job::{
    Command, Decision, Gauges, JobId, Phase, PlanKind, Role, Seats, Sends, Shop, Traits,
};
use crate::units::{Day, Length, Moment};

/// A bench on a folder of its own, with one gauge that sends sizes.
pub(super) struct Invented {
    pub(super) folder: tempfile::TempDir,
    runtime: tokio::runtime::Runtime,
    handle: Handle,
    running: Option<Running>,
}

pub(super) fn shop() -> Shop {
    let traits = Traits {
        role: Role::Bore,
        sends: Sends::Size,
        contact: Contact::TwoPoint,
        resolution_mm: 0.001,
        bounce: None,
        capture: Capture::Each,
    };
    Shop {
        seats: Seats::built_in(),
        gauges: Gauges::from([(Arc::from("bore-gauge"), traits)]),
        workshop: Workshop::default(),
    }
}

impl Invented {
    pub(super) fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let runtime = tokio::runtime::Builder::new_current_thread()
            .enable_all()
            .build()
            .unwrap();
        let (handle, running) = bench::open(folder.path(), shop()).unwrap();
        Self {
            folder,
            runtime,
            handle,
            running: Some(running),
        }
    }

    pub(super) fn path(&self) -> &Path {
        self.folder.path()
    }

    pub(super) fn ask(&self, command: Command) {
        let answer = self.handle.command(command, None);
        self.runtime.block_on(answer).unwrap().unwrap();
    }

    pub(super) fn state(&self) -> Value {
        let state = self.runtime.block_on(self.handle.state()).unwrap();
        serde_json::from_str(&state).unwrap()
    }

    pub(super) fn open(&self, part: &str, seat: &str) -> JobId {
        self.ask(Command::OpenJob {
            part: part.into(),
            seat: seat.into(),
            plan: PlanKind::Seat,
            material: None,
            wall_mm: None,
        });
        serde_json::from_value(self.state()["on_bench"]["job"].clone()).unwrap()
    }

    /// The gauge sends `mm`, at the next station.
    pub(super) fn send(&self, mm: f64) {
        let arrival = Arrival {
            gauge: "bore-gauge".into(),
            at: Moment::now(),
            since_start: Duration::ZERO,
            content: Content::Reading {
                raw: Raw(format!("{mm:.4}").into_bytes()),
                value: Length::from_mm(mm).unwrap(),
            },
        };
        let sent = self.handle.inputs().blocking_send(Input::Arrival(arrival));
        sent.unwrap();
    }

    /// The gauge is turned through every station of the phase, in a bore `oval_mm` out of round.
    pub(super) fn gauge_all(&self, mean_mm: f64, oval_mm: f64) {
        while let Some(angle) = self.state()["on_bench"]["next"]["angle_deg"].as_f64() {
            self.send(mean_mm + oval_mm / 2.0 * (2.0 * angle.to_radians()).cos());
        }
    }

    pub(super) fn set_ring(&self) {
        self.ask(Command::SetRing {
            gauge: "bore-gauge".into(),
            ring_mm: 46.0,
            shown_mm: Some(46.002),
            ring_uncertainty_mm: Some(0.001),
            ring_due: None,
        });
    }

    /// A whole job; gives its id.
    pub(super) fn job(&self, part: &str, seat: &str, mean_mm: f64, oval_mm: f64) -> JobId {
        let id = self.open(part, seat);
        self.gauge_all(mean_mm, oval_mm);
        self.ask(Command::CloseJob {});
        // The answer comes before the record is written; this comes after it.
        self.state();
        id
    }

    pub(super) fn stop(&mut self) {
        let running = self.running.take().unwrap();
        self.runtime.block_on(running.stop());
    }
}

fn parts(records: &Records, filter: &Filter) -> Vec<String> {
    let taken = records.entries().iter().filter(|entry| filter.takes(entry));
    taken.map(|entry| entry.part.clone()).collect()
}

const SEAT: &str = "pressfit-46-73";

#[test]
fn closed_and_open_jobs_are_listed_newest_first_while_the_bench_is_at_work() {
    let bench = Invented::new();
    bench.set_ring();
    bench.job("steel frame, blue", SEAT, 45.98, 0.004);
    bench.job("steel frame, red", SEAT, 45.93, 0.12);
    bench.open("hub shell", "pressfit-41-92");
    bench.send(40.99);

    let records = Records::read(bench.path()).unwrap();
    assert_eq!(records.troubles(), []);
    let all = parts(&records, &Filter::default());
    assert_eq!(all, ["hub shell", "steel frame, red", "steel frame, blue"]);
    let verdict = |part: &str| records.find(part).unwrap().verdict(Phase::AsFound);
    assert_eq!(verdict("blue"), Some(Decision::Conforms));
    assert_eq!(verdict("red"), Some(Decision::DoesNotConform));
    assert!(records.find("hub").unwrap().is_open());
    assert!(!records.find("red").unwrap().is_open());

    let open = Filter {
        open: true,
        ..Filter::default()
    };
    assert_eq!(parts(&records, &open), ["hub shell"]);
    let bad = Filter {
        verdict: Some(Decision::DoesNotConform),
        ..Filter::default()
    };
    assert_eq!(parts(&records, &bad), ["steel frame, red"]);
    let words = Filter {
        words: "BLUE frame".into(),
        ..Filter::default()
    };
    assert_eq!(parts(&records, &words), ["steel frame, blue"]);
    let seat = Filter {
        seat: Some("pressfit-41-92".into()),
        ..Filter::default()
    };
    assert_eq!(parts(&records, &seat), ["hub shell"]);
    let today = Moment::now().day_here();
    let far = |days: i64| {
        let span = jiff::Span::new().days(days);
        Some(Day(today.0.checked_add(span).unwrap()))
    };
    let since = Filter {
        since: far(2),
        ..Filter::default()
    };
    assert_eq!(parts(&records, &since).len(), 0);
    let until = Filter {
        since: far(-2),
        until: far(2),
        ..Filter::default()
    };
    assert_eq!(parts(&records, &until).len(), 3);
}

#[test]
fn one_job_is_found_by_id_by_a_piece_of_it_or_by_its_part_and_several_are_listed() {
    let mut bench = Invented::new();
    let blue = bench.job("steel frame, blue", SEAT, 45.98, 0.004);
    let red = bench.job("steel frame, red", SEAT, 45.98, 0.004);
    let open = bench.open("hub shell", "pressfit-41-92");
    bench.send(40.99);
    bench.state();
    let (id, folder) = (blue.to_string(), bench.path().to_owned());
    for words in [&id, &id[..34], &id[id.len() - 8..], "blue", "Frame Blue"] {
        assert_eq!(find(&folder, words).unwrap().job, blue, "{words}");
    }
    let as_it_stands = find(&folder, "hub").unwrap();
    assert_eq!((as_it_stands.job, as_it_stands.closed_at), (open, None));
    let readings = as_it_stands.phases[0].stations.iter();
    assert_eq!(
        readings
            .map(|station| station.readings.len())
            .sum::<usize>(),
        1
    );

    let Err(Error::Several { jobs, .. }) = find(&folder, "steel") else {
        panic!("two jobs are of steel");
    };
    let ids: Vec<String> = jobs.into_iter().map(|(id, _)| id).collect();
    assert_eq!(ids, [red.to_string(), blue.to_string()]);
    for words in ["", "titanium", "blue red"] {
        let none = find(&folder, words).unwrap_err();
        assert!(matches!(none, Error::NoneFound { .. }), "{words}: {none}");
    }

    // The same once the daemon is gone, and the folder is as it left it.
    bench.stop();
    assert_eq!(find(&folder, "blue").unwrap().job, blue);
    assert_eq!(find(&folder, "hub").unwrap().closed_at, None);
    let none = find(&folder.join("elsewhere"), "blue").unwrap_err();
    assert!(none.to_string().contains("--data"), "{none}");
}

#[test]
fn a_record_on_the_disk_and_the_one_found_say_the_same_and_so_do_the_events() {
    let bench = Invented::new();
    bench.set_ring();
    let job = bench.job("frame", SEAT, 45.98, 0.02);
    let file = bench.path().join("jobs").join(job.to_string());
    let written: Value =
        serde_json::from_slice(&std::fs::read(file.join("record.json")).unwrap()).unwrap();
    let found = find(bench.path(), "frame").unwrap();
    assert_eq!(serde_json::to_value(&found).unwrap(), written);

    let records = Records::read(bench.path()).unwrap();
    let (events, damaged) = records.events(records.find("frame").unwrap()).unwrap();
    assert_eq!(damaged.len(), 0);
    assert_eq!(events.first().map(|event| event.seq), Some(found.first_seq));
    assert_eq!(events.last().map(|event| event.seq), Some(found.last_seq));
    assert_eq!(events.len(), 2 + 36, "2 bores, 3 depths, 6 directions");
}

#[test]
fn a_damaged_record_is_named_and_the_others_are_listed() {
    let bench = Invented::new();
    let blue = bench.job("blue", SEAT, 45.98, 0.004);
    let red = bench.job("red", SEAT, 45.98, 0.004);
    let record = |job: JobId| {
        let folder = bench.path().join("jobs").join(job.to_string());
        folder.join("record.json")
    };
    let shelf = Shelf::new(bench.path());
    assert_eq!(shelf.read().unwrap().entries().len(), 2);
    let whole = std::fs::read(record(blue)).unwrap();
    std::fs::write(record(blue), &whole[..whole.len() / 2]).unwrap();
    let records = shelf.read().unwrap();
    assert_eq!(parts(&records, &Filter::default()), ["red"]);
    let files: Vec<_> = records.troubles().iter().map(|t| t.file.clone()).collect();
    assert_eq!(files, [record(blue)]);
    assert!(records.find(&blue.to_string()).is_err());

    // Another job's record in its place, and none at all.
    std::fs::copy(record(red), record(blue)).unwrap();
    let [trouble]: [Trouble; 1] = shelf
        .read()
        .unwrap()
        .troubles()
        .to_vec()
        .try_into()
        .unwrap();
    assert!(trouble.why.contains("not of the job"), "{trouble}");
    std::fs::remove_file(record(blue)).unwrap();
    let [trouble]: [Trouble; 1] = shelf
        .read()
        .unwrap()
        .troubles()
        .to_vec()
        .try_into()
        .unwrap();
    assert!(trouble.why.contains("no record"), "{trouble}");
}

#[test]
fn of_several_revisions_the_newest_counts_and_the_older_stay_reachable() {
    let bench = Invented::new();
    let job = bench.job("frame", SEAT, 45.98, 0.004);
    let folder = bench.path().join("jobs").join(job.to_string());
    let first = std::fs::read_to_string(folder.join("record.json")).unwrap();
    let second = first
        .replacen("\"revision\": 1", "\"revision\": 2", 1)
        .replacen("\"part\": \"frame\"", "\"part\": \"frame of steel\"", 1);
    assert_ne!(first, second);
    std::fs::write(folder.join("record-2.json"), second).unwrap();
    let records = Records::read(bench.path()).unwrap();
    let [entry] = records.entries() else {
        panic!("one job");
    };
    assert_eq!((entry.revision, &*entry.part), (2, "frame of steel"));
    assert_eq!(records.record(entry, &shop()).unwrap().revision, 2);
    let older = records.older_revisions(entry).unwrap();
    assert_eq!(older.len(), 1);
    assert_eq!((older[0].revision, &*older[0].part), (1, "frame"));
}

#[test]
fn a_torn_end_is_passed_over_and_a_damaged_journal_hides_no_closed_job() {
    let bench = Invented::new();
    bench.job("closed", SEAT, 45.98, 0.004);
    bench.open("open", SEAT);
    bench.send(45.98);
    bench.state();
    let journal = bench.path().join("journal.jsonl");
    let whole = std::fs::read(&journal).unwrap();
    let copy = tempfile::tempdir().unwrap();
    let at = copy.path().join("journal.jsonl");
    std::fs::write(&at, &whole[..whole.len() - 7]).unwrap();
    let records = Records::read(copy.path()).unwrap();
    assert_eq!(parts(&records, &Filter::default()), ["open"]);
    assert_eq!(records.troubles(), []);

    // A changed byte with a whole line behind it is no torn end: it is named.
    let mut damaged = whole;
    let header = damaged.iter().position(|byte| *byte == b'\n').unwrap();
    damaged[header + 60] ^= 1;
    std::fs::write(&journal, damaged).unwrap();
    let records = Records::read(bench.path()).unwrap();
    assert_eq!(parts(&records, &Filter::default()), ["closed"]);
    let [trouble] = records.troubles() else {
        panic!("{:?}", records.troubles());
    };
    assert_eq!(trouble.file, journal);
}
