//! What the mechanic can do: every control sends one command.

use maud::{Markup, html};

use super::words::{self, Language};
use crate::job::{JobView, PlanKind, Status, TYPED, View};

/// No job on the bench: open one, or take one up again.
pub(super) fn start(lang: Language, state: &View) -> Markup {
    html! {
        section #start aria-label=(lang.say("start.open")) {
            form data-command="open_job" autocomplete="off" {
                h2 { (lang.say("start.open")) }
                label for="part" { (lang.say("start.part")) }
                input #part name="part" required maxlength="120" placeholder=(lang.say("start.part-hint"));
                label for="seat" { (lang.say("start.seat")) }
                select #seat name="seat" required {
                    @for seat in &state.seats { option value=(seat.name) { (seat.title) } }
                }
                fieldset {
                    legend { (lang.say("start.how")) }
                    @for (value, name, what) in [
                        ("quick", "start.quick", "start.quick-what"),
                        ("seat", "start.by-seat", "start.by-seat-what"),
                        ("standard", "start.standard", "start.standard-what"),
                        ("full", "start.full", "start.full-what"),
                    ] {
                        label.choice {
                            input type="radio" name="plan" value=(value) checked[value == "seat"];
                            span { b { (lang.say(name)) } " " (lang.say(what)) }
                        }
                    }
                }
                button.strong type="submit" { (lang.say("start.put-on")) }
            }
        }
        section #open-jobs aria-label=(lang.say("start.open-jobs")) {
            @if !state.open_jobs.is_empty() {
                h2 { (lang.say("start.aside")) }
                @for job in &state.open_jobs {
                    button type="button" data-command=(serde_json::json!({"command": "take_up", "job": job.job})) {
                        b { (job.part) } span { (lang.fill("start.take-up", &[("phase", &words::phase(lang, job.phase))])) }
                    }
                }
            }
            (ring(lang, state))
        }
    }
}

/// The field for a reading by hand. A gauge that types like a keyboard ends with Enter.
pub(super) fn type_reading(lang: Language) -> Markup {
    html! {
        form #typing data-command="type_reading" autocomplete="off" {
            label for="typed" { (lang.say("reading.type")) }
            input #typed name="text" required maxlength="40" inputmode="none" placeholder=(lang.mm(45.963));
            button type="submit" { (lang.say("reading.enter")) }
        }
    }
}

/// What is needed again and again while gauging, always within reach.
pub(super) fn bar(lang: Language, job: &JobView) -> Markup {
    let skippable = job.next.is_some();
    html! {
        nav #bar aria-label=(lang.say("bar.title")) {
            button type="button" data-command="{\"command\":\"undo\"}" disabled[!job.can_undo] { (lang.say("bar.undo")) }
            button type="button" data-command="{\"command\":\"skip\"}" disabled[!skippable] { (lang.say("bar.skip")) }
            button type="button" data-open="more" { (lang.say("bar.more")) }
        }
    }
}

/// The rarer things.
pub(super) fn more(lang: Language, state: &View, job: &JobView) -> Markup {
    html! {
        dialog #more aria-label=(lang.say("more.title")) {
            h2 { (lang.say("more.title")) }
            p.hint {
                (lang.fill("more.plan", &[
                    ("part", &job.part), ("seat", &job.seat.title), ("plan", &plan(lang, job.plan)),
                    ("source", &job.seat.source),
                ]))
            }
            button type="button" data-command="{\"command\":\"second_turn\"}" {
                (lang.say("next.second-turn")) small { (lang.say("more.second-turn")) }
            }
            button type="button" data-command="{\"command\":\"put_aside\"}" {
                (lang.say("more.put-aside")) small { (lang.say("more.put-aside-what")) }
            }
            button type="button" data-open="close" { (lang.say("more.close")) small { (lang.say("more.close-what")) } }
            (ring(lang, state))
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
pub(super) fn close(lang: Language, job: &JobView) -> Markup {
    let left = job
        .stations
        .iter()
        .filter(|s| s.status == Status::ToDo)
        .count();
    html! {
        dialog #close aria-label=(lang.say("more.close")) {
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

/// Setting a gauge in its ring.
fn ring(lang: Language, state: &View) -> Markup {
    html! {
        @if !state.gauges.is_empty() {
            form.ring data-command="set_ring" data-done=(lang.say("ring.is-set")) autocomplete="off" {
                h3 { (lang.say("ring.title")) }
                label for="ring-gauge" { (lang.say("ring.gauge")) }
                select #ring-gauge name="gauge" {
                    @for gauge in &state.gauges {
                        option value=(gauge.name) {
                            (if gauge.name == TYPED { lang.say("ring.typed") } else { &gauge.name }) ", "
                            (lang.say(if gauge.size_set { "ring.set" } else { "ring.not-set" }))
                        }
                    }
                }
                label for="ring-size" { (lang.say("ring.size")) }
                input #ring-size name="ring_mm" required data-number inputmode="decimal";
                label for="ring-shown" { (lang.say("ring.shown")) }
                input #ring-shown name="shown_mm" data-number inputmode="decimal"
                    placeholder=(lang.say("ring.shown-hint"));
                label for="ring-u" { (lang.say("ring.uncertainty")) }
                input #ring-u name="ring_uncertainty_mm" data-number inputmode="decimal"
                    placeholder=(lang.say("ring.uncertainty-hint"));
                button type="submit" { (lang.say("ring.done")) }
            }
        }
    }
}
