//! What was found: in words, then in numbers, then what can be done about it.

use maud::{Markup, html};

use super::{Task, housing};
use crate::bore::{Contact, Section};
use crate::display::bench::Focus;
use crate::display::findings::{along, by_depth, by_section, class, of_bore, shape, within};
use crate::display::sentences::{misaligned, sentences};
use crate::display::suspect::suspects;
use crate::display::words::{self, Language, NONE, Standing};
use crate::fit::plan::{Choice, Plan, Predicted, Work};
use crate::fit::{AtFault, ExaminedBore, Fit, Range};
use crate::job::{JobView, Phase};
use crate::uncertainty::Decision;

pub(super) fn task(lang: Language, job: &JobView, shown: &Focus) -> Task {
    let Some(findings) = &job.findings else {
        let body = html! {
            h2 { (lang.say("findings.title")) }
            p.said { (lang.say("findings.none")) }
            (suspects(lang, job, Phase::AsFound, None))
        };
        return Task { body, foot: None };
    };
    let examined = &findings.examined;
    let asked = housing::is_asked(job);
    let body = html! {
        h2 class={ "fault " (fault_class(examined.diagnosis.at_fault)) } {
            (shape(fault_standing(examined.diagnosis.at_fault)))
            span {
                (lang.say(fault_key(examined.diagnosis.at_fault)))
                @if let Some(also) = examined.diagnosis.also_likely() { "; " (words::told_within(lang, &also)) }
            }
        }
        @if let Some(why) = misaligned(&examined.diagnosis) { p.said { (words::told_whole(lang, why)) } }
        @if asked { (housing::form(lang, job, false)) }
        @for bore in &examined.bores {
            section.bore-found aria-label=(words::bore(lang, &bore.bore)) {
                p.said { (sentences(lang, job, bore)) }
                (suspects(lang, job, Phase::AsFound, Some(&bore.bore)))
                (numbers(lang, job, bore, shown))
                (options(lang, job, bore))
            }
        }
        @for name in &examined.not_gauged {
            p.said { (lang.fill("findings.not-gauged", &[("bore", &words::bore(lang, name))])) }
        }
        @if !asked { (housing::form(lang, job, false)) }
        (causes(lang, job))
    };
    Task { body, foot: None }
}

const fn fault_key(at_fault: AtFault) -> &'static str {
    match at_fault {
        AtFault::Seat => "fault.seat",
        AtFault::Bearing => "fault.bearing",
        AtFault::Both => "fault.both",
        AtFault::Neither => "fault.neither",
        AtFault::Insert => "fault.insert",
        AtFault::CantTell => "fault.cant-tell",
    }
}

const fn fault_standing(at_fault: AtFault) -> Standing {
    match at_fault {
        AtFault::Seat | AtFault::Both | AtFault::Bearing | AtFault::Insert => Standing::Outside,
        AtFault::Neither => Standing::Inside,
        AtFault::CantTell => Standing::CantTell,
    }
}

const fn fault_class(at_fault: AtFault) -> &'static str {
    class(fault_standing(at_fault))
}

/// The numbers with their uncertainty; where there is little room the script folds them away.
fn numbers(lang: Language, job: &JobView, bore: &ExaminedBore, shown: &Focus) -> Markup {
    let sections = of_bore(job, Phase::AsFound, &bore.bore);
    let with = |section: &Section, field: &str, value: Option<f64>| {
        html! {
            (value.map_or_else(|| NONE.to_owned(), |mm| lang.mm(mm))) (within(lang, section, field, value))
        }
    };
    let name = format!(
        "{}: {}",
        words::bore(lang, &bore.bore),
        lang.say("findings.numbers")
    );
    let columns = ["numbers.mean", "numbers.out-of-round", "numbers.oval"];
    let rows = html! {
        @for section in sections {
            @let numbers = &section.numbers;
            @let focus = Focus {
                bore: bore.bore.clone(), depth_mm: numbers.depth_mm, phase: Phase::AsFound,
            };
            tr.shown[focus == *shown] {
                (by_depth(lang, &focus))
                td data-of=(lang.say("numbers.mean")) { (with(numbers, "mean_diameter_mm", numbers.mean_diameter_mm)) }
                td data-of=(lang.say("numbers.out-of-round")) { (with(numbers, "out_of_round_mm", numbers.out_of_round_mm)) }
                td data-of=(lang.say("numbers.oval")) { (with(numbers, "oval.size_mm", numbers.oval.map(|oval| oval.size_mm))) }
            }
        }
    };
    html! {
        details #{ "numbers-" (id(&bore.bore)) } data-roomy open {
            summary { (lang.say("findings.numbers")) }
            (by_section(lang, &name, columns, &rows))
            @if let Some(along) = along(lang, job, &bore.bore, Phase::AsFound) {
                p.hint { (words::capital(&along)) "." }
            }
            @match (&bore.fit, &bore.no_fit) {
                (Some(fit), _) => { (fit_numbers(lang, fit)) }
                (None, Some(why)) => { p.hint { (lang.say("findings.no-fit")) " " (words::told_whole(lang, why)) } }
                (None, None) => {}
            }
        }
    }
}

fn fit_numbers(lang: Language, fit: &Fit) -> Markup {
    let range = |range: Option<Range>, digits: usize, unit: &str| {
        range.map(|range| {
            format!(
                "{}–{} {unit}",
                lang.decimal(range.least, digits),
                lang.decimal(range.greatest, digits)
            )
        })
    };
    let interference = fit.uncertainty.get("interference_mm").map_or_else(
        || lang.signed(fit.interference_mm, 3),
        |u| {
            format!(
                "{} ±{}",
                lang.signed(fit.interference_mm, 3),
                lang.reach(u.expanded)
            )
        },
    );
    let mean = fit.clearance.map(|clearance| clearance.mean_um);
    let tight = fit.clearance.and_then(|clearance| clearance.tight_axis_um);
    let um = |range: Range| Range {
        least: range.least * 1e3,
        greatest: range.greatest * 1e3,
    };
    let said = |range: Option<Range>, digits: usize, unit: &str| {
        range.map(|range| format!("{} {unit}", span(lang, range, digits)))
    };
    let stress = range(fit.hoop_stress_mpa, 0, "MPa").map(|stress| match fit.yield_mpa {
        None => stress,
        Some(limit) => {
            let key = match fit.below_yield {
                Some(Decision::DoesNotConform) => "findings.yields",
                _ => "findings.yield",
            };
            let limit = lang.decimal(limit, 0);
            lang.fill(key, &[("stress", &stress), ("limit", &limit)])
        }
    });
    let rows = [
        ("findings.interference", Some(interference + " mm")),
        ("findings.pressure", range(fit.pressure_mpa, 1, "MPa")),
        ("findings.hoop-stress", stress),
        ("findings.force", range(fit.press_force_n, 0, "N")),
        (
            "findings.contraction",
            range(fit.raceway_contraction_mm.map(um), 1, "µm"),
        ),
        ("findings.clearance-mean", said(mean, 0, "µm")),
        ("findings.clearance-tight", said(tight, 0, "µm")),
    ];
    // What sits loose needs no force and strains nothing.
    let loose = fit.pressure_mpa.is_some_and(|p| p.greatest == 0.0);
    let idle = |key: &str| loose && matches!(key, "findings.hoop-stress" | "findings.force");
    html! {
        dl.row-of {
            @for (key, value) in rows.into_iter().filter(|(key, _)| !idle(key)) {
                div { dt { (lang.say(key)) } dd.small { (value.as_deref().unwrap_or(NONE)) } }
            }
        }
    }
}

/// A range in words, since a dash between two minus signs can't be read.
fn span(lang: Language, range: Range, digits: usize) -> String {
    let (least, greatest) = (
        lang.decimal(range.least, digits),
        lang.decimal(range.greatest, digits),
    );
    lang.fill(
        "findings.span",
        &[("least", &least), ("greatest", &greatest)],
    )
}

/// What can be done, side by side; what can't, with its reason, opened by a touch.
fn options(lang: Language, job: &JobView, bore: &ExaminedBore) -> Markup {
    let plan = &bore.plan;
    let chosen = job.chosen.get(&bore.bore);
    // What a three-point gauge can't see, no further turn with it shows.
    let three_point = job.contact == Contact::ThreePoint;
    let title = |of: Work| match of {
        Work::GaugeAgain if three_point => lang.say("work.gauge-two-point"),
        of => work(lang, of),
    };
    let refused: Vec<&Choice> = plan
        .options
        .iter()
        .filter(|o| o.refused.is_some())
        .collect();
    html! {
        h3 { (lang.fill("findings.choose", &[("bore", &words::bore(lang, &bore.bore))])) }
        div.options {
            @for option in plan.options.iter().filter(|o| o.refused.is_none()) {
                @let advised = option.work == plan.advice && option.with == plan.with;
                @let is_chosen = chosen.is_some_and(|c| c.work == option.work && c.with == option.with);
                article.option.advised[advised].chosen[is_chosen] {
                    h4 {
                        (title(option.work))
                        @if let Some(with) = &option.with { small { (with) } }
                    }
                    @if advised { p.badge { (lang.say("findings.advised")) } }
                    @if let Some(predicted) = &option.predicted { (outcome(lang, predicted)) }
                    @if matches!(option.work, Work::Ream | Work::ReamAndBond) && conforms(plan) {
                        p.hint { (lang.say("findings.nothing-to-cut")) }
                    }
                    ul.reasons { @for reason in &option.reasons { li { (words::told(lang, reason)) } } }
                    button type="button" aria-pressed=(is_chosen)
                        aria-label={
                            (lang.say(if is_chosen { "findings.chosen" } else { "findings.take" })) ": "
                            (words::bore(lang, &bore.bore)) ", " (title(option.work))
                        }
                        data-command=(serde_json::json!({
                            "command": "choose", "bore": bore.bore, "work": option.work, "with": option.with,
                        })) {
                        (lang.say(if is_chosen { "findings.chosen" } else { "findings.take" }))
                    }
                }
            }
        }
        @if chosen.is_some_and(|chosen| chosen.work == Work::GaugeAgain) {
            div.after {
                @if three_point {
                    button.strong type="button" data-command="{\"command\":\"put_aside\"}" {
                        (lang.say("more.put-aside"))
                        small { (lang.say("work.new-job")) }
                    }
                } @else {
                    button.strong type="button" data-command=(serde_json::json!({
                        "command": "choose", "bore": bore.bore, "work": Work::GaugeAgain,
                    })) {
                        (lang.say("next.second-turn"))
                        small { (lang.say("more.second-turn")) }
                    }
                }
            }
        }
        @if !refused.is_empty() {
            details #{ "refused-" (id(&bore.bore)) } {
                summary { (lang.fill("findings.refused", &[("count", &refused.len())])) }
                ul.plain {
                    @for option in refused {
                        li {
                            b { (work(lang, option.work)) @if let Some(with) = &option.with { ", " (with) } }
                            ": " (words::told_within(lang, option.refused.as_deref().unwrap_or_default()))
                        }
                    }
                }
            }
        }
    }
}

/// Whether the bore conforms as it is, so that nothing needs cutting.
fn conforms(plan: &Plan) -> bool {
    let mut options = plan.options.iter();
    let as_is = options.find(|option| option.work == Work::Press);
    as_is
        .and_then(|option| option.predicted.as_ref())
        .is_some_and(|as_is| as_is.size.max(as_is.form) == Decision::Conforms)
}

/// Whether a bearing keeps clearance.
const fn kept(left: Decision) -> (Standing, &'static str) {
    match left {
        Decision::Conforms => (Standing::Inside, "findings.clearance-kept"),
        Decision::CantTell => (Standing::CantTell, "findings.clearance-may-be-lost"),
        Decision::DoesNotConform => (Standing::Outside, "findings.clearance-lost"),
    }
}

/// What an option is predicted to come to.
pub(super) fn outcome(lang: Language, predicted: &Predicted) -> Markup {
    let judged = predicted.size.max(predicted.form);
    let (standing, key) = match judged {
        Decision::Conforms => (Standing::Inside, "findings.will-conform"),
        Decision::CantTell => (Standing::CantTell, "findings.may-conform"),
        Decision::DoesNotConform => (Standing::Outside, "findings.wont-conform"),
    };
    let clearance = predicted.fit.as_ref().and_then(|fit| fit.clearance);
    let left = clearance.map(|c| c.tight_axis_um.unwrap_or(c.mean_um));
    html! {
        p class={ "will " (class(standing)) } { (shape(standing)) " " (lang.say(key)) }
        @if let Some(clearance) = clearance {
            @let (standing, key) = kept(clearance.left);
            p class={ "will " (class(standing)) } { (shape(standing)) " " (lang.say(key)) }
        }
        dl {
            div {
                dt { (lang.say("numbers.mean")) }
                dd.small {
                    (lang.mm(predicted.mean_diameter_mm))
                    @if let Some(reach) = predicted.uncertainty.get("mean_diameter_mm") {
                        span.uncertainty { " ±" (lang.reach(reach.expanded)) }
                    }
                }
            }
            @if let Some(out) = predicted.out_of_round_mm {
                div { dt { (lang.say("numbers.out-of-round")) } dd.small {
                        (lang.mm(out))
                        @if let Some(reach) = predicted.uncertainty.get("out_of_round_mm") {
                            span.uncertainty { " ±" (lang.reach(reach.expanded)) }
                        }
                    }
                }
            }
            @if let Some(fit) = &predicted.fit {
                div { dt { (lang.say("findings.interference")) } dd.small { (lang.signed(fit.interference_mm, 3)) } }
            }
            @if let Some(left) = left {
                div {
                    dt { (lang.say("findings.clearance")) }
                    dd.small { (span(lang, left, 0)) " µm" }
                }
            }
            @if let Some(gap) = predicted.gap_mm.filter(|gap| gap.greatest > 0.0) {
                div { dt { (lang.say("findings.gap")) } dd.small { (span(lang, gap, 3)) } }
            }
            @if let Some(wall) = predicted.wall_left_mm {
                div { dt { (lang.say("findings.wall")) } dd.small { (lang.decimal(wall, 2)) } }
            }
        }
    }
}

pub(in crate::display) fn work(lang: Language, work: Work) -> &'static str {
    lang.say(match work {
        Work::Press => "work.press",
        Work::GaugeAgain => "work.gauge-again",
        Work::Bond => "work.bond",
        Work::Ream => "work.ream",
        Work::ReamAndBond => "work.ream-and-bond",
        Work::Sleeve => "work.sleeve",
        Work::OtherInsert => "work.other-insert",
        Work::Refer => "work.refer",
    })
}

/// Which causes remain, with what speaks for and against each.
fn causes(lang: Language, job: &JobView) -> Markup {
    use crate::fit::{CauseKind, Standing as Stands};
    let Some(findings) = &job.findings else {
        return html! {};
    };
    let diagnosis = &findings.examined.diagnosis;
    html! {
        details #causes {
            summary { (lang.say("causes.title")) }
            p { (words::told_whole(lang, &diagnosis.summary)) }
            dl.causes {
                @for cause in &diagnosis.causes {
                    div {
                        dt {
                            b {
                                (lang.say(match cause.cause {
                                    CauseKind::SeatUndersize => "causes.undersize",
                                    CauseKind::SeatOval => "causes.oval",
                                    CauseKind::SeatTaper => "causes.taper",
                                    CauseKind::RaisedSpot => "causes.spot",
                                    CauseKind::SeatOversize => "causes.oversize",
                                    CauseKind::TightFit => "causes.tight-fit",
                                    CauseKind::Bearing => "causes.bearing",
                                    CauseKind::Misaligned => "causes.misaligned",
                                    CauseKind::Contamination => "causes.dirt",
                                }))
                            }
                            ": "
                            (lang.say(match cause.standing {
                                Stands::Shown => "causes.shown",
                                Stands::Likely => "causes.likely",
                                Stands::Possible => "causes.possible",
                                Stands::NotKnown => "causes.not-known",
                                Stands::Unlikely => "causes.unlikely",
                                Stands::RuledOut => "causes.ruled-out",
                            }))
                        }
                        @for reason in &cause.reasons_for { dd.note { "+ " (words::told_within(lang, reason)) } }
                        @for reason in &cause.against { dd.note { "− " (words::told_within(lang, reason)) } }
                    }
                }
            }
        }
    }
}

/// A bore's name as part of an element's id.
pub(super) fn id(bore: &str) -> String {
    let letter = |c: char| if c.is_ascii_alphanumeric() { c } else { '-' };
    bore.chars().map(letter).collect()
}
