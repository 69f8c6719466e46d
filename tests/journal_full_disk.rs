//! A disk that is really full: a file system of 64 KiB in memory. Needs the right to mount one;
//! without it the same is shown by the journal's own tests on a disk that only says so.
#![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]

use std::path::Path;
use std::process::Command;

use borewright::job::{Body, Event, SCHEMA};
use borewright::journal::{Error, Journal};
use borewright::units::Moment;

/// Mounted while it lives.
struct Small(tempfile::TempDir);

impl Small {
    fn mount() -> Option<Self> {
        let folder = tempfile::TempDir::new().unwrap();
        let mount = Command::new("mount")
            .args(["-t", "tmpfs", "-o", "size=64k", "borewright-test"])
            .arg(folder.path())
            .output();
        let mounted = mount.is_ok_and(|output| output.status.success());
        mounted.then_some(Self(folder))
    }

    fn path(&self) -> &Path {
        self.0.path()
    }
}

impl Drop for Small {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg(self.path()).status();
    }
}

fn note(seq: u64) -> Event {
    let body = Body::Noted {
        text: "x".repeat(500),
    };
    Event {
        schema: SCHEMA.into(),
        seq,
        at: Moment::now(),
        job: None,
        phase: None,
        body,
    }
}

#[test]
fn a_full_disk_is_said_aloud_and_costs_nothing_that_was_stored() {
    let Some(disk) = Small::mount() else {
        eprintln!("not shown here: no right to mount a small file system");
        return;
    };
    let (mut journal, _) = Journal::open(disk.path(), |_| {}).unwrap();
    let error = loop {
        match journal.append(&[note(journal.next_seq())]) {
            Ok(_) => assert!(journal.next_seq() < 1_000, "it never filled"),
            Err(error) => break error,
        }
    };
    let full_at = journal.next_seq();
    assert!(matches!(error, Error::DiskFull { .. }), "{error}");
    assert!(matches!(
        journal.append(&[note(full_at)]),
        Err(Error::DiskFull { .. })
    ));
    assert_eq!(
        journal.history().since(0).unwrap().count() as u64,
        full_at - 1
    );

    // A restart on the full disk loses nothing and needs no room.
    drop(journal);
    let (journal, opened) = Journal::open(disk.path(), |_| {}).unwrap();
    assert_eq!((opened.events, opened.warnings.len()), (full_at - 1, 0));
    assert_eq!(journal.next_seq(), full_at);
}
