//! What the shop learns from its jobs: how round its seats come in, what its reamers really cut,
//! how its gauges hold their setting.
//!
//! Values are listed as they are; what they say together is said from three on. Jobs are taken to
//! be independent of each other, sections of one bore are not, so a bore counts once a job.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use super::entry::Entry;
use super::statistics::{ENOUGH, Mean, Quartiles};
use crate::bore::Contact;
use crate::job::{JobId, Phase, RecordedSetting, all_settings};
use crate::units::Moment;

/// The schema name of [`Lessons`].
pub const LEARNED_SCHEMA: &str = "borewright.learned/1";

/// What the shop learns from its jobs.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Lessons {
    /// Always `borewright.learned/1`.
    pub schema: &'static str,
    /// How many jobs this rests on.
    pub jobs: usize,
    /// Out-of-round as found, by seat.
    pub seats: Vec<SeatLesson>,
    /// What each reamer really cut, by name and nominal diameter.
    pub reamers: Vec<ReamerLesson>,
    /// How each gauge held its setting.
    pub gauges: Vec<GaugeLesson>,
}

/// One value and the job that it comes from.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct Value {
    /// When, UTC: the job's closing, or its opening where it is open; of a setting or a re-check its
    /// own moment.
    pub at: Moment,
    /// The job.
    pub job: JobId,
    /// The value, mm.
    pub value_mm: f64,
}

/// How far out of round the bores of a seat come in: largest minus smallest diameter of the worst
/// section of each bore, as found.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct SeatLesson {
    /// The seat's name.
    pub seat: String,
    /// Its title.
    pub title: String,
    /// How many jobs.
    pub jobs: usize,
    /// What the bores say together; null for fewer than three.
    pub together: Option<Quartiles>,
    /// Each bore's worst section, the oldest first.
    pub bores: Vec<Value>,
}

/// What a reamer really cut: as left minus nominal, from places that it cut for sure.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct ReamerLesson {
    /// What the shop calls it.
    pub reamer: String,
    /// Its nominal diameter, mm; null in records of older versions.
    pub nominal_mm: Option<f64>,
    /// What the bores say together; null for fewer than three.
    pub together: Option<Mean>,
    /// Each bore that it cut, the oldest first.
    pub bores: Vec<Value>,
}

/// How a gauge held its setting.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct GaugeLesson {
    /// The gauge's name.
    pub gauge: String,
    /// The drift of a job, at the re-check in the ring: how much larger a bore read then than when
    /// the gauge was set. Null for fewer than three.
    pub together: Option<Mean>,
    /// Each job's re-check, the oldest first.
    pub checks: Vec<Value>,
    /// At each setting, what the gauge showed minus the ring's size, the oldest first; none of a
    /// gauge that is zeroed in its ring.
    pub settings: Vec<Value>,
}

impl Lessons {
    /// From all jobs of `entries`.
    pub fn of<'a>(entries: impl IntoIterator<Item = &'a Entry>) -> Self {
        let mut entries: Vec<&Entry> = entries.into_iter().collect();
        entries.sort_by_key(|entry| moment(entry));
        Self {
            schema: LEARNED_SCHEMA,
            jobs: entries.len(),
            seats: seats(&entries),
            reamers: reamers(&entries),
            gauges: gauges(&entries),
        }
    }
}

/// When a job says what it says.
fn moment(entry: &Entry) -> (Moment, JobId) {
    (entry.closed_at.unwrap_or(entry.opened_at), entry.job)
}

fn value(entry: &Entry, value_mm: f64) -> Value {
    let (at, job) = moment(entry);
    Value { at, job, value_mm }
}

fn numbers(values: &[Value]) -> Vec<f64> {
    values.iter().map(|value| value.value_mm).collect()
}

fn seats(entries: &[&Entry]) -> Vec<SeatLesson> {
    let mut seats: BTreeMap<&str, SeatLesson> = BTreeMap::new();
    for entry in entries {
        let bores = entry.out_of_round(Phase::AsFound);
        if bores.is_empty() {
            continue;
        }
        let seat = seats.entry(&entry.seat.name).or_insert_with(|| SeatLesson {
            seat: entry.seat.name.clone(),
            title: String::new(),
            jobs: 0,
            together: None,
            bores: Vec::new(),
        });
        seat.title.clone_from(&entry.seat.title);
        seat.jobs += 1;
        let worst = bores.iter().map(|bore| value(entry, bore.out_of_round_mm));
        seat.bores.extend(worst);
    }
    let mut seats: Vec<SeatLesson> = seats.into_values().collect();
    for seat in &mut seats {
        seat.together = Quartiles::of(&numbers(&seat.bores));
    }
    seats
}

fn reamers(entries: &[&Entry]) -> Vec<ReamerLesson> {
    let mut reamers: Vec<ReamerLesson> = Vec::new();
    for entry in entries {
        for cut in &entry.learned_cuts {
            let is_this = |known: &&mut ReamerLesson| {
                known.reamer == cut.reamer && known.nominal_mm == cut.nominal_mm
            };
            let at = value(entry, cut.cut_mm);
            match reamers.iter_mut().find(is_this) {
                Some(known) => known.bores.push(at),
                None => reamers.push(ReamerLesson {
                    reamer: cut.reamer.clone(),
                    nominal_mm: cut.nominal_mm,
                    together: None,
                    bores: vec![at],
                }),
            }
        }
    }
    for reamer in &mut reamers {
        reamer.together = Mean::of(&numbers(&reamer.bores));
    }
    reamers.sort_by(|a, b| a.reamer.cmp(&b.reamer));
    reamers
}

fn gauges(entries: &[&Entry]) -> Vec<GaugeLesson> {
    let mut gauges: BTreeMap<&str, GaugeLesson> = BTreeMap::new();
    let fresh = |gauge: &str| GaugeLesson {
        gauge: gauge.to_owned(),
        together: None,
        checks: Vec::new(),
        settings: Vec::new(),
    };
    for entry in entries {
        for (gauge, drift_mm) in &entry.drift_mm {
            let known = gauges.entry(gauge).or_insert_with(|| fresh(gauge));
            let mut check = value(entry, *drift_mm);
            if let Some(at) = entry.checked_at.get(gauge) {
                check.at = *at;
            }
            known.checks.push(check);
        }
        let across = entry.contact.map_or(1.0, Contact::diameter_per_reading);
        for (gauge, setting) in all_settings(&entry.settings, &entry.gauges) {
            let Some(value_mm) = over_ring_mm(setting, across) else {
                continue;
            };
            let known = gauges.entry(gauge).or_insert_with(|| fresh(gauge));
            known.settings.push(Value {
                at: setting.at,
                job: entry.job,
                value_mm,
            });
        }
    }
    let mut gauges: Vec<GaugeLesson> = gauges.into_values().collect();
    for gauge in &mut gauges {
        gauge.together = Mean::of(&numbers(&gauge.checks));
        gauge.checks.sort_by_key(|value| value.at);
        // One setting serves many jobs.
        gauge.settings.sort_by_key(|value| value.at);
        gauge.settings.dedup_by_key(|value| value.at);
    }
    gauges
}

/// How much larger than its ring a gauge showed it, mm of diameter, each mm that it reads being
/// `across` mm of diameter; `None` of a comparator, which shows how far it was from its zero.
fn over_ring_mm(setting: &RecordedSetting, across: f64) -> Option<f64> {
    let shown_mm = across * setting.shown_mm;
    // No gauge that reads sizes shows less than half of its ring.
    (shown_mm > setting.ring_mm / 2.0).then_some(shown_mm - setting.ring_mm)
}

/// Whether so many values say something together.
pub const fn is_enough(count: usize) -> bool {
    count >= ENOUGH
}
