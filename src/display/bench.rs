//! The whole page, and which section of the job it shows.

use maud::{DOCTYPE, Markup, html};
use serde::Deserialize;

use super::assets::MODULES;
use super::findings::worst_of;
use super::step::Step;
use super::words::Language;
use super::{health, parts, screens, words};
use crate::job::{Body, Event, JobView, OfPhase, Phase, SectionNumbers, Status, View};
use crate::units::Moment;

/// Which section a page asks to see; empty: the one being gauged.
#[derive(Debug, Clone, Default, Deserialize)]
pub(super) struct Look {
    bore: Option<String>,
    depth_mm: Option<f64>,
    phase: Option<Phase>,
    /// Which step of the job; empty: the one that the job is at.
    step: Option<Step>,
    /// In which language; empty: the shop's, else the browser's.
    lang: Option<String>,
    /// Which answer the page shows.
    pub(super) held: Option<String>,
    /// Which drawing of it.
    #[serde(default)]
    pub(super) view: Drawn,
}

impl Look {
    /// The language asked for, where the table holds it.
    pub(super) fn language(&self) -> Option<Language> {
        self.lang.as_deref().and_then(Language::by_tag)
    }

    /// With the phase that `step` is about, where none is asked for.
    fn at(&self, step: Option<Step>, job: &JobView) -> Self {
        let phase = match step {
            Some(Step::Found | Step::Findings | Step::Work) => Phase::AsFound,
            Some(Step::Left) => Phase::AsLeft,
            _ => job.phase,
        };
        Self {
            phase: self.phase.or(Some(phase)),
            ..self.clone()
        }
    }
}

/// Which drawing.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Drawn {
    /// The section from the bore's face.
    #[default]
    Face,
    /// The section unrolled.
    Unrolled,
    /// All bores along their depth.
    Along,
}

/// The section shown.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Focus {
    pub(super) bore: String,
    pub(super) depth_mm: f64,
    pub(super) phase: Phase,
}

/// The whole page.
pub(super) fn page(lang: Language, state: &View, look: &Look, now: Moment) -> Markup {
    html! {
        (DOCTYPE)
        html lang=(lang.tag()) {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { "Borewright" }
                link rel="icon" href="/icon.svg" type="image/svg+xml";
                link rel="stylesheet" href="/page.css";
                @for module in MODULES { link rel="modulepreload" href=(module); }
                script type="module" src="/page.js" {}
            }
            body data-words=(lang.table("script")) {
                div #gone role="alert" hidden {
                    strong { (lang.say("frame.gone")) } " " (lang.say("frame.gone-more")) " "
                    time #gone-since {} "."
                }
                (moving_parts(lang, state, look, now))
                p #message role="alert" hidden {}
                noscript { p.why { (lang.say("frame.no-script")) } }
            }
        }
    }
}

/// Everything on the page that follows the state. By `now` the script tells how far its own clock is
/// off, so that the age of a reading is right on a tablet whose clock is not.
pub(super) fn moving_parts(lang: Language, state: &View, look: &Look, now: Moment) -> Markup {
    let job = state.on_bench.as_ref();
    let heard = parts::heard(state);
    let in_ring = in_ring(state);
    let step = job.map(|job| look.step.unwrap_or_else(|| Step::of(state, job)));
    let shown = job.and_then(|job| focus(state, job, &look.at(step, job)));
    html! {
        div #bench data-screen=(if job.is_some() { "job" } else { "start" }) data-seq=(state.seq) data-now=(now)
            data-step=(step.map_or("start", Step::word)) data-heard=(heard.0) data-heard-seq=(heard.1)
            data-noise=(state.gauges.iter().map(|gauge| gauge.noise).sum::<u64>())
            data-job=[job.map(|job| job.job)] data-in-ring=(in_ring.0) data-ring-readings=(in_ring.1)
            data-at-work=(state.at_work.as_ref().map(|at_work| at_work.since.to_string()).unwrap_or_default()) {
            (parts::header(lang, state))
            (parts::at_work(lang, state))
            @if let (Some(job), Some(step)) = (job, step) { (step.strip(lang, state, job)) }
            main {
                @match (job, step, &shown) {
                    (Some(job), Some(step), Some(shown)) => {
                        (screens::screen(lang, state, job, step, (shown, look)))
                    }
                    _ => { (screens::start(lang, state)) }
                }
            }
            (health::dialogs(lang, state))
            @if let Some(job) = job { (screens::more(lang, job)) (screens::close(lang, job)) }
        }
    }
}

/// Which gauges are in a ring, as the script reads it, and how many readings they sent there.
fn in_ring(state: &View) -> (serde_json::Value, usize) {
    let gauges = state.gauges.iter();
    let (names, counts): (Vec<&str>, Vec<usize>) = gauges
        .filter_map(|gauge| Some((gauge.name.as_str(), gauge.in_ring.as_ref()?.readings)))
        .unzip();
    (serde_json::json!(names), counts.iter().sum())
}

/// The section to show: the one asked for, else that of the newest reading of this phase, else
/// that of the next station.
pub(super) fn focus(state: &View, job: &JobView, look: &Look) -> Option<Focus> {
    let exists = |focus: &Focus| {
        words::bore_of(&job.seat, &focus.bore).is_some()
            && (job
                .stations
                .iter()
                .any(|s| s.station.bore == focus.bore && s.station.depth_mm == focus.depth_mm)
                || job.sections.iter().any(|s| focus.is(s)))
    };
    if let (Some(bore), Some(depth_mm)) = (&look.bore, look.depth_mm) {
        let asked = Focus {
            bore: bore.clone(),
            depth_mm,
            phase: look.phase.unwrap_or(job.phase),
        };
        if exists(&asked) {
            return Some(asked);
        }
    }
    let phase = look.phase.unwrap_or(job.phase);
    let gauging = phase == job.phase && job.next.is_some();
    newest(state, job)
        .filter(|_| gauging)
        .filter(exists)
        .or_else(|| worst_of(job, phase, |_| true).filter(|_| !gauging))
        .or_else(|| {
            let station = job
                .next
                .as_ref()
                .or_else(|| job.stations.first().map(|s| &s.station))?;
            Some(Focus {
                bore: station.bore.clone(),
                depth_mm: station.depth_mm,
                phase,
            })
        })
}

/// The section of the newest reading, where it belongs to the present phase of this job.
fn newest(state: &View, job: &JobView) -> Option<Focus> {
    let Some(Event {
        phase: Some(phase),
        body: Body::Reading {
            station: Some(station),
            ..
        },
        ..
    }) = &state.last_reading
    else {
        return None;
    };
    let measured = job.stations.iter().any(|s| {
        s.status == Status::Measured
            && s.station.bore == station.bore
            && s.station.depth_mm == station.depth_mm
    });
    (*phase == job.phase && measured).then(|| Focus {
        bore: station.bore.clone(),
        depth_mm: station.depth_mm,
        phase: *phase,
    })
}

impl Focus {
    /// On the section that these numbers are of.
    pub(super) fn on(section: &OfPhase<SectionNumbers>) -> Self {
        Self {
            bore: section.numbers.bore.clone(),
            depth_mm: section.numbers.numbers.depth_mm,
            phase: section.phase,
        }
    }

    /// As the script gives it back.
    pub(super) fn json(&self) -> String {
        serde_json::json!({
            "bore": self.bore,
            "depth_mm": self.depth_mm,
            "phase": self.phase,
        })
        .to_string()
    }

    /// Whether these are the numbers of this section.
    pub(super) fn is(&self, section: &OfPhase<SectionNumbers>) -> bool {
        section.numbers.bore == self.bore
            && section.numbers.numbers.depth_mm == self.depth_mm
            && section.phase == self.phase
    }

    /// Its numbers, once there are any.
    pub(super) fn numbers<'a>(&self, job: &'a JobView) -> Option<&'a SectionNumbers> {
        job.sections
            .iter()
            .find(|section| self.is(section))
            .map(|section| &section.numbers)
    }
}
