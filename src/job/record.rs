//! The record of a job: everything that another program needs, in one JSON object.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::decide::Shop;
use super::event::{JobId, Phase};
use super::findings::Findings;
use super::gauges::Calibration;
use super::hang::HangView;
use super::insert::NamedInsert;
use super::learned::{LearnedCut, learned_cuts};
use super::numbers::{NamedBore, Numbers, SectionNumbers};
use super::plan::{PlanKind, Station};
use super::ring::ShownInRing;
use super::seat::Seat;
use super::shown::Shown;
use super::state::{Bench, Check, Chosen, Job, Taken, Temperature};
use super::studied::GaugeStudy;
use crate::bore::Contact;
use crate::fit::Evidence;
use crate::uncertainty::Decision;
use crate::units::{Day, Moment};

/// The schema name of a record.
pub const RECORD_SCHEMA: &str = "borewright.record/1";

/// One job, closed or as it stands.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Record {
    /// Always `borewright.record/1`.
    pub schema: String,
    /// The job.
    pub job: JobId,
    /// 1 for the first; an amended record counts on.
    pub revision: u32,
    /// The SHA-256 of the file of the revision that this one amends, in hexadecimal; null for the
    /// first.
    #[serde(default)]
    pub amends: Option<String>,
    /// The part, as the mechanic calls it.
    pub part: String,
    /// When the job was opened, UTC.
    pub opened_at: Moment,
    /// When it was closed, UTC; null while it is open.
    pub closed_at: Option<Moment>,
    /// The `seq` of its first and last event.
    pub first_seq: u64,
    /// See `first_seq`.
    pub last_seq: u64,
    /// What its bores should be.
    pub seat: Seat,
    /// The plan asked for.
    pub plan: PlanKind,
    /// How the gauge touched the bore.
    pub contact: Contact,
    /// The newest setting of each gauge that took a reading; null where it was never set.
    pub gauges: BTreeMap<String, Option<RecordedSetting>>,
    /// All settings of each gauge that a reading was corrected by, the oldest first; empty in records
    /// of older versions.
    #[serde(default)]
    pub settings: BTreeMap<String, Vec<RecordedSetting>>,
    /// The newest repeatability study of each gauge that took a reading; none where it was never
    /// studied.
    #[serde(default)]
    pub studies: BTreeMap<String, GaugeStudy>,
    /// What was known of the calibration of each gauge that took a reading, at its newest; none where
    /// nobody said.
    #[serde(default)]
    pub calibrations: BTreeMap<String, Calibration>,
    /// The work, phase by phase.
    pub phases: Vec<RecordedPhase>,
    /// What was seen and felt.
    pub evidence: Evidence,
    /// The hang tests.
    pub hang_tests: Vec<HangView>,
    /// What is pressed in.
    pub insert: Option<NamedInsert>,
    /// Temperatures noted, from which sizes at 20 °C were made.
    pub temperature: Option<Temperature>,
    /// How much larger each gauge made a diameter at its newest re-check than when it was set, mm.
    pub drift_mm: BTreeMap<String, f64>,
    /// When each of these re-checks was, UTC; empty in records of older versions.
    #[serde(default)]
    pub checked_at: BTreeMap<String, Moment>,
    /// All re-checks of each gauge, the oldest first; empty in records of older versions.
    #[serde(default)]
    pub checks: BTreeMap<String, Vec<RecordedCheck>>,
    /// Fit, plan, diagnosis and outcome; null where no section was complete.
    pub findings: Option<Findings>,
    /// How the mechanic went on with each bore.
    pub chosen: BTreeMap<String, Chosen>,
    /// The steps of the checklist that were done.
    pub ticked: Vec<String>,
    /// The same with their times; empty in records of older versions.
    #[serde(default)]
    pub ticks: Vec<RecordedTick>,
    /// What the reamers used really cut, from the places that they cut for sure.
    pub learned_cuts: Vec<LearnedCut>,
    /// What was written down, with its time.
    pub notes: Vec<RecordedNote>,
    /// The version of the program that wrote this.
    pub version: String,
}

/// A gauge's setting.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct RecordedSetting {
    /// When, UTC.
    pub at: Moment,
    /// The ring's calibrated size, mm.
    pub ring_mm: f64,
    /// What the gauge showed in it, mm: half of it where it reads radii.
    pub shown_mm: f64,
    /// Expanded uncertainty (k = 2) of the ring, mm.
    pub ring_uncertainty_mm: Option<f64>,
    /// The day on which the ring's calibration runs out; null where no certificate says.
    #[serde(default)]
    pub ring_due: Option<Day>,
    /// The readings that `shown_mm` is the mean of; null for what was stated, and in records of older
    /// versions.
    #[serde(default)]
    pub in_ring: Option<ShownInRing>,
}

/// A gauge held into its ring again.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct RecordedCheck {
    /// When, UTC.
    pub at: Moment,
    /// When the gauge was set before that, UTC.
    pub set_at: Moment,
    /// How much larger it made a diameter than then, mm.
    pub drift_mm: f64,
    /// The readings in the ring that say so; null for what was stated.
    #[serde(default)]
    pub in_ring: Option<ShownInRing>,
}

/// A step of the checklist that was done.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct RecordedTick {
    /// When, UTC.
    pub at: Moment,
    /// The step.
    pub step: String,
}

/// The work of one phase.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct RecordedPhase {
    /// Which.
    pub phase: Phase,
    /// The worst of its sections' verdicts, and no better than *can't tell* while a bore of the seat
    /// is missing: as left one that was not shown to conform as found. Null where nothing was measured.
    pub verdict: Option<Decision>,
    /// The stations, in the order of the plan.
    pub stations: Vec<RecordedStation>,
    /// The numbers of each section.
    pub sections: Vec<SectionNumbers>,
    /// The numbers of each bore.
    pub bores: Vec<NamedBore>,
}

/// One station.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct RecordedStation {
    /// Where.
    #[serde(flatten)]
    pub station: Station,
    /// Passed over.
    pub skipped: bool,
    /// What it shows, on the scale of the section: a size, or for a comparator without a ring a deviation,
    /// of the diameter, mm. Null where nothing counts, and in records of older versions.
    #[serde(default)]
    pub value_mm: Option<f64>,
    /// What counts there.
    pub readings: Vec<RecordedReading>,
    /// What the mechanic left out.
    #[serde(default)]
    pub dropped: Vec<RecordedReading>,
}

/// One reading that counts.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct RecordedReading {
    /// Its event, in the job's own event file.
    pub seq: u64,
    /// When, UTC.
    pub at: Moment,
    /// From which gauge.
    pub gauge: String,
    /// What the gauge stated, mm: of the radius for the contact `radius`.
    pub value_mm: f64,
    /// The size by the setting ring, a diameter, mm.
    pub corrected_mm: Option<f64>,
    /// From a comparator the deviation with its sign made right, larger bore = more, mm; null from
    /// gauges that send sizes, and in records of older versions.
    #[serde(default)]
    pub deviation_mm: Option<f64>,
    /// Taken before the gauge was set in its ring, in a direction that was gauged again since: no number
    /// is computed from it.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub before_setting: bool,
}

/// Something written down.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct RecordedNote {
    /// When, UTC.
    pub at: Moment,
    /// The text.
    pub text: String,
}

/// All settings of each gauge, the oldest of each first; of a record of an older version the `newest`,
/// which is all that it has.
pub fn all_settings<'a>(
    settings: &'a BTreeMap<String, Vec<RecordedSetting>>,
    newest: &'a BTreeMap<String, Option<RecordedSetting>>,
) -> impl Iterator<Item = (&'a String, &'a RecordedSetting)> {
    newest.iter().flat_map(|(gauge, newest)| {
        let all = settings.get(gauge).map_or(&[][..], Vec::as_slice);
        let newest = newest.iter().filter(|_| all.is_empty());
        all.iter()
            .chain(newest)
            .map(move |setting| (gauge, setting))
    })
}

impl Record {
    /// The record of `job`, closed at `closed_at` by event `last_seq`; `bench` knows the settings.
    pub fn of(job: &Job, closed_at: Moment, last_seq: u64, bench: &Bench, shop: &Shop) -> Self {
        let numbers = Numbers::whole(job);
        let findings = Findings::of(job, &numbers, shop);
        Self {
            schema: RECORD_SCHEMA.to_owned(),
            job: job.id,
            revision: 1,
            amends: None,
            part: job.part.clone(),
            opened_at: job.opened_at,
            closed_at: Some(closed_at),
            first_seq: job.events.first,
            last_seq,
            seat: job.seat.clone(),
            plan: job.plan,
            contact: job.contact,
            gauges: newest_settings(job, bench),
            settings: settings(job, bench),
            studies: studies(job),
            calibrations: calibrations(job),
            phases: phases(job, &numbers),
            evidence: job.evidence,
            hang_tests: job.hang_tests.clone(),
            insert: job.insert.clone(),
            temperature: job.temperature,
            drift_mm: newest_checks(job)
                .map(|(gauge, check)| (gauge.clone(), check.drift_mm))
                .collect(),
            checked_at: newest_checks(job)
                .map(|(gauge, check)| (gauge.clone(), check.at))
                .collect(),
            checks: checks(job),
            learned_cuts: findings
                .as_ref()
                .map(|findings| learned_cuts(job, &numbers, findings, shop))
                .unwrap_or_default(),
            findings,
            chosen: job.chosen.clone(),
            ticked: job.ticks.iter().map(|tick| tick.step.clone()).collect(),
            ticks: job
                .ticks
                .iter()
                .map(|tick| RecordedTick {
                    at: tick.at,
                    step: tick.step.clone(),
                })
                .collect(),
            notes: job
                .notes
                .iter()
                .map(|note| RecordedNote {
                    at: note.at,
                    text: note.text.clone(),
                })
                .collect(),
            version: env!("CARGO_PKG_VERSION").to_owned(),
        }
    }

    /// The record of a job that is still open, as it stands now.
    pub fn so_far(job: &Job, bench: &Bench, shop: &Shop) -> Self {
        Self {
            closed_at: None,
            ..Self::of(job, job.opened_at, job.events.last, bench, shop)
        }
    }
}

fn all_taken(job: &Job) -> impl Iterator<Item = &Taken> {
    let places = job.work.values().flat_map(|work| &work.places);
    places.flat_map(|place| &place.readings)
}

fn studies(job: &Job) -> BTreeMap<String, GaugeStudy> {
    let of = |taken: &Taken| Some((taken.gauge.clone(), *job.studies.get(&taken.gauge)?));
    all_taken(job).filter_map(of).collect()
}

fn newest_checks(job: &Job) -> impl Iterator<Item = (&String, &Check)> {
    let checks = job.checks.iter();
    checks.filter_map(|(gauge, checks)| Some((gauge, checks.last()?)))
}

fn checks(job: &Job) -> BTreeMap<String, Vec<RecordedCheck>> {
    let recorded = |check: &Check| RecordedCheck {
        at: check.at,
        set_at: check.set_at,
        drift_mm: check.drift_mm,
        in_ring: check.in_ring,
    };
    job.checks
        .iter()
        .map(|(gauge, checks)| (gauge.clone(), checks.iter().map(recorded).collect()))
        .collect()
}

/// The readings that count, the oldest first.
fn by_age(job: &Job) -> Vec<&Taken> {
    let mut taken: Vec<&Taken> = all_taken(job).collect();
    taken.sort_unstable_by_key(|taken| taken.seq);
    taken
}

fn calibrations(job: &Job) -> BTreeMap<String, Calibration> {
    let newest: BTreeMap<&str, &Taken> = by_age(job)
        .into_iter()
        .map(|taken| (taken.gauge.as_str(), taken))
        .collect();
    let known = |(gauge, taken): (&str, &Taken)| {
        Some((gauge.to_owned(), taken.calibration.as_deref()?.clone()))
    };
    newest.into_iter().filter_map(known).collect()
}

/// Of each gauge the setting that its newest reading was corrected by.
fn newest_settings(job: &Job, bench: &Bench) -> BTreeMap<String, Option<RecordedSetting>> {
    by_age(job)
        .into_iter()
        .map(|taken| (taken.gauge.clone(), setting(taken, bench)))
        .collect()
}

fn settings(job: &Job, bench: &Bench) -> BTreeMap<String, Vec<RecordedSetting>> {
    let mut all: BTreeMap<String, Vec<RecordedSetting>> = BTreeMap::new();
    for taken in by_age(job) {
        let Some(setting) = setting(taken, bench) else {
            continue;
        };
        let of_gauge = all.entry(taken.gauge.clone()).or_default();
        if !of_gauge.contains(&setting) {
            of_gauge.push(setting);
        }
    }
    all
}

/// The setting that a reading was corrected by: while a job was put aside the gauge may have been set
/// anew for another.
fn setting(taken: &Taken, bench: &Bench) -> Option<RecordedSetting> {
    let newest = bench.settings.get(&taken.gauge).copied();
    let setting = taken
        .set
        .or(newest.filter(|set| taken.setting_u_mm.is_some() && set.at <= taken.at))?;
    Some(RecordedSetting {
        at: setting.at,
        ring_mm: setting.ring_mm,
        shown_mm: setting.shown_mm,
        ring_uncertainty_mm: setting.ring_uncertainty_mm,
        ring_due: setting.ring_due,
        in_ring: setting.in_ring,
    })
}

fn phases(job: &Job, numbers: &Numbers) -> Vec<RecordedPhase> {
    let recorded = |taken: &Taken, before_setting: bool| RecordedReading {
        seq: taken.seq,
        at: taken.at,
        gauge: taken.gauge.clone(),
        value_mm: taken.value_mm,
        corrected_mm: job.size_mm(taken),
        deviation_mm: taken.deviation_mm,
        before_setting,
    };
    let stations = |phase: Phase, work: &super::Work| {
        let shown = Shown::of(job, phase);
        let counted = |taken: &Taken| recorded(taken, !shown.counts(taken));
        let dropped = |taken: &Taken| recorded(taken, false);
        let recorded = work.places.iter().map(|place| RecordedStation {
            station: place.station.clone(),
            skipped: place.skipped,
            value_mm: shown.value_mm(place),
            readings: place.readings.iter().map(counted).collect(),
            dropped: place.dropped.iter().map(dropped).collect(),
        });
        recorded.collect()
    };
    job.work
        .iter()
        .map(|(&phase, work)| RecordedPhase {
            phase,
            verdict: verdict(job, numbers, phase),
            stations: stations(phase, work),
            sections: numbers.sections(phase).cloned().collect(),
            bores: numbers.bores(phase).cloned().collect(),
        })
        .collect()
}

/// The verdict of a phase: see [`RecordedPhase::verdict`].
fn verdict(job: &Job, numbers: &Numbers, phase: Phase) -> Option<Decision> {
    let of = |phase, bore: &str| {
        let sections = numbers.sections(phase);
        let of_bore = sections.filter(|section| section.bore == bore);
        of_bore.map(|section| section.verdict.worst()).max()
    };
    let mut bores = job.seat.bores.iter();
    let missing = bores.any(|bore| {
        let conformed = of(Phase::AsFound, &bore.name) == Some(Decision::Conforms);
        of(phase, &bore.name).is_none() && (phase == Phase::AsFound || !conformed)
    });
    let sections = numbers.sections(phase);
    let worst = sections.map(|section| section.verdict.worst()).max()?;
    Some(if missing {
        worst.max(Decision::CantTell)
    } else {
        worst
    })
}
