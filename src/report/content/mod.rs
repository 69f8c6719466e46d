//! What the report says, part by part.

mod bores;
mod fit;
mod measured;
mod standing;
mod work;

use std::collections::BTreeSet;

use super::model::{Block, Letterhead, Line, Mark, Part, Report, Section};
use super::words::{Units, Words, capital, plain};
use super::{Source, Style};
use crate::job::{Decision, Phase, Record, RecordedPhase};
use crate::units::Moment;

const READINGS: [&str; 2] = ["report-page.reading-one", "report-page.reading-several"];
const STATIONS: [&str; 2] = ["report-page.station-one", "report-page.station-several"];

/// All that the parts are made from.
#[derive(Debug, Clone, Copy)]
struct Ground<'a> {
    record: &'a Record,
    sha256: Option<&'a str>,
    style: &'a Style,
    words: &'a Words,
}

/// The report on a job.
pub(super) fn report(source: &Source<'_>, style: &Style) -> Report {
    let words = Words {
        language: style.language,
        units: style.units,
        zone: style.zone.clone(),
    };
    let ground = Ground {
        record: source.record,
        sha256: source.sha256,
        style,
        words: &words,
    };
    let record = source.record;
    let part = plain(&record.part);
    let job = record.job.to_string();
    Report {
        language: style.language,
        inches: style.units == Units::Inch,
        title: format!("{}: {}", words.get("report-page.title"), clipped(&part, 80)),
        dated: stood_at(record),
        identity: format!("{job} {}", source.sha256.unwrap_or("open")),
        letterhead: letterhead(style),
        heading: words.get("report-page.title").to_owned(),
        facts: ground.facts(part),
        open: record.closed_at.is_none().then(|| {
            let at = words.moment(stood_at(record));
            words.fill("report-page.open", &[("at", &at)])
        }),
        parts: ground.parts(),
        foot: words.fill("report-page.job", &[("job", &job)]),
        page_of: words.get("report-page.page-of"),
    }
}

/// When the job was closed; of an open one, when the newest of what it holds was noted.
fn stood_at(record: &Record) -> Moment {
    let stations = record.phases.iter().flat_map(|phase| &phase.stations);
    let readings = stations.flat_map(|place| &place.readings);
    let newest = readings
        .map(|reading| reading.at)
        .chain(record.notes.iter().map(|note| note.at))
        .chain(record.ticks.iter().map(|tick| tick.at))
        .max();
    let newest = || newest.map_or(record.opened_at, |at| at.max(record.opened_at));
    record.closed_at.unwrap_or_else(newest)
}

/// Two columns; one that holds nothing is left out.
fn beside(left: [Option<Section>; 2], right: [Option<Section>; 2]) -> Part {
    let columns = [left, right].map(|column| column.into_iter().flatten().collect::<Vec<_>>());
    Part::Beside(
        columns
            .into_iter()
            .filter(|column| !column.is_empty())
            .collect(),
    )
}

/// The first `most` characters.
fn clipped(text: &str, most: usize) -> String {
    match text.char_indices().nth(most) {
        Some((end, _)) => format!("{}…", &text[..end]),
        None => text.to_owned(),
    }
}

fn letterhead(style: &Style) -> Letterhead {
    let mut lines: Vec<String> = style.address.iter().map(|line| plain(line)).collect();
    let reach: Vec<String> = [&style.phone, &style.mail]
        .into_iter()
        .flatten()
        .map(|text| plain(text))
        .collect();
    if !reach.is_empty() {
        lines.push(reach.join(" · "));
    }
    Letterhead {
        name: style.name.as_deref().map(plain),
        lines,
        logo: style.logo.clone(),
    }
}

impl<'a> Ground<'a> {
    fn facts(&self, part: String) -> Vec<(String, String)> {
        let (record, words) = (self.record, self.words);
        let stations = || record.phases.iter().flat_map(|phase| &phase.stations);
        let readings: usize = stations().map(|place| place.readings.len()).sum();
        // A place gauged as found and as left, or in a second turn, is one.
        let gauged: BTreeSet<(&str, u64, u64)> = stations()
            .filter(|place| !place.readings.is_empty())
            .map(|place| &place.station)
            .map(|at| (&*at.bore, at.depth_mm.to_bits(), at.angle_deg.to_bits()))
            .collect();
        let contact = words.named("report-contact", &record.contact.to_string());
        let label = |key| words.get(key).to_owned();
        let mut facts = vec![
            (label("report-page.part"), part),
            (
                label("report-page.seat"),
                words.language.seat(&plain(&record.seat.title)),
            ),
            (label("report-page.opened"), words.moment(record.opened_at)),
            (
                label("report-page.closed"),
                record
                    .closed_at
                    .map_or_else(|| label("report-page.not-closed"), |at| words.moment(at)),
            ),
            (
                label("report-page.gauged"),
                if readings == 0 {
                    label("report-page.gauged-nothing")
                } else {
                    words.fill(
                        "report-page.gauged-by",
                        &[
                            ("readings", &words.count(READINGS, readings)),
                            ("stations", &words.count(STATIONS, gauged.len())),
                            ("contact", &contact),
                        ],
                    )
                },
            ),
        ];
        if record.revision > 1
            && let Some((_, closed)) = facts.get_mut(3)
        {
            let revision = record.revision.to_string();
            let revision = words.fill("report-page.revision", &[("revision", &revision)]);
            *closed = format!("{closed}, {revision}");
        }
        facts
    }

    /// A repair takes two pages, the second from *as left* on; anything else takes one.
    fn parts(&self) -> Vec<Part> {
        let mut parts = Vec::new();
        let found = self.phase(Phase::AsFound);
        let left = self.phase(Phase::AsLeft);
        parts.push(Part::Section(Section {
            heading: String::new(),
            blocks: self.answer(),
        }));
        if let Some(found) = found {
            parts.push(Part::Section(self.measured(found, left.is_none())));
        }
        let fault = self.fault();
        let work = self.work();
        let (fit, evidence) = (self.fit(), self.evidence());
        match left {
            Some(left) => {
                parts.push(beside([fault, None], [evidence, None]));
                parts.extend(fit.map(Part::Section));
                parts.push(Part::NewPage);
                parts.push(Part::Section(self.measured(left, true)));
                parts.push(beside([work, None], [self.checklist(), None]));
            }
            None => {
                parts.extend(fit.map(Part::Section));
                parts.push(beside([fault, work], [evidence, self.checklist()]));
            }
        }
        parts.extend(self.notes().map(Part::Section));
        parts.push(Part::Section(self.gauges()));
        parts.push(beside(
            [Some(self.papers()), None],
            [Some(self.ask()), None],
        ));
        parts.push(Part::Section(self.mind()));
        parts.retain(|part| !matches!(part, Part::Beside(columns) if columns.is_empty()));
        parts
    }

    /// A phase in which something was gauged.
    fn phase(&self, phase: Phase) -> Option<&'a RecordedPhase> {
        let mut phases = self.record.phases.iter();
        phases.find(|of| of.phase == phase && !of.sections.is_empty())
    }

    /// The answer in one sentence, then bore by bore.
    fn answer(&self) -> Vec<Block> {
        let last = self
            .phase(Phase::AsLeft)
            .map(|left| (left, true))
            .or_else(|| self.phase(Phase::AsFound).map(|found| (found, false)));
        let Some((phase, is_left)) = last else {
            let nothing = self.words.get("report-lead.nothing").to_owned();
            return vec![Block::Lead(Mark::Open, nothing)];
        };
        let standings = self.standings(phase);
        let unfinished = phase
            .stations
            .iter()
            .any(|place| place.readings.is_empty() && !place.skipped);
        let worst = standings.iter().map(|bore| bore.decision).max();
        let (mark, found, left) = match worst {
            Some(Decision::DoesNotConform) => (
                Mark::Bad,
                "report-lead.found-fails",
                "report-lead.left-fails",
            ),
            _ if unfinished => (
                Mark::Open,
                "report-lead.found-unfinished",
                "report-lead.left-unfinished",
            ),
            Some(Decision::Conforms) => (
                Mark::Good,
                "report-lead.found-conforms",
                "report-lead.left-conforms",
            ),
            _ if standings.iter().all(|bore| bore.round_not_set) => (
                Mark::Open,
                "report-lead.found-round",
                "report-lead.left-round",
            ),
            _ => (
                Mark::Open,
                "report-lead.found-cant-tell",
                "report-lead.left-cant-tell",
            ),
        };
        let key = if is_left { left } else { found };
        let ran_out = self.out_of_date().into_iter().map(|text| Line {
            mark: Some(Mark::Open),
            text,
            aside: String::new(),
        });
        let lines = standings.into_iter().map(|bore| bore.line);
        let lines = lines.chain(ran_out).collect();
        vec![
            Block::Lead(mark, self.words.get(key).to_owned()),
            Block::Lines(lines),
        ]
    }

    fn notes(&self) -> Option<Section> {
        let lines: Vec<Line> = self
            .record
            .notes
            .iter()
            .map(|note| Line {
                mark: None,
                text: plain(&note.text),
                aside: self.words.moment(note.at),
            })
            .collect();
        (!lines.is_empty()).then(|| Section {
            heading: self.words.get("report-heading.notes").to_owned(),
            blocks: vec![Block::Lines(lines)],
        })
    }

    fn heading(&self, key: &'static str) -> String {
        self.words.get(key).to_owned()
    }

    /// A bore's name with a capital.
    fn bore_name(&self, name: &str) -> String {
        capital(&self.words.name(&plain(name)))
    }
}
