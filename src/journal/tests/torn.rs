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

/// What may happen to a file's bytes.
#[derive(Debug, Clone)]
enum Harm {
    Flip(usize, u8),
    Cut(usize),
    TakeOut(usize, usize),
    PutIn(usize, Vec<u8>),
    Repeat(usize, usize),
}

fn harm() -> impl proptest::strategy::Strategy<Value = Harm> {
    use proptest::prelude::*;
    let at = 0..10_000_usize;
    let length = 1..600_usize;
    prop_oneof![
        (at.clone(), 0..8_u8).prop_map(|(at, bit)| Harm::Flip(at, bit)),
        at.clone().prop_map(Harm::Cut),
        (at.clone(), length.clone()).prop_map(|(at, length)| Harm::TakeOut(at, length)),
        (at.clone(), prop::collection::vec(any::<u8>(), 1..50))
            .prop_map(|(at, bytes)| Harm::PutIn(at, bytes)),
        (at, length).prop_map(|(at, length)| Harm::Repeat(at, length)),
    ]
}

fn harmed(mut bytes: Vec<u8>, harm: Harm) -> Vec<u8> {
    let within = |at: usize| at % (bytes.len() + 1);
    match harm {
        Harm::Flip(at, bit) => {
            let at = within(at);
            if let Some(byte) = bytes.get_mut(at) {
                *byte ^= 1 << bit;
            }
        }
        Harm::Cut(at) => bytes.truncate(within(at)),
        Harm::TakeOut(at, length) => {
            let at = within(at);
            let end = bytes.len().min(at + length);
            bytes.drain(at..end);
        }
        Harm::PutIn(at, more) => {
            let at = within(at);
            bytes.splice(at..at, more);
        }
        Harm::Repeat(at, length) => {
            let at = within(at);
            let end = bytes.len().min(at + length);
            let copy = bytes[at..end].to_vec();
            bytes.splice(end..end, copy);
        }
    }
    bytes
}

proptest::proptest! {
    /// Whatever happens to the file, a start either is refused and leaves it alone, or folds events
    /// that were written, each as it was and in order, goes on, and finds them again.
    #[test]
    fn no_harm_to_the_file_invents_or_changes_an_event(harms in proptest::collection::vec(harm(), 1..4)) {
        let (folder, bytes, _) = three();
        let path = folder.path().join("journal.jsonl");
        let (.., written) = reopen(folder.path());
        let bytes = harms.into_iter().fold(bytes, harmed);
        fs::write(&path, &bytes).unwrap();
        let mut found = vec![];
        let opened = Journal::open_on(Box::new(Unsynced), folder.path(), |event| found.push(event.clone()));
        let Ok((mut journal, _)) = opened else {
            proptest::prop_assert_eq!(fs::read(&path).unwrap(), bytes);
            return Ok(());
        };
        let mut rest = written.iter();
        for event in &found {
            proptest::prop_assert!(rest.any(|written| written == event), "{event:?}");
        }
        let next = journal.next_seq();
        proptest::prop_assert!(found.iter().all(|event| event.seq < next));
        let more = reading(next, None);
        journal.append(std::slice::from_ref(&more)).unwrap();
        drop(journal);
        found.push(more);
        proptest::prop_assert_eq!(reopen(folder.path()).2, found);
    }
}
