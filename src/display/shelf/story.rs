//! One job's events as sentences, in the order in which they happened.

mod sentence;

use std::collections::{BTreeMap, VecDeque};

use crate::display::parts::at_station;
use crate::display::words::{self, Language, NONE};
use crate::job::{Body, Event, Phase, Record, RecordedStation, Station, all_settings};
use crate::units::Moment;

use super::decision;

/// One sentence of a story.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Told {
    /// When it happened, UTC.
    pub at: Moment,
    /// The first event that it tells of.
    pub seq: u64,
    /// How it is set apart.
    pub kind: Kind,
    /// The sentence.
    pub text: String,
}

/// How a sentence is set apart from others.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// An event like any other.
    Plain,
    /// Readings of a section, with what came of it.
    Gauged,
    /// Something was refused, left out, lost or taken back.
    Refused,
}

/// Readings of one section that came one after the other.
struct Run {
    at: Moment,
    seq: u64,
    phase: Phase,
    station: Station,
    values: Vec<f64>,
}

/// Tells `events`, those of the job that `record` is of. Readings of a section that came in a row are
/// one sentence; what came of the section stands behind the last of them.
pub fn story(lang: Language, record: &Record, events: &[Event]) -> Vec<Told> {
    let mut teller = Teller {
        lang,
        record,
        told: Vec::new(),
        settings: settings(lang, record),
        sizes: sizes(record),
        run: None,
        last: last_of_sections(events),
        said: BTreeMap::new(),
    };
    for event in events {
        teller.settings_until(event.at);
        teller.tell(event);
    }
    teller.end_run();
    teller.told.append(&mut teller.settings.into());
    teller.told
}

/// The settings of the gauges, in order of time. They are no event of the job, whose readings they
/// stand behind.
fn settings(lang: Language, record: &Record) -> VecDeque<Told> {
    let told = all_settings(&record.settings, &record.gauges).map(|(gauge, setting)| {
        let key = if setting.at < record.opened_at {
            "story.ring-before"
        } else {
            "story.ring-set"
        };
        let (ring, shown) = (lang.mm(setting.ring_mm), lang.mm(setting.shown_mm));
        Told {
            at: setting.at,
            seq: 0,
            kind: Kind::Plain,
            text: lang.fill(key, &[("gauge", gauge), ("ring", &ring), ("shown", &shown)]),
        }
    });
    let mut told: Vec<Told> = told.collect();
    told.sort_by_key(|told| told.at);
    told.into()
}

/// What the record's readings come to, by their events: without the drift that a later re-check found.
fn sizes(record: &Record) -> BTreeMap<u64, f64> {
    let stations = record.phases.iter().flat_map(|phase| &phase.stations);
    let readings = stations.flat_map(|station| station.readings.iter().chain(&station.dropped));
    readings
        .filter_map(|reading| Some((reading.seq, reading.corrected_mm?)))
        .collect()
}

/// A section: its phase, its bore, its depth as ordered bits.
type Section<'a> = (Phase, &'a str, u64);

fn section(phase: Phase, station: &Station) -> Section<'_> {
    (phase, &station.bore, station.depth_mm.to_bits())
}

/// The last reading of each section.
fn last_of_sections(events: &[Event]) -> BTreeMap<Section<'_>, u64> {
    let readings = events.iter().filter_map(|event| match &event.body {
        Body::Reading {
            station: Some(station),
            ..
        } => Some((section(event.phase?, station), event.seq)),
        _ => None,
    });
    readings.collect()
}

/// The least and the greatest.
fn ends(values: &[f64]) -> [f64; 2] {
    let ends = [f64::INFINITY, f64::NEG_INFINITY];
    values
        .iter()
        .fold(ends, |[least, most], mm| [least.min(*mm), most.max(*mm)])
}

struct Teller<'a> {
    lang: Language,
    record: &'a Record,
    told: Vec<Told>,
    /// Those not told yet.
    settings: VecDeque<Told>,
    sizes: BTreeMap<u64, f64>,
    run: Option<Run>,
    last: BTreeMap<Section<'a>, u64>,
    /// What was said of each event, for when it is taken back.
    said: BTreeMap<u64, String>,
}

impl Teller<'_> {
    fn settings_until(&mut self, at: Moment) {
        while self.settings.front().is_some_and(|told| told.at <= at) {
            self.end_run();
            self.told.extend(self.settings.pop_front());
        }
    }

    fn tell(&mut self, event: &Event) {
        if let Body::Reading {
            value_mm,
            corrected_mm,
            station: Some(station),
            ..
        } = &event.body
            && let Some(phase) = event.phase
        {
            let size = self.sizes.get(&event.seq).copied().or(*corrected_mm);
            self.reading(event, phase, station, size.unwrap_or(*value_mm));
            return;
        }
        self.end_run();
        let (kind, text) = self.sentence(event);
        self.said.insert(event.seq, text.clone());
        self.told.push(Told {
            at: event.at,
            seq: event.seq,
            kind,
            text,
        });
    }

    fn reading(&mut self, event: &Event, phase: Phase, station: &Station, mm: f64) {
        let place = at_station(self.lang, station);
        self.said
            .insert(event.seq, format!("{place}, {} mm.", self.lang.mm(mm)));
        let goes_on = self
            .run
            .as_ref()
            .is_some_and(|run| section(run.phase, &run.station) == section(phase, station));
        if !goes_on {
            self.end_run();
        }
        let run = self.run.get_or_insert_with(|| Run {
            at: event.at,
            seq: event.seq,
            phase,
            station: station.clone(),
            values: Vec::new(),
        });
        run.values.push(mm);
        if self.last.get(&section(phase, station)) == Some(&event.seq) {
            self.end_run_with(true);
        }
    }

    fn end_run(&mut self) {
        self.end_run_with(false);
    }

    fn end_run_with(&mut self, is_last: bool) {
        let Some(run) = self.run.take() else {
            return;
        };
        let lang = self.lang;
        let [least, greatest] = ends(&run.values);
        let key = if run.values.len() == 1 {
            "story.one"
        } else {
            "story.several"
        };
        let mut text = lang.fill(
            key,
            &[
                (
                    "section",
                    &words::section(lang, &run.station.bore, run.station.depth_mm),
                ),
                ("phase", &words::phase(lang, run.phase)),
                ("count", &run.values.len()),
                ("from", &lang.mm(least)),
                ("to", &lang.mm(greatest)),
            ],
        );
        if let Some(whole) = is_last.then(|| self.whole(&run)).flatten() {
            text.push(' ');
            text.push_str(&whole);
        }
        if let Some(result) = is_last.then(|| self.result(&run)).flatten() {
            text.push(' ');
            text.push_str(&result);
        }
        self.told.push(Told {
            at: run.at,
            seq: run.seq,
            kind: Kind::Gauged,
            text,
        });
    }

    /// The readings of the section that count, where they are not those of `run`: some came before it,
    /// or some were taken back.
    fn whole(&self, run: &Run) -> Option<String> {
        let phase = self.record.phases.iter().find(|p| p.phase == run.phase)?;
        let of_section = |place: &&RecordedStation| {
            section(run.phase, &place.station) == section(run.phase, &run.station)
        };
        let places = phase.stations.iter().filter(of_section);
        let readings = places.flat_map(|place| &place.readings);
        let readings = readings.filter(|reading| !reading.before_setting);
        let values: Vec<f64> = readings
            .map(|reading| reading.corrected_mm.unwrap_or(reading.value_mm))
            .collect();
        let (count, [from, to]) = (values.len(), ends(&values));
        if count == run.values.len() && [from, to] == ends(&run.values) || count == 0 {
            return None;
        }
        let (from, to) = (self.lang.mm(from), self.lang.mm(to));
        Some(self.lang.fill(
            "story.whole",
            &[("count", &count), ("from", &from), ("to", &to)],
        ))
    }

    /// What came of the section of `run`.
    fn result(&self, run: &Run) -> Option<String> {
        let lang = self.lang;
        let phase = self.record.phases.iter().find(|p| p.phase == run.phase)?;
        let of = phase.sections.iter().find(|found| {
            found.bore == run.station.bore && found.numbers.depth_mm == run.station.depth_mm
        })?;
        let numbers = &of.numbers;
        let mean = numbers.mean_diameter_mm;
        let mean = mean.map_or_else(|| NONE.to_owned(), |mm| lang.mm(mm));
        let verdict = decision(lang, Some(of.verdict.worst()));
        // What the gauge can't see is not told.
        let result = match numbers.form() {
            None => lang.fill(
                "story.result-mean",
                &[("mean", &mean), ("verdict", &verdict)],
            ),
            Some(form) => {
                let round = lang.mm(form.out_of_round_mm);
                lang.fill(
                    "story.result",
                    &[("mean", &mean), ("round", &round), ("verdict", &verdict)],
                )
            }
        };
        Some(if numbers.size_set {
            result
        } else {
            format!("{result} {}", lang.say("story.as-said"))
        })
    }
}
