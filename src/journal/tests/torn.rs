//! Ends that a crash leaves, and damage that it doesn't.

use super::*;

/// Three events in a journal; its bytes and where each line ends.
fn three() -> (TempDir, Vec<u8>, Vec<usize>) {
    let folder = TempDir::new().unwrap();
    let (mut journal, ..) = reopen(folder.path());
    journal.append(&[opened(1, job(1))]).unwrap();
    journal
        .append(&[reading(2, Some(job(1))), reading(3, Some(job(1)))])
        .unwrap();
    let bytes = fs::read(folder.path().join("journal.jsonl")).unwrap();
    let ends = memchr::memchr_iter(b'\n', &bytes)
        .map(|at| at + 1)
        .collect();
    (folder, bytes, ends)
}

#[test]
fn cut_off_anywhere_the_whole_lines_stay_and_the_rest_is_kept_aside() {
    let (folder, bytes, ends) = three();
    let path = folder.path().join("journal.jsonl");
    for cut in ends[0]..=bytes.len() {
        fs::write(&path, &bytes[..cut]).unwrap();
        let _ = fs::remove_dir_all(folder.path().join("set-aside"));
        let (mut journal, opened, events) = reopen(folder.path());
        let whole = ends.iter().rposition(|end| *end <= cut).unwrap();
        assert_eq!(events.len(), whole, "cut at {cut}");
        let clean = ends[whole] == cut;
        assert_eq!(opened.warnings.is_empty(), clean, "cut at {cut}");
        if !clean {
            let aside = fs::read_dir(folder.path().join("set-aside"))
                .unwrap()
                .next()
                .unwrap();
            assert_eq!(
                fs::read(aside.unwrap().path()).unwrap(),
                bytes[ends[whole]..cut]
            );
        }
        // It goes on from there, with numbers that nobody has seen.
        let next = journal.next_seq();
        assert!(next > whole as u64 + u64::from(!clean));
        journal.append(&[reading(next, None)]).unwrap();
        assert_eq!(history(&journal, whole as u64), [next]);
        drop(journal);
        let (journal, opened, events) = reopen(folder.path());
        assert_eq!((events.len(), opened.warnings.len()), (whole + 1, 0));
        assert_eq!(journal.next_seq(), next + 1);
    }
}

#[test]
fn numbers_cut_off_are_not_used_again_even_after_two_starts() {
    let (folder, bytes, ends) = three();
    fs::write(folder.path().join("journal.jsonl"), &bytes[..ends[3] - 1]).unwrap();
    let next = reopen(folder.path()).0.next_seq();
    assert_eq!(next, 4);
    assert_eq!(reopen(folder.path()).0.next_seq(), next);
}

#[test]
fn several_damaged_lines_at_the_end_are_set_aside_together() {
    let (folder, bytes, ends) = three();
    let mut changed = bytes.clone();
    changed[ends[1] + 5] ^= 1;
    changed[ends[2] + 5] ^= 0x80;
    fs::write(folder.path().join("journal.jsonl"), &changed).unwrap();
    let (_, opened, events) = reopen(folder.path());
    assert_eq!(seqs(&events), [1]);
    assert!(
        opened.warnings[0].contains("the last 2 lines were not whole"),
        "{opened:?}"
    );
}

#[test]
fn any_flipped_bit_before_a_whole_line_stops_the_start_and_says_where() {
    let (folder, bytes, ends) = three();
    let path = folder.path().join("journal.jsonl");
    for at in ends[0]..ends[2] {
        let mut changed = bytes.clone();
        changed[at] ^= 1 << (at % 8);
        fs::write(&path, &changed).unwrap();
        let Err(error) = Journal::open(folder.path(), |_| {}) else {
            panic!("byte {at}")
        };
        let expected = if at < ends[1] { 2 } else { 3 };
        let Error::Damaged { line, .. } = &error else {
            panic!("byte {at}: {error}")
        };
        assert_eq!(*line, expected, "byte {at}");
        assert!(error.to_string().contains("restore the file from a backup"));
        assert_eq!(
            fs::read(&path).unwrap(),
            changed,
            "a refused start changes nothing"
        );
    }
}

#[test]
fn a_file_that_is_no_journal_is_refused() {
    let (folder, bytes, ends) = three();
    let path = folder.path().join("journal.jsonl");
    for text in [&b""[..], b"\n", b"{}\n", &bytes[ends[0]..]] {
        fs::write(&path, text).unwrap();
        assert!(matches!(
            Journal::open(folder.path(), |_| {}),
            Err(Error::NoHeader { .. })
        ));
    }
}

#[test]
fn a_later_format_or_an_unknown_event_asks_for_a_newer_version() {
    let (folder, bytes, ends) = three();
    let path = folder.path().join("journal.jsonl");
    let mut text = String::new();
    line::write(
        &mut text,
        &serde_json::json!({"journal": 2, "something": "else"}),
    )
    .unwrap();
    fs::write(&path, &text).unwrap();
    let refused = Journal::open(folder.path(), |_| {});
    assert!(matches!(
        refused,
        Err(Error::Newer {
            found: 2,
            known: 1,
            ..
        })
    ));

    let mut text = String::from_utf8(bytes[..ends[1]].to_vec()).unwrap();
    let mut unknown = serde_json::to_value(reading(2, None)).unwrap();
    unknown["kind"] = "not invented yet".into();
    line::write(&mut text, &unknown).unwrap();
    fs::write(&path, &text).unwrap();
    let refused = Journal::open(folder.path(), |_| {});
    assert!(matches!(refused, Err(Error::NotUnderstood { line: 3, .. })));
}
