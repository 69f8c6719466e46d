//! One event as a sentence.

use super::{Kind, Teller};
use crate::display::parts::at_station;
use crate::display::screens::{answers, insert_in_words, material_word, work_in_words};
use crate::display::words::{self, Language};
use crate::fit::{Evidence, Finish};
use crate::job::{Amendment, Body, Event, HousingSaid, Station};

impl Teller<'_> {
    pub(super) fn sentence(&self, event: &Event) -> (Kind, String) {
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
            Body::EvidenceNoted { evidence } => (Kind::Plain, seen(lang, evidence)),
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
                ..
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
            Body::JobAmended {
                revision,
                amendment,
                ..
            } => (Kind::Plain, self.amended(*revision, amendment)),
            Body::JobPutAside {} => plain("story.put-aside", &[]),
            Body::JobTakenUp {} => plain("story.taken-up", &[]),
            Body::JobClosed {} => plain("story.closed", &[]),
            // What needs no sentence of its own is shown by its name.
            _ => plain("story.other", &[("kind", &kind_of(event))]),
        }
    }

    /// A record amended once its job was closed, and what was added or corrected.
    fn amended(&self, revision: u32, amendment: &Amendment) -> String {
        let lang = self.lang;
        let (part, note) = (&amendment.part, &amendment.note);
        let said = [
            Some(lang.fill("story.amended", &[("revision", &revision)])),
            part.as_ref()
                .map(|part| lang.fill("story.amended-part", &[("part", part)])),
            amendment.evidence.as_ref().map(|felt| seen(lang, felt)),
            note.as_ref()
                .map(|text| lang.fill("story.noted", &[("text", text)])),
        ];
        let said: Vec<String> = said.into_iter().flatten().collect();
        said.join(" ")
    }
}

/// What was seen and felt.
fn seen(lang: Language, evidence: &Evidence) -> String {
    match answers(lang, evidence) {
        none if none.is_empty() => lang.say("story.evidence-none").to_owned(),
        answers => lang.fill("story.evidence", &[("answers", &answers)]),
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
