//! Where the job is: nine steps from the complaint to the record, one shown at a time.
//!
//! The step follows from the state and needs no touch where moving on is safe: the first reading
//! begins the gauging, the last one shows what was found, the last choice shows what is to be done.
//! A touch on the strip shows another step until the job moves on.

use maud::{Markup, html};
use serde::Deserialize;

use super::words::{Language, capital};
use crate::fit::checklist;
use crate::fit::plan::Work;
use crate::fit::{Evidence, ExaminedBore, Fit, Range, Step as Tickable};
use crate::job::{Chosen, JobView, Phase, Status, TYPED, View};

/// A step of the job.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(super) enum Step {
    /// What is complained of, and what the hand says.
    Complaint,
    /// What the bores should be, and what goes in.
    Insert,
    /// The gauge in its ring; temperatures.
    Ring,
    /// Gauging before any work.
    Found,
    /// What was found, and what can be done.
    Findings,
    /// What was chosen is being done.
    Work,
    /// Gauging after the work, and what came of it.
    Left,
    /// Cleaning, pressing, spinning.
    Fitting,
    /// The record.
    Done,
}

impl Step {
    const ALL: [Self; 9] = [
        Self::Complaint,
        Self::Insert,
        Self::Ring,
        Self::Found,
        Self::Findings,
        Self::Work,
        Self::Left,
        Self::Fitting,
        Self::Done,
    ];

    /// As it stands in an address and on an element.
    pub(super) const fn word(self) -> &'static str {
        match self {
            Self::Complaint => "complaint",
            Self::Insert => "insert",
            Self::Ring => "ring",
            Self::Found => "found",
            Self::Findings => "findings",
            Self::Work => "work",
            Self::Left => "left",
            Self::Fitting => "fitting",
            Self::Done => "done",
        }
    }

    const fn key(self) -> &'static str {
        match self {
            Self::Complaint => "steps.complaint",
            Self::Insert => "steps.insert",
            Self::Ring => "steps.ring",
            Self::Found => "steps.found",
            Self::Findings => "steps.findings",
            Self::Work => "steps.work",
            Self::Left => "steps.left",
            Self::Fitting => "steps.fitting",
            Self::Done => "steps.done",
        }
    }

    /// The one that the job itself is at.
    pub(super) fn of(state: &View, job: &JobView) -> Self {
        let gauged = job.stations.iter().any(|s| s.status == Status::Measured);
        match (job.phase, &job.next) {
            (Phase::AsFound, Some(_)) if gauged => Self::Found,
            (Phase::AsFound, Some(_)) => Self::before_gauging(state, job),
            (Phase::AsLeft, Some(_)) => Self::Left,
            (Phase::AsFound, None) => match path(job) {
                Path::Open => Self::Findings,
                Path::Cut => Self::Work,
                Path::Fit => Self::after(job, Self::Fitting),
                Path::Away => Self::Done,
            },
            (Phase::AsLeft, None) => Self::after(job, Self::Left),
        }
    }

    fn before_gauging(state: &View, job: &JobView) -> Self {
        if job.evidence == Evidence::default() && job.notes.is_empty() {
            Self::Complaint
        } else if job.insert.is_none() && job.seat.bearing.is_none() {
            Self::Insert
        } else if !ring_is_set(state) {
            Self::Ring
        } else {
            Self::Found
        }
    }

    /// Once everything is gauged: `unbegun` until the first step of the fitting is ticked.
    fn after(job: &JobView, unbegun: Self) -> Self {
        let steps = steps_of(Language::En, job, Part::Fitting);
        let ticked = |step: &&Tickable| job.ticked.iter().any(|id| *id == step.id);
        match steps.iter().filter(ticked).count() {
            0 => unbegun,
            all if all == steps.len() => Self::Done,
            _ => Self::Fitting,
        }
    }

    /// Whether it can be shown while the job is at `now`.
    fn can_be_shown(self, job: &JobView, now: Self) -> bool {
        match self {
            Self::Complaint | Self::Insert | Self::Ring | Self::Done => true,
            Self::Findings => self <= now || job.findings.is_some(),
            Self::Work => self <= now && path(job) == Path::Cut,
            Self::Left => {
                job.phase == Phase::AsLeft || job.sections.iter().any(|s| s.phase == Phase::AsLeft)
            }
            Self::Fitting => self <= now || job.next.is_none() && path(job) != Path::Open,
            Self::Found => true,
        }
    }

    /// Whether what the step is for was done, for one that the job is past.
    fn is_done(self, state: &View, job: &JobView) -> bool {
        match self {
            // A job is opened with its part.
            Self::Complaint => true,
            Self::Insert => job.insert.is_some() || job.seat.bearing.is_some(),
            Self::Ring => ring_is_set(state),
            Self::Found => job.sections.iter().any(|s| s.phase == Phase::AsFound),
            Self::Findings => path(job) != Path::Open,
            Self::Work => path(job) == Path::Cut,
            Self::Left => job.sections.iter().any(|s| s.phase == Phase::AsLeft),
            Self::Fitting => Self::after(job, Self::Left) == Self::Done,
            Self::Done => false,
        }
    }

    /// The strip of steps: those done with a tick, those passed by without with a dash, the one shown
    /// filled, the one that the job is at underlined.
    pub(super) fn strip(self, lang: Language, state: &View, job: &JobView) -> Markup {
        let now = Self::of(state, job);
        html! {
            nav #steps data-part aria-label=(lang.say("steps.title")) {
                button #all-steps type="button" aria-expanded="false" aria-controls="step-list" {
                    (lang.fill("steps.of", &[("n", &(self as usize + 1)), ("step", &lang.say(self.key()))]))
                }
                ol #step-list {
                    @for (index, step) in Self::ALL.into_iter().enumerate() {
                        @let (mark, said) = match step {
                            step if step >= now => ((index + 1).to_string(), None),
                            step if step.is_done(state, job) => ("✓".to_owned(), Some("steps.was-done")),
                            _ => ("–".to_owned(), Some("steps.not-done")),
                        };
                        @let name = lang.say(step.key());
                        li {
                            button type="button" data-step=(step.word()) class=[(step == now).then_some("now")]
                                aria-label=[said.map(|said| format!("{name}, {}", lang.say(said)))]
                                aria-current=[(step == self).then_some("step")] disabled[!step.can_be_shown(job, now)] {
                                span.number aria-hidden="true" { (mark) }
                                (name)
                            }
                        }
                    }
                }
            }
        }
    }
}

/// Whether every bore gauge was set in a ring that is in date; a bench without a gauge types.
pub(super) fn ring_is_set(state: &View) -> bool {
    let mut bore = state.gauges.iter().filter(|gauge| gauge.role == "bore");
    let wired: Vec<_> = bore.clone().filter(|gauge| gauge.name != TYPED).collect();
    if wired.is_empty() {
        bore.any(|gauge| gauge.size_set && !gauge.ring_out_of_date)
    } else {
        wired
            .iter()
            .all(|gauge| gauge.size_set && !gauge.ring_out_of_date)
    }
}

/// Where the choices lead.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Path {
    /// A bore is still to be chosen for, or to be gauged again.
    Open,
    /// Something is cut.
    Cut,
    /// It is fitted as it is.
    Fit,
    /// It goes to its maker.
    Away,
}

/// Where the choices for the bores that were gauged lead.
pub(super) fn path(job: &JobView) -> Path {
    let Some(findings) = &job.findings else {
        return Path::Open;
    };
    let mut path = Path::Away;
    // A part of which one bore goes to the maker goes there whole.
    let mut referred = false;
    for bore in &findings.examined.bores {
        let Some(chosen) = job.chosen.get(&bore.bore) else {
            return Path::Open;
        };
        match chosen.work {
            Work::GaugeAgain => return Path::Open,
            Work::Ream | Work::ReamAndBond | Work::Sleeve => path = Path::Cut,
            Work::Press | Work::Bond if path == Path::Away => path = Path::Fit,
            Work::Refer => referred = true,
            Work::Press | Work::Bond | Work::OtherInsert => {}
        }
    }
    if referred { Path::Away } else { path }
}

/// What a list of steps is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Part {
    /// Cutting.
    Work,
    /// Everything after it.
    Fitting,
    /// What is heeded throughout.
    Caution,
}

/// The steps of what was chosen for all bores, each once; what differs from bore to bore is said of
/// each.
pub(super) fn steps_of(lang: Language, job: &JobView, part: Part) -> Vec<Tickable> {
    let mut steps: Vec<(Tickable, &str)> = Vec::new();
    let bores = job.findings.iter().flat_map(|f| &f.examined.bores);
    for bore in bores {
        let Some(chosen) = job.chosen.get(&bore.bore) else {
            continue;
        };
        let fit = fit_of(bore, chosen);
        for mut step in checklist(chosen.work, fit) {
            let of = match step.id.as_ref() {
                _ if step.caution => Part::Caution,
                "ream" | "bore-out" | "chips" => Part::Work,
                // Gauging as left is a step of the job, not of a list.
                "as-left" => continue,
                _ => Part::Fitting,
            };
            if of != part {
                continue;
            }
            let name = lang.name_of(&bore.bore);
            step.text = text_of(lang, &step, fit.and_then(|fit| fit.press_force_n));
            match steps.iter_mut().find(|(known, _)| known.id == step.id) {
                Some((known, _)) if known.text == step.text => {}
                Some((known, first)) => {
                    if !first.is_empty() {
                        known.text = format!("{}: {}", capital(first), known.text);
                        *first = "";
                    }
                    known.text = format!("{}\n{}: {}", known.text, capital(name), step.text);
                }
                None => steps.push((step, name)),
            }
        }
    }
    steps.into_iter().map(|(step, _)| step).collect()
}

/// What a step says in the page's language; as the checklist has it where the table lacks it.
fn text_of(lang: Language, step: &Tickable, force_n: Option<Range>) -> String {
    if step.id != "force" {
        let known = lang.line("todo", &step.id);
        return known.unwrap_or(&step.text).to_owned();
    }
    match force_n {
        Some(force) if force.greatest > 0.0 => {
            let (least, greatest) = (
                lang.decimal(force.least, 0),
                lang.decimal(force.greatest, 0),
            );
            lang.fill("todo.force", &[("least", &least), ("greatest", &greatest)])
        }
        Some(_) => lang.say("todo.force-none").to_owned(),
        None => lang.say("todo.force-unknown").to_owned(),
    }
}

/// The fit that the insert will have once the work chosen is done.
fn fit_of<'a>(bore: &'a ExaminedBore, chosen: &Chosen) -> Option<&'a Fit> {
    let mut options = bore.plan.options.iter();
    options
        .find(|option| option.work == chosen.work && option.with == chosen.with)
        .and_then(|option| option.predicted.as_ref()?.fit.as_ref())
        .or(bore.fit.as_ref())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The table says in English what the checklist says, and says every caution and step in German:
    /// nobody is to press or cut by a list that only half can be read.
    #[test]
    fn every_step_and_caution_is_said_in_both_languages() {
        for work in [
            Work::Press,
            Work::GaugeAgain,
            Work::Bond,
            Work::Ream,
            Work::ReamAndBond,
            Work::Sleeve,
            Work::OtherInsert,
            Work::Refer,
        ] {
            for step in checklist(work, None) {
                assert_eq!(text_of(Language::En, &step, None), step.text);
                assert_ne!(text_of(Language::De, &step, None), step.text);
                assert!(Language::De.line("step", &step.id).is_some(), "{}", step.id);
            }
        }
        let (force, step) = (
            Range {
                least: 900.0,
                greatest: 1500.0,
            },
            checklist(Work::Press, None)
                .into_iter()
                .find(|step| step.id == "force"),
        );
        let text = text_of(Language::De, &step.unwrap(), Some(force));
        assert!(text.contains("900 bis 1500 N"), "{text}");
    }
}
