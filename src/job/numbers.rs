//! The numbers that follow from a job's readings, kept up to date reading by reading.

use std::collections::btree_map::Entry;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::derived::{Derived, DerivedBody, object};
use super::event::{Body, Event, JobId, Phase};
use super::plan::Station;
use super::seat::SeatBore;
use super::section::{Inputs, Key, Measured, UnderWay, depth_bits};
use super::state::{Bench, Job};
use super::verdict::Verdict;
use crate::bore::{self, Bore, BoreNumbers, Section, Withheld};

/// One cross-section and what the seat says to it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct SectionNumbers {
    /// The bore's name.
    pub bore: String,
    /// Whether stations of it are still to do: then the order of the fit is fixed, and what needs
    /// the whole section is withheld.
    #[serde(default)]
    pub under_way: bool,
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
    /// The longest run of depth whose mean diameter lies within the seat's limits, taken as straight
    /// between neighbouring sections, mm; nothing is claimed beyond the first and the last. Null
    /// with its reason in `withheld`, and in records of older versions.
    #[serde(default)]
    pub straight_length_mm: Option<f64>,
    /// The shortest and the longest that it may be, for mean diameters within their expanded
    /// uncertainty, mm.
    #[serde(default)]
    pub straight_range_mm: Option<[f64; 2]>,
    /// What its sections say together.
    #[serde(flatten)]
    pub numbers: BoreNumbers,
}

impl NamedBore {
    /// The sections of one bore, measured so far, and how much of its length is a seat.
    fn of(seat: &SeatBore, sections: Vec<Section>) -> Self {
        let bore = bore::bore(seat.name.clone(), sections);
        let mut numbers = bore.numbers;
        let straight = bore::straight(&bore.sections, seat.lower_mm, seat.upper_mm);
        let range = straight.and_then(|of| of.range_mm.ok_or(bore::RANGE_UNKNOWN));
        for (field, why) in [
            ("straight_length_mm", straight.err()),
            ("straight_range_mm", range.err()),
        ] {
            numbers.withheld.extend(why.map(|why| Withheld {
                field: field.to_owned(),
                why: why.to_owned(),
            }));
        }
        Self {
            bore: bore.bore,
            straight_length_mm: straight.ok().map(|of| of.length_mm),
            straight_range_mm: range.ok(),
            numbers,
        }
    }
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

/// The numbers of the job on the bench.
#[derive(Debug, Clone, Default)]
pub struct Numbers {
    job: Option<JobId>,
    sections: BTreeMap<Key, SectionNumbers>,
    /// From the sections that are not under way.
    bores: BTreeMap<(Phase, usize), NamedBore>,
    /// Measured sections of which stations are to do.
    open: BTreeSet<Key>,
    /// From the sections that are not open, each replaced when one of them changes.
    complete: BTreeMap<(Phase, usize), Arc<Bore>>,
    growing: BTreeMap<Key, UnderWay>,
    inputs: BTreeMap<Key, Inputs>,
}

/// The sections and bores whose numbers changed.
#[derive(Default)]
struct Changed {
    sections: Vec<Key>,
    bores: BTreeSet<(Phase, usize)>,
    /// The bores of which a section was opened or completed.
    completed: BTreeSet<(Phase, usize)>,
}

/// Whether sections under way are computed as they stand, or as though nothing more came.
#[derive(Clone, Copy, PartialEq)]
enum Manner {
    Live,
    Whole,
}

/// By what is shown, not by how it was come by.
impl PartialEq for Numbers {
    fn eq(&self, other: &Self) -> bool {
        (self.job, &self.sections, &self.bores) == (other.job, &other.sections, &other.bores)
    }
}

impl Numbers {
    /// All numbers of `job` as the bench shows them.
    pub fn of(job: &Job) -> Self {
        Self::made(job, Manner::Live)
    }

    /// All numbers of `job` as though nothing more were gauged: what a record keeps.
    pub fn whole(job: &Job) -> Self {
        Self::made(job, Manner::Whole)
    }

    fn made(job: &Job, manner: Manner) -> Self {
        let mut numbers = Self {
            job: Some(job.id),
            ..Self::default()
        };
        numbers.refresh(job, keys(job), manner);
        numbers
    }

    /// Takes `events`, already folded into `bench`, into the numbers, and gives the objects that
    /// changed.
    pub fn changed(&mut self, bench: &Bench, events: &[Event]) -> Vec<Derived> {
        let Some(job) = bench.job() else {
            *self = Self::default();
            return Vec::new();
        };
        if self.job != Some(job.id) {
            *self = Self::of(job);
            return self.newest(bench);
        }
        if !self.concerns(bench, events) {
            return Vec::new();
        }
        let of_job = || events.iter().filter(|event| event.job == Some(job.id));
        let keys = if events.iter().any(|event| event.is_study())
            || of_job().any(|event| event.body.settles())
        {
            keys(job)
        } else {
            let keys: BTreeSet<Key> = of_job()
                .filter_map(|event| key_of_reading(job, event))
                .collect();
            keys.into_iter().collect()
        };
        let changed = self.refresh(job, keys, Manner::Live);
        let sections = changed.sections.iter();
        let mut derived: Vec<Derived> = sections
            .filter_map(|key| Some(section_object(bench, job, *key, self.sections.get(key)?)))
            .collect();
        derived.extend(changed.bores.iter().filter_map(|key| {
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

    /// Whether these are the numbers of `job`.
    pub(super) fn are_of(&self, job: &Job) -> bool {
        self.job == Some(job.id)
    }

    /// Whether [`Self::changed`] would give objects for `events`.
    pub fn concerns(&self, bench: &Bench, events: &[Event]) -> bool {
        bench.job().is_some_and(|job| {
            let concerns = |event: &Event| event.job == Some(job.id) || event.is_study();
            self.job != Some(job.id) || events.iter().any(concerns)
        })
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

    /// The bores of `phase` from their complete sections, as the seat lists them: the same [`Arc`] as
    /// long as nothing of the bore changed.
    pub(super) fn complete(&self, phase: Phase) -> Vec<Arc<Bore>> {
        let bores = self.complete.range((phase, 0)..=(phase, usize::MAX));
        bores.map(|(_, bore)| Arc::clone(bore)).collect()
    }

    /// Computes the sections `keys` anew where what they are computed from changed, and their
    /// bores; gives those that changed.
    fn refresh(&mut self, job: &Job, keys: Vec<Key>, manner: Manner) -> Changed {
        let mut changed = Changed::default();
        for key in keys {
            let measured = Measured::of(job, key);
            let open = measured.as_ref().is_some_and(Measured::is_open);
            let turned = if open {
                self.open.insert(key)
            } else {
                self.open.remove(&key)
            };
            if turned && self.sections.contains_key(&key) {
                changed.completed.insert((key.0, key.1));
            }
            let fresh = match &measured {
                Some(measured) if measured.is_under_way() && manner == Manner::Live => {
                    self.grown(key, measured)
                }
                Some(measured) => {
                    let inputs = measured.inputs();
                    if self.inputs.get(&key) == Some(&inputs) {
                        continue;
                    }
                    self.growing.remove(&key);
                    let whole = measured.whole(&inputs);
                    self.inputs.insert(key, inputs);
                    whole
                }
                None if !self.sections.contains_key(&key) => continue,
                None => {
                    self.growing.remove(&key);
                    self.inputs.remove(&key);
                    None
                }
            };
            let shows_bore = |section: &SectionNumbers| !section.under_way;
            if fresh.as_ref().is_some_and(shows_bore)
                || self.sections.get(&key).is_some_and(shows_bore)
            {
                changed.bores.insert((key.0, key.1));
            }
            match fresh {
                Some(fresh) => self.sections.insert(key, fresh),
                None => self.sections.remove(&key),
            };
            changed.sections.push(key);
        }
        for bore in &changed.bores {
            self.refresh_bore(job, *bore);
        }
        for bore in changed.bores.union(&changed.completed) {
            self.refresh_complete(job, *bore);
        }
        changed
    }

    fn grown(&mut self, key: Key, measured: &Measured<'_>) -> Option<SectionNumbers> {
        self.inputs.remove(&key);
        let way = match self.growing.entry(key) {
            Entry::Occupied(way) => {
                let way = way.into_mut();
                way.follow(measured);
                way
            }
            Entry::Vacant(place) => place.insert(UnderWay::begin(measured)),
        };
        way.numbers(measured)
    }

    fn refresh_bore(&mut self, job: &Job, of: (Phase, usize)) {
        let sections = self.sections_of(of, |_, section| !section.under_way);
        let sections: Vec<Section> = sections.cloned().collect();
        if sections.is_empty() {
            self.bores.remove(&of);
        } else if let Some(bore) = job.seat.bores.get(of.1) {
            self.bores.insert(of, NamedBore::of(bore, sections));
        }
    }

    fn refresh_complete(&mut self, job: &Job, of: (Phase, usize)) {
        let sections = self.sections_of(of, |key, _| !self.open.contains(key));
        let sections: Vec<Section> = sections.cloned().collect();
        let Some(seat) = job.seat.bores.get(of.1).filter(|_| !sections.is_empty()) else {
            self.complete.remove(&of);
            return;
        };
        // What all of them say together is computed already.
        let shown = self.sections_of(of, |_, section| !section.under_way);
        let alike = shown.count() == sections.len();
        let bore = match self.bores.get(&of).filter(|_| alike) {
            Some(known) => Bore {
                bore: seat.name.clone(),
                numbers: known.numbers.clone(),
                sections,
            },
            None => bore::bore(seat.name.clone(), sections),
        };
        self.complete.insert(of, Arc::new(bore));
    }

    /// The sections of a bore that count, by depth.
    fn sections_of(
        &self,
        (phase, index): (Phase, usize),
        counts: impl Fn(&Key, &SectionNumbers) -> bool,
    ) -> impl Iterator<Item = &Section> {
        let of_bore = (phase, index, 0)..=(phase, index, u64::MAX);
        let sections = self.sections.range(of_bore);
        let counting = sections.filter(move |(key, section)| counts(key, section));
        counting.map(|(_, section)| &section.numbers)
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
        .filter(|place| !place.is_to_do() && !place.readings.is_empty())
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

/// The sections of `job`, measured or not.
pub(super) fn keys(job: &Job) -> Vec<Key> {
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
