//! A reading that the others of its section contradict, and the one touch that leaves it out. The
//! mechanic decides, never the program.

use maud::{Markup, html};

use super::findings::shape;
use super::words::{self, Language, Standing};
use crate::bore::{Oval, Suspect};
use crate::job::{JobView, LeftOut, Phase, SectionNumbers, Station};
use crate::uncertainty::Decision;

/// The suspects of a phase, of one bore or of all, and the readings that were left out of it.
pub(super) fn suspects(lang: Language, job: &JobView, phase: Phase, bore: Option<&str>) -> Markup {
    let of = |name: &str| bore.is_none_or(|bore| bore == name);
    let sections = job
        .sections
        .iter()
        .filter(|section| section.phase == phase && of(&section.numbers.bore));
    let left_out = job
        .left_out
        .iter()
        .filter(|out| out.phase == phase && of(&out.station.bore));
    html! {
        @for section in sections {
            @if let (Some(suspect), Some(seq)) = (&section.numbers.numbers.suspect, section.numbers.suspect_seq) {
                (one(lang, &section.numbers, suspect, seq))
            }
        }
        @if let Some((section, angle_deg)) = doubtful(job, phase, of) {
            (again(lang, job, phase, section, angle_deg))
        }
        @for out in left_out { (left_out_line(lang, out)) }
    }
}

/// The section that scatters most of those whose verdict is open for too few readings to call one of
/// them wild, and where the furthest lies.
fn doubtful(
    job: &JobView,
    phase: Phase,
    of: impl Fn(&str) -> bool,
) -> Option<(&SectionNumbers, f64)> {
    let open = |section: &SectionNumbers| {
        let (size, form) = (&section.verdict.size, &section.verdict.form);
        let size = size.decision == Decision::CantTell && section.numbers.size_set;
        size || form.decision == Decision::CantTell
    };
    let sections = job.sections.iter().filter(|section| section.phase == phase);
    sections
        .map(|section| &section.numbers)
        .filter(|section| of(&section.bore) && open(section))
        .filter_map(|section| Some((section, section.numbers.doubtful_deg()?)))
        .max_by(|(a, _), (b, _)| {
            let scatter = |s: &SectionNumbers| s.numbers.residual_mm.unwrap_or(0.0);
            scatter(a).total_cmp(&scatter(b))
        })
}

fn again(
    lang: Language,
    job: &JobView,
    phase: Phase,
    section: &SectionNumbers,
    angle_deg: f64,
) -> Markup {
    let depth_mm = section.numbers.depth_mm;
    let place = place(lang, &section.bore, depth_mm, angle_deg);
    let go_to = serde_json::json!({
        "command": "go_to", "bore": section.bore, "depth_mm": depth_mm, "angle_deg": angle_deg,
    });
    html! {
        div.suspect.cant-tell {
            (shape(Standing::CantTell))
            div {
                p { b { (lang.fill("suspect.furthest", &[("place", &place)])) } }
                p.hint { (lang.say("suspect.few")) }
            }
            @if phase == job.phase {
                button type="button" data-command=(go_to) aria-label={ (lang.say("suspect.again")) ": " (place) } {
                    (lang.say("suspect.again"))
                }
            }
        }
    }
}

fn one(lang: Language, section: &SectionNumbers, suspect: &Suspect, seq: u64) -> Markup {
    let numbers = &section.numbers;
    let place = place(lang, &section.bore, numbers.depth_mm, suspect.angle_deg);
    let value = size(lang, suspect.reading_mm);
    let says = match suspect.others_mm {
        Some(others) => {
            let others = size(lang, others);
            let values: [(&str, &dyn std::fmt::Display); 3] =
                [("place", &place), ("value", &value), ("others", &others)];
            lang.fill("suspect.says", &values)
        }
        None => lang.fill("suspect.alone", &[("place", &place), ("value", &value)]),
    };
    let without = &suspect.without;
    let with = said(
        lang,
        [
            numbers.mean_diameter_mm,
            numbers.out_of_round_mm,
            oval(numbers.oval),
        ],
    );
    let without = said(
        lang,
        [
            without.mean_diameter_mm,
            without.out_of_round_mm,
            oval(without.oval),
        ],
    );
    html! {
        div.suspect.cant-tell {
            (shape(Standing::CantTell))
            div {
                p { b { (says) } }
                p.hint {
                    (lang.fill("suspect.with", &[("numbers", &with)])) " "
                    (lang.fill("suspect.without", &[("numbers", &without)]))
                }
            }
            button type="button" data-command=(serde_json::json!({"command": "drop_reading", "seq": seq}))
                aria-label={ (lang.say("suspect.leave-out")) ": " (place) } {
                (lang.say("suspect.leave-out"))
            }
        }
    }
}

/// What was left out, and while nothing else was done since, the touch that brings it back.
fn left_out_line(lang: Language, out: &LeftOut) -> Markup {
    let Station {
        bore,
        depth_mm,
        angle_deg,
    } = &out.station;
    let place = place(lang, bore, *depth_mm, *angle_deg);
    let value = size(lang, out.value_mm);
    html! {
        div.suspect.open {
            div {
                p { (lang.fill("suspect.left-out", &[("place", &place), ("value", &value)])) }
            }
            @if out.undo {
                button type="button" data-command="{\"command\":\"undo\"}" { (lang.say("suspect.back")) }
            }
        }
    }
}

fn place(lang: Language, bore: &str, depth_mm: f64, angle_deg: f64) -> String {
    let section = words::section_short(lang, bore, depth_mm);
    format!("{section}, {}", lang.degrees(angle_deg))
}

/// A size; a deviation, which no bore is as small as, with its sign.
fn size(lang: Language, mm: f64) -> String {
    if mm.abs() < 2.5 {
        lang.signed(mm, 3)
    } else {
        lang.mm(mm)
    }
}

fn oval(oval: Option<Oval>) -> Option<f64> {
    oval.map(|oval| oval.size_mm)
}

fn said(lang: Language, numbers: [Option<f64>; 3]) -> String {
    let names = ["suspect.mean", "suspect.round", "suspect.oval"];
    let known = names.into_iter().zip(numbers);
    let known = known.filter_map(|(name, mm)| Some(lang.fill(name, &[("mm", &lang.mm(mm?))])));
    known.collect::<Vec<_>>().join(", ")
}
