//! The whole page, and which section of the job it shows.

use maud::{DOCTYPE, Markup, html};
use serde::Deserialize;

use super::assets::MODULES;
use super::step::Step;
use super::words::Language;
use super::{parts, screens, words};
use crate::bore::Section;
use crate::drawing::{Axes, Cut, Face, Limits, Lobe, Long, LongBore, Spot, SpotState, Wall};
use crate::job::{Body, Event, JobView, OfPhase, Phase, SeatBore, SectionNumbers, Status, View};
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
    let step = job.map(|job| look.step.unwrap_or_else(|| Step::of(state, job)));
    let shown = job.and_then(|job| focus(state, job, &look.at(step, job)));
    html! {
        div #bench data-screen=(if job.is_some() { "job" } else { "start" }) data-seq=(state.seq) data-now=(now)
            data-step=(step.map_or("start", Step::word)) data-heard=(heard.0) data-heard-seq=(heard.1) {
            (parts::header(lang, state))
            @if let (Some(job), Some(step)) = (job, step) { (step.strip(lang, state, job)) }
            main {
                @match (job, step, &shown) {
                    (Some(job), Some(step), Some(shown)) => {
                        (screens::screen(lang, state, job, step, (shown, look)))
                    }
                    _ => { (screens::start(lang, state)) }
                }
            }
            @if let Some(job) = job { (screens::more(lang, job)) (screens::close(lang, job)) }
        }
    }
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
        .or_else(|| worst(job, phase).filter(|_| !gauging))
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

/// The section that is most out of round.
fn worst(job: &JobView, phase: Phase) -> Option<Focus> {
    job.sections
        .iter()
        .filter(|section| section.phase == phase)
        .max_by(|a, b| {
            let of = |s: &OfPhase<SectionNumbers>| s.numbers.numbers.out_of_round_mm.unwrap_or(0.0);
            of(a).total_cmp(&of(b))
        })
        .map(Focus::on)
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

/// The drawing of a section of the job.
pub(super) fn face(lang: Language, job: &JobView, shown: &Focus) -> Option<Face> {
    let bore = words::bore_of(&job.seat, &shown.bore)?;
    let numbers = shown.numbers(job).map(|section| &section.numbers);
    let spots = spots(job, shown);
    let values = || {
        spots.iter().filter_map(|spot| match spot.state {
            SpotState::Measured(value) => Some(value),
            _ => None,
        })
    };
    // Without a ring a comparator gives deviations, which no limit can be drawn to: the wall is
    // then drawn about the mean of its stations.
    let sizes = values().all(|value| (value - bore.nominal_mm).abs() < bore.nominal_mm / 2.0);
    let wall = numbers.and_then(|numbers| match numbers.mean_diameter_mm {
        Some(mean) => wall(numbers, mean),
        None => {
            let form = wall(numbers, 0.0)?;
            let mean_mm = middle(&spots, |deg| form.diameter_mm(deg))?;
            Some(Wall { mean_mm, ..form })
        }
    });
    let found = Focus {
        phase: Phase::AsFound,
        ..shown.clone()
    };
    let before = found
        .numbers(job)
        .filter(|_| shown.phase == Phase::AsLeft && sizes)
        .and_then(|found| wall_by_size(&found.numbers));
    Some(Face {
        title: lang.fill(
            "drawing.caption",
            &[
                ("bore", &shown.bore),
                ("depth", &lang.short(shown.depth_mm)),
                ("phase", &words::phase(lang, shown.phase)),
            ],
        ),
        landmark: job.seat.landmark.clone(),
        contact: job.contact,
        limits: sizes.then(|| limits(bore)),
        nominal_mm: bore.nominal_mm,
        uncertainty_mm: numbers.and_then(known_to),
        axes: numbers.and_then(|numbers| axes(lang, numbers, wall.as_ref()?.mean_mm, sizes)),
        wall,
        before,
        spots,
    })
}

/// The mean of what the stations show beyond the form at their angles.
fn middle(spots: &[Spot], form: impl Fn(f64) -> f64) -> Option<f64> {
    let (sum, count) = spots
        .iter()
        .fold((0.0, 0.0), |(sum, count), spot| match spot.state {
            SpotState::Measured(value) => (sum + value - form(spot.angle_deg), count + 1.0),
            _ => (sum, count),
        });
    (count > 0.0).then_some(sum / count)
}

fn wall_by_size(numbers: &Section) -> Option<Wall> {
    wall(numbers, numbers.mean_diameter_mm?)
}

/// The fitted wall about a mean; none before there was enough to fit.
fn wall(numbers: &Section, mean_mm: f64) -> Option<Wall> {
    (!numbers.lobes.is_empty()).then(|| Wall {
        mean_mm,
        lobes: lobes(numbers),
    })
}

/// The drawing of all bores along their depth; none where no size is known.
pub(super) fn long(job: &JobView) -> Option<Long> {
    let cuts = |bore: &str, phase: Phase| -> Vec<Cut> {
        job.sections
            .iter()
            .filter(|section| section.phase == phase && section.numbers.bore == bore)
            .filter_map(|section| {
                let numbers = &section.numbers.numbers;
                Some(Cut {
                    depth_mm: numbers.depth_mm,
                    mean_mm: numbers.mean_diameter_mm?,
                    smallest_mm: numbers.smallest_mm?,
                    largest_mm: numbers.largest_mm?,
                })
            })
            .collect()
    };
    let bores: Vec<LongBore> = job
        .seat
        .bores
        .iter()
        .map(|bore| LongBore {
            name: bore.name.clone(),
            limits: limits(bore),
            depth_mm: bore
                .depths_mm
                .iter()
                .copied()
                .fold(bore.length_mm.unwrap_or(0.0), f64::max),
            found: cuts(&bore.name, Phase::AsFound),
            left: cuts(&bore.name, Phase::AsLeft),
        })
        .collect();
    let any = bores
        .iter()
        .any(|bore| !bore.found.is_empty() || !bore.left.is_empty());
    any.then_some(Long { bores })
}

const fn limits(bore: &SeatBore) -> Limits {
    Limits {
        lower_mm: bore.lower_mm,
        upper_mm: bore.upper_mm,
        target_mm: bore.target_mm,
    }
}

fn spots(job: &JobView, shown: &Focus) -> Vec<Spot> {
    if shown.phase != job.phase {
        return Vec::new();
    }
    job.stations
        .iter()
        .filter(|s| s.station.bore == shown.bore && s.station.depth_mm == shown.depth_mm)
        .map(|s| Spot {
            angle_deg: s.station.angle_deg,
            state: match (s.status, s.value_mm) {
                _ if job.next.as_ref() == Some(&s.station) => SpotState::Next,
                (Status::Measured, Some(value)) => SpotState::Measured(value),
                (Status::Skipped, _) => SpotState::Skipped,
                _ => SpotState::ToDo,
            },
        })
        .collect()
}

/// A lobe too small to have a direction is too small to draw.
fn lobes(numbers: &Section) -> Vec<Lobe> {
    numbers
        .lobes
        .iter()
        .filter_map(|lobe| {
            Some(Lobe {
                count: lobe.count,
                amplitude_mm: lobe.amplitude_mm,
                peak_deg: lobe.peak_deg?,
            })
        })
        .collect()
}

/// Expanded uncertainty of the wall's radius at any one angle: that of the mean radius and of each
/// lobe's amplitude, in root sum of squares. Exact for evenly spread angles, where cosine and sine
/// parts are equally well known and independent.
fn known_to(numbers: &Section) -> Option<f64> {
    let expanded = |field: &str| numbers.uncertainty.get(field).map(|u| u.expanded);
    let mut square = (expanded("mean_diameter_mm").unwrap_or(0.0) / 2.0).powi(2);
    for index in 0..numbers.lobes.len() {
        square += expanded(&format!("lobes[{index}].amplitude_mm"))?.powi(2);
    }
    (square > 0.0).then(|| square.sqrt())
}

fn axes(lang: Language, numbers: &Section, mean: f64, sizes: bool) -> Option<Axes> {
    let oval = numbers.oval?;
    let label = |side: f64| {
        let half = side * oval.size_mm / 2.0;
        if sizes {
            lang.mm(mean + half)
        } else {
            lang.signed(half, 3)
        }
    };
    Some(Axes {
        tight_deg: oval.tight_axis_deg?,
        tight_label: label(-1.0),
        long_deg: oval.long_axis_deg?,
        long_label: label(1.0),
    })
}
