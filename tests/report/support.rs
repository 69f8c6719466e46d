//! Records made by the program itself (`tests/reference/report_records.py`), and what stands in a
//! report.

use std::path::{Path, PathBuf};

use borewright::display::Language;
use borewright::job::Record;
use borewright::report::{Report, Source, Style, Units, sha256};
use serde_json::Value;

pub(crate) const KINDS: [&str; 3] = ["clean", "repair", "no-ring"];
pub(crate) const WAYS: [(Language, Units); 4] = [
    (Language::En, Units::Mm),
    (Language::En, Units::Inch),
    (Language::De, Units::Mm),
    (Language::De, Units::Inch),
];

pub(crate) fn fixture(kind: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("fixtures/report/{kind}.json"))
}

pub(crate) struct Job {
    pub(crate) record: Record,
    pub(crate) json: Value,
    pub(crate) hash: String,
}

pub(crate) fn job(kind: &str) -> Job {
    let bytes = std::fs::read(fixture(kind)).unwrap();
    Job {
        record: serde_json::from_slice(&bytes).unwrap(),
        json: serde_json::from_slice(&bytes).unwrap(),
        hash: sha256(&bytes),
    }
}

pub(crate) fn style((language, units): (Language, Units)) -> Style {
    Style {
        language,
        units,
        name: Some("Corner Wheel Works".to_owned()),
        address: vec!["1 Mill Lane".to_owned(), "Oldtown".to_owned()],
        phone: Some("555-0100".to_owned()),
        ..Style::default()
    }
}

impl Job {
    pub(crate) fn report(&self, way: (Language, Units)) -> Report {
        let source = Source {
            record: &self.record,
            sha256: Some(&self.hash),
        };
        Report::of(&source, &style(way))
    }
}

/// What stands in a page, without its tags, one run of text a line.
pub(crate) fn text(html: &str) -> String {
    let body = html.split_once("<body").unwrap().1;
    // What a drawing says is its own room's to test.
    let mut parts = body.split("<svg");
    let first = parts.next().unwrap_or("").to_owned();
    let body = parts.fold(first, |text, part| {
        text + part.split_once("</svg>").map_or("", |(_, rest)| rest)
    });
    let mut text = String::new();
    // It begins within the tag of the body.
    let mut is_tag = true;
    for character in body.chars() {
        match character {
            '<' => is_tag = true,
            '>' => {
                is_tag = false;
                text.push('\n');
            }
            _ if is_tag => {}
            _ => text.push(character),
        }
    }
    text.replace("&lt;", "<")
        .replace("&gt;", ">")
        .replace("&quot;", "\"")
        .replace("&amp;", "&")
}

/// The rows of the table of this name: the text of each cell, lines of a cell apart.
pub(crate) fn rows(html: &str, name: &str) -> Vec<Vec<String>> {
    let Some((_, table)) = html.split_once(&format!("data-name=\"{name}\"")) else {
        return Vec::new();
    };
    let body = table.split_once("<tbody>").unwrap().1;
    let body = body.split_once("</tbody>").unwrap().0;
    body.split("<tr>")
        .skip(1)
        .map(|row| {
            row.split("<td>")
                .skip(1)
                .map(|cell| text(&format!("<body>{cell}")).trim().to_owned())
                .collect()
        })
        .collect()
}
