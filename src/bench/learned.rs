//! The cuts of past jobs, read back from the records of closed jobs.

use std::path::Path;

use serde::Deserialize;

use crate::job::{JobId, LearnedCut};

/// What of a record is wanted here.
#[derive(Deserialize)]
struct Taught {
    job: JobId,
    revision: u32,
    #[serde(default)]
    learned_cuts: Vec<LearnedCut>,
}

/// What every closed job in the data `folder` taught: of each job's records the newest revision.
/// A record that can't be read is passed over with a warning: nothing else depends on it.
/// Meant for a thread in the background.
pub fn read_learned_cuts(folder: &Path) -> Vec<(JobId, Vec<LearnedCut>)> {
    let mut all = Vec::new();
    for job in entries(&folder.join("jobs")) {
        let records = entries(&job).into_iter().filter(|path| {
            let name = path.file_name().and_then(|name| name.to_str());
            name.is_some_and(|name| name.starts_with("record") && name.ends_with(".json"))
        });
        let newest = records
            .filter_map(|path| match read(&path) {
                Ok(taught) => Some(taught),
                Err(why) => {
                    tracing::warn!("{}: teaches nothing: {why}", path.display());
                    None
                }
            })
            .max_by_key(|taught| taught.revision);
        all.extend(
            newest
                .filter(|taught| !taught.learned_cuts.is_empty())
                .map(|taught| (taught.job, taught.learned_cuts)),
        );
    }
    all
}

fn read(path: &Path) -> Result<Taught, String> {
    let text = std::fs::read(path).map_err(|error| error.to_string())?;
    serde_json::from_slice(&text).map_err(|error| error.to_string())
}

/// What is in `folder`; nothing where it isn't there.
fn entries(folder: &Path) -> Vec<std::path::PathBuf> {
    let read = std::fs::read_dir(folder);
    read.into_iter()
        .flatten()
        .filter_map(|entry| entry.ok().map(|entry| entry.path()))
        .collect()
}
