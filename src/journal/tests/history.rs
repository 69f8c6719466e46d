//! Reading back while the writer goes on.

use super::*;

#[test]
fn a_reader_under_way_is_not_disturbed_by_a_seal() {
    let folder = TempDir::new().unwrap();
    let (mut journal, ..) = reopen(folder.path());
    let mut events = vec![opened(1, job(1)), opened(2, job(2))];
    // More than one stretch of the file, so that reading goes on after the seal.
    events.extend((3..2_000).map(|seq| reading(seq, Some(job(1 + u128::from(seq % 2))))));
    events.push(closed(2_000, job(1)));
    journal.append(&events).unwrap();
    let mut lines = journal.history().since(0).unwrap();
    let mut read: Vec<_> = lines.by_ref().take(10).collect();
    journal.seal(job(1), "{}").unwrap();
    journal.append(&[closed(2_001, job(2))]).unwrap();
    journal.seal(job(2), "{}").unwrap();
    read.extend(lines);
    let read: Vec<_> = read
        .into_iter()
        .map(|line| line.unwrap().seq().unwrap())
        .collect();
    assert_eq!(read, (1..=2_000).collect::<Vec<_>>());
    assert_eq!(
        history(&journal, 1_990),
        (1_991..=2_001).collect::<Vec<_>>()
    );
}

#[test]
fn a_thread_that_follows_sees_every_event_once_and_in_order() {
    let folder = TempDir::new().unwrap();
    let (mut journal, ..) = reopen(folder.path());
    let history = journal.history();
    let follower = std::thread::spawn(move || {
        let (mut last, mut expected) = (0, 1);
        while last < 3_000 {
            for line in history.since(last).unwrap() {
                last = line.unwrap().seq().unwrap();
                assert_eq!(last, expected);
                expected += 1;
            }
        }
    });
    let mut next = 1;
    let mut number = 0;
    while next <= 3_000 {
        number += 1;
        journal
            .append(&[opened(next, job(number)), reading(next + 1, None)])
            .unwrap();
        let rest: Vec<_> = (next + 2..next + 9)
            .map(|seq| reading(seq, Some(job(number))))
            .collect();
        journal.append(&rest).unwrap();
        journal.append(&[closed(next + 9, job(number))]).unwrap();
        journal.seal(job(number), "{}").unwrap();
        next += 10;
    }
    follower.join().unwrap();
}

#[test]
fn a_damaged_closed_file_is_named_and_the_rest_still_comes() {
    let folder = TempDir::new().unwrap();
    let (mut journal, ..) = reopen(folder.path());
    journal
        .append(&[
            opened(1, job(1)),
            reading(2, Some(job(1))),
            closed(3, job(1)),
        ])
        .unwrap();
    journal.seal(job(1), "{}").unwrap();
    journal.append(&[reading(4, None)]).unwrap();
    drop(journal);
    let path = folder
        .path()
        .join("jobs")
        .join(job(1).to_string())
        .join("events.jsonl");
    let text = fs::read_to_string(&path)
        .unwrap()
        .replace("45.9002", "45.9003");
    fs::write(&path, text).unwrap();
    let (journal, ..) = reopen(folder.path());
    let found: Vec<_> = journal
        .history()
        .since(0)
        .unwrap()
        .map(|line| {
            line.map(|line| line.seq().unwrap())
                .map_err(|error| error.to_string())
        })
        .collect();
    assert_eq!(
        found.iter().flatten().copied().collect::<Vec<_>>(),
        [1, 3, 4]
    );
    let errors: Vec<_> = found
        .iter()
        .filter_map(|line| line.as_ref().err())
        .collect();
    assert_eq!(errors.len(), 1);
    assert!(errors[0].contains("events.jsonl is damaged"), "{errors:?}");
}
