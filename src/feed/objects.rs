//! Objects that the feed itself sends.

use std::borrow::Cow;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::Line;
use crate::job::SCHEMA;
use crate::units::Moment;

/// News of the feed itself.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Notice {
    /// Always `borewright.feed/1`.
    pub schema: Cow<'static, str>,
    /// What it says.
    pub kind: NoticeKind,
    /// For a `cut` the last event that this consumer was sent (resume from it); else null.
    pub seq: Option<u64>,
    /// When it was said, UTC.
    pub at: Moment,
    /// What happened and what to do, as a sentence.
    pub why: String,
}

/// What a [`Notice`] says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum NoticeKind {
    /// The consumer did not keep up: this is the last line it gets.
    Cut,
    /// An event of the history can't be read.
    HistoryDamaged,
    /// What the consumer sent isn't understood: this is the last line it gets.
    NotUnderstood,
}

impl Notice {
    /// A notice of now, as a line.
    pub(super) fn line(kind: NoticeKind, seq: Option<u64>, why: &str) -> Line {
        let why = why.to_owned();
        let notice = Self {
            schema: SCHEMA.into(),
            kind,
            seq,
            at: Moment::now(),
            why,
        };
        // Nothing in it can fail to be written: no map with odd keys, no number that isn't finite.
        Line::status(&serde_json::to_string(&notice).unwrap_or_default())
    }

    /// The last line for a consumer that did not keep up and got event `last` last.
    pub(super) fn cut(last: u64) -> Line {
        let why = format!(
            "this consumer reads more slowly than the bench sends; connect again and resume from \
             event {last}"
        );
        Self::line(NoticeKind::Cut, Some(last), &why)
    }
}
