//! The numbers that follow from a job's readings, kept up to date reading by reading.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::derived::{Derived, DerivedBody, object};
use super::event::{Body, Event, JobId, Phase};
use super::plan::Station;
use super::state::{Bench, Job, Taken};
use super::verdict::Verdict;
use crate::bore::{self, Basis, BoreNumbers, Observation, Readings, Repeatability, Section};

/// One cross-section and what the seat says to it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct SectionNumbers {
    /// The bore's name.
    pub bore: String,
    /// Whether the closing re-check of the ring has changed these numbers.
    pub revised: bool,
    /// The event of the reading that the others contradict, for `drop_reading`; null where there is
    /// none.
    #[serde(default)]
    pub suspect_seq: Option<u64>,
    /// Whether the section is as its seat asks.
    pub verdict: Verdict,
    /// The numbers.
    #[serde(flatten)]
    pub numbers: Section,
}

/// One bore's numbers with its name.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct NamedBore {
    /// The bore's name.
    pub bore: String,
    /// What its sections say together.
    #[serde(flatten)]
    pub numbers: BoreNumbers,
}

/// How far the work of a phase is.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Progress {
    /// The part, as the mechanic calls it.
    pub part: String,
    /// The station that the next reading fills; null where none is left.
    pub next: Option<Station>,
    /// Stations of this phase.
    pub stations: usize,
    /// Of these, measured.
    pub measured: usize,
    /// Of these, passed over.
    pub skipped: usize,
    /// Of these, still to do.
    pub left: usize,
}

/// Which section: the phase, the bore's place in the seat, and the depth as ordered bits.
type Key = (Phase, usize, u64);

/// The numbers of the job on the bench.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Numbers {
    job: Option<JobId>,
    sections: BTreeMap<Key, SectionNumbers>,
    bores: BTreeMap<(Phase, usize), NamedBore>,
}

impl Numbers {
    /// All numbers of `job`.
    pub fn of(job: &Job) -> Self {
        let mut numbers = Self {
            job: Some(job.id),
            ..Self::default()
        };
        numbers.refresh(job, keys(job));
        numbers
    }

    /// Takes `events`, already folded into `bench`, into the numbers, and gives the objects that
    /// changed.
    pub fn changed(&mut self, bench: &Bench, events: &[Event]) -> Vec<Derived> {
        let Some(job) = bench.job() else {
            *self = Self::default();
            return Vec::new();
        };
        let of_job = || events.iter().filter(|event| event.job == Some(job.id));
        if self.job != Some(job.id) {
            *self = Self::of(job);
            return self.newest(bench);
        }
        let studied = || events.iter().any(|event| event.is_study());
        if of_job().next().is_none() && !studied() {
            return Vec::new();
        }
        let only_readings = !studied()
            && of_job()
                .all(|event| matches!(event.body, Body::Reading { .. } | Body::Noise { .. }));
        let keys = if only_readings {
            let mut keys: Vec<Key> = of_job()
                .filter_map(|event| key_of_reading(job, event))
                .collect();
            keys.sort_unstable();
            keys.dedup();
            keys
        } else {
            keys(job)
        };
        let changed = self.refresh(job, keys);
        let mut derived: Vec<Derived> = changed
            .iter()
            .filter_map(|key| Some(section_object(bench, job, *key, self.sections.get(key)?)))
            .collect();
        let mut bores: Vec<(Phase, usize)> = changed
            .iter()
            .map(|&(phase, bore, _)| (phase, bore))
            .collect();
        bores.dedup();
        derived.extend(bores.iter().filter_map(|key| {
            Some(object(
                bench,
                job,
                key.0,
                DerivedBody::Bore(self.bores.get(key)?.clone()),
            ))
        }));
        derived.push(progress(bench, job));
        derived
    }

    /// The newest objects of the job on the bench, for somebody who resumes.
    pub fn newest(&self, bench: &Bench) -> Vec<Derived> {
        let Some(job) = bench.job().filter(|job| self.job == Some(job.id)) else {
            return Vec::new();
        };
        let sections = self.sections.iter();
        let mut derived: Vec<Derived> = sections
            .map(|(key, section)| section_object(bench, job, *key, section))
            .collect();
        derived.extend(
            self.bores
                .iter()
                .map(|(key, bore)| object(bench, job, key.0, DerivedBody::Bore(bore.clone()))),
        );
        derived.push(progress(bench, job));
        derived
    }

    /// The sections of `phase`, bore by bore as the seat lists them, then by depth.
    pub fn sections(&self, phase: Phase) -> impl Iterator<Item = &SectionNumbers> {
        self.sections
            .iter()
            .filter(move |(key, _)| key.0 == phase)
            .map(|(_, section)| section)
    }

    /// The bores of `phase`, as the seat lists them.
    pub fn bores(&self, phase: Phase) -> impl Iterator<Item = &NamedBore> {
        self.bores
            .iter()
            .filter(move |(key, _)| key.0 == phase)
            .map(|(_, bore)| bore)
    }

    /// Computes the sections `keys` anew, and their bores; gives those that changed.
    fn refresh(&mut self, job: &Job, keys: Vec<Key>) -> Vec<Key> {
        let mut changed = Vec::new();
        for key in keys {
            let fresh = section_numbers(job, key);
            if self.sections.get(&key) != fresh.as_ref() {
                match fresh {
                    Some(fresh) => self.sections.insert(key, fresh),
                    None => self.sections.remove(&key),
                };
                changed.push(key);
            }
        }
        let mut bores: Vec<(Phase, usize)> = changed
            .iter()
            .map(|&(phase, bore, _)| (phase, bore))
            .collect();
        bores.dedup();
        for bore in bores {
            self.refresh_bore(job, bore);
        }
        changed
    }

    fn refresh_bore(&mut self, job: &Job, (phase, index): (Phase, usize)) {
        let of_bore = (phase, index, 0)..=(phase, index, u64::MAX);
        let sections: Vec<Section> = self
            .sections
            .range(of_bore)
            .map(|(_, section)| section.numbers.clone())
            .collect();
        if sections.is_empty() {
            self.bores.remove(&(phase, index));
        } else if let Some(bore) = job.seat.bores.get(index) {
            let numbers = bore::bore(bore.name.clone(), sections).numbers;
            self.bores.insert(
                (phase, index),
                NamedBore {
                    bore: bore.name.clone(),
                    numbers,
                },
            );
        }
    }
}

fn section_object(bench: &Bench, job: &Job, key: Key, section: &SectionNumbers) -> Derived {
    object(
        bench,
        job,
        key.0,
        DerivedBody::Section(Box::new(section.clone())),
    )
}

fn progress(bench: &Bench, job: &Job) -> Derived {
    let places = job
        .present()
        .map(|work| work.places.as_slice())
        .unwrap_or_default();
    let measured = places
        .iter()
        .filter(|place| !place.readings.is_empty())
        .count();
    let left = places.iter().filter(|place| place.is_to_do()).count();
    let body = DerivedBody::Job(Progress {
        part: job.part.clone(),
        next: job.next().cloned(),
        stations: places.len(),
        measured,
        skipped: places.len() - measured - left,
        left,
    });
    object(bench, job, job.phase, body)
}

/// A depth as bits that sort as the depths do (depths are never negative).
const fn depth_bits(depth_mm: f64) -> u64 {
    depth_mm.to_bits()
}

fn bore_index(job: &Job, name: &str) -> Option<usize> {
    job.seat.bores.iter().position(|bore| bore.name == name)
}

fn key_of_reading(job: &Job, event: &Event) -> Option<Key> {
    let Body::Reading {
        station: Some(station),
        ..
    } = &event.body
    else {
        return None;
    };
    Some((
        event.phase?,
        bore_index(job, &station.bore)?,
        depth_bits(station.depth_mm),
    ))
}

fn keys(job: &Job) -> Vec<Key> {
    let mut keys = Vec::new();
    for (phase, work) in &job.work {
        for place in &work.places {
            if let Some(bore) = bore_index(job, &place.station.bore) {
                keys.push((*phase, bore, depth_bits(place.station.depth_mm)));
            }
        }
    }
    keys.sort_unstable();
    keys.dedup();
    keys
}

/// The numbers of one section; `None` where nothing was measured there.
fn section_numbers(job: &Job, (phase, index, depth): Key) -> Option<SectionNumbers> {
    let seat_bore = job.seat.bores.get(index)?;
    let taken: Vec<(f64, &Taken)> = job
        .work
        .get(&phase)?
        .places
        .iter()
        .filter(|place| {
            depth_bits(place.station.depth_mm) == depth && place.station.bore == seat_bore.name
        })
        .flat_map(|place| {
            place
                .readings
                .iter()
                .map(|taken| (place.station.angle_deg, taken))
        })
        .collect();
    let (seqs, observations, basis) = observed(job, &taken);
    let numbers = bore::section(job.contact, f64::from_bits(depth), &observations, &basis).ok()?;
    let verdict = Verdict::of(&numbers, seat_bore);
    let suspect = numbers.suspect.as_ref();
    Some(SectionNumbers {
        bore: seat_bore.name.clone(),
        revised: taken.iter().any(|(_, taken)| job.drift_mm(taken) != 0.0),
        suspect_seq: suspect.and_then(|suspect| seqs.get(suspect.index).copied()),
        verdict,
        numbers,
    })
}

/// The readings as the geometry takes them. Sizes where every reading has one; where some were
/// taken by a comparator before it was set in a ring, differences only, of those.
fn observed(job: &Job, taken: &[(f64, &Taken)]) -> (Vec<u64>, Vec<Observation>, Basis) {
    let all_sizes = taken.iter().all(|(_, taken)| taken.size_mm.is_some());
    let observations = taken.iter().filter_map(|&(angle_deg, taken)| {
        let reading_mm = if all_sizes {
            job.size_mm(taken)
        } else {
            taken.deviation_mm
        };
        let observation = Observation {
            angle_deg,
            reading_mm: reading_mm?,
        };
        Some((taken.seq, observation))
    });
    let (seqs, observations) = observations.unzip();
    let all_set = taken.iter().all(|(_, taken)| taken.setting_u_mm.is_some());
    let largest = |of: &dyn Fn(&Taken) -> Option<f64>| {
        taken
            .iter()
            .filter_map(|(_, taken)| of(taken))
            .reduce(f64::max)
    };
    let basis = Basis {
        readings: if all_sizes {
            Readings::Size
        } else {
            Readings::DeviationFromUnknown
        },
        resolution_mm: largest(&|taken| Some(taken.resolution_mm)),
        repeatability: study(job, taken),
        setting: largest(&|taken| job.size_u_mm(taken))
            .filter(|_| all_set && all_sizes)
            .map(|standard_mm| bore::Setting {
                standard_mm,
                degrees_of_freedom: f64::INFINITY,
            }),
        ..Basis::default()
    };
    (seqs, observations, basis)
}

/// The study that stands behind the readings; `None` where one of their gauges was never studied.
/// Where there are several gauges, that of the one that repeats worst.
fn study(job: &Job, taken: &[(f64, &Taken)]) -> Option<Repeatability> {
    let mut worst: Option<Repeatability> = None;
    for (_, taken) in taken {
        let study = job.studies.get(&taken.gauge)?.repeatability();
        if worst.is_none_or(|worst| study.standard_mm > worst.standard_mm) {
            worst = Some(study);
        }
    }
    worst
}
