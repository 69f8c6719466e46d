//! How long the list of a shop's years takes: 10,000 closed jobs of 36 readings and findings.
//!
//! `cargo bench --bench memory`; `JOBS=1000` makes it shorter. The yardstick is reading the same
//! files and doing nothing with them.

#![allow(
    clippy::expect_used,
    reason = "a benchmark stops at the first surprise"
)]

use std::hint::black_box;
use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

use borewright::bench::{self, Input};
use borewright::bore::Contact;
use borewright::gauge::{Arrival, Capture, Content, Raw};
use borewright::job::{Command, Gauges, PlanKind, Role, Seats, Sends, Shop, Traits};
use borewright::memory::{Filter, Lessons, Shelf};
use borewright::units::{Length, Moment};

fn main() {
    let jobs: u64 = std::env::var("JOBS").map_or(10_000, |jobs| jobs.parse().expect("a number"));
    let folder = tempfile::TempDir::new_in(env!("CARGO_TARGET_TMPDIR")).expect("a folder");
    one_job(folder.path());
    let bytes = copies(folder.path(), jobs);
    #[expect(clippy::cast_precision_loss, reason = "a count of bytes")]
    let megabytes = bytes as f64 / 1e6;
    println!("{jobs} closed jobs, {megabytes:.0} MB of records");

    let shelf = Shelf::new(folder.path());
    let bare = timed(|| black_box(read_all(folder.path())));
    let first = timed(|| black_box(shelf.read().expect("the jobs").entries().len()));
    let again = timed(|| black_box(shelf.read().expect("the jobs").entries().len()));
    let records = shelf.read().expect("the jobs");
    let filter = Filter {
        words: "frame 4321".into(),
        ..Filter::default()
    };
    let search = timed(|| {
        let entries = records.entries().iter();
        black_box(entries.filter(|entry| filter.takes(entry)).count())
    });
    let learned = timed(|| {
        let entries = records.entries().iter();
        black_box(Lessons::of(entries.map(|entry| &**entry)).seats.len())
    });
    println!("reading the files and nothing else  {bare:>10.1?}");
    println!("the list, each record parsed        {first:>10.1?}");
    println!("the list again, as a page asks      {again:>10.1?}");
    println!("a search in it                      {search:>10.1?}");
    println!("what the jobs teach                 {learned:>10.1?}");
}

fn timed<T>(what: impl FnOnce() -> T) -> Duration {
    let start = Instant::now();
    let _ = what();
    start.elapsed()
}

/// A job that a bench did: two bores, three depths, six directions.
fn one_job(folder: &Path) {
    let traits = Traits {
        role: Role::Bore,
        sends: Sends::Size,
        contact: Contact::TwoPoint,
        resolution_mm: 0.001,
        bounce: None,
        capture: Capture::Each,
        calibration: None,
    };
    let shop = Shop {
        seats: Seats::built_in(),
        gauges: Gauges::from([(Arc::from("bore-gauge"), traits)]),
        workshop: Default::default(),
    };
    let (handle, running) = bench::open(folder, shop).expect("a bench");
    let runtime = tokio::runtime::Builder::new_current_thread()
        .build()
        .expect("a runtime");
    let ask = |command| {
        let answer = runtime.block_on(handle.command(Command::into(command)));
        answer.expect("the bench").expect("carried out");
    };
    ask(Command::OpenJob {
        part: "frame 0".into(),
        seat: "pressfit-46-73".into(),
        plan: PlanKind::Seat,
        material: None,
        wall_mm: None,
        yield_mpa: None,
        finish: None,
        service_c: None,
    });
    for number in 0..36 {
        let mm = 45.97 + f64::from(number % 6) * 0.004;
        let arrival = Arrival {
            gauge: "bore-gauge".into(),
            at: Moment::now(),
            since_start: Duration::ZERO,
            content: Content::Reading {
                raw: Raw(format!("{mm:.4}").into_bytes()),
                value: Length::from_mm(mm).expect("a length"),
            },
        };
        let sent = handle.inputs().blocking_send(Input::Arrival(arrival));
        sent.expect("the bench");
    }
    ask(Command::CloseJob {});
    runtime.block_on(running.stop());
}

/// The record of that job under other identities until there are `jobs`; gives all their bytes.
fn copies(folder: &Path, jobs: u64) -> u64 {
    let jobs_folder = folder.join("jobs");
    let first = std::fs::read_dir(&jobs_folder).expect("a folder").next();
    let first = first.expect("a job").expect("its folder");
    let id = first.file_name().into_string().expect("an id");
    let record = std::fs::read_to_string(first.path().join("record.json")).expect("a record");
    let mut bytes = record.len() as u64;
    for number in 1..jobs {
        let mut other = id.clone();
        other.replace_range(28.., &format!("{number:08x}"));
        let text =
            record
                .replace(&id, &other)
                .replacen("\"frame 0\"", &format!("\"frame {number}\""), 1);
        bytes += text.len() as u64;
        let at = jobs_folder.join(other);
        std::fs::create_dir(&at).expect("a folder");
        std::fs::write(at.join("record.json"), text).expect("written");
    }
    bytes
}

fn read_all(folder: &Path) -> usize {
    let entries = std::fs::read_dir(folder.join("jobs")).expect("a folder");
    entries
        .map(|entry| {
            let file = entry.expect("a job").path().join("record.json");
            std::fs::read(file).expect("a record").len()
        })
        .sum()
}
