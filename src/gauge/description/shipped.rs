//! The descriptions that the program brings, and those in the user's own folder.

use std::path::Path;

use super::{Description, DescriptionError};

/// Name and text of each description in `config/gauges/`.
pub(super) const SHIPPED: &[(&str, &str)] = &[
    (
        "comma-status",
        include_str!("../../../config/gauges/comma-status.toml"),
    ),
    (
        "comparator-mm",
        include_str!("../../../config/gauges/comparator-mm.toml"),
    ),
    (
        "plain-degrees",
        include_str!("../../../config/gauges/plain-degrees.toml"),
    ),
    (
        "plain-mm",
        include_str!("../../../config/gauges/plain-mm.toml"),
    ),
    (
        "plain-mm-stream",
        include_str!("../../../config/gauges/plain-mm-stream.toml"),
    ),
    (
        "polled-inch",
        include_str!("../../../config/gauges/polled-inch.toml"),
    ),
    (
        "rocking-mm",
        include_str!("../../../config/gauges/rocking-mm.toml"),
    ),
];

pub(super) fn named(
    name: &str,
    own_folder: Option<&Path>,
) -> Result<Description, DescriptionError> {
    let unknown = || DescriptionError::Unknown {
        name: name.to_owned(),
        known: names(own_folder),
    };
    if !is_name(name) {
        return Err(unknown());
    }
    if let Some(path) = own_folder.map(|folder| folder.join(format!("{name}.toml"))) {
        let file = path.display().to_string();
        match std::fs::read_to_string(&path) {
            Ok(text) => return Description::parse(&text, &file),
            Err(source) if source.kind() == std::io::ErrorKind::NotFound => {}
            Err(source) => return Err(DescriptionError::Unreadable(path, source)),
        }
    }
    let (_, text) = SHIPPED
        .iter()
        .find(|(known, _)| *known == name)
        .ok_or_else(unknown)?;
    Description::parse(text, &format!("config/gauges/{name}.toml"))
}

pub(super) fn names(own_folder: Option<&Path>) -> Vec<String> {
    let mut names: Vec<String> = SHIPPED.iter().map(|(name, _)| (*name).to_owned()).collect();
    let entries = own_folder.and_then(|folder| std::fs::read_dir(folder).ok());
    for entry in entries.into_iter().flatten().flatten() {
        if let Some(stem) = entry
            .file_name()
            .to_str()
            .and_then(|file| file.strip_suffix(".toml"))
            && is_name(stem)
        {
            names.push(stem.to_owned());
        }
    }
    names.sort();
    names.dedup();
    names
}

/// Whether `name` may name a description (and so a file, without leading out of its folder).
pub(super) fn is_name(name: &str) -> bool {
    !name.is_empty()
        && name.len() <= 64
        && name
            .bytes()
            .all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-')
}
