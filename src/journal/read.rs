//! Reading a data folder from outside the daemon: nothing is changed, no lock is taken, and the
//! daemon may be writing meanwhile.

use std::fs::File;
use std::io::{BufRead as _, BufReader};
use std::path::Path;

use super::error::Error;
use super::{header, line, replay};
use crate::job::Event;

/// Gives each event of the active journal in `folder` to `fold`, in order: those of the open jobs,
/// and what else the present state depends on. A folder without a journal holds none.
///
/// The journal is read as it was when it was opened here. An end that is not whole, because it is
/// just being written or because the power failed, is passed over without a word: what it said was
/// never shown to anybody.
///
/// # Errors
///
/// [`Error::Damaged`] and its kin where the journal is not one that a crash leaves behind, and
/// [`Error::Io`]; the events before the damage were given to `fold` then.
pub fn read_active(folder: &Path, fold: impl FnMut(&Event)) -> Result<(), Error> {
    let path = folder.join("journal.jsonl");
    if !path.exists() {
        return Ok(());
    }
    let mut fold = fold;
    replay::replay(&path, |event, _| fold(event)).map(drop)
}

/// The events of the closed file at `path`, such as `jobs/<job>/events.jsonl`, and what of it can't
/// be read, by line.
///
/// # Errors
///
/// [`Error::Io`], and [`Error::NoHeader`] or [`Error::Newer`] where it is no such file.
pub fn read_closed(path: &Path) -> Result<(Vec<Event>, Vec<Error>), Error> {
    let failed = |source| Error::io("read", path, source);
    let file = File::open(path).map_err(|source| Error::io("open", path, source))?;
    let mut reader = BufReader::with_capacity(1 << 16, file);
    let mut text = Vec::new();
    reader.read_until(b'\n', &mut text).map_err(failed)?;
    let head = text.strip_suffix(b"\n").unwrap_or(&text);
    header::read::<header::Closed>(head).map_err(|unreadable| match unreadable {
        header::Unreadable::No => Error::NoHeader {
            path: path.to_owned(),
        },
        header::Unreadable::Newer(found) => Error::Newer {
            path: path.to_owned(),
            found,
            known: header::FORMAT,
        },
    })?;
    let (mut events, mut damaged) = (Vec::new(), Vec::new());
    for number in 2.. {
        text.clear();
        if reader.read_until(b'\n', &mut text).map_err(failed)? == 0 {
            break;
        }
        match text.strip_suffix(b"\n").filter(|text| line::is_whole(text)) {
            None => damaged.push(Error::DamagedLine {
                path: path.to_owned(),
                line: number,
            }),
            Some(text) => match serde_json::from_slice(text) {
                Ok(event) => events.push(event),
                Err(error) => damaged.push(Error::NotUnderstood {
                    path: path.to_owned(),
                    line: number,
                    why: error.to_string(),
                }),
            },
        }
    }
    Ok((events, damaged))
}
