//! The numbers of one section: whole, or while it is gauged.
//!
//! Which of the two follows from the state alone, so that a restart shows what was shown: a section
//! is under way while stations of it are to do and its newest reading is newer than anything else
//! that changes numbers (an undo, a skip, a chosen station, another phase, a re-check of the ring …).

use super::event::Phase;
use super::numbers::SectionNumbers;
use super::seat::SeatBore;
use super::state::{Job, Place, Taken};
use super::verdict::Verdict;
use crate::bore::{
    self, Basis, Contact, Growing, InRing, Observation, Readings, Repeatability, Section,
};

/// Which section: the phase, the bore's place in the seat, and the depth as ordered bits.
pub(super) type Key = (Phase, usize, u64);

/// A depth as bits that sort as the depths do (depths are never negative).
pub(super) const fn depth_bits(depth_mm: f64) -> u64 {
    depth_mm.to_bits()
}

/// What was measured of a section.
pub(super) struct Measured<'a> {
    job: &'a Job,
    depth_mm: f64,
    seat: &'a SeatBore,
    /// Of its phase.
    places: &'a [Place],
    /// The readings that count with their angles, station by station.
    taken: Vec<(f64, &'a Taken)>,
    newest: u64,
    /// A station of it is still to do.
    open: bool,
}

/// What a whole section is computed from: where that is the same, so are its numbers.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Inputs {
    /// The event of each observation.
    seqs: Vec<u64>,
    observations: Vec<Observation>,
    basis: Basis,
    revised: bool,
}

impl<'a> Measured<'a> {
    /// `None` where nothing was measured there.
    pub(super) fn of(job: &'a Job, (phase, index, depth): Key) -> Option<Self> {
        let seat = job.seat.bores.get(index)?;
        let mut measured = Self {
            job,
            depth_mm: f64::from_bits(depth),
            seat,
            places: &job.work.get(&phase)?.places,
            taken: Vec::new(),
            newest: 0,
            open: false,
        };
        for place in measured.places {
            if !measured.has(place) {
                continue;
            }
            let station = &place.station;
            measured.open |= place.is_to_do();
            for taken in &place.readings {
                measured.newest = measured.newest.max(taken.seq);
                measured.taken.push((station.angle_deg, taken));
            }
        }
        measured.set_aside();
        (!measured.taken.is_empty()).then_some(measured)
    }

    /// In a direction where some readings have a ring behind them those without one don't count.
    fn set_aside(&mut self) {
        let set = self.directions(Taken::is_set);
        if set.is_empty() || set.len() == self.taken.len() {
            return;
        }
        let contact = self.job.contact;
        self.taken.retain(|&(angle, taken)| {
            taken.is_set() || !set.iter().any(|&other| is_same(contact, angle, other))
        });
    }

    /// The directions of the readings that are `wanted`, each once, degrees.
    fn directions(&self, wanted: impl Fn(&Taken) -> bool) -> Vec<f64> {
        let mut directions: Vec<f64> = Vec::new();
        for &(angle, taken) in &self.taken {
            let is_known = |&known: &f64| is_same(self.job.contact, angle, known);
            if wanted(taken) && !directions.iter().any(is_known) {
                directions.push(angle);
            }
        }
        directions
    }

    /// How many directions were gauged before the gauge was set, where others were gauged since.
    fn before_setting(&self) -> Option<usize> {
        let (set, unset): (Vec<_>, Vec<_>) =
            (self.taken.iter().map(|&(_, taken)| taken)).partition(|taken| taken.is_set());
        let since = |old: &&Taken| (set.iter()).any(|t| t.gauge == old.gauge && t.seq > old.seq);
        let known = !unset.is_empty() && unset.iter().all(since);
        known.then(|| self.directions(|taken| !taken.is_set()).len())
    }

    /// What its readings have in common.
    pub(super) fn common(&self) -> Common {
        let taken = self.taken.iter().map(|&(_, taken)| taken);
        taken.fold(Common::default(), |common, taken| {
            common.with(self.job, taken)
        })
    }

    /// Whether a place is one of its stations.
    fn has(&self, place: &Place) -> bool {
        let station = &place.station;
        station.depth_mm.to_bits() == self.depth_mm.to_bits() && station.bore == self.seat.name
    }

    /// The directions of its stations, degrees.
    fn planned(&self) -> impl Iterator<Item = f64> {
        let places = self.places.iter().filter(|place| self.has(place));
        places.map(|place| place.station.angle_deg)
    }

    /// The bore's name.
    pub(super) fn bore(&self) -> &'a str {
        &self.seat.name
    }

    /// The events of the readings that count.
    pub(super) fn seqs(&self) -> impl Iterator<Item = u64> {
        self.taken.iter().map(|(_, taken)| taken.seq)
    }

    pub(super) const fn is_under_way(&self) -> bool {
        self.open && self.newest > self.job.settled
    }

    /// Whether a station of it is still to do.
    pub(super) const fn is_open(&self) -> bool {
        self.open
    }

    /// What the whole section is computed from.
    pub(super) fn inputs(&self) -> Inputs {
        let common = self.common();
        let observations = self.taken.iter().filter_map(|&(angle, taken)| {
            Some((taken.seq, common.observe(self.job, angle, taken)?))
        });
        let (seqs, observations) = observations.unzip();
        Inputs {
            seqs,
            observations,
            basis: common.basis(),
            revised: common.revised,
        }
    }

    /// The numbers of the whole section.
    pub(super) fn whole(&self, inputs: &Inputs) -> Option<SectionNumbers> {
        let Inputs {
            seqs,
            observations,
            basis,
            revised,
        } = inputs;
        let numbers = bore::section(self.job.contact, self.depth_mm, observations, basis).ok()?;
        let suspect = numbers.suspect.as_ref();
        let suspect_seq = suspect.and_then(|suspect| seqs.get(suspect.index).copied());
        Some(SectionNumbers {
            suspect_seq,
            ..self.judged(numbers, *revised, false)
        })
    }

    fn judged(&self, mut numbers: Section, revised: bool, under_way: bool) -> SectionNumbers {
        numbers.before_setting = self.before_setting();
        SectionNumbers {
            bore: self.seat.name.clone(),
            under_way,
            revised,
            suspect_seq: None,
            verdict: Verdict::of(&numbers, self.seat),
            numbers,
        }
    }
}

/// Whether two angles are one direction, as the contact sees it.
fn is_same(contact: Contact, a_deg: f64, b_deg: f64) -> bool {
    let apart = (a_deg - b_deg).rem_euclid(contact.period_deg());
    apart.min(contact.period_deg() - apart) < 1e-6
}

/// What the readings of a section have in common.
#[derive(Debug, Clone, Copy)]
pub(super) struct Common {
    /// Every reading has a size. Where some were taken by a comparator before it was set in a
    /// ring, only differences are known, of those.
    sizes: bool,
    /// A ring stands behind every size.
    set: bool,
    /// A ring stands behind one.
    any_set: bool,
    setting_mm: f64,
    /// The ring's uncertainty is not stated, of one of them.
    assumed: bool,
    /// The readings in the ring that bring most.
    in_ring: Option<InRing>,
    resolution_mm: f64,
    /// Every gauge was studied.
    studied: bool,
    /// The study of the gauge that repeats worst.
    study: Option<Repeatability>,
    /// The closing re-check of the ring changed a size.
    revised: bool,
    /// The least and the greatest drift taken out of a reading; `None` before the first.
    drift_mm: Option<[f64; 2]>,
}

impl Default for Common {
    fn default() -> Self {
        Self {
            sizes: true,
            set: true,
            any_set: false,
            setting_mm: 0.0,
            assumed: false,
            in_ring: None,
            resolution_mm: 0.0,
            studied: true,
            study: None,
            revised: false,
            drift_mm: None,
        }
    }
}

impl Common {
    fn with(self, job: &Job, taken: &Taken) -> Self {
        let setting_mm = job.size_u_mm(taken);
        let drift_mm = job.drift_mm(taken);
        let study = job.studies.get(&taken.gauge);
        let study = study.map(|study| study.repeatability());
        let worst = |a: Repeatability, b: Repeatability| {
            if b.standard_mm > a.standard_mm { b } else { a }
        };
        let in_ring = self.in_ring.into_iter().chain(job.in_ring(taken));
        Self {
            assumed: self.assumed || job.is_ring_assumed(taken),
            in_ring: in_ring.max_by(|a, b| a.share.total_cmp(&b.share)),
            studied: self.studied && study.is_some(),
            study: match (self.study, study) {
                (Some(a), Some(b)) => Some(worst(a, b)),
                (a, b) => a.or(b),
            },
            sizes: self.sizes && taken.size_mm.is_some(),
            set: self.set && setting_mm.is_some(),
            any_set: self.any_set || setting_mm.is_some(),
            setting_mm: self.setting_mm.max(setting_mm.unwrap_or(0.0)),
            resolution_mm: self.resolution_mm.max(taken.resolution_mm),
            revised: self.revised || drift_mm != 0.0,
            drift_mm: Some(self.drift_mm.map_or([drift_mm; 2], |[least, greatest]| {
                [least.min(drift_mm), greatest.max(drift_mm)]
            })),
        }
    }

    /// Whether the gauge was set after some of the readings and before others: what it showed is the
    /// one thing that they have in common.
    const fn is_mixed(&self) -> bool {
        self.any_set && !self.set
    }

    /// What `taken` reads on the scale that all share, mm.
    pub(super) fn reading_mm(&self, job: &Job, taken: &Taken) -> Option<f64> {
        if self.sizes && self.is_mixed() {
            Some(taken.value_mm)
        } else if self.sizes {
            let across = job.contact.diameter_per_reading();
            job.size_mm(taken).map(|size| size / across)
        } else {
            taken.deviation_mm
        }
    }

    fn observe(&self, job: &Job, angle_deg: f64, taken: &Taken) -> Option<Observation> {
        Some(Observation {
            angle_deg,
            reading_mm: self.reading_mm(job, taken)?,
        })
    }

    fn basis(&self) -> Basis {
        Basis {
            readings: if self.sizes {
                Readings::Size
            } else {
                Readings::DeviationFromUnknown
            },
            resolution_mm: Some(self.resolution_mm),
            repeatability: self.study.filter(|_| self.studied),
            setting: (self.set && self.sizes).then_some(bore::Setting {
                by_ring: true,
                standard_mm: self.setting_mm,
                degrees_of_freedom: f64::INFINITY,
                assumed: self.assumed,
                in_ring: self.in_ring,
            }),
            drift_mm: self.drift_mm.unwrap_or_default(),
            ..Basis::default()
        }
    }
}

/// A section while it is gauged, kept up to date reading by reading.
#[derive(Debug, Clone)]
pub(super) struct UnderWay {
    growing: Growing,
    common: Common,
    /// How many readings were taken in.
    readings: usize,
    /// The newest reading taken in.
    newest: u64,
    /// What the job was settled at; after anything newer it is to begin anew.
    settled: u64,
}

impl UnderWay {
    /// The section with all readings of `measured`.
    pub(super) fn begin(measured: &Measured<'_>) -> Self {
        let mut way = Self {
            growing: Growing::new(measured.job.contact, measured.planned()),
            common: measured.common(),
            readings: 0,
            newest: 0,
            settled: measured.job.settled,
        };
        way.push(measured);
        way
    }

    /// Takes the new readings of `measured` in.
    pub(super) fn follow(&mut self, measured: &Measured<'_>) {
        let newest = self.newest;
        let fresh = measured.taken.iter().filter(|(_, t)| t.seq > newest);
        // What was taken in stands, unless a newer reading set it aside.
        let stands = measured.taken.len() - fresh.clone().count() == self.readings;
        let common = fresh.fold(self.common, |common, (_, taken)| {
            common.with(measured.job, taken)
        });
        // Sizes and deviations can't be mixed, nor what was set with what wasn't: what was taken in as
        // the one is taken in again as the other.
        let (was, is) = (&self.common, &common);
        let changed = was.sizes != is.sizes || was.is_mixed() != is.is_mixed();
        if self.settled != measured.job.settled || changed || !stands {
            *self = Self::begin(measured);
            return;
        }
        self.common = common;
        self.push(measured);
    }

    /// In the order in which they were taken, whatever the order of the stations, so that a
    /// restart gives the same last digit.
    fn push(&mut self, measured: &Measured<'_>) {
        let mut fresh: Vec<&(f64, &Taken)> = measured
            .taken
            .iter()
            .filter(|(_, taken)| taken.seq > self.newest)
            .collect();
        fresh.sort_unstable_by_key(|(_, taken)| taken.seq);
        for &(angle, taken) in fresh {
            if let Some(observation) = self.common.observe(measured.job, angle, taken) {
                // What is journalled is finite.
                let _ = self.growing.push(observation);
            }
        }
        self.readings = measured.taken.len();
        self.newest = measured.newest;
    }

    /// The numbers so far.
    pub(super) fn numbers(&self, measured: &Measured<'_>) -> Option<SectionNumbers> {
        let numbers = self
            .growing
            .section(measured.depth_mm, &self.common.basis())
            .ok()?;
        Some(measured.judged(numbers, self.common.revised, true))
    }
}
