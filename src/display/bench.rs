//! The whole page, and which section of the job it shows.

use maud::{DOCTYPE, Markup, html};
use serde::Deserialize;

use super::drawing::{Axes, Face, Limits, Lobe, Spot, SpotState};
use super::state::{OnBench, SectionNumbers, State, Status};
use super::{forms, parts, words};
use crate::bore::Contact;
use crate::job::{Body, Event, Phase};

/// Which section a page asks to see; empty: the one being gauged.
#[derive(Debug, Clone, Default, Deserialize)]
pub(super) struct Look {
    bore: Option<String>,
    depth_mm: Option<f64>,
    phase: Option<Phase>,
}

/// The section shown.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Focus {
    pub(super) bore: String,
    pub(super) depth_mm: f64,
    pub(super) phase: Phase,
}

/// The whole page.
pub(super) fn page(state: &State) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { "Borewright" }
                link rel="icon" href="/icon.svg" type="image/svg+xml";
                link rel="stylesheet" href="/page.css";
                script src="/page.js" defer {}
            }
            body {
                div #gone role="alert" hidden {
                    strong { "No connection to Borewright." }
                    " Nothing below is live. It will come back by itself once the daemon runs; it was last heard at "
                    time #gone-since {} "."
                }
                (moving_parts(state, &Look::default()))
                p #message role="status" hidden {}
                noscript { p.why { "This page needs its script, which comes from the daemon itself." } }
            }
        }
    }
}

/// Everything on the page that follows the state.
pub(super) fn moving_parts(state: &State, look: &Look) -> Markup {
    let job = state.on_bench.as_ref();
    let shown = job.and_then(|job| focus(state, job, look));
    let heard = parts::heard(state);
    html! {
        div #bench data-screen=(if job.is_some() { "job" } else { "start" }) data-seq=(state.seq)
            data-heard=(heard.0) data-heard-seq=(heard.1) {
            (parts::header(state))
            main {
                @match (job, &shown) {
                    (Some(job), Some(shown)) => {
                        div.screen {
                            (parts::reading(state))
                            (parts::next(job))
                            (forms::type_reading())
                            (forms::bar(job))
                            (parts::verdict(job, shown))
                            (parts::drawing(job, shown))
                            (parts::numbers(job, shown))
                        }
                        div.below { (parts::sections(job, shown)) (parts::stations(job)) }
                    }
                    _ => { div.screen { (parts::reading(state)) (forms::start(state)) } }
                }
            }
            @if let Some(job) = job { (forms::more(state, job)) (forms::close(job)) }
        }
    }
}

/// The section to show: the one asked for, else that of the newest reading of this phase, else
/// that of the next station.
pub(super) fn focus(state: &State, job: &OnBench, look: &Look) -> Option<Focus> {
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
    newest(state, job).filter(exists).or_else(|| {
        let station = job
            .next
            .as_ref()
            .or_else(|| job.stations.first().map(|s| &s.station))?;
        Some(Focus {
            bore: station.bore.clone(),
            depth_mm: station.depth_mm,
            phase: job.phase,
        })
    })
}

/// The section of the newest reading, where it belongs to the present phase of this job.
fn newest(state: &State, job: &OnBench) -> Option<Focus> {
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
    /// Whether these are the numbers of this section.
    pub(super) fn is(&self, section: &SectionNumbers) -> bool {
        section.bore == self.bore
            && section.depth_mm == self.depth_mm
            && section.phase == self.phase
    }

    /// Its numbers, once there are any.
    pub(super) fn numbers<'a>(&self, job: &'a OnBench) -> Option<&'a SectionNumbers> {
        job.sections.iter().find(|section| self.is(section))
    }
}

/// The drawing of a section of the job.
pub(super) fn face(job: &OnBench, shown: &Focus) -> Option<Face> {
    let bore = words::bore_of(&job.seat, &shown.bore)?;
    let section = shown.numbers(job);
    let mean_mm = section.and_then(|s| s.mean_diameter_mm);
    let spots: Vec<Spot> = if shown.phase == job.phase {
        job.stations
            .iter()
            .filter(|s| s.station.bore == shown.bore && s.station.depth_mm == shown.depth_mm)
            .map(|s| Spot {
                angle_deg: s.station.angle_deg,
                state: match (s.status, s.value_mm) {
                    (Status::Measured, Some(value)) => SpotState::Measured(value),
                    (Status::Skipped, _) => SpotState::Skipped,
                    _ if job.next.as_ref() == Some(&s.station) => SpotState::Next,
                    _ => SpotState::ToDo,
                },
            })
            .collect()
    } else {
        Vec::new()
    };
    // A comparator without a ring gives deviations, which no size limit can be drawn to.
    let about_size = |value: f64| (value - bore.nominal_mm).abs() < bore.nominal_mm / 2.0;
    let sizes = mean_mm.is_none_or(about_size)
        && spots.iter().all(|spot| match spot.state {
            SpotState::Measured(value) => about_size(value),
            _ => true,
        });
    let size = |size: f64| {
        if sizes {
            words::mm(size)
        } else {
            words::signed(size, 3)
        }
    };
    let axes = section.and_then(|section| {
        let (oval, mean) = (section.oval.as_ref()?, mean_mm?);
        Some(Axes {
            tight_deg: oval.tight_axis_deg,
            tight_label: size(mean - oval.size_mm / 2.0),
            long_deg: oval.long_axis_deg,
            long_label: size(mean + oval.size_mm / 2.0),
        })
    });
    Some(Face {
        title: format!(
            "{}, {} mm deep, {}, seen from its face",
            shown.bore,
            words::short(shown.depth_mm),
            shown.phase
        ),
        landmark: job.seat.landmark.clone(),
        contact: section.and_then(|s| s.contact).unwrap_or(Contact::TwoPoint),
        limits: sizes.then_some(Limits {
            lower_mm: bore.lower_mm,
            upper_mm: bore.upper_mm,
            target_mm: bore.target_mm,
        }),
        nominal_mm: bore.nominal_mm,
        mean_mm,
        lobes: section.map_or_else(Vec::new, |section| {
            section
                .lobes
                .iter()
                .map(|lobe| Lobe {
                    count: lobe.count,
                    amplitude_mm: lobe.amplitude_mm,
                    peak_deg: lobe.peak_deg,
                })
                .collect()
        }),
        axes,
        spots,
    })
}
