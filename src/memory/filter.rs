//! Which jobs are wanted.

use crate::uncertainty::Decision;
use crate::units::Day;

use super::entry::Entry;

/// How short a piece of an id still means one.
const LEAST_OF_AN_ID: usize = 4;

/// What a job must answer to be listed; what is left out asks for nothing.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Filter {
    /// Each of these words is in the part, the seat, a note or the id, in any case of letters.
    pub words: String,
    /// The name of the seat.
    pub seat: Option<String>,
    /// The newest verdict: as left where that was measured, else as found.
    pub verdict: Option<Decision>,
    /// Opened on this day or later, by the clock of this place.
    pub since: Option<Day>,
    /// Opened on this day or earlier.
    pub until: Option<Day>,
    /// Open jobs only.
    pub open: bool,
}

impl Filter {
    /// Whether `entry` is wanted.
    pub fn takes(&self, entry: &Entry) -> bool {
        let day = entry.opened_at.day_here().0;
        (!self.open || entry.is_open())
            && self
                .seat
                .as_ref()
                .is_none_or(|seat| *seat == entry.seat.name)
            && self
                .verdict
                .is_none_or(|verdict| entry.newest_verdict() == Some(verdict))
            && self.since.is_none_or(|since| since.0 <= day)
            && self.until.is_none_or(|until| day <= until.0)
            && holds(entry, &self.words)
    }
}

/// Whether each of `words` is somewhere in the text of `entry`.
fn holds(entry: &Entry, words: &str) -> bool {
    if words.trim().is_empty() {
        return true;
    }
    let mut text = format!(
        "{} {} {} {}",
        entry.part, entry.seat.name, entry.seat.title, entry.job
    );
    for note in &entry.notes {
        text.push(' ');
        text.push_str(&note.text);
    }
    all_words_in(&text, words)
}

fn all_words_in(text: &str, words: &str) -> bool {
    let text = text.to_lowercase();
    words
        .split_whitespace()
        .all(|word| text.contains(&word.to_lowercase()))
}

/// Whether `words` name `entry`: its id, the beginning or the end of it, or words of its part.
pub(super) fn names(entry: &Entry, words: &str) -> bool {
    is_piece_of_id(entry, words) || all_words_in(&entry.part, words)
}

fn is_piece_of_id(entry: &Entry, words: &str) -> bool {
    let id = entry.job.to_string();
    let words = words.trim().to_lowercase();
    words.len() >= LEAST_OF_AN_ID && (id.starts_with(&words) || id.ends_with(&words))
}
