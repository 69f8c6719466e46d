//! The gauge in its ring, and the temperatures.

use maud::{Markup, html};

use super::{Task, go_on};
use crate::display::step::Step;
use crate::display::words::Language;
use crate::job::{GaugeView, JobView, TYPED, View};

pub(super) fn task(lang: Language, state: &View, job: &JobView) -> Task {
    let body = html! {
        h2 { (lang.say("ring.state")) }
        @for gauge in gauges(state) { (standing(lang, gauge)) }
        (set(lang, state))
        (temperature(lang, job))
    };
    Task {
        body,
        foot: Some(go_on(lang, Step::Found, "ring.on")),
    }
}

/// The gauges that can be set: those on a wire, else the one that is typed from.
fn gauges(state: &View) -> Vec<&GaugeView> {
    let wired: Vec<&GaugeView> = state.gauges.iter().filter(|g| g.name != TYPED).collect();
    if wired.is_empty() {
        state.gauges.iter().collect()
    } else {
        wired
    }
}

fn name(lang: Language, gauge: &GaugeView) -> &str {
    if gauge.name == TYPED {
        lang.say("ring.typed")
    } else {
        &gauge.name
    }
}

/// How a gauge stands to its ring, in one sentence.
fn standing(lang: Language, gauge: &GaugeView) -> Markup {
    let class = match (gauge.size_set, gauge.ring_out_of_date) {
        (true, false) => "inside",
        (true, true) => "outside",
        (false, _) => "cant-tell",
    };
    html! {
        p class={ "ring-state " (class) } {
            b { (name(lang, gauge)) }
            @if let (Some(at), Some(ring)) = (gauge.set_at, gauge.ring_mm) {
                " " (lang.fill("ring.is", &[("ring", &lang.mm(ring))])) " " time.age datetime=(at) {} "."
                @if gauge.ring_out_of_date { " " strong { (lang.say("ring.out-of-date")) } }
            } @else {
                " " (lang.say("ring.missing"))
            }
        }
    }
}

/// Setting a gauge in its ring.
pub(super) fn set(lang: Language, state: &View) -> Markup {
    html! {
        @if !state.gauges.is_empty() {
            form.columns.ring data-command="set_ring" data-done=(lang.say("ring.is-set")) autocomplete="off" {
                h3 { (lang.say("ring.title")) }
                div {
                    label for="ring-gauge" { (lang.say("ring.gauge")) }
                    select #ring-gauge name="gauge" {
                        @for gauge in &state.gauges {
                            option value=(gauge.name) {
                                (name(lang, gauge)) ", "
                                (lang.say(if gauge.size_set { "ring.set" } else { "ring.not-set" }))
                            }
                        }
                    }
                }
                div {
                    label for="ring-size" { (lang.say("ring.size")) }
                    input #ring-size name="ring_mm" required data-number inputmode="decimal"
                        value=[state.gauges.iter().find_map(|gauge| gauge.ring_mm).map(|mm| lang.mm(mm))];
                }
                div {
                    label for="ring-shown" { (lang.say("ring.shown")) }
                    input #ring-shown name="shown_mm" data-number inputmode="decimal"
                        placeholder=(lang.say("ring.shown-hint"));
                }
                div {
                    label for="ring-u" { (lang.say("ring.uncertainty")) }
                    input #ring-u name="ring_uncertainty_mm" data-number inputmode="decimal"
                        placeholder=(lang.say("ring.uncertainty-hint"));
                }
                div {
                    label for="ring-due" { (lang.say("ring.due")) }
                    input #ring-due name="ring_due" type="date";
                }
                button type="submit" { (lang.say("ring.done")) }
            }
        }
    }
}

fn temperature(lang: Language, job: &JobView) -> Markup {
    html! {
        form.columns data-command="set_temperature" data-done=(lang.say("ring.temperature-kept")) autocomplete="off" {
            h3 { (lang.say("ring.temperature")) }
            p.hint {
                @match &job.temperature {
                    Some(noted) => {
                        (lang.fill("ring.temperature-is", &[
                            ("part", &lang.short(noted.part_c)), ("ring", &lang.short(noted.ring_c)),
                            ("within", &lang.short(noted.within_k)),
                        ]))
                    }
                    None => { (lang.say("ring.temperature-none")) }
                }
            }
            div {
                label for="part-c" { (lang.say("ring.part-c")) }
                input #part-c name="part_c" required data-number inputmode="decimal";
            }
            div {
                label for="ring-c" { (lang.say("ring.ring-c")) }
                input #ring-c name="ring_c" data-number inputmode="decimal"
                    placeholder=(lang.say("ring.ring-c-hint"));
            }
            button type="submit" { (lang.say("ring.temperature-keep")) }
        }
    }
}

/// The gauge in its ring once more, so that its drift is known.
pub(super) fn check(lang: Language, state: &View) -> Markup {
    let set: Vec<&GaugeView> = state.gauges.iter().filter(|gauge| gauge.size_set).collect();
    html! {
        @if !set.is_empty() {
            form.columns.ring data-command="check_ring" data-done=(lang.say("ring.checked")) autocomplete="off" {
                h3 { (lang.say("ring.check")) }
                div {
                    label for="check-gauge" { (lang.say("ring.gauge")) }
                    select #check-gauge name="gauge" {
                        @for gauge in set { option value=(gauge.name) { (name(lang, gauge)) } }
                    }
                }
                div {
                    label for="check-shown" { (lang.say("ring.shown")) }
                    input #check-shown name="shown_mm" required data-number inputmode="decimal";
                }
                button type="submit" { (lang.say("ring.check-done")) }
            }
        }
    }
}
