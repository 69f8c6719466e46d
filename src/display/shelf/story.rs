//! One job's events as sentences, in the order in which they happened.

use std::collections::BTreeMap;

use crate::display::parts::at_station;
use crate::display::screens::{answers, insert_in_words, material_word, work_in_words};
use crate::display::words::{self, Language, NONE};
use crate::fit::Finish;
use crate::job::{Body, Event, HousingSaid, Phase, Record, Station};
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
        told: before(lang, record),
        run: None,
        last: last_of_sections(events),
        said: BTreeMap::new(),
    };
    for event in events {
        teller.tell(event);
    }
    teller.end_run();
    teller.told
}

/// The settings that the gauges came to the job with.
fn before(lang: Language, record: &Record) -> Vec<Told> {
    let settings = record
        .gauges
        .iter()
        .filter_map(|(gauge, setting)| Some((gauge, setting.as_ref()?)));
    settings
        .filter(|(_, setting)| setting.at < record.opened_at)
        .map(|(gauge, setting)| Told {
            at: setting.at,
            seq: 0,
            kind: Kind::Plain,
            text: lang.fill(
                "story.ring-before",
                &[
                    ("gauge", gauge),
                    ("ring", &lang.mm(setting.ring_mm)),
                    ("shown", &lang.mm(setting.shown_mm)),
                ],
            ),
        })
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

struct Teller<'a> {
    lang: Language,
    record: &'a Record,
    told: Vec<Told>,
    run: Option<Run>,
    last: BTreeMap<Section<'a>, u64>,
    /// What was said of each event, for when it is taken back.
    said: BTreeMap<u64, String>,
}

impl Teller<'_> {
    fn tell(&mut self, event: &Event) {
        if let Body::Reading {
            value_mm,
            corrected_mm,
            station: Some(station),
            ..
        } = &event.body
            && let Some(phase) = event.phase
        {
            self.reading(event, phase, station, corrected_mm.unwrap_or(*value_mm));
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
        let least = run.values.iter().copied().fold(f64::INFINITY, f64::min);
        let greatest = run.values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
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

    /// What came of the section of `run`.
    fn result(&self, run: &Run) -> Option<String> {
        let lang = self.lang;
        let phase = self.record.phases.iter().find(|p| p.phase == run.phase)?;
        let of = phase.sections.iter().find(|found| {
            found.bore == run.station.bore && found.numbers.depth_mm == run.station.depth_mm
        })?;
        let mm = |value: Option<f64>| value.map_or_else(|| NONE.to_owned(), |mm| lang.mm(mm));
        Some(lang.fill(
            "story.result",
            &[
                ("mean", &mm(of.numbers.mean_diameter_mm)),
                ("round", &mm(of.numbers.out_of_round_mm)),
                ("verdict", &decision(lang, Some(of.verdict.worst()))),
            ],
        ))
    }

    fn sentence(&self, event: &Event) -> (Kind, String) {
        let lang = self.lang;
        let at = |station: &Station| at_station(lang, station);
        let plain =
            |key, values: &[(&str, &dyn std::fmt::Display)]| (Kind::Plain, lang.fill(key, values));
        let refused = |key, values: &[(&str, &dyn std::fmt::Display)]| {
            (Kind::Refused, lang.fill(key, values))
        };
        match &event.body {
            Body::JobOpened { seat, stations, .. } => plain(
                "story.opened",
                &[
                    ("seat", &lang.seat(&seat.title)),
                    ("stations", &stations.len()),
                ],
            ),
            Body::Reading {
                gauge,
                value_mm,
                corrected_mm,
                ..
            } => {
                let value = lang.mm(corrected_mm.unwrap_or(*value_mm));
                plain("story.nowhere", &[("gauge", gauge), ("value", &value)])
            }
            Body::ReadingRefused {
                gauge, raw, why, ..
            } => refused(
                "story.refused",
                &[
                    ("gauge", gauge),
                    ("raw", raw),
                    ("why", &words::sentence(&lang.reason(why))),
                ],
            ),
            Body::ReadingDropped { station, .. } => {
                refused("story.dropped", &[("station", &at(station))])
            }
            Body::Bounce {
                gauge, after_ms, ..
            } => plain("story.bounce", &[("gauge", gauge), ("after", after_ms)]),
            Body::Noise {
                gauge, raw, why, ..
            } => refused(
                "story.noise",
                &[
                    ("gauge", gauge),
                    ("raw", raw),
                    ("why", &words::sentence(&lang.reason(why))),
                ],
            ),
            Body::GaugeOpened { gauge, .. } => plain("story.gauge-opened", &[("gauge", gauge)]),
            Body::GaugeLost { gauge, why, .. } => refused(
                "story.gauge-lost",
                &[
                    ("gauge", gauge),
                    ("why", &words::sentence(&lang.reason(why))),
                ],
            ),
            Body::GaugeStudied { gauge, study } => {
                let value = lang.decimal(study.repeatability_mm, 4);
                plain("story.studied", &[("gauge", gauge), ("value", &value)])
            }
            Body::RingSet {
                gauge,
                ring_mm,
                shown_mm,
                ..
            } => {
                let (ring, shown) = (lang.mm(*ring_mm), lang.mm(*shown_mm));
                plain(
                    "story.ring-set",
                    &[("gauge", gauge), ("ring", &ring), ("shown", &shown)],
                )
            }
            Body::RingChecked {
                gauge, drift_mm, ..
            } => {
                let drift = lang.signed(*drift_mm, 4);
                plain("story.ring-checked", &[("gauge", gauge), ("drift", &drift)])
            }
            Body::TemperatureNoted {
                part_c,
                ring_c,
                within_k,
            } => plain(
                "story.temperature",
                &[
                    ("part", &lang.short(*part_c)),
                    ("ring", &lang.short(*ring_c)),
                    ("within", &lang.short(*within_k)),
                ],
            ),
            Body::Skipped { station } => refused("story.skipped", &[("station", &at(station))]),
            Body::WentTo { station } => plain("story.went-to", &[("station", &at(station))]),
            Body::PhaseSet { to } => plain("story.phase", &[("phase", &words::phase(lang, *to))]),
            Body::SecondTurn { stations } => {
                plain("story.second-turn", &[("count", &stations.len())])
            }
            Body::EvidenceNoted { evidence } => match answers(lang, evidence) {
                none if none.is_empty() => plain("story.evidence-none", &[]),
                answers => plain("story.evidence", &[("answers", &answers)]),
            },
            Body::HousingNoted { housing } => match said_of(lang, housing) {
                none if none.is_empty() => plain("story.housing-none", &[]),
                said => plain("story.housing", &[("said", &said)]),
            },
            Body::InsertChosen { insert } => plain(
                "story.insert",
                &[("insert", &insert_in_words(lang, insert))],
            ),
            Body::HangBegun { .. } => plain("story.hang-begun", &[]),
            Body::HangCancelled {} => refused("story.hang-cancelled", &[]),
            Body::AngleReading {
                gauge, turning_deg, ..
            } => {
                let angle = lang.decimal(*turning_deg, 2);
                plain("story.angle", &[("gauge", gauge), ("angle", &angle)])
            }
            Body::HangTested {
                fitted, friction, ..
            } => {
                let key = if *fitted {
                    "story.hang-fitted"
                } else {
                    "story.hang-free"
                };
                plain(key, &[("torque", &lang.decimal(friction.torque_nm, 4))])
            }
            Body::WorkChosen {
                bore,
                work: chosen,
                with,
                refused: why,
            } => {
                let (bore, work) = (words::bore(lang, bore), work_in_words(lang, *chosen));
                let said = match with {
                    Some(with) => lang.fill(
                        "story.chosen-with",
                        &[("bore", &bore), ("work", &work), ("with", with)],
                    ),
                    None => lang.fill("story.chosen", &[("bore", &bore), ("work", &work)]),
                };
                match why {
                    Some(why) => {
                        let against = lang.fill(
                            "story.against",
                            &[("why", &words::sentence(&lang.reason(why)))],
                        );
                        (Kind::Refused, format!("{said} {against}"))
                    }
                    None => (Kind::Plain, said),
                }
            }
            Body::Ticked { step } => {
                let step = lang.line("step", step).unwrap_or(step);
                plain("story.ticked", &[("step", &words::sentence(step))])
            }
            Body::Undone { undone } => {
                let step = || lang.fill("story.undone-step", &[("seq", undone)]);
                let what = self.said.get(undone).cloned().unwrap_or_else(step);
                refused("story.undone", &[("what", &what)])
            }
            Body::Noted { text } => plain("story.noted", &[("text", text)]),
            Body::JobPutAside {} => plain("story.put-aside", &[]),
            Body::JobTakenUp {} => plain("story.taken-up", &[]),
            Body::JobClosed {} => plain("story.closed", &[]),
            // What needs no sentence of its own is shown by its name.
            _ => plain("story.other", &[("kind", &kind_of(event))]),
        }
    }
}

/// What is said of a housing, one thing after the other.
fn said_of(lang: Language, housing: &HousingSaid) -> String {
    let filled = |key, name: &str, value: f64| lang.fill(key, &[(name, &lang.short(value))]);
    let finish = |finish| match finish {
        Finish::Ground => "story.housing-ground",
        Finish::Turned => "story.housing-turned",
    };
    let said = [
        housing
            .material
            .map(|material| material_word(lang, material).to_owned()),
        housing
            .wall_mm
            .map(|mm| filled("story.housing-wall", "mm", mm)),
        housing
            .yield_mpa
            .map(|mpa| filled("story.housing-yield", "mpa", mpa)),
        housing.finish.map(|how| lang.say(finish(how)).to_owned()),
        housing.service_c.map(|(from, to)| {
            let (from, to) = (lang.short(from), lang.short(to));
            lang.fill("story.housing-service", &[("from", &from), ("to", &to)])
        }),
    ];
    let said: Vec<String> = said.into_iter().flatten().collect();
    said.join(", ")
}

/// The kind of an event by its name on the feed.
fn kind_of(event: &Event) -> String {
    let kind = serde_json::to_value(&event.body).ok();
    let kind = kind.as_ref().and_then(|body| body["kind"].as_str());
    kind.unwrap_or_default().replace('_', " ")
}
