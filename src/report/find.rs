//! The record of a job, found by what a person would type.

use std::path::{Path, PathBuf};

use crate::job::Record;

/// A closed job's record.
#[derive(Debug, Clone)]
pub struct Found {
    /// The record.
    pub record: Record,
    /// SHA-256 of its file, hexadecimal; `None` where the job isn't closed.
    pub sha256: Option<String>,
    /// The job's folder.
    pub folder: PathBuf,
}

/// Why no record was found.
#[derive(Debug, thiserror::Error)]
pub enum FindError {
    /// No job is meant by these words.
    #[error("no closed job in {} has an id or a part like `{words}`", .folder.display())]
    None {
        /// What was asked for.
        words: String,
        /// Where.
        folder: PathBuf,
    },
    /// More than one is.
    #[error("more than one job is meant by `{words}`; say which:\n{jobs}")]
    Several {
        /// What was asked for.
        words: String,
        /// Those meant, one a line.
        jobs: String,
    },
    /// The folder or a record can't be read.
    #[error("{}: can't be read", .0.display())]
    Unreadable(PathBuf, #[source] std::io::Error),
    /// A record is none that this version understands.
    #[error("{}: is no record that this version can read", .0.display())]
    Damaged(PathBuf, #[source] serde_json::Error),
}

/// The closed job in the data folder `folder` whose id is or begins with `words`, or whose part
/// holds them.
///
/// # Errors
/// [`FindError`].
pub fn find(folder: &Path, words: &str) -> Result<Found, FindError> {
    let none = || FindError::None {
        words: words.to_owned(),
        folder: folder.to_owned(),
    };
    let wanted = words.trim().to_lowercase();
    if wanted.is_empty() {
        return Err(none());
    }
    let jobs = folder.join("jobs");
    let entries = match std::fs::read_dir(&jobs) {
        Ok(entries) => entries,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Err(none()),
        Err(error) => return Err(FindError::Unreadable(jobs, error)),
    };
    let mut ids = Vec::new();
    for entry in entries {
        let entry = entry.map_err(|error| FindError::Unreadable(jobs.clone(), error))?;
        ids.push(entry.file_name().to_string_lossy().into_owned());
    }
    ids.sort();
    let by_id: Vec<&String> = ids.iter().filter(|id| id.starts_with(&wanted)).collect();
    let mut found = Vec::new();
    for id in if by_id.is_empty() {
        ids.iter().collect()
    } else {
        by_id.clone()
    } {
        let Some(job) = read(&jobs.join(id))? else {
            continue;
        };
        if !by_id.is_empty() || job.record.part.to_lowercase().contains(&wanted) {
            found.push(job);
        }
    }
    if found.len() > 1 {
        let jobs = found.iter().map(|job| {
            let record = &job.record;
            format!("  {}  {}", record.job, super::words::plain(&record.part))
        });
        return Err(FindError::Several {
            words: words.to_owned(),
            jobs: jobs.collect::<Vec<_>>().join("\n"),
        });
    }
    found.pop().ok_or_else(none)
}

fn read(folder: &Path) -> Result<Option<Found>, FindError> {
    let path = folder.join("record.json");
    let bytes = match std::fs::read(&path) {
        Ok(bytes) => bytes,
        Err(error)
            if matches!(
                error.kind(),
                std::io::ErrorKind::NotFound | std::io::ErrorKind::NotADirectory
            ) =>
        {
            return Ok(None);
        }
        Err(error) => return Err(FindError::Unreadable(path, error)),
    };
    let record = serde_json::from_slice(&bytes).map_err(|error| FindError::Damaged(path, error))?;
    Ok(Some(Found {
        record,
        sha256: Some(super::sha256(&bytes)),
        folder: folder.to_owned(),
    }))
}
