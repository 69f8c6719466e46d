//! Reading the active journal at the start: every event in order, and what its end looks like.

use std::fs::File;
use std::io::{BufRead as _, BufReader, Read as _};
use std::path::Path;

use super::error::Error;
use super::header::{self, Unreadable};
use super::line;
use crate::job::Event;

/// What reading the active journal found.
pub(super) struct Replayed {
    /// Its first line.
    pub(super) header: header::Active,
    /// The last whole event's number.
    pub(super) last_seq: Option<u64>,
    /// Where each stretch of about 64 KiB begins: first number and offset.
    pub(super) marks: Vec<(u64, u64)>,
    /// How long the whole part is, in bytes.
    pub(super) length: u64,
    /// How many damaged lines follow it.
    pub(super) damaged: u64,
}

/// Reads the journal at `path` and gives each event and the length of its line to `fold`.
pub(super) fn replay(path: &Path, fold: impl FnMut(&Event, u64)) -> Result<Replayed, Error> {
    replay_up_to(path, u64::MAX, fold)
}

/// The same, of the first `length` bytes only: what is known to be on the disk.
pub(super) fn replay_up_to(
    path: &Path,
    length: u64,
    mut fold: impl FnMut(&Event, u64),
) -> Result<Replayed, Error> {
    let file = File::open(path).map_err(|source| Error::io("open", path, source))?;
    let mut reader = BufReader::with_capacity(1 << 20, file.take(length));
    let mut text = Vec::new();
    let mut next = |text: &mut Vec<u8>| {
        text.clear();
        reader
            .read_until(b'\n', text)
            .map_err(|source| Error::io("read", path, source))
    };

    let length = next(&mut text)?;
    let header = whole(&text)
        .ok_or(Unreadable::No)
        .and_then(header::read::<header::Active>);
    let header = header.map_err(|unreadable| match unreadable {
        Unreadable::No => Error::NoHeader {
            path: path.to_owned(),
        },
        Unreadable::Newer(found) => Error::Newer {
            path: path.to_owned(),
            found,
            known: header::FORMAT,
        },
    })?;
    let mut found = Replayed {
        header,
        last_seq: None,
        marks: vec![],
        length: length as u64,
        damaged: 0,
    };

    for number in 2.. {
        let length = next(&mut text)?;
        if length == 0 {
            break;
        }
        let Some(line) = whole(&text).filter(|line| line::is_whole(line)) else {
            found.damaged += 1;
            if hides_a_whole_line(&text) {
                return Err(Error::Damaged {
                    path: path.to_owned(),
                    line: number,
                });
            }
            continue;
        };
        if found.damaged > 0 {
            return Err(Error::Damaged {
                path: path.to_owned(),
                line: number - found.damaged,
            });
        }
        let event: Event = serde_json::from_slice(line).map_err(|error| Error::NotUnderstood {
            path: path.to_owned(),
            line: number,
            why: error.to_string(),
        })?;
        if let Some(after) = found.last_seq.filter(|last| *last >= event.seq) {
            let path = path.to_owned();
            return Err(Error::OutOfOrder {
                path,
                line: number,
                seq: event.seq,
                after,
            });
        }
        fold(&event, length as u64);
        mark(&mut found.marks, event.seq, found.length);
        found.last_seq = Some(event.seq);
        found.length += length as u64;
    }
    Ok(found)
}

/// A line that ends as it should, without its line feed.
fn whole(text: &[u8]) -> Option<&[u8]> {
    text.strip_suffix(b"\n")
}

/// Whether a whole line stands at the end of a damaged one: its line feed before was lost, so this
/// is no end that a crash leaves.
fn hides_a_whole_line(text: &[u8]) -> bool {
    let Some(text) = whole(text) else {
        return false;
    };
    memchr::memmem::find_iter(text, br#"{"schema":"#)
        .any(|start| start > 0 && line::is_whole(&text[start..]))
}

/// Notes that event `seq` begins at `offset`, where the last mark is far enough behind.
pub(super) fn mark(marks: &mut Vec<(u64, u64)>, seq: u64, offset: u64) {
    if marks.last().is_none_or(|(_, at)| offset - at >= 1 << 16) {
        marks.push((seq, offset));
    }
}
