//! The customer's report: what was found, what was done, what was left, from one job's record.
//!
//! [`Report::of`] decides what is said, in the reader's language and unit; [`html`] and `pdf` only
//! write it down. Every number is one of the record's, at the digits shown; what the record
//! withholds is not stated, and why is. A report of a closed job depends on the record, the shop
//! and the time zone alone, so equal input gives equal bytes.

mod code;
mod content;
mod drawn;
mod find;
pub mod html;
mod logo;
mod model;
#[cfg(feature = "pdf")]
mod pdf;
mod serve;
mod words;

use jiff::tz::TimeZone;
use sha2::{Digest as _, Sha256};

pub use find::{Found, find};
pub use logo::{Logo, LogoError};
pub use model::Report;
#[cfg(feature = "pdf")]
pub use pdf::{Paper, PdfError};
pub use serve::router;
pub use words::Units;

use crate::display::Language;
use crate::job::Record;

/// What a report is made of.
#[derive(Debug, Clone, Copy)]
pub struct Source<'a> {
    /// The job's record; of an open job, as it stands.
    pub record: &'a Record,
    /// SHA-256 of the record's file, hexadecimal; `None` where there is no file yet.
    pub sha256: Option<&'a str>,
}

/// Who makes the report and how its reader counts.
#[derive(Debug, Clone)]
pub struct Style {
    /// The shop's name.
    pub name: Option<String>,
    /// Its address, line by line.
    pub address: Vec<String>,
    /// Its telephone number.
    pub phone: Option<String>,
    /// Its mail address.
    pub mail: Option<String>,
    /// Its mark.
    pub logo: Option<Logo>,
    /// The report's language.
    pub language: Language,
    /// The unit of lengths.
    pub units: Units,
    /// The paper of its PDF.
    #[cfg(feature = "pdf")]
    pub paper: Paper,
    /// The time zone of its dates.
    pub zone: TimeZone,
}

impl Default for Style {
    fn default() -> Self {
        Self {
            name: None,
            address: Vec::new(),
            phone: None,
            mail: None,
            logo: None,
            language: Language::default(),
            units: Units::default(),
            #[cfg(feature = "pdf")]
            paper: Paper::default(),
            zone: TimeZone::UTC,
        }
    }
}

impl Report {
    /// The report on a job.
    pub fn of(source: &Source<'_>, style: &Style) -> Self {
        content::report(source, style)
    }
}

/// SHA-256 of a file's bytes (FIPS 180-4), hexadecimal as `sha256sum` prints it.
pub fn sha256(bytes: &[u8]) -> String {
    use std::fmt::Write as _;
    let mut hex = String::with_capacity(64);
    for byte in Sha256::digest(bytes) {
        let _ = write!(hex, "{byte:02x}");
    }
    hex
}
