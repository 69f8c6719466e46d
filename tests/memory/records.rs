//! The jobs of a folder that a bench works in: listed, found, whole or damaged.

use borewright::job::{Decision, JobId, Phase};
use borewright::memory::{Error, Filter, Records, Shelf, Trouble, find};
use borewright::units::{Day, Moment};
use serde_json::Value;

use super::support::{Invented, SEAT, shop};

fn parts(records: &Records, filter: &Filter) -> Vec<String> {
    let taken = records.entries().iter().filter(|entry| filter.takes(entry));
    taken.map(|entry| entry.part.clone()).collect()
}

#[test]
fn closed_and_open_jobs_are_listed_newest_first_while_the_bench_is_at_work() {
    let bench = Invented::new();
    bench.set_ring();
    bench.job("steel frame, blue", SEAT, 45.98, 0.004);
    bench.job("steel frame, red", SEAT, 45.93, 0.12);
    bench.open_job("hub shell", "pressfit-41-92");
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
    let open = bench.open_job("hub shell", "pressfit-41-92");
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
    bench.open_job("open", SEAT);
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
