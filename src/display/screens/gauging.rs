//! Gauging, as found or as left: no touch is needed, send after send.

use maud::{Markup, html};

use super::start::languages;
use crate::display::bench::{Drawn, Focus};
use crate::display::suspect::suspects;
use crate::display::words::{self, Language};
use crate::display::{findings, parts};
use crate::job::{JobView, PlanKind, Status, View};

pub(super) fn screen(
    lang: Language,
    state: &View,
    job: &JobView,
    shown: &Focus,
    view: Drawn,
) -> Markup {
    html! {
        div.screen.gauging data-phase=(words::phase(lang, job.phase)) {
            div.now { (parts::reading(lang, state)) (parts::live(lang, state)) }
            (parts::next(lang, state, job))
            (type_reading(lang, job))
            (bar(lang, job))
            (findings::verdict(lang, job, shown))
            div #suspects data-part { (suspects(lang, job, shown.phase, None)) }
            (findings::drawing(lang, job, shown, (view, None), None))
            (findings::numbers(lang, job, shown))
        }
        div.below { (findings::sections(lang, job, shown)) (parts::stations(lang, job)) }
    }
}

/// The field for a reading by hand. A gauge that types like a keyboard ends with Enter.
fn type_reading(lang: Language, job: &JobView) -> Markup {
    // What the next bore should measure, so that it is seen in which unit and how finely.
    let next = job.next.as_ref();
    let bore = next.and_then(|next| words::bore_of(&job.seat, &next.bore));
    let target = bore.map(|bore| lang.mm(bore.target_mm));
    html! {
        form #typing data-part data-command="type_reading" autocomplete="off" {
            label for="typed" { (lang.say("reading.type")) }
            input #typed name="text" required maxlength="40" inputmode="none" placeholder=[target];
            button type="submit" { (lang.say("reading.enter")) }
        }
    }
}

/// What is needed again and again while gauging, always within reach.
fn bar(lang: Language, job: &JobView) -> Markup {
    html! {
        div #bar data-part role="group" aria-label=(lang.say("bar.title")) {
            button type="button" data-command="{\"command\":\"undo\"}" disabled[!job.can_undo] { (lang.say("bar.undo")) }
            button type="button" data-command="{\"command\":\"skip\"}" disabled[job.next.is_none()] { (lang.say("bar.skip")) }
        }
    }
}

/// The rarer things.
pub(in crate::display) fn more(lang: Language, job: &JobView) -> Markup {
    html! {
        dialog #more data-part aria-label=(lang.say("more.title")) {
            h2 { (lang.say("more.title")) }
            p.hint {
                (lang.fill("more.plan", &[
                    ("part", &job.part), ("seat", &lang.seat(&job.seat.title)), ("plan", &plan(lang, job.plan)),
                    ("source", &lang.source(&job.seat.source)),
                ]))
            }
            button type="button" data-command="{\"command\":\"second_turn\"}" {
                (lang.say("next.second-turn")) small { (lang.say("more.second-turn")) }
            }
            button type="button" data-command="{\"command\":\"put_aside\"}" {
                (lang.say("more.put-aside")) small { (lang.say("more.put-aside-what")) }
            }
            button type="button" data-open="close" { (lang.say("more.close")) small { (lang.say("more.close-what")) } }
            @if !job.notes.is_empty() {
                ul.notes { @for note in &job.notes { li { (note) } } }
            }
            form data-command="note" data-done=(lang.say("more.note-kept")) autocomplete="off" {
                label for="note" { (lang.say("more.note")) }
                input #note name="text" required maxlength="500";
                button type="submit" { (lang.say("more.note-keep")) }
            }
            button #voice type="button" aria-pressed="false" {
                (lang.say("more.voice")) small { (lang.say("more.voice-what")) }
            }
            form #naming autocomplete="off" {
                label for="who" { (lang.say("at-work.name")) }
                input #who name="who" required maxlength="80";
                button type="submit" { (lang.say("more.note-keep")) }
            }
            (languages(lang))
            button.strong type="button" data-close { (lang.say("more.back")) }
        }
    }
}

fn plan(lang: Language, plan: PlanKind) -> &'static str {
    lang.say(match plan {
        PlanKind::Quick => "start.quick",
        PlanKind::Standard => "start.standard",
        PlanKind::Full => "start.full",
        PlanKind::Seat => "start.by-seat",
    })
}

/// Closing is asked for twice: it ends the job.
pub(in crate::display) fn close(lang: Language, job: &JobView) -> Markup {
    let left = job
        .stations
        .iter()
        .filter(|s| s.status == Status::ToDo)
        .count();
    html! {
        dialog #close data-part aria-label=(lang.say("more.close")) {
            h2 { (lang.fill("close.ask", &[("part", &job.part)])) }
            p {
                @if left > 0 {
                    (lang.fill("close.left", &[("count", &left), ("phase", &words::phase(lang, job.phase))])) " "
                }
                (lang.say("close.what"))
            }
            button.strong type="button" data-command="{\"command\":\"close_job\"}" { (lang.say("more.close")) }
            button type="button" data-close { (lang.say("close.keep")) }
        }
    }
}
