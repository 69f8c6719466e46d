//! The whole present state for somebody who looks: `GET /state`.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::decide::Shop;
use super::derived::Following;
use super::event::{Event, JobId, Phase};
use super::findings::Findings;
use super::gauges::{Calibration, Role, TYPED, Traits};
use super::hang::{Friction, HangUnderWay, HangView};
use super::insert::NamedInsert;
use super::numbers::{NamedBore, SectionNumbers};
use super::plan::{PlanKind, Station};
use super::seat::{HousingSaid, Seat};
use super::shown::Shown;
use super::state::{Bench, Chosen, Job, Place, Setting, Temperature};
use super::studied::GaugeStudy;
use crate::bore::Contact;
use crate::fit::Evidence;
use crate::gauge::Capture;
use crate::units::{Day, Moment};

/// The answer to `GET /state`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct View {
    /// Always `borewright.feed/1`.
    pub schema: String,
    /// Always `state`.
    pub kind: String,
    /// The newest event that this includes.
    pub seq: u64,
    /// The job on the bench.
    pub on_bench: Option<JobView>,
    /// All open jobs.
    pub open_jobs: Vec<OpenJob>,
    /// The gauges of the bench.
    pub gauges: Vec<GaugeView>,
    /// The newest reading, counted or refused, as it was recorded.
    pub last_reading: Option<Event>,
    /// Whether it counts no more: it was taken back or left out since.
    #[serde(default)]
    pub last_reading_out: bool,
    /// The seats that can be asked for.
    pub seats: Vec<SeatName>,
    /// Who is at work on the bench; null: nobody, and any program may command.
    #[serde(default)]
    pub at_work: Option<AtWork>,
    /// Whether the disk takes readings.
    #[serde(default)]
    pub disk: DiskView,
    /// The program's version.
    pub version: String,
}

/// Who is at work on the bench.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct AtWork {
    /// Who, as they call themselves.
    pub who: String,
    /// Since when, UTC.
    pub since: Moment,
}

/// Whether the disk takes readings.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct DiskView {
    /// Whether the newest thing to be stored was.
    pub well: bool,
    /// Why it was not, and what to do.
    pub why: Option<String>,
}

impl Default for DiskView {
    fn default() -> Self {
        Self {
            well: true,
            why: None,
        }
    }
}

/// The job on the bench.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct JobView {
    /// Its identity.
    pub job: JobId,
    /// The part, as the mechanic calls it.
    pub part: String,
    /// The phase it is in.
    pub phase: Phase,
    /// When it was opened.
    pub opened_at: Moment,
    /// What its bores should be, with what is said of this part.
    pub seat: Seat,
    /// What is said of this part's housing, in place of what its seat says.
    #[serde(default)]
    pub housing: HousingSaid,
    /// The plan asked for.
    pub plan: PlanKind,
    /// How the gauge touches the bores.
    pub contact: Contact,
    /// The station that the next reading fills.
    pub next: Option<Station>,
    /// The stations of the present phase.
    pub stations: Vec<StationView>,
    /// The sections of all phases.
    pub sections: Vec<OfPhase<SectionNumbers>>,
    /// The bores of all phases.
    pub bores: Vec<OfPhase<NamedBore>>,
    /// What was written down.
    pub notes: Vec<String>,
    /// What was seen and felt.
    pub evidence: Evidence,
    /// What is to be pressed in.
    pub insert: Option<NamedInsert>,
    /// Outside diameters of it, from the gauge for inserts, mm.
    pub insert_readings_mm: Vec<f64>,
    /// The temperatures noted last.
    #[serde(default)]
    pub temperature: Option<Temperature>,
    /// The hang tests.
    pub hang_tests: Vec<HangView>,
    /// The hang test that is under way, with what its turning points show so far.
    #[serde(default)]
    pub hang: Option<HangSoFar>,
    /// Fit, plan, diagnosis and outcome; null while no section is complete.
    pub findings: Option<Findings>,
    /// How the mechanic goes on with each bore.
    pub chosen: BTreeMap<String, Chosen>,
    /// The steps of the checklist that were done.
    pub ticked: Vec<String>,
    /// The readings that were left out.
    #[serde(default)]
    pub left_out: Vec<LeftOut>,
    /// Whether there is a step to take back.
    pub can_undo: bool,
}

/// A hang test under way.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct HangSoFar {
    /// What is gathered.
    #[serde(flatten)]
    pub gathered: HangUnderWay,
    /// The friction by the turning points so far; null where they show none yet.
    pub friction: Option<Friction>,
    /// Why there is none.
    pub why: Option<String>,
}

impl HangSoFar {
    fn of(hang: &HangUnderWay) -> Self {
        let friction = hang.test().friction();
        Self {
            gathered: hang.clone(),
            why: friction.as_ref().err().map(ToString::to_string),
            friction: friction.ok(),
        }
    }
}

/// A reading that was left out.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct LeftOut {
    /// Its event.
    pub seq: u64,
    /// In which phase.
    pub phase: Phase,
    /// Where it was taken.
    pub station: Station,
    /// Its size, or for a comparator without a ring its deviation, mm.
    pub value_mm: f64,
    /// Whether undo brings it back: nothing was done since.
    pub undo: bool,
}

/// Numbers with their phase.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct OfPhase<T> {
    /// The phase.
    pub phase: Phase,
    /// The numbers.
    #[serde(flatten)]
    pub numbers: T,
}

/// What has become of a station.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Status {
    /// Still to do.
    ToDo,
    /// Measured.
    Measured,
    /// Passed over.
    Skipped,
}

/// A station of the present phase.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct StationView {
    /// Where.
    #[serde(flatten)]
    pub station: Station,
    /// What has become of it.
    pub status: Status,
    /// How many readings count there.
    pub readings: usize,
    /// Their mean, on the scale of the section: sizes, or for a comparator without a ring deviations, of
    /// the diameter; mm. Null where nothing counts, as where the direction was gauged again once the gauge
    /// was set.
    pub value_mm: Option<f64>,
}

/// A job that is open.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct OpenJob {
    /// Its identity.
    pub job: JobId,
    /// The part.
    pub part: String,
    /// The phase it is in.
    pub phase: Phase,
}

/// A gauge of the bench.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct GaugeView {
    /// Its name.
    pub name: String,
    /// `bore`, `insert` or `angle`.
    pub role: String,
    /// Where it is, or was last looked for.
    pub port: String,
    /// Whether its link is open.
    pub connected: bool,
    /// Why it is not.
    pub why: Option<String>,
    /// Its newest reading.
    pub last_reading_at: Option<Moment>,
    /// Whether it was set in a setting ring.
    pub size_set: bool,
    /// When it was last set.
    pub set_at: Option<Moment>,
    /// How it touches a bore; null for a gauge that measures none.
    #[serde(default)]
    pub contact: Option<Contact>,
    /// The ring it was set in, mm.
    pub ring_mm: Option<f64>,
    /// Expanded uncertainty (k = 2) of that ring by its certificate, mm.
    #[serde(default)]
    pub ring_uncertainty_mm: Option<f64>,
    /// The day on which that ring's calibration runs out.
    #[serde(default)]
    pub ring_due: Option<Day>,
    /// It is in a ring now: what it sends is shown here and fills no station.
    #[serde(default)]
    pub in_ring: Option<InRingView>,
    /// Whether that ring's calibration has run out.
    pub ring_out_of_date: bool,
    /// What is known of its own calibration; null where nobody said.
    #[serde(default)]
    pub calibration: Option<Calibration>,
    /// Whether that has run out.
    #[serde(default)]
    pub calibration_out_of_date: bool,
    /// Its newest re-check in the ring, of this run or of a job that is open.
    #[serde(default)]
    pub drift: Option<DriftView>,
    /// What its last repeatability study found; null where it was never studied.
    #[serde(default)]
    pub study: Option<GaugeStudy>,
    /// The step of its last digit, mm; null for an angle gauge.
    pub resolution_mm: Option<f64>,
    /// The step of an angle gauge's last digit, degrees; null for others.
    #[serde(default)]
    pub resolution_deg: Option<f64>,
    /// Which of the values that it sends are readings.
    pub capture: Capture,
    /// Frames of noise so far.
    pub noise: u64,
    /// The newest of them since its link was opened: newer than its newest reading where what it sends can't be read.
    #[serde(default)]
    pub last_noise_at: Option<Moment>,
    /// Readings refused so far.
    #[serde(default)]
    pub refused: u64,
}

/// A gauge's re-check in its ring.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct DriftView {
    /// When.
    pub at: Moment,
    /// How much larger a bore read then than when the gauge was set, mm.
    pub drift_mm: f64,
}

/// A gauge in a ring.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct InRingView {
    /// Since when, UTC.
    pub since: Moment,
    /// How many readings it sent there.
    pub readings: usize,
    /// The newest of them, mm.
    pub newest_mm: Option<f64>,
    /// Their mean, mm: what `set_ring` and `check_ring` take where they don't say what is shown.
    pub mean_mm: Option<f64>,
    /// How far they are apart, mm.
    pub apart_mm: f64,
}

/// A seat that can be asked for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct SeatName {
    /// Its name.
    pub name: String,
    /// One line for people.
    pub title: String,
}

impl View {
    /// What is to be seen of `bench`. Who is at work and how the disk is the state does not know:
    /// nobody, and well.
    pub fn of(bench: &Bench, shop: &Shop, following: &Following) -> Self {
        Self {
            schema: super::SCHEMA.to_owned(),
            kind: "state".to_owned(),
            seq: bench.last_seq,
            on_bench: bench.job().map(|job| JobView::of(job, following)),
            open_jobs: bench
                .jobs
                .values()
                .map(|job| OpenJob {
                    job: job.id,
                    part: job.part.clone(),
                    phase: job.phase,
                })
                .collect(),
            gauges: gauges(bench, shop),
            last_reading: bench.last_reading.clone(),
            last_reading_out: bench
                .last_reading
                .as_ref()
                .is_some_and(|event| is_out(bench, event)),
            seats: shop
                .seats
                .iter()
                .map(|seat| SeatName {
                    name: seat.name.clone(),
                    title: seat.title.clone(),
                })
                .collect(),
            at_work: None,
            disk: DiskView::default(),
            version: env!("CARGO_PKG_VERSION").to_owned(),
        }
    }
}

impl JobView {
    fn of(job: &Job, following: &Following) -> Self {
        let numbers = &following.numbers;
        let phases = || job.work.keys().copied();
        Self {
            job: job.id,
            part: job.part.clone(),
            phase: job.phase,
            opened_at: job.opened_at,
            seat: job.seat.clone(),
            housing: job.housing,
            plan: job.plan,
            contact: job.contact,
            next: job.next().cloned(),
            stations: job
                .present()
                .map(|work| {
                    let shown = Shown::of(job, job.phase);
                    let of = |place| StationView::of(&shown, place);
                    work.places.iter().map(of).collect()
                })
                .unwrap_or_default(),
            sections: phases()
                .flat_map(|phase| {
                    let sections = numbers.sections(phase).cloned();
                    sections.map(move |numbers| OfPhase { phase, numbers })
                })
                .collect(),
            bores: phases()
                .flat_map(|phase| {
                    let bores = numbers.bores(phase).cloned();
                    bores.map(move |numbers| OfPhase { phase, numbers })
                })
                .collect(),
            notes: job.notes.iter().map(|note| note.text.clone()).collect(),
            evidence: job.evidence,
            insert: job.insert.clone(),
            insert_readings_mm: job
                .insert_readings
                .iter()
                .map(|taken| taken.size_mm)
                .collect(),
            temperature: job.temperature,
            hang_tests: job.hang_tests.clone(),
            hang: job.hang.as_ref().map(HangSoFar::of),
            findings: following.findings.clone(),
            chosen: job.chosen.clone(),
            ticked: job.ticks.iter().map(|tick| tick.step.clone()).collect(),
            left_out: phases()
                .filter_map(|phase| Some((phase, job.work.get(&phase)?)))
                .flat_map(|(phase, work)| {
                    let places = work.places.iter();
                    places.flat_map(move |place| LeftOut::of(job, phase, place))
                })
                .collect(),
            can_undo: job.newest_step().is_some(),
        }
    }
}

impl LeftOut {
    fn of(job: &Job, phase: Phase, place: &Place) -> Vec<Self> {
        let undo = job.undo_brings_back();
        let dropped = place.dropped.iter();
        dropped
            .map(|taken| Self {
                seq: taken.seq,
                phase,
                station: place.station.clone(),
                value_mm: job
                    .size_mm(taken)
                    .or(taken.deviation_mm)
                    .unwrap_or(taken.value_mm),
                undo: undo == Some(taken.seq),
            })
            .collect()
    }
}

impl StationView {
    fn of(shown: &Shown<'_>, place: &Place) -> Self {
        let status = if place.is_to_do() {
            Status::ToDo
        } else if place.readings.is_empty() {
            Status::Skipped
        } else {
            Status::Measured
        };
        Self {
            station: place.station.clone(),
            status,
            readings: place.readings.iter().filter(|t| shown.counts(t)).count(),
            value_mm: shown.value_mm(place),
        }
    }
}

/// Whether the ring of `setting` has run out by the newest event: the state has no clock.
fn out_of_date(bench: &Bench, setting: Option<&Setting>) -> bool {
    let due = setting.and_then(|setting| setting.ring_due);
    due.zip(bench.newest_at)
        .is_some_and(|(due, now)| due.is_before(now))
}

/// Whether the reading of `event` was stored at a station of the job on the bench and counts there no more.
fn is_out(bench: &Bench, event: &Event) -> bool {
    let Some(job) = bench.job().filter(|job| event.job == Some(job.id)) else {
        return false;
    };
    let at_station = matches!(
        &event.body,
        super::Body::Reading {
            station: Some(_),
            ..
        }
    );
    let places = job.work.values().flat_map(|work| &work.places);
    let mut counting = places.flat_map(|place| &place.readings);
    at_station && !counting.any(|taken| taken.seq == event.seq)
}

fn gauges(bench: &Bench, shop: &Shop) -> Vec<GaugeView> {
    let of = |name: &str, traits: &Traits| {
        let link = bench.links.get(name).cloned().unwrap_or_default();
        let setting = bench.settings.get(name);
        GaugeView {
            name: name.to_owned(),
            role: match traits.role {
                Role::Bore => "bore".to_owned(),
                Role::Insert => "insert".to_owned(),
                Role::Angle => "angle".to_owned(),
            },
            port: link.port,
            // A person at a keyboard is always there.
            connected: link.connected || name == TYPED,
            why: link.why,
            last_reading_at: link.last_reading_at,
            size_set: setting.is_some(),
            set_at: setting.map(|setting| setting.at),
            contact: (traits.role == Role::Bore).then_some(traits.contact),
            ring_mm: setting.map(|setting| setting.ring_mm),
            ring_uncertainty_mm: setting.and_then(|setting| setting.ring_uncertainty_mm),
            ring_due: setting.and_then(|setting| setting.ring_due),
            in_ring: bench.in_ring.get(name).map(|in_ring| InRingView {
                since: in_ring.since,
                readings: in_ring.shown_mm.len(),
                newest_mm: in_ring.shown_mm.last().copied(),
                mean_mm: in_ring.mean_mm(),
                apart_mm: in_ring.apart_mm(),
            }),
            ring_out_of_date: out_of_date(bench, setting),
            calibration: traits.calibration.clone(),
            calibration_out_of_date: (traits.calibration.as_ref())
                .zip(bench.newest_at)
                .is_some_and(|(calibration, now)| calibration.is_out_of_date(now)),
            drift: bench.checks.get(name).map(|check| DriftView {
                at: check.at,
                drift_mm: check.drift_mm,
            }),
            study: bench.studies.get(name).copied(),
            resolution_mm: (traits.role != Role::Angle).then_some(traits.resolution_mm),
            resolution_deg: (traits.role == Role::Angle).then_some(traits.resolution_mm),
            capture: traits.capture,
            noise: link.noise,
            last_noise_at: link.last_noise_at,
            refused: link.refused,
        }
    };
    let mut views: Vec<GaugeView> = shop
        .gauges
        .iter()
        .map(|(name, traits)| of(name, traits))
        .collect();
    views.push(of(TYPED, &bench.typed(shop)));
    views
}
