//! How it was measured, the record itself, who may be asked, what to mind.

use super::Ground;
use crate::bore::Contact;
use crate::job::{RecordedSetting, TYPED};
use crate::report::code::Code;
use crate::report::model::{Block, Cell, Section, Table};
use crate::report::words::plain;

impl Ground<'_> {
    /// Gauges and rings, temperatures, what the gauge can't see, the rule of the verdicts.
    pub(super) fn gauges(&self) -> Section {
        let (record, words) = (self.record, self.words);
        let mut blocks = Vec::new();
        let mut sentences = Vec::new();
        let mut table = Table {
            name: "gauges",
            head: [
                "report-column.gauge",
                "report-column.ring",
                "report-column.set-at",
                "report-column.due",
                "report-column.drift",
            ]
            .map(|key| words.get(key))
            .to_vec(),
            rows: Vec::new(),
        };
        for (gauge, setting) in &record.gauges {
            match setting {
                Some(setting) => table.rows.push(self.setting(gauge, setting)),
                None => {
                    let gauge = self.gauge_name(gauge);
                    sentences.push(words.fill("report-measured.not-set", &[("gauge", &gauge)]));
                }
            }
        }
        if record.gauges.is_empty() {
            sentences.push(words.get("report-measured.no-gauge").to_owned());
        }
        if !table.rows.is_empty() {
            blocks.push(Block::Table(table));
        }
        sentences.push(record.temperature.map_or_else(
            || words.get("report-measured.no-temperature").to_owned(),
            |temperature| {
                let of = |value: f64| words.decimal(value, 1);
                words.fill(
                    "report-measured.temperature",
                    &[
                        ("part", &of(temperature.part_c)),
                        ("ring", &of(temperature.ring_c)),
                        ("within", &of(temperature.within_k)),
                    ],
                )
            },
        ));
        sentences.push(words.get("report-measured.out-of-round").to_owned());
        match record.contact {
            Contact::TwoPoint => sentences.push(words.get("report-measured.blind-two").to_owned()),
            Contact::ThreePoint => {
                sentences.push(words.get("report-measured.blind-three").to_owned())
            }
            Contact::Radius => {}
        }
        sentences.push(self.rule());
        for key in ["report-measured.plus-minus", "report-drawing.see"] {
            sentences.push(words.get(key).to_owned());
        }
        blocks.push(Block::Fine(sentences.join(" ")));
        Section {
            heading: self.heading("report-heading.gauges"),
            blocks,
        }
    }

    /// The decision rule of the verdicts: the seat's own, where it has one.
    fn rule(&self) -> String {
        let words = self.words;
        let bores = self.record.seat.bores.iter();
        let mut factors: Vec<f64> = bores.filter_map(|bore| bore.decision_factor).collect();
        factors.dedup();
        if factors.is_empty() {
            return words.get("report-measured.rule").to_owned();
        }
        let factors: Vec<String> = factors.iter().map(|of| words.decimal(*of, 2)).collect();
        words.fill(
            "report-measured.rule-factor",
            &[("factor", &factors.join(" / "))],
        )
    }

    /// The gauge that a person at a keyboard is has no name of its own.
    fn gauge_name(&self, gauge: &str) -> String {
        if gauge == TYPED {
            self.words.get("report-measured.typed").to_owned()
        } else {
            plain(gauge)
        }
    }

    fn setting(&self, gauge: &str, setting: &RecordedSetting) -> Vec<Cell> {
        let words = self.words;
        let ring = words.measured(setting.ring_mm, setting.ring_uncertainty_mm, false);
        let due = match setting.ring_due {
            None => words.get("report-measured.no-due").to_owned(),
            Some(due) if due.is_before(self.record.opened_at) => {
                words.fill("report-measured.overdue", &[("due", &words.day(due))])
            }
            Some(due) => words.day(due),
        };
        let drift = self.record.drift_mm.get(gauge).map_or_else(
            || Cell::text(words.get("report-measured.no-check")),
            |drift| Cell::figure(words.signed(*drift), *drift),
        );
        vec![
            Cell::text(self.gauge_name(gauge)),
            Cell::figure(ring, setting.ring_mm),
            Cell::text(words.moment(setting.at)),
            Cell::text(due),
            drift,
        ]
    }

    /// The record that this report is made from, and the code that names it.
    pub(super) fn papers(&self) -> Section {
        let (record, words) = (self.record, self.words);
        let job = record.job.to_string();
        let label = |key| words.get(key).to_owned();
        let versions = words.fill(
            "report-record.versions",
            &[
                ("version", env!("CARGO_PKG_VERSION")),
                ("schema", &plain(&record.schema)),
                ("wrote", &plain(&record.version)),
            ],
        );
        let mut rows = vec![
            (label("report-record.job"), job.clone()),
            (
                label("report-record.hash"),
                self.sha256
                    .map_or_else(|| label("report-record.no-hash"), str::to_owned),
            ),
            (label("report-record.version"), versions),
        ];
        if let Some(amends) = &record.amends {
            rows.insert(2, (label("report-record.amends"), plain(amends)));
        }
        let says = self.sha256.map_or_else(
            || format!("job {job}"),
            |hash| format!("job {job}\nsha256 {hash}"),
        );
        Section {
            heading: self.heading("report-heading.record"),
            blocks: Code::of(&says)
                .map(|code| Block::Code(code, rows))
                .into_iter()
                .collect(),
        }
    }

    /// Who may be asked, and where to sign.
    pub(super) fn ask(&self) -> Section {
        let (style, words) = (self.style, self.words);
        let mut who: Vec<String> = [&style.name, &style.phone, &style.mail]
            .into_iter()
            .flatten()
            .map(|text| plain(text))
            .collect();
        if who.is_empty() {
            who.push(words.get("report-record.ask").to_owned());
        }
        Section {
            heading: self.heading("report-heading.ask"),
            blocks: vec![
                Block::Sentence(who.join(", ")),
                Block::Sign(vec![
                    words.get("report-record.date").to_owned(),
                    words.get("report-record.signature").to_owned(),
                ]),
            ],
        }
    }

    /// The usual cautions, once.
    pub(super) fn mind(&self) -> Section {
        Section {
            heading: self.heading("report-heading.mind"),
            blocks: vec![Block::Fine(self.words.get("report-mind.text").to_owned())],
        }
    }
}
