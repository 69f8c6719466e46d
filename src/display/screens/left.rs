//! As left against as found: what changed, whether it is accepted, whether the preview held.

use maud::{Markup, html};

use super::{Task, go_on};
use crate::display::bench::Focus;
use crate::display::findings::{bores, by_depth, by_section, class, sections_of, shape};
use crate::display::step::Step;
use crate::display::suspect::suspects;
use crate::display::words::{self, Language, NONE, Standing};
use crate::fit::{Outcome, PreviewHeld};
use crate::job::{JobView, Phase};
use crate::uncertainty::Decision;

pub(super) fn task(lang: Language, job: &JobView, shown: &Focus) -> Task {
    let outcomes = job.findings.iter().flat_map(|findings| &findings.outcomes);
    let body = html! {
        h2 { (lang.say("left.title")) }
        @for outcome in outcomes.clone() { (one(lang, job, outcome, shown)) }
        @if outcomes.clone().count() == 0 { p.said { (lang.say("left.none")) } (bores(lang, job, Phase::AsLeft)) }
    };
    // Going on stays possible; what isn't accepted doesn't invite to it.
    let accepted = outcomes
        .clone()
        .all(|outcome| outcome.accepted == Decision::Conforms);
    let mut ways = [(Step::Fitting, "left.on"), (Step::Findings, "left.again")];
    if !accepted {
        ways.reverse();
    }
    let [(to, key), (other, other_key)] = ways;
    let foot = html! {
        div.after {
            (go_on(lang, to, key))
            button type="button" data-step=(other.word()) { (lang.say(other_key)) }
        }
    };
    Task {
        body,
        foot: Some(foot),
    }
}

fn one(lang: Language, job: &JobView, outcome: &Outcome, shown: &Focus) -> Markup {
    let (standing, key) = match outcome.accepted {
        Decision::Conforms => (Standing::Inside, "left.accepted"),
        Decision::CantTell => (Standing::CantTell, "left.cant-tell"),
        Decision::DoesNotConform => (Standing::Outside, "left.not-accepted"),
    };
    html! {
        section.bore-found aria-label=(words::bore(lang, &outcome.bore)) {
            h3 class={ "fault " (class(standing)) } {
                (shape(standing))
                span { (words::bore(lang, &outcome.bore)) ": " (lang.say(key)) }
            }
            (suspects(lang, job, Phase::AsLeft, Some(&outcome.bore)))
            @if outcome.accepted != Decision::Conforms {
                ul.reasons { @for why in &outcome.why { li { (words::told(lang, why)) } } }
            }
            @if let Some(why) = &outcome.not_compared { p.why { (words::told_whole(lang, why)) } }
            @if !outcome.changes.is_empty() { (changes(lang, outcome, shown)) }
            @if let Some(preview) = &outcome.preview { (held(lang, preview)) }
            @if let Some(change) = &outcome.unexplained {
                p.why {
                    (lang.fill("left.unexplained", &[
                        ("change", &lang.signed(change.change_mm, 3)), ("within", &lang.mm(change.within_mm)),
                    ]))
                }
            }
        }
    }
}

/// What changed, depth by depth.
fn changes(lang: Language, outcome: &Outcome, shown: &Focus) -> Markup {
    let or_none = |mm: Option<f64>| mm.map_or_else(|| NONE.to_owned(), |mm| lang.mm(mm));
    let name = format!(
        "{}: {}",
        words::bore(lang, &outcome.bore),
        lang.say("left.changes")
    );
    let columns = ["left.mean-change", "left.round-before", "left.round-after"];
    let rows = html! {
        @for change in &outcome.changes {
            @let focus = Focus {
                bore: outcome.bore.clone(), depth_mm: change.depth_mm, phase: Phase::AsLeft,
            };
            tr.shown[focus == *shown] {
                (by_depth(lang, &focus))
                td data-of=(lang.say("left.mean-change")) {
                    (change.mean_change_mm.map_or_else(|| NONE.to_owned(), |mm| lang.signed(mm, 3)))
                    @if let Some(estimate) = &change.mean_change {
                        span.uncertainty { " ±" (lang.reach(estimate.expanded)) }
                    }
                }
                td data-of=(lang.say("left.round-before")) { (or_none(change.out_of_round_before_mm)) }
                td data-of={ (lang.say("numbers.out-of-round")) " " (lang.say("left.round-after")) } { (or_none(change.out_of_round_after_mm)) }
            }
        }
    };
    by_section(lang, &name, columns, &rows)
}

/// The preview against what came out: size, then form.
fn held(lang: Language, preview: &PreviewHeld) -> Markup {
    let form = preview.out_of_round.as_ref().map(|form| {
        (
            "left.preview-form",
            [form.predicted_mm, form.measured_mm, form.within_mm],
            form.held(),
        )
    });
    let size = [preview.predicted_mm, preview.measured_mm, preview.within_mm];
    html! {
        ul.plain {
            @for (key, [predicted, measured, within], held) in
                [("left.preview-size", size, preview.mean_held())].into_iter().chain(form)
            {
                li {
                    (lang.fill(key, &[
                        ("predicted", &lang.mm(predicted)), ("measured", &lang.mm(measured)),
                        ("within", &lang.reach(within)),
                    ])) " "
                    b { (lang.say(if held { "left.held" } else { "left.not-held" })) }
                }
            }
        }
    }
}

/// The sections of the phase that is not the present one, and the way back to gauging them.
pub(super) fn other_phase(lang: Language, job: &JobView, phase: Phase, shown: &Focus) -> Task {
    let word = match phase {
        Phase::AsFound => "as-found",
        Phase::AsLeft => "as-left",
    };
    let body = html! {
        h2 { (words::capital(words::phase(lang, phase))) }
        (bores(lang, job, phase))
        (suspects(lang, job, phase, None))
        (sections_of(lang, job, phase, shown))
    };
    let foot = html! {
        button type="button" data-command={ "{\"command\":\"set_phase\",\"phase\":\"" (word) "\"}" } {
            (lang.fill("left.gauge-again", &[("phase", &words::phase(lang, phase))]))
        }
    };
    Task {
        body,
        foot: Some(foot),
    }
}
