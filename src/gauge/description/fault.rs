//! What can be wrong with a description.

use std::path::PathBuf;

use crate::mistake::Mistake;

/// Why there is no description.
#[derive(Debug, thiserror::Error)]
pub enum DescriptionError {
    /// No description has this name.
    #[error("no gauge description is called `{name}`; there are: {}", known.join(", "))]
    Unknown {
        /// The name asked for.
        name: String,
        /// The names there are.
        known: Vec<String>,
    },
    /// The file can't be read.
    #[error("{}: can't be read; check the path and its permissions", .0.display())]
    Unreadable(PathBuf, #[source] std::io::Error),
    /// The file was read, but says something that can't be.
    #[error("{0}")]
    Mistake(Mistake),
}
