//! The record of a job, found by what a person would type, with its hash.

use std::path::{Path, PathBuf};

use crate::job::{Record, Shop};
use crate::memory::{Error, Records, Trouble};

/// A job's record.
#[derive(Debug, Clone)]
pub struct Found {
    /// The record; of an open job, as it stands.
    pub record: Record,
    /// SHA-256 of its file, hexadecimal; `None` where the job isn't closed.
    pub sha256: Option<String>,
    /// The folder of a closed job; `None` where it isn't closed.
    pub folder: Option<PathBuf>,
}

/// The job of `records` that `words` name: its id, the beginning or the end of it, or words of its
/// part. An open job's plan rests on what `shop` owns. Blocking.
///
/// # Errors
/// As [`Records::find`] and [`Records::record`].
pub fn find(records: &Records, words: &str, shop: &Shop) -> Result<Found, Error> {
    let entry = records.find(words)?;
    let Some(file) = records.file(entry) else {
        return Ok(Found {
            record: records.record(entry, shop)?,
            sha256: None,
            folder: None,
        });
    };
    // Hash and record of the same bytes, whatever happens to the file meanwhile.
    let read = std::fs::read(file).map_err(|error| error.to_string());
    let read = read.and_then(|bytes| {
        let record = serde_json::from_slice(&bytes).map_err(|error| error.to_string())?;
        Ok((record, super::sha256(&bytes)))
    });
    let (record, hash) = read.map_err(|why| Trouble {
        file: file.to_owned(),
        why: format!("can't be read ({why}): restore it from a backup"),
    })?;
    Ok(Found {
        record,
        sha256: Some(hash),
        folder: file.parent().map(Path::to_owned),
    })
}
