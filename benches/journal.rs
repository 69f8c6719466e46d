//! How fast events become durable, and how fast they come back. Each figure stands beside its
//! yardstick, taken in the same run on the same disk.
//!
//! `cargo bench --bench journal [-- commit bench replay ready]`; `EVENTS=100000` makes the replay
//! shorter.

#![allow(
    clippy::expect_used,
    reason = "a benchmark stops at the first surprise"
)]

use std::fs::{self, File};
use std::hint::black_box;
use std::io::{BufRead as _, BufReader, Write as _};
use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

use borewright::bench;
use borewright::bore::Contact;
use borewright::gauge::{Arrival, Content, Raw};
use borewright::job::{Command, Event, Gauges, Role, Seats, Sends, Shop, Traits};
use borewright::journal::Journal;
use borewright::units::{Length, Moment};

mod stored;

use stored::{folder, job, opened, reading};

fn main() {
    println!(
        "{:<58} {:>14} {:>14} {:>7}",
        "", "borewright", "yardstick", "ratio"
    );
    let asked: Vec<_> = std::env::args()
        .skip(1)
        .filter(|text| !text.starts_with('-'))
        .collect();
    let parts: [(&str, fn()); 4] = [
        ("commit", group_commit),
        ("bench", through_the_bench),
        ("replay", replay),
        ("ready", ready),
    ];
    for (name, part) in parts {
        if asked.is_empty() || asked.iter().any(|asked| asked == name) {
            part();
        }
    }
}

fn row(what: &str, ours: f64, yardstick: Option<f64>) {
    match yardstick {
        Some(yardstick) => {
            println!(
                "{what:<58} {ours:>14.0} {yardstick:>14.0} {:>7.2}",
                ours / yardstick
            );
        }
        None => println!("{what:<58} {ours:>14.0}"),
    }
}

/// Events per second that are on the disk, beside a bare write and sync of the same bytes.
fn group_commit() {
    for size in [1, 16, 128, 1024] {
        let rounds = (20_000 / size).clamp(40, 400);
        let folder = folder();
        let (mut journal, _) = Journal::open(folder.path(), |_| {}).expect("a new journal");
        journal.append(&[opened(1, job(1))]).expect("stored");
        let mut bare = File::create(folder.path().join("bare")).expect("a file");
        let (mut ours, mut theirs) = (Duration::ZERO, Duration::ZERO);
        for _ in 0..rounds {
            let first = journal.next_seq();
            let events: Vec<_> = (first..first + size as u64)
                .map(|seq| reading(seq, job(1)))
                .collect();
            let start = Instant::now();
            let lines = journal.append(&events).expect("stored");
            ours += start.elapsed();
            let text: Vec<u8> = lines
                .iter()
                .flat_map(|line| line.with_line_feed())
                .copied()
                .collect();
            let start = Instant::now();
            bare.write_all(&text)
                .and_then(|()| bare.sync_data())
                .expect("stored");
            theirs += start.elapsed();
        }
        let events = f64::from(u32::try_from(rounds * size).expect("small"));
        row(
            &format!("durable events/s, {size} a commit; bare write + sync"),
            events / ours.as_secs_f64(),
            Some(events / theirs.as_secs_f64()),
        );
    }
}

/// From the bench's input to the published acknowledgement, decisions and live numbers included.
fn through_the_bench() {
    const READINGS: u64 = 200_000;
    let folder = folder();
    let traits = Traits {
        role: Role::Bore,
        sends: Sends::Size,
        contact: Contact::TwoPoint,
        resolution_mm: 0.001,
        bounce: None,
        capture: borewright::gauge::Capture::Each,
        calibration: None,
    };
    let name: Arc<str> = "bore-gauge".into();
    let gauges = Gauges::from([(Arc::clone(&name), traits)]);
    let shop = Shop {
        seats: Seats::built_in(),
        gauges,
        workshop: Default::default(),
    };
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build();
    let runtime = runtime.expect("a runtime");
    let (handle, running) = bench::open(folder.path(), shop).expect("a bench");
    let taken = runtime.block_on(async {
        let open = r#"{"command":"open_job","part":"shell","seat":"pressfit-46","plan":"full"}"#;
        let open: Command = serde_json::from_str(open).expect("a command");
        handle
            .command(open.into())
            .await
            .expect("a bench")
            .expect("a job");
        let mut published = handle.subscribe();
        let inputs = handle.inputs();
        let start = Instant::now();
        let send = tokio::spawn(async move {
            for number in 0..READINGS {
                let value = 45_950 + i64::try_from(number % 40).expect("small");
                let arrival = Arrival {
                    gauge: Arc::clone(&name),
                    at: Moment::now(),
                    since_start: start.elapsed(),
                    content: Content::Reading {
                        raw: Raw(format!("+{value}").into_bytes()),
                        value: Length::from_mm(value as f64 / 1000.0).expect("finite"),
                    },
                };
                inputs.send(arrival.into()).await.expect("a bench");
            }
        });
        let mut stored = 0;
        while stored < READINGS {
            let batch = published.recv().await.expect("published");
            let events = batch
                .iter()
                .filter(|line| line.class() == borewright::feed::Class::Event);
            stored += events.count() as u64;
        }
        let taken = start.elapsed();
        send.await.expect("sent");
        taken
    });
    drop(handle);
    runtime.block_on(running.stop());
    row(
        "durable readings/s through the bench; aim",
        READINGS as f64 / taken.as_secs_f64(),
        Some(100_000.0),
    );
}

/// The whole of a long journal read back, beside serde_json alone on the same file.
fn replay() {
    let events: u64 = std::env::var("EVENTS")
        .ok()
        .and_then(|text| text.parse().ok())
        .unwrap_or(1_000_000);
    let folder = folder();
    let (mut journal, _) = Journal::open(folder.path(), |_| {}).expect("a new journal");
    journal.append(&[opened(1, job(1))]).expect("stored");
    while journal.next_seq() <= events {
        let first = journal.next_seq();
        let batch: Vec<_> = (first..(first + 20_000).min(events + 1))
            .map(|seq| reading(seq, job(1)))
            .collect();
        journal.append(&batch).expect("stored");
    }
    drop(journal);
    let path = folder.path().join("journal.jsonl");
    let size = fs::metadata(&path).expect("a file").len();

    let (mut ours, mut theirs, mut values) = (vec![], vec![], vec![]);
    for _ in 0..3 {
        ours.push(seconds(|| {
            let mut count = 0;
            let opened = Journal::open(folder.path(), |event| {
                black_box(event);
                count += 1;
            });
            drop(opened.expect("a journal"));
            assert_eq!(count, events);
        }));
        theirs.push(seconds(|| {
            each_line(&path, |line| {
                black_box(serde_json::from_slice::<Event>(line).expect("an event"));
            });
        }));
        values.push(seconds(|| {
            each_line(&path, |line| {
                black_box(serde_json::from_slice::<serde_json::Value>(line).expect("JSON"));
            });
        }));
    }
    println!("  {events} events, {} bytes each", size / events);
    let rate = |times: Vec<f64>| events as f64 / median(times);
    let ours = rate(ours);
    row(
        "replayed events/s; serde_json alone to the same types",
        ours,
        Some(rate(theirs)),
    );
    row(
        "replayed events/s; serde_json alone to its own Value",
        ours,
        Some(rate(values)),
    );

    let (journal, _) = Journal::open(folder.path(), |_| {}).expect("a journal");
    let history = seconds(|| {
        let lines = journal.history().since(0).expect("a history");
        assert_eq!(lines.filter(|line| line.is_ok()).count() as u64, events);
    });
    row(
        "history read for a resume, events/s",
        events as f64 / history,
        None,
    );
}

/// Each line of the file behind the first, without its line feed.
fn each_line(path: &Path, mut take: impl FnMut(&[u8])) {
    let mut reader = BufReader::with_capacity(1 << 20, File::open(path).expect("a file"));
    let mut line = Vec::new();
    let mut first = true;
    while reader.read_until(b'\n', &mut line).expect("read") > 0 {
        if !std::mem::take(&mut first) {
            take(line.trim_ascii_end());
        }
        line.clear();
    }
}

/// Opening with 1,000 closed jobs and one open of 200 readings: the part of the way to ready that
/// grows with what is stored.
fn ready() {
    let folder = folder();
    stored::many_jobs(folder.path(), 1_000, 200);
    let mut times = vec![];
    let mut index = vec![];
    for _ in 0..20 {
        let start = Instant::now();
        let (journal, opened) = Journal::open(folder.path(), |_| {}).expect("a journal");
        times.push(start.elapsed().as_secs_f64() * 1e6);
        assert_eq!(opened.events, 201);
        index.push(seconds(|| journal.history().read_index().expect("an index")) * 1e6);
    }
    row(
        "opening, 1,000 closed jobs and one open, µs; aim",
        median(times),
        Some(10_000.0),
    );
    row(
        "the index of closed jobs, behind ready, µs",
        median(index),
        None,
    );
}

fn seconds(work: impl FnOnce()) -> f64 {
    let start = Instant::now();
    work();
    start.elapsed().as_secs_f64()
}

fn median(mut times: Vec<f64>) -> f64 {
    times.sort_by(f64::total_cmp);
    times[times.len() / 2]
}
