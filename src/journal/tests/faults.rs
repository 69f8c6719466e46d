//! A disk that fails: full, half a write, a sync that didn't, a stop at any step.

use std::io::{ErrorKind, Write as _};
use std::sync::{Arc, Mutex};

use super::*;

/// Which call is to fail, and how.
#[derive(Default)]
struct Plan {
    /// Calls so far.
    calls: usize,
    /// From this call on nothing succeeds, as when the machine stops.
    stop_at: Option<usize>,
    /// Each write puts down this many bytes and then reports a full disk.
    full_after: Option<usize>,
    sync_fails: bool,
    cut_fails: bool,
}

/// A disk whose failures are decided by a test.
struct Faulty(Arc<Mutex<Plan>>);

impl Faulty {
    fn step(&self) -> io::Result<()> {
        let mut plan = self.0.lock().unwrap();
        plan.calls += 1;
        match plan.stop_at {
            Some(at) if plan.calls > at => Err(io::Error::other("the machine stopped")),
            _ => Ok(()),
        }
    }
}

impl Disk for Faulty {
    fn make_folder(&mut self, path: &Path) -> io::Result<()> {
        self.step()?;
        fs::create_dir_all(path)
    }

    fn create(&mut self, path: &Path) -> io::Result<File> {
        self.step()?;
        File::options()
            .read(true)
            .write(true)
            .create(true)
            .truncate(true)
            .open(path)
    }

    fn open_append(&mut self, path: &Path) -> io::Result<File> {
        self.step()?;
        File::options().append(true).open(path)
    }

    fn write(&mut self, mut file: &File, bytes: &[u8]) -> io::Result<()> {
        // A stop in the midst of a write leaves half of it.
        if let Err(stopped) = self.step() {
            let at = self.0.lock().unwrap().stop_at.unwrap();
            if self.0.lock().unwrap().calls == at + 1 {
                file.write_all(&bytes[..bytes.len() / 2]).unwrap();
            }
            return Err(stopped);
        }
        match self.0.lock().unwrap().full_after {
            Some(room) if room < bytes.len() => {
                file.write_all(&bytes[..room]).unwrap();
                Err(ErrorKind::StorageFull.into())
            }
            _ => file.write_all(bytes),
        }
    }

    fn sync(&mut self, _: &File) -> io::Result<()> {
        self.step()?;
        if self.0.lock().unwrap().sync_fails {
            Err(ErrorKind::Other.into())
        } else {
            Ok(())
        }
    }

    fn cut(&mut self, file: &File, length: u64) -> io::Result<()> {
        self.step()?;
        if self.0.lock().unwrap().cut_fails {
            return Err(ErrorKind::Other.into());
        }
        file.set_len(length)
    }

    fn rename(&mut self, from: &Path, to: &Path) -> io::Result<()> {
        self.step()?;
        fs::rename(from, to)
    }

    fn sync_folder(&mut self, _: &Path) -> io::Result<()> {
        self.step()
    }
}

fn faulty(folder: &Path) -> (Journal, Arc<Mutex<Plan>>) {
    let plan = Arc::<Mutex<Plan>>::default();
    let (journal, _) =
        Journal::open_on(Box::new(Faulty(Arc::clone(&plan))), folder, |_| {}).unwrap();
    (journal, plan)
}

#[test]
fn a_full_disk_refuses_the_reading_aloud_and_the_next_is_stored_when_there_is_room() {
    let folder = TempDir::new().unwrap();
    let (mut journal, plan) = faulty(folder.path());
    journal.append(&[reading(1, None)]).unwrap();
    for room in [0, 1, 100] {
        plan.lock().unwrap().full_after = Some(room);
        let error = journal.append(&[reading(2, None)]).unwrap_err();
        assert!(matches!(error, Error::DiskFull { .. }), "{error}");
        assert!(error.to_string().contains("free some space"), "{error}");
        assert_eq!(history(&journal, 0), [1], "nothing half-written is shown");
    }
    plan.lock().unwrap().full_after = None;
    assert_eq!(
        journal.next_seq(),
        2,
        "a refused event's number was never seen"
    );
    journal.append(&[reading(2, None)]).unwrap();
    assert_eq!(history(&journal, 0), [1, 2]);
    drop(journal);
    let (_, opened, events) = reopen(folder.path());
    assert_eq!((seqs(&events), opened.warnings), (vec![1, 2], vec![]));
}

#[test]
fn a_failed_sync_stores_nothing_and_each_reading_is_refused_until_the_tail_is_cut_back() {
    let folder = TempDir::new().unwrap();
    let (mut journal, plan) = faulty(folder.path());
    journal.append(&[reading(1, None)]).unwrap();
    plan.lock().unwrap().sync_fails = true;
    plan.lock().unwrap().cut_fails = true;
    assert!(journal.append(&[reading(2, None)]).is_err());
    plan.lock().unwrap().sync_fails = false;
    assert!(
        journal.append(&[reading(2, None)]).is_err(),
        "the old tail is still there"
    );
    assert_eq!(history(&journal, 0), [1]);
    plan.lock().unwrap().cut_fails = false;
    journal.append(&[reading(2, None)]).unwrap();
    drop(journal);
    let (_, opened, events) = reopen(folder.path());
    assert_eq!((seqs(&events), opened.warnings), (vec![1, 2], vec![]));
}

#[test]
fn a_stop_at_any_step_of_a_seal_loses_nothing_and_the_seal_is_done_at_the_next_start() {
    let before = [
        ring(1, None, "g"),
        opened(2, job(1)),
        reading(3, Some(job(1))),
        opened(4, job(2)),
        reading(5, Some(job(2))),
        reading(6, None),
        closed(7, job(1)),
    ];
    let mut sealed_at_last = false;
    for step in 0.. {
        let folder = TempDir::new().unwrap();
        let (mut journal, plan) = faulty(folder.path());
        journal.append(&before).unwrap();
        let calls = plan.lock().unwrap().calls;
        plan.lock().unwrap().stop_at = Some(calls + step);
        let sealed = journal.seal(job(1), "{\"first\":true}");
        // Stopped or not, what is on the disk is whole to those who resume.
        assert_eq!(
            history(&journal, 0),
            [1, 2, 3, 4, 5, 6, 7],
            "stopped at step {step}"
        );
        drop(journal);

        let (mut journal, opened, events) = reopen(folder.path());
        assert_eq!(
            opened.warnings,
            Vec::<String>::new(),
            "stopped at step {step}"
        );
        assert_eq!(journal.next_seq(), 8);
        let seqs = seqs(&events);
        for needed in [1, 4, 5] {
            assert!(seqs.contains(&needed), "stopped at step {step}: {seqs:?}");
        }
        // More outside any job before the seal is done again.
        journal.append(&[reading(8, None)]).unwrap();
        if seqs.contains(&7) {
            assert!(sealed.is_err());
            assert_eq!(opened.unsealed, [job(1)], "stopped at step {step}");
            journal.seal(job(1), "{\"first\":true}").unwrap();
        } else {
            assert_eq!(opened.unsealed, []);
        }
        let record = folder
            .path()
            .join("jobs")
            .join(job(1).to_string())
            .join("record.json");
        assert_eq!(fs::read_to_string(record).unwrap(), "{\"first\":true}\n");
        assert_eq!(
            history(&journal, 0),
            [1, 2, 3, 4, 5, 6, 7, 8],
            "stopped at step {step}"
        );
        drop(journal);
        let (journal, ..) = reopen(folder.path());
        assert_eq!(
            history(&journal, 0),
            [1, 2, 3, 4, 5, 6, 7, 8],
            "stopped at step {step}"
        );
        if sealed.is_ok() {
            assert!(step > 10, "a seal has more steps than {step}");
            sealed_at_last = true;
            break;
        }
    }
    assert!(sealed_at_last);
}

#[test]
fn a_seal_that_failed_in_a_living_daemon_is_no_harm_to_what_follows() {
    for step in 0..40 {
        let folder = TempDir::new().unwrap();
        let (mut journal, plan) = faulty(folder.path());
        journal
            .append(&[opened(1, job(1)), reading(2, None), closed(3, job(1))])
            .unwrap();
        let calls = plan.lock().unwrap().calls;
        plan.lock().unwrap().stop_at = Some(calls + step);
        let sealed = journal.seal(job(1), "{}").is_ok();
        plan.lock().unwrap().stop_at = None;
        journal.append(&[reading(4, None)]).unwrap();
        if !sealed {
            // Either it is still to be sealed, or all but its last sync was done.
            let again = journal.seal(job(1), "{}");
            assert!(
                matches!(again, Ok(_) | Err(Error::NotClosed { .. })),
                "step {step}"
            );
        }
        journal.append(&[reading(5, None)]).unwrap();
        assert_eq!(history(&journal, 0), [1, 2, 3, 4, 5], "step {step}");
        drop(journal);
        let (journal, opened, _) = reopen(folder.path());
        assert_eq!(
            (opened.unsealed, opened.warnings),
            (vec![], vec![]),
            "step {step}"
        );
        assert_eq!(history(&journal, 0), [1, 2, 3, 4, 5], "step {step}");
    }
}

#[test]
fn a_stop_at_any_step_of_cutting_a_torn_end_off_keeps_every_whole_line() {
    let folder = TempDir::new().unwrap();
    let (mut journal, ..) = reopen(folder.path());
    journal
        .append(&[reading(1, None), reading(2, None)])
        .unwrap();
    drop(journal);
    let path = folder.path().join("journal.jsonl");
    let bytes = fs::read(&path).unwrap();
    for step in 0..20 {
        fs::write(&path, &bytes[..bytes.len() - 7]).unwrap();
        let plan = Plan {
            stop_at: Some(step),
            ..Plan::default()
        };
        let disk = Faulty(Arc::new(Mutex::new(plan)));
        let _ = Journal::open_on(Box::new(disk), folder.path(), |_| {});
        let (_, _, events) = reopen(folder.path());
        assert_eq!(seqs(&events), [1], "stopped at step {step}");
    }
}
