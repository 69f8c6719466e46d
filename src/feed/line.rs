//! One object of the feed as text, made once and shared by all who send it.

use std::collections::HashSet;
use std::fmt;
use std::ops::Deref;
use std::sync::Arc;

/// What a [`Line`] is, as far as resuming is concerned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Class {
    /// An event of the journal: replayed on a resume.
    Event,
    /// Numbers derived from events (`section`, `bore`, `job` …): on a resume only the newest.
    Derived,
    /// News of the moment (`status`, `live`): no number, never replayed.
    Status,
}

/// One object of the feed: a line of JSON text. A clone shares the text; the lines of one commit
/// share one allocation.
#[derive(Clone)]
pub struct Line {
    class: Class,
    seq: Option<u64>,
    last_of_seq: bool,
    text: Arc<str>,
    start: usize,
    end: usize,
}

impl Line {
    /// A derived object: `json` carries `seq`, the number of the newest event that it includes.
    pub fn derived(seq: u64, json: &str) -> Self {
        Self::whole(Class::Derived, Some(seq), json)
    }

    /// News of the moment, with `"seq":null` in `json`.
    pub fn status(json: &str) -> Self {
        Self::whole(Class::Status, None, json)
    }

    /// An event: `text[start..end]` is its line, line feed included.
    pub(crate) const fn event(seq: u64, text: Arc<str>, start: usize, end: usize) -> Self {
        Self {
            class: Class::Event,
            seq: Some(seq),
            last_of_seq: true,
            text,
            start,
            end,
        }
    }

    fn whole(class: Class, seq: Option<u64>, json: &str) -> Self {
        debug_assert!(!json.contains('\n'), "one line a object");
        let mut text = String::with_capacity(json.len() + 1);
        text.push_str(json);
        text.push('\n');
        let end = text.len();
        Self {
            class,
            seq,
            last_of_seq: seq.is_some(),
            text: text.into(),
            start: 0,
            end,
        }
    }

    /// What it is.
    pub const fn class(&self) -> Class {
        self.class
    }

    /// The journal number that it carries; `None` for status.
    pub const fn seq(&self) -> Option<u64> {
        self.seq
    }

    /// Whether no later object of its [`Batch`] carries the same number: only then may a consumer
    /// take the number as the point to resume from.
    pub const fn last_of_seq(&self) -> bool {
        self.last_of_seq
    }

    /// The same after event `newest`: where that is newer, its number is no point to resume from.
    pub(super) fn after(self, newest: Option<u64>) -> Self {
        let last_of_seq = self.last_of_seq && self.seq >= newest;
        Self {
            last_of_seq,
            ..self
        }
    }

    /// The JSON object, without a line feed.
    pub fn json(&self) -> &str {
        &self.text[self.start..self.end - 1]
    }

    /// The JSON object and the line feed that ends it.
    pub fn with_line_feed(&self) -> &[u8] {
        &self.text.as_bytes()[self.start..self.end]
    }
}

impl fmt::Debug for Line {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:?} {:?} {}", self.class, self.seq, self.json())
    }
}

impl PartialEq for Line {
    fn eq(&self, other: &Self) -> bool {
        (self.class, self.seq, self.json()) == (other.class, other.seq, other.json())
    }
}

/// What one commit published, in order: its events, then the objects derived from them.
#[derive(Debug, Clone)]
pub struct Batch(Arc<[Line]>);

impl Batch {
    /// `lines` in the order of sending. Finds out itself which of them is the last of its number:
    /// the one after which nothing with the same number follows and before which no newer event
    /// went, so that a resume from there neither misses nor repeats an event.
    pub fn new(lines: Vec<Line>) -> Self {
        Self::after(None, lines)
    }

    /// The same where objects with the number of the newest event are still to come, in a batch of
    /// their own: that event is no point to resume from yet.
    pub fn with_more_to_come(lines: Vec<Line>) -> Self {
        let newest = lines.iter().filter_map(Line::seq).max();
        let Self(lines) = Self::new(lines);
        let lines = lines.iter().cloned().map(|line| Line {
            last_of_seq: line.last_of_seq && line.seq < newest,
            ..line
        });
        Self(lines.collect())
    }

    /// The same for lines that follow event `newest_event`.
    pub(super) fn after(mut newest_event: Option<u64>, mut lines: Vec<Line>) -> Self {
        let mut later = HashSet::new();
        for line in lines.iter_mut().rev() {
            line.last_of_seq = line.seq.is_some_and(|seq| later.insert(seq));
        }
        for line in &mut lines {
            if line.class == Class::Event {
                newest_event = line.seq;
            } else if line.seq < newest_event {
                line.last_of_seq = false;
            }
        }
        Self(lines.into())
    }
}

impl Deref for Batch {
    type Target = [Line];

    fn deref(&self) -> &[Line] {
        &self.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn event(seq: u64) -> Line {
        let text = format!("{{\"seq\":{seq}}}\n");
        let end = text.len();
        Line::event(seq, text.into(), 0, end)
    }

    fn points(lines: Vec<Line>) -> Vec<Option<u64>> {
        let batch = Batch::new(lines);
        batch
            .iter()
            .map(|line| line.seq().filter(|_| line.last_of_seq()))
            .collect()
    }

    #[test]
    fn the_number_goes_with_the_last_object_that_carries_it() {
        let section = Line::derived(2, "{}");
        let bore = Line::derived(2, "{}");
        assert_eq!(
            points(vec![event(1), event(2), section, bore, Line::status("{}")]),
            [Some(1), None, None, Some(2), None]
        );
    }

    #[test]
    fn an_older_object_behind_a_newer_event_is_no_point_to_resume_from() {
        let older = Line::derived(1, "{}");
        assert_eq!(
            points(vec![event(1), event(2), older]),
            [None, Some(2), None]
        );
    }

    #[test]
    fn an_event_whose_numbers_are_still_to_come_is_no_point_to_resume_from_yet() {
        let lines = vec![event(1), event(2), Line::status("{}")];
        let batch = Batch::with_more_to_come(lines);
        let marks: Vec<bool> = batch.iter().map(Line::last_of_seq).collect();
        assert_eq!(marks, [true, false, false]);
        assert_eq!(points(vec![Line::derived(2, "{}")]), [Some(2)]);
    }

    #[test]
    fn text_is_one_line() {
        let line = Line::derived(7, r#"{"kind":"section"}"#);
        assert_eq!(line.json(), r#"{"kind":"section"}"#);
        assert_eq!(line.with_line_feed(), b"{\"kind\":\"section\"}\n");
    }
}
