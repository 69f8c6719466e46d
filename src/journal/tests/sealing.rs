//! Closed jobs leave the active journal, and a crash on the way leaves nothing undone.

use super::*;

fn names(folder: &Path) -> Vec<String> {
    let Ok(entries) = fs::read_dir(folder) else {
        return vec![];
    };
    let mut names: Vec<_> = entries
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

#[test]
fn a_closed_job_has_a_folder_of_its_own_and_a_start_reads_it_no_more() {
    let folder = TempDir::new().unwrap();
    let (mut journal, ..) = reopen(folder.path());
    journal
        .append(&[ring(1, None, "g"), reading(2, None), opened(3, job(1))])
        .unwrap();
    journal
        .append(&[
            reading(4, Some(job(1))),
            opened(5, job(2)),
            ring(6, Some(job(1)), "h"),
        ])
        .unwrap();
    journal
        .append(&[
            reading(7, Some(job(2))),
            closed(8, job(1)),
            ring(9, None, "g"),
        ])
        .unwrap();
    let record = journal.seal(job(1), r#"{"schema":"record"}"#).unwrap();
    let own = folder.path().join("jobs").join(job(1).to_string());
    assert_eq!(record, own.join("record.json"));
    assert_eq!(
        fs::read_to_string(&record).unwrap(),
        "{\"schema\":\"record\"}\n"
    );
    assert_eq!(names(&own), ["events.jsonl", "record.json"]);
    assert_eq!(
        names(&folder.path().join("outside")),
        ["000000000001.jsonl"]
    );
    assert_eq!(history(&journal, 0), [1, 2, 3, 4, 5, 6, 7, 8, 9]);
    assert!(matches!(
        journal.seal(job(1), "{}"),
        Err(Error::NotClosed { .. })
    ));
    assert!(matches!(
        journal.seal(job(2), "{}"),
        Err(Error::NotClosed { .. })
    ));
    drop(journal);

    // The open job, and the newest ring of each gauge, are what the present state depends on.
    let (mut journal, _, events) = reopen(folder.path());
    assert_eq!(seqs(&events), [5, 6, 7, 9]);
    assert_eq!(history(&journal, 0), [1, 2, 3, 4, 5, 6, 7, 8, 9]);
    assert_eq!(history(&journal, 4), [5, 6, 7, 8, 9]);

    // Sealed again later, what was carried over isn't written out a second time.
    journal
        .append(&[closed(10, job(2)), reading(11, None)])
        .unwrap();
    journal.seal(job(2), "{}").unwrap();
    assert_eq!(
        names(&folder.path().join("outside")),
        ["000000000001.jsonl", "000000000011.jsonl"]
    );
    drop(journal);
    let (journal, _, events) = reopen(folder.path());
    assert_eq!(seqs(&events), [6, 9]);
    assert_eq!(journal.next_seq(), 12);
    assert_eq!(history(&journal, 0), (1..=11).collect::<Vec<_>>());
}

#[test]
fn what_a_reading_of_an_open_job_was_taken_under_outlives_the_job_before_it() {
    let folder = TempDir::new().unwrap();
    let (mut journal, ..) = reopen(folder.path());
    journal
        .append(&[
            connected(1, "bore-gauge"),
            ring(2, None, "bore-gauge"),
            opened(3, job(1)),
            closed(4, job(1)),
            opened(5, job(2)),
            reading(6, Some(job(2))),
            connected(7, "bore-gauge"),
            connected(8, "bore-gauge"),
            connected(9, "angle-gauge"),
        ])
        .unwrap();
    journal.seal(job(1), "{}").unwrap();
    assert_eq!(history(&journal, 0), (1..=9).collect::<Vec<_>>());
    drop(journal);
    // Of the openings those that a reading needs, and of each gauge the newest.
    let (_, _, events) = reopen(folder.path());
    assert_eq!(seqs(&events), [1, 2, 5, 6, 8, 9]);
}

#[test]
fn a_job_closed_but_not_sealed_is_named_at_the_start() {
    let folder = TempDir::new().unwrap();
    let (mut journal, ..) = reopen(folder.path());
    journal
        .append(&[opened(1, job(1)), closed(2, job(1))])
        .unwrap();
    drop(journal);
    let (mut journal, opened, events) = reopen(folder.path());
    assert_eq!((opened.unsealed, seqs(&events)), (vec![job(1)], vec![1, 2]));
    journal.seal(job(1), "{}").unwrap();
    drop(journal);
    assert_eq!(reopen(folder.path()).1.unsealed, []);
}

#[test]
fn events_outside_any_job_do_not_pile_up_in_what_a_start_reads() {
    let folder = TempDir::new().unwrap();
    let (mut journal, ..) = reopen(folder.path());
    let mut next = 1;
    while names(&folder.path().join("outside")).is_empty() {
        let batch: Vec<_> = (next..next + 500).map(|seq| reading(seq, None)).collect();
        next += 500;
        journal.append(&batch).unwrap();
        assert!(next < 20_000, "never moved out");
    }
    assert_eq!(history(&journal, 0), (1..next).collect::<Vec<_>>());
    drop(journal);
    let (journal, opened, _) = reopen(folder.path());
    assert_eq!(opened.events, 500);
    assert_eq!(history(&journal, next - 3), [next - 2, next - 1]);
    assert_eq!(history(&journal, 0), (1..next).collect::<Vec<_>>());
}

#[test]
fn without_the_active_journal_numbers_go_on_after_the_closed_jobs() {
    let folder = TempDir::new().unwrap();
    let (mut journal, ..) = reopen(folder.path());
    journal
        .append(&[opened(1, job(1)), closed(41, job(1))])
        .unwrap();
    journal.seal(job(1), "{}").unwrap();
    drop(journal);
    fs::remove_file(folder.path().join("journal.jsonl")).unwrap();
    let (journal, _, events) = reopen(folder.path());
    assert_eq!((events, journal.next_seq()), (vec![], 42));
    assert_eq!(history(&journal, 0), [1, 41]);
}
