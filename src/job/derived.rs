//! The objects of the feed that follow from events, and the one place where they are kept up to
//! date.

use std::borrow::Cow;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::decide::Shop;
use super::event::{Body, Event, JobId, Phase, SCHEMA};
use super::findings::{Before, Findings};
use super::numbers::{NamedBore, Numbers, Progress, SectionNumbers};
use super::state::{Bench, Job};
use crate::fit::plan::Plan;
use crate::fit::{Diagnosis, Fit, Outcome, Step};
use crate::units::Moment;

/// An object of the feed that follows from events and is not journalled.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Derived {
    /// Always `borewright.feed/1`.
    pub schema: Cow<'static, str>,
    /// The newest event that these numbers include.
    pub seq: u64,
    /// When they were computed, UTC.
    pub at: Moment,
    /// The job.
    pub job: JobId,
    /// The phase that the numbers are of.
    pub phase: Phase,
    /// The numbers.
    #[serde(flatten)]
    pub body: DerivedBody,
}

/// The numbers of a [`Derived`].
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum DerivedBody {
    /// One cross-section.
    Section(Box<SectionNumbers>),
    /// One bore.
    Bore(NamedBore),
    /// How far the job is.
    Job(Progress),
    /// What pressing the insert into one bore does.
    Fit(Box<BoreFit>),
    /// What can be done about one bore.
    Plan(Box<BorePlan>),
    /// What is at fault.
    Diagnosis(Box<Diagnosis>),
    /// One bore as left against as found.
    Outcome(Box<Outcome>),
}

/// What pressing the insert into one bore does.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct BoreFit {
    /// The bore's name.
    pub bore: String,
    /// The fit; null where it can't be said.
    pub fit: Option<Fit>,
    /// Why there is no fit.
    pub no_fit: Option<String>,
}

/// What can be done about one bore, and how to go about it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct BorePlan {
    /// The plan, with the bore's name.
    #[serde(flatten)]
    pub plan: Plan,
    /// The steps of what is advised.
    pub checklist: Vec<Step>,
}

pub(super) fn object(bench: &Bench, job: &Job, phase: Phase, body: DerivedBody) -> Derived {
    let at = bench.newest_at.unwrap_or(job.opened_at);
    Derived {
        schema: SCHEMA.into(),
        seq: bench.last_seq,
        at,
        job: job.id,
        phase,
        body,
    }
}

/// Everything that follows from the events of the job on the bench.
#[derive(Debug, Clone, Default)]
pub struct Following {
    /// Sections and bores.
    pub numbers: Numbers,
    /// Fit, plan, diagnosis and outcome, once a section is complete.
    pub findings: Option<Findings>,
    /// What the findings were made from.
    before: Before,
}

/// By what is shown, not by how it was come by.
impl PartialEq for Following {
    fn eq(&self, other: &Self) -> bool {
        (&self.numbers, &self.findings) == (&other.numbers, &other.findings)
    }
}

impl Following {
    /// All that follows for the job on the bench.
    pub fn of(bench: &Bench, shop: &Shop) -> Self {
        let Some(job) = bench.job() else {
            return Self::default();
        };
        let numbers = Numbers::of(job);
        let mut before = Before::default();
        let findings = Findings::after(&mut before, job, &numbers, shop);
        Self {
            numbers,
            findings,
            before,
        }
    }

    /// Takes `events`, already folded into `bench`, in, and gives the objects that changed. The
    /// findings follow a section when it is complete, not each reading of it.
    pub fn changed(&mut self, bench: &Bench, shop: &Shop, events: &[Event]) -> Vec<Derived> {
        let Some(job) = bench.job() else {
            *self = Self::default();
            return Vec::new();
        };
        // What was said of another job is not said of this one.
        let other = !self.numbers.are_of(job);
        if other {
            self.findings = None;
        }
        let mut derived = self.numbers.changed(bench, events);
        let decided = events.iter().any(|event| decides(event, job));
        let stale = other || decided || completes(&derived, job);
        if stale {
            derived.extend(self.again(bench, shop));
        }
        derived
    }

    /// The findings once more, after what the shop owns or knows of its tools has changed; gives
    /// the objects that changed.
    pub fn again(&mut self, bench: &Bench, shop: &Shop) -> Vec<Derived> {
        let Some(job) = bench.job() else {
            return Vec::new();
        };
        let fresh = Findings::after(&mut self.before, job, &self.numbers, shop);
        let before = std::mem::replace(&mut self.findings, fresh);
        self.found(bench, job, before.as_ref())
    }

    /// Whether objects follow from `events`, already folded into `bench`: [`Self::changed`] gives
    /// some then.
    pub fn concerns(&self, bench: &Bench, events: &[Event]) -> bool {
        self.numbers.concerns(bench, events)
    }

    /// The newest of each object.
    pub fn newest(&self, bench: &Bench) -> Vec<Derived> {
        let mut derived = self.numbers.newest(bench);
        derived.extend(
            bench
                .job()
                .into_iter()
                .flat_map(|job| self.found(bench, job, None)),
        );
        derived
    }

    /// The objects of the findings that are not what they were `before`.
    fn found(&self, bench: &Bench, job: &Job, before: Option<&Findings>) -> Vec<Derived> {
        let Some(findings) = &self.findings else {
            return Vec::new();
        };
        let mut bodies = Vec::new();
        for bore in &findings.examined.bores {
            let was = before.and_then(|before| {
                let mut bores = before.examined.bores.iter();
                bores.find(|was| was.bore == bore.bore)
            });
            if was.is_none_or(|was| (&was.fit, &was.no_fit) != (&bore.fit, &bore.no_fit)) {
                bodies.push(DerivedBody::Fit(Box::new(BoreFit {
                    bore: bore.bore.clone(),
                    fit: bore.fit.clone(),
                    no_fit: bore.no_fit.clone(),
                })));
            }
            if was.is_none_or(|was| (&was.plan, &was.checklist) != (&bore.plan, &bore.checklist)) {
                let (plan, checklist) = (bore.plan.clone(), bore.checklist.clone());
                bodies.push(DerivedBody::Plan(Box::new(BorePlan { plan, checklist })));
            }
        }
        if before.is_none_or(|before| before.diagnosis() != findings.diagnosis()) {
            let diagnosis = findings.diagnosis().clone();
            bodies.push(DerivedBody::Diagnosis(Box::new(diagnosis)));
        }
        let outcomes = findings.outcomes.iter();
        let changed = outcomes
            .filter(|outcome| before.is_none_or(|before| !before.outcomes.contains(outcome)));
        bodies.extend(changed.map(|outcome| DerivedBody::Outcome(Box::new(outcome.clone()))));
        bodies
            .into_iter()
            .map(|body| object(bench, job, job.phase, body))
            .collect()
    }
}

/// Whether `event` changes more than a section's numbers.
fn decides(event: &Event, job: &Job) -> bool {
    let reading = matches!(
        event.body,
        Body::Reading {
            station: Some(_),
            ..
        } | Body::ReadingRefused { .. }
            | Body::AngleReading { .. }
            | Body::HangBegun { .. }
            | Body::HangCancelled {}
            | Body::Bounce { .. }
            | Body::Noise { .. }
            | Body::NoiseCounted { .. }
            | Body::GaugeOpened { .. }
            | Body::GaugeLost { .. }
            | Body::Noted { .. }
    );
    event.is_study() || (event.job == Some(job.id) && !reading)
}

/// Whether a section among `derived` has no station left to do.
fn completes(derived: &[Derived], job: &Job) -> bool {
    derived.iter().any(|object| match &object.body {
        DerivedBody::Section(section) => {
            !section.under_way
                && job.is_complete(object.phase, &section.bore, section.numbers.depth_mm)
        }
        _ => false,
    })
}
