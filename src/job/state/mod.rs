//! The state of the bench: a fold of events, nothing else.

mod job;
mod noted;
mod steps;
mod work;

use std::collections::BTreeMap;
use std::sync::Arc;

pub use job::Job;
pub use noted::{Check, Chosen, Note, Span, Temperature, Tick};
pub use work::{Place, Taken, Work};

use super::event::{Body, Event, JobId, Phase};
use super::gauges::Calibration;
use super::ring::ShownInRing;
use super::studied::GaugeStudy;
use crate::uncertainty::study::deviation;
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
    /// The gauges that are in a ring now.
    pub in_ring: BTreeMap<String, InRing>,
    /// The newest re-check of each gauge in its ring: of this run, or of a job that is open.
    pub checks: BTreeMap<String, Check>,
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
    /// The readings that it showed there; `None` for what was stated.
    pub in_ring: Option<ShownInRing>,
}

/// What stands behind a reading when it is taken.
#[derive(Debug, Default)]
struct Behind {
    setting: Option<Setting>,
    calibration: Option<Arc<Calibration>>,
}

/// A gauge in a ring.
#[derive(Debug, Clone, PartialEq)]
pub struct InRing {
    /// Since when.
    pub since: Moment,
    /// What it showed there, mm.
    pub shown_mm: Vec<f64>,
}

impl InRing {
    /// The mean of what it showed, mm; `None` where that is nothing.
    pub fn mean_mm(&self) -> Option<f64> {
        Some(self.shown()?.0)
    }

    /// The same with the readings behind it.
    pub fn shown(&self) -> Option<(f64, ShownInRing)> {
        let readings = u32::try_from(self.shown_mm.len()).ok()?;
        let (mean_mm, deviation_mm) = deviation(&self.shown_mm);
        let shown = ShownInRing {
            readings,
            deviation_mm,
        };
        (readings > 0).then_some((mean_mm, shown))
    }

    /// How far the readings are apart, mm.
    pub fn apart_mm(&self) -> f64 {
        let most = self.shown_mm.iter().copied().reduce(f64::max);
        let least = self.shown_mm.iter().copied().reduce(f64::min);
        most.zip(least).map_or(0.0, |(most, least)| most - least)
    }
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
    /// The newest of them since it was opened.
    pub last_noise_at: Option<Moment>,
    /// What was known of the gauge's calibration when the link was opened.
    pub calibration: Option<Arc<Calibration>>,
    /// Readings refused so far.
    pub refused: u64,
}

impl Link {
    const fn heard_noise(&mut self, count: u64, at: Moment) {
        self.noise += count;
        self.last_noise_at = Some(at);
    }
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
        let behind = match &event.body {
            Body::Reading { gauge, .. } | Body::AngleReading { gauge, .. } => self.behind(gauge),
            _ => Behind::default(),
        };
        if let Some(job) = event.job.and_then(|id| self.jobs.get_mut(&id)) {
            job.apply(event, behind);
        }
    }

    fn behind(&self, gauge: &str) -> Behind {
        let link = self.links.get(gauge);
        Behind {
            setting: self.settings.get(gauge).copied(),
            calibration: link.and_then(|link| link.calibration.clone()),
        }
    }

    fn apply_to_gauges(&mut self, event: &Event) {
        match &event.body {
            Body::Reading { gauge, .. } | Body::ReadingRefused { gauge, .. } => {
                let refused = matches!(event.body, Body::ReadingRefused { .. });
                let link = self.link(gauge);
                link.last_reading_at = Some(event.at);
                link.refused += u64::from(refused);
                self.last_reading = Some(event.clone());
            }
            Body::AngleReading { gauge, .. } => {
                self.link(gauge).last_reading_at = Some(event.at);
                self.last_reading = Some(event.clone());
            }
            Body::Bounce { gauge, .. } => self.link(gauge).last_reading_at = Some(event.at),
            Body::Noise { gauge, .. } => self.link(gauge).heard_noise(1, event.at),
            Body::NoiseCounted { gauge, count } => self.link(gauge).heard_noise(*count, event.at),
            Body::GaugeOpened {
                gauge,
                port,
                calibration,
            } => {
                let link = self.link(gauge);
                link.calibration = calibration.clone().map(Arc::new);
                link.connected = true;
                link.port.clone_from(port);
                link.why = None;
                link.last_noise_at = None;
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
                in_ring,
            } => {
                let setting = Setting {
                    at: event.at,
                    ring_mm: *ring_mm,
                    shown_mm: *shown_mm,
                    ring_uncertainty_mm: *ring_uncertainty_mm,
                    ring_due: *ring_due,
                    in_ring: *in_ring,
                };
                self.settings.insert(gauge.clone(), setting);
                self.in_ring.remove(gauge);
            }
            Body::RingBegun { gauge } => {
                let in_ring = InRing {
                    since: event.at,
                    shown_mm: Vec::new(),
                };
                self.in_ring.insert(gauge.clone(), in_ring);
            }
            Body::RingReading {
                gauge, value_mm, ..
            } => {
                self.link(gauge).last_reading_at = Some(event.at);
                if let Some(in_ring) = self.in_ring.get_mut(gauge) {
                    in_ring.shown_mm.push(*value_mm);
                }
            }
            Body::RingChecked { .. } => {
                if let Some((gauge, check)) = Check::of(event) {
                    self.checks.insert(gauge.to_owned(), check);
                    self.in_ring.remove(gauge);
                }
            }
            Body::RingCancelled { gauge } => {
                self.in_ring.remove(gauge);
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
