//! The state of the bench: a fold of events, nothing else.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::event::{Body, Event, JobId, Phase};
use super::hang::HangView;
use super::plan::{PlanKind, Station};
use super::seat::Seat;
use super::studied::GaugeStudy;
use crate::bore::Contact;
use crate::fit::plan;
use crate::fit::{Evidence, Insert};
use crate::units::{Day, Moment};

/// Everything that is known at the bench now.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Bench {
    /// The newest event folded in; 0 before the first.
    pub last_seq: u64,
    /// When that was; `None` before the first.
    pub newest_at: Option<Moment>,
    /// The job on the bench.
    pub on_bench: Option<JobId>,
    /// All open jobs, the one on the bench and those put aside.
    pub jobs: BTreeMap<JobId, Job>,
    /// The newest setting of each gauge.
    pub settings: BTreeMap<String, Setting>,
    /// The newest study of each gauge.
    pub studies: BTreeMap<String, GaugeStudy>,
    /// What is known of each gauge's link.
    pub links: BTreeMap<String, Link>,
    /// The newest reading, counted or refused, as it was recorded.
    pub last_reading: Option<Event>,
}

/// A gauge set in a setting ring.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Setting {
    /// When.
    pub at: Moment,
    /// The ring's calibrated size, mm.
    pub ring_mm: f64,
    /// What the gauge showed in it, mm.
    pub shown_mm: f64,
    /// Expanded uncertainty (k = 2) of the ring, mm, where its certificate says.
    pub ring_uncertainty_mm: Option<f64>,
    /// When its calibration runs out.
    pub ring_due: Option<Day>,
}

/// The link of one gauge.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Link {
    /// Whether it is open.
    pub connected: bool,
    /// The device path or address last heard of.
    pub port: String,
    /// Why it is not open.
    pub why: Option<String>,
    /// The newest reading from it, counted, refused or bounced.
    pub last_reading_at: Option<Moment>,
    /// Frames of noise so far.
    pub noise: u64,
}

/// One part on the bench, from complaint to record.
#[derive(Debug, Clone, PartialEq)]
pub struct Job {
    /// Its identity.
    pub id: JobId,
    /// When it was opened.
    pub opened_at: Moment,
    /// The part, as the mechanic calls it.
    pub part: String,
    /// What its bores should be.
    pub seat: Seat,
    /// The plan asked for.
    pub plan: PlanKind,
    /// How the gauge that the plan was made for touches the bore.
    pub contact: Contact,
    /// The phase it is in.
    pub phase: Phase,
    /// The work of each phase begun.
    pub work: BTreeMap<Phase, Work>,
    /// What was written down.
    pub notes: Vec<Note>,
    /// The temperatures noted last.
    pub temperature: Option<Temperature>,
    /// The newest study of each gauge.
    pub studies: BTreeMap<String, GaugeStudy>,
    /// The newest re-check of each gauge in its ring.
    pub checks: BTreeMap<String, Check>,
    /// What was seen and felt.
    pub evidence: Evidence,
    /// What is to be pressed in.
    pub insert: Option<Insert>,
    /// Outside diameters of it, from a gauge whose role that is, with its digit step; mm.
    pub insert_readings: Vec<(f64, f64)>,
    /// How the mechanic goes on with each bore.
    pub chosen: BTreeMap<String, Chosen>,
    /// The steps of the checklist that were done, with the event of each.
    pub ticks: Vec<Tick>,
    /// The hang tests.
    pub hang_tests: Vec<HangView>,
    /// The steps that undo can take back, oldest first.
    steps: Vec<Step>,
    /// The newest event that changed numbers otherwise than by one more reading.
    pub(super) settled: u64,
    /// The events that belong to it: the first, the newest, and how many.
    pub events: Span,
}

/// A step of the checklist that was done.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tick {
    /// Its event.
    pub seq: u64,
    /// When.
    pub at: Moment,
    /// The step.
    pub step: String,
}

/// A run of events of one job.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Span {
    /// The first `seq`.
    pub first: u64,
    /// The newest `seq`.
    pub last: u64,
    /// How many events.
    pub count: u64,
}

/// How the mechanic goes on with a bore.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Chosen {
    /// What is done.
    pub work: plan::Work,
    /// With which reamer or compound.
    pub with: Option<String>,
}

/// Temperatures of a job.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Temperature {
    /// Of the part, °C.
    pub part_c: f64,
    /// Of the setting ring and the gauge when it was set, °C.
    pub ring_c: f64,
    /// How far off either may be, ± K.
    pub within_k: f64,
}

/// A gauge held into its ring again.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Check {
    /// When.
    pub at: Moment,
    /// When it was set.
    pub set_at: Moment,
    /// How much larger a bore read then than when the gauge was set, mm.
    pub drift_mm: f64,
}

impl Check {
    /// The part of the drift that had come about at `moment`: it is taken to grow evenly.
    pub fn share(&self, moment: Moment) -> f64 {
        let seconds = |from: Moment, to: Moment| to.0.duration_since(from.0).as_secs_f64();
        let whole = seconds(self.set_at, self.at);
        if moment < self.set_at || whole <= 0.0 {
            return 0.0;
        }
        self.drift_mm * (seconds(self.set_at, moment) / whole).min(1.0)
    }
}

/// Something written down.
#[derive(Debug, Clone, PartialEq)]
pub struct Note {
    /// Its event.
    pub seq: u64,
    /// When.
    pub at: Moment,
    /// The text.
    pub text: String,
}

/// The stations of one phase and what was measured there.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Work {
    /// In the order in which they are gauged.
    pub places: Vec<Place>,
    /// Which place is next.
    pub next: Option<usize>,
}

/// One station and what was measured there.
#[derive(Debug, Clone, PartialEq)]
pub struct Place {
    /// Where.
    pub station: Station,
    /// The readings, repeats included.
    pub readings: Vec<Taken>,
    /// Readings that were left out, in the order of leaving out.
    pub dropped: Vec<Taken>,
    /// Passed over.
    pub skipped: bool,
}

/// One reading that counts.
#[derive(Debug, Clone, PartialEq)]
pub struct Taken {
    /// Its event.
    pub seq: u64,
    /// When.
    pub at: Moment,
    /// From which gauge.
    pub gauge: String,
    /// What the gauge stated, mm.
    pub value_mm: f64,
    /// The size, where one is known.
    pub size_mm: Option<f64>,
    /// The deviation with its sign made right, from a comparator.
    pub deviation_mm: Option<f64>,
    /// Standard uncertainty that the setting brings to the size, mm; `None` where the size is not
    /// set.
    pub setting_u_mm: Option<f64>,
    /// The ring that the gauge was set in, mm.
    pub ring_mm: Option<f64>,
    /// The step of the gauge's last digit, mm.
    pub resolution_mm: f64,
}

/// What undo takes back, with what was next before it.
#[derive(Debug, Clone, PartialEq)]
struct Step {
    seq: u64,
    phase: Phase,
    next_before: Option<usize>,
    what: What,
}

#[derive(Debug, Clone, PartialEq)]
enum What {
    Reading {
        place: usize,
    },
    /// `at`: where among the place's readings it was.
    Drop {
        place: usize,
        at: usize,
    },
    Skip {
        place: usize,
    },
    GoTo {
        joined: bool,
    },
    Note,
    Tick,
    InsertReading,
}

impl Bench {
    /// The job on the bench and its phase, as an event's header.
    pub fn header(&self) -> Option<(JobId, Phase)> {
        self.job().map(|job| (job.id, job.phase))
    }

    /// The job on the bench.
    pub fn job(&self) -> Option<&Job> {
        self.jobs.get(&self.on_bench?)
    }

    /// After a replay: the links that were open when the last run ended are not open now.
    pub fn forget_links(&mut self) {
        for link in self.links.values_mut() {
            link.connected = false;
        }
    }

    /// Folds `event` in. Total: an event that makes no sense here changes nothing, so that a
    /// journal of a newer version can still be read.
    pub fn apply(&mut self, event: &Event) {
        self.last_seq = event.seq;
        self.newest_at = Some(event.at);
        self.apply_to_gauges(event);
        match &event.body {
            Body::JobOpened { .. } => {
                if let Some(mut job) = Job::opened_by(event) {
                    job.studies.clone_from(&self.studies);
                    self.on_bench = Some(job.id);
                    self.jobs.insert(job.id, job);
                }
            }
            Body::JobPutAside {} => self.on_bench = None,
            Body::JobTakenUp {} => self.on_bench = event.job,
            Body::JobClosed {} => {
                if let Some(id) = event.job {
                    self.jobs.remove(&id);
                    self.on_bench = self.on_bench.filter(|on_bench| *on_bench != id);
                }
                return;
            }
            _ => {}
        }
        if let Some(job) = event.job.and_then(|id| self.jobs.get_mut(&id)) {
            job.apply(event);
        }
    }

    fn apply_to_gauges(&mut self, event: &Event) {
        match &event.body {
            Body::Reading { gauge, .. } | Body::ReadingRefused { gauge, .. } => {
                self.link(gauge).last_reading_at = Some(event.at);
                self.last_reading = Some(event.clone());
            }
            Body::Bounce { gauge, .. } => self.link(gauge).last_reading_at = Some(event.at),
            Body::Noise { gauge, .. } => self.link(gauge).noise += 1,
            Body::NoiseCounted { gauge, count } => self.link(gauge).noise += count,
            Body::GaugeOpened { gauge, port } => {
                let link = self.link(gauge);
                link.connected = true;
                link.port.clone_from(port);
                link.why = None;
            }
            Body::GaugeLost { gauge, port, why } => {
                let link = self.link(gauge);
                link.connected = false;
                link.port.clone_from(port);
                link.why = Some(why.clone());
            }
            Body::RingSet {
                gauge,
                ring_mm,
                shown_mm,
                ring_uncertainty_mm,
                ring_due,
            } => {
                let setting = Setting {
                    at: event.at,
                    ring_mm: *ring_mm,
                    shown_mm: *shown_mm,
                    ring_uncertainty_mm: *ring_uncertainty_mm,
                    ring_due: *ring_due,
                };
                self.settings.insert(gauge.clone(), setting);
            }
            Body::GaugeStudied { gauge, study } => {
                for job in self.jobs.values_mut() {
                    job.studies.insert(gauge.clone(), *study);
                    job.settled = event.seq;
                }
                self.studies.insert(gauge.clone(), *study);
            }
            _ => {}
        }
    }

    fn link(&mut self, gauge: &str) -> &mut Link {
        if !self.links.contains_key(gauge) {
            self.links.insert(gauge.to_owned(), Link::default());
        }
        // The line above put it there.
        self.links.entry(gauge.to_owned()).or_default()
    }
}

impl Job {
    fn opened_by(event: &Event) -> Option<Self> {
        let Body::JobOpened {
            part,
            seat,
            plan,
            contact,
            stations,
        } = &event.body
        else {
            return None;
        };
        let phase = event.phase?;
        Some(Self {
            id: event.job?,
            opened_at: event.at,
            part: part.clone(),
            seat: seat.clone(),
            plan: *plan,
            contact: *contact,
            phase,
            work: BTreeMap::from([(phase, Work::of(stations.iter().cloned()))]),
            notes: Vec::new(),
            temperature: None,
            studies: BTreeMap::new(),
            checks: BTreeMap::new(),
            evidence: Evidence::default(),
            insert: None,
            insert_readings: Vec::new(),
            chosen: BTreeMap::new(),
            ticks: Vec::new(),
            hang_tests: Vec::new(),
            steps: Vec::new(),
            settled: event.seq,
            events: Span {
                first: event.seq,
                last: event.seq,
                count: 0,
            },
        })
    }

    /// The work of the present phase.
    pub fn present(&self) -> Option<&Work> {
        self.work.get(&self.phase)
    }

    /// The station that the next reading fills.
    pub fn next(&self) -> Option<&Station> {
        let work = self.present()?;
        work.places.get(work.next?).map(|place| &place.station)
    }

    /// Whether no station of a section is left to do.
    pub fn is_complete(&self, phase: Phase, bore: &str, depth_mm: f64) -> bool {
        self.work.get(&phase).is_some_and(|work| {
            !work.places.iter().any(|place| {
                // Depths are the plan's own, copied, so they are equal or another section's.
                place.station.depth_mm == depth_mm && place.station.bore == bore && place.is_to_do()
            })
        })
    }

    /// Where the reading `seq` counts.
    pub fn station_of(&self, seq: u64) -> Option<&Station> {
        let (phase, place, _) = self.find_reading(seq)?;
        let place = self.work.get(&phase)?.places.get(place)?;
        Some(&place.station)
    }

    /// The phase, the place and the index at that place of the reading `seq`.
    fn find_reading(&self, seq: u64) -> Option<(Phase, usize, usize)> {
        self.work.iter().find_map(|(&phase, work)| {
            let mut places = work.places.iter().enumerate();
            places.find_map(|(place, held)| {
                let at = held.readings.iter().position(|taken| taken.seq == seq)?;
                Some((phase, place, at))
            })
        })
    }

    /// The event that undo would take back.
    pub fn newest_step(&self) -> Option<u64> {
        self.steps.last().map(|step| step.seq)
    }

    fn apply(&mut self, event: &Event) {
        self.events.last = event.seq;
        self.events.count += 1;
        if event.body.settles() {
            self.settled = event.seq;
        }
        match &event.body {
            Body::Reading {
                gauge,
                value_mm,
                corrected_mm,
                setting_u_mm,
                ring_mm,
                resolution_mm,
                deviation_mm,
                station: Some(station),
                ..
            } => {
                let taken = Taken {
                    seq: event.seq,
                    at: event.at,
                    gauge: gauge.clone(),
                    value_mm: *value_mm,
                    size_mm: *corrected_mm,
                    deviation_mm: *deviation_mm,
                    setting_u_mm: *setting_u_mm,
                    ring_mm: *ring_mm,
                    resolution_mm: *resolution_mm,
                };
                self.step(event.seq, |work| {
                    let place = work.find(station)?;
                    work.places[place].readings.push(taken);
                    work.advance_from(place);
                    Some(What::Reading { place })
                });
            }
            Body::ReadingDropped { dropped, .. } => self.leave_out(*dropped, event.seq),
            Body::Skipped { station } => self.step(event.seq, |work| {
                let place = work.find(station)?;
                work.places[place].skipped = true;
                work.advance_from(place);
                Some(What::Skip { place })
            }),
            Body::WentTo { station } => self.step(event.seq, |work| {
                let known = work.find(station);
                let joined = known.is_none();
                if joined {
                    work.places.push(Place::at(station.clone()));
                }
                work.next = known.or_else(|| work.places.len().checked_sub(1));
                Some(What::GoTo { joined })
            }),
            Body::Noted { text } => {
                self.notes.push(Note {
                    seq: event.seq,
                    at: event.at,
                    text: text.clone(),
                });
                self.step(event.seq, |_| Some(What::Note));
            }
            Body::PhaseSet { to } => {
                // The same stations again, those that joined on the way included.
                if !self.work.contains_key(to) {
                    let stations = self.present().map(Work::stations).unwrap_or_default();
                    self.work.insert(*to, Work::of(stations));
                }
                self.phase = *to;
            }
            Body::SecondTurn { stations } => {
                if let Some(work) = self.work.get_mut(&self.phase) {
                    let first_new = work.places.len();
                    work.places.extend(stations.iter().cloned().map(Place::at));
                    work.next = work.next.or(Some(first_new));
                }
            }
            Body::Undone { undone } => self.undo(*undone),
            // Within a job only a gauge for inserts takes a reading that has no station.
            Body::Reading {
                value_mm,
                corrected_mm,
                resolution_mm,
                station: None,
                ..
            } => {
                let size = corrected_mm.unwrap_or(*value_mm);
                self.insert_readings.push((size, *resolution_mm));
                self.step(event.seq, |_| Some(What::InsertReading));
            }
            Body::EvidenceNoted { evidence } => self.evidence = *evidence,
            Body::InsertChosen { insert } => self.insert = Some(insert.clone()),
            Body::HangTested {
                fitted, friction, ..
            } => {
                self.hang_tests.push(HangView {
                    fitted: *fitted,
                    at: Some(event.at),
                    phase: event.phase,
                    friction: *friction,
                });
            }
            Body::WorkChosen { bore, work, with } => {
                let chosen = Chosen {
                    work: *work,
                    with: with.clone(),
                };
                self.chosen.insert(bore.clone(), chosen);
            }
            Body::Ticked { step } => {
                self.ticks.push(Tick {
                    seq: event.seq,
                    at: event.at,
                    step: step.clone(),
                });
                self.step(event.seq, |_| Some(What::Tick));
            }
            Body::RingChecked {
                gauge,
                set_at,
                drift_mm,
                ..
            } => {
                let check = Check {
                    at: event.at,
                    set_at: *set_at,
                    drift_mm: *drift_mm,
                };
                self.checks.insert(gauge.clone(), check);
            }
            Body::TemperatureNoted {
                part_c,
                ring_c,
                within_k,
            } => {
                let (part_c, ring_c, within_k) = (*part_c, *ring_c, *within_k);
                self.temperature = Some(Temperature {
                    part_c,
                    ring_c,
                    within_k,
                });
            }
            _ => {}
        }
    }

    /// Does `step` to the present work and remembers how to take it back.
    fn step(&mut self, seq: u64, step: impl FnOnce(&mut Work) -> Option<What>) {
        let phase = self.phase;
        let Some(work) = self.work.get_mut(&phase) else {
            return;
        };
        let next_before = work.next;
        if let Some(what) = step(work) {
            self.steps.push(Step {
                seq,
                phase,
                next_before,
                what,
            });
        }
    }

    /// Leaves the reading `dropped` out; where its station has none left, it is the next to gauge.
    fn leave_out(&mut self, dropped: u64, seq: u64) {
        let Some((phase, place, at)) = self.find_reading(dropped) else {
            return;
        };
        let Some(work) = self.work.get_mut(&phase) else {
            return;
        };
        let next_before = work.next;
        let held = &mut work.places[place];
        let taken = held.readings.remove(at);
        held.dropped.push(taken);
        if held.is_to_do() {
            work.next = Some(place);
        }
        self.steps.push(Step {
            seq,
            phase,
            next_before,
            what: What::Drop { place, at },
        });
    }

    fn undo(&mut self, seq: u64) {
        let Some(step) = self.steps.pop_if(|step| step.seq == seq) else {
            return;
        };
        let Some(work) = self.work.get_mut(&step.phase) else {
            return;
        };
        match step.what {
            What::Reading { place } => {
                work.places[place].readings.retain(|taken| taken.seq != seq);
            }
            What::Drop { place, at } => {
                let held = &mut work.places[place];
                if let Some(taken) = held.dropped.pop() {
                    held.readings.insert(at.min(held.readings.len()), taken);
                }
            }
            What::Skip { place } => work.places[place].skipped = false,
            What::GoTo { joined } => {
                // Every later step is already undone, so the station that joined is the last,
                // unless a second turn came behind it; then it stays, still to do.
                let is_last = work.next.is_some_and(|next| next + 1 == work.places.len());
                if joined && is_last {
                    work.places.pop();
                }
            }
            What::Note => self.notes.retain(|note| note.seq != seq),
            What::Tick => self.ticks.retain(|tick| tick.seq != seq),
            What::InsertReading => {
                self.insert_readings.pop();
            }
        }
        work.next = step.next_before;
    }
}

impl Work {
    fn of(stations: impl IntoIterator<Item = Station>) -> Self {
        let places: Vec<Place> = stations.into_iter().map(Place::at).collect();
        let next = (!places.is_empty()).then_some(0);
        Self { places, next }
    }

    fn stations(&self) -> Vec<Station> {
        self.places
            .iter()
            .map(|place| place.station.clone())
            .collect()
    }

    /// Where `station` is; the next one is looked at first, since it nearly always is.
    pub fn find(&self, station: &Station) -> Option<usize> {
        self.next
            .filter(|&next| {
                self.places
                    .get(next)
                    .is_some_and(|place| place.station == *station)
            })
            .or_else(|| {
                self.places
                    .iter()
                    .position(|place| place.station == *station)
            })
    }

    /// The first station still to do behind `place`, else the first before it.
    fn advance_from(&mut self, place: usize) {
        let to_do = |index: &usize| self.places[*index].is_to_do();
        self.next = (place + 1..self.places.len())
            .find(to_do)
            .or_else(|| (0..place).find(to_do));
    }

    /// How many stations are still to do.
    pub fn left(&self) -> usize {
        self.places.iter().filter(|place| place.is_to_do()).count()
    }
}

impl Place {
    const fn at(station: Station) -> Self {
        Self {
            station,
            readings: Vec::new(),
            dropped: Vec::new(),
            skipped: false,
        }
    }

    /// Neither measured nor passed over.
    pub const fn is_to_do(&self) -> bool {
        self.readings.is_empty() && !self.skipped
    }
}
