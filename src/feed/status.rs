//! News of the moment: true now, not an event, never replayed.

use std::borrow::Cow;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::Line;
use crate::gauge::Raw;
use crate::job::{AtWork, JobId, SCHEMA};
use crate::units::{Moment, Stated};

/// A `status` object of the feed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Status {
    /// Always `borewright.feed/1`.
    pub schema: Cow<'static, str>,
    /// Always `status`.
    pub kind: Cow<'static, str>,
    /// Always null: it has no number.
    pub seq: Option<u64>,
    /// When it was said, UTC.
    pub at: Moment,
    /// What it says.
    #[serde(flatten)]
    pub news: News,
}

/// What a [`Status`] says.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "about", rename_all = "snake_case")]
pub enum News {
    /// The daemon is ready.
    Daemon {
        /// Where the page, `/feed`, `/state` and `/commands` listen.
        page: String,
        /// Where the NDJSON feed listens.
        tcp: String,
        /// The data folder.
        folder: String,
    },
    /// A gauge's link came or went.
    Gauge {
        /// The gauge's name.
        gauge: String,
        /// The device path or address.
        port: String,
        /// Whether it is open now.
        connected: bool,
        /// Why it is not.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        why: Option<String>,
    },
    /// The journal can't be written, or can be again.
    Disk {
        /// Whether it can be written.
        well: bool,
        /// Why it can't.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        why: Option<String>,
    },
    /// Who is at work on the bench changed.
    Bench {
        /// Who is now; null: nobody, and any program may command.
        at_work: Option<AtWork>,
        /// Who was before, and watches now.
        was: Option<AtWork>,
    },
    /// A reading that could not be stored, and so does not count.
    Unstored {
        /// The gauge's name.
        gauge: String,
        /// The frame as text.
        raw: String,
        /// Why, and what to do.
        why: String,
    },
    /// The record of a closed job.
    Record {
        /// The job.
        job: JobId,
        /// The record's file; null where it could not be written yet.
        file: Option<String>,
        /// Why it could not.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        why: Option<String>,
    },
}

impl From<News> for Line {
    /// The news, said now.
    fn from(news: News) -> Self {
        let status = Status {
            schema: SCHEMA.into(),
            kind: "status".into(),
            seq: None,
            at: Moment::now(),
            news,
        };
        // Nothing in it can fail to be written: no map with odd keys, no number that isn't finite.
        Self::status(&serde_json::to_string(&status).unwrap_or_default())
    }
}

/// A value that a gauge shows just now and that is no reading: never stored, never replayed, at most
/// ten a second of one gauge.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Live {
    /// Always `borewright.feed/1`.
    pub schema: Cow<'static, str>,
    /// Always `live`.
    pub kind: Cow<'static, str>,
    /// Always null: it has no number.
    pub seq: Option<u64>,
    /// When it arrived, UTC.
    pub at: Moment,
    /// The gauge's name.
    pub gauge: String,
    /// What the gauge states, in millimetres: a size or a deviation, by its description; null from
    /// an angle gauge.
    pub value_mm: Option<f64>,
    /// What an angle gauge states, degrees; absent from others.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub value_deg: Option<f64>,
    /// The frame as text.
    pub raw: String,
}

impl Live {
    /// What `gauge` stated at `at`.
    pub fn new(gauge: &str, at: Moment, value: Stated, raw: &Raw) -> Self {
        let (value_mm, value_deg) = match value {
            Stated::Length(value) => (Some(value.mm()), None),
            Stated::Angle(value) => (None, Some(value.deg())),
        };
        Self {
            schema: SCHEMA.into(),
            kind: "live".into(),
            seq: None,
            at,
            gauge: gauge.to_owned(),
            value_mm,
            value_deg,
            raw: raw.text(),
        }
    }
}

impl From<Live> for Line {
    fn from(live: Live) -> Self {
        // Lengths and angles are finite and there is no map, so this can't fail.
        Self::status(&serde_json::to_string(&live).unwrap_or_default())
    }
}
