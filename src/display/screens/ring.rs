//! The gauge in its ring, and the temperatures.

use maud::{Markup, html};

use super::{Task, go_on};
use crate::display::health;
use crate::display::step::Step;
use crate::display::words::Language;
use crate::job::{GaugeView, JobView, TYPED, View};

pub(super) fn task(lang: Language, state: &View, job: &JobView) -> Task {
    let body = html! {
        h2 { (lang.say("ring.state")) }
        @for gauge in health::gauges(state).into_iter().filter(|gauge| has_ring(gauge)) { (standing(lang, gauge)) }
        (begin(lang, state, false))
        (set(lang, state))
        (temperature(lang, job))
    };
    Task {
        body,
        foot: Some(go_on(lang, Step::Found, "ring.on")),
    }
}

/// Whether a gauge is set in a ring at all.
fn has_ring(gauge: &GaugeView) -> bool {
    gauge.role != "angle"
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

/// The touch that puts a gauge into its ring: what it sends then is shown and fills no station.
/// `checked`: only those that were set and can be held against that.
pub(super) fn begin(lang: Language, state: &View, checked: bool) -> Markup {
    let outside = state
        .gauges
        .iter()
        .filter(|gauge| gauge.name != TYPED && gauge.role == "bore")
        .filter(|gauge| gauge.in_ring.is_none() && (gauge.size_set || !checked));
    html! {
        @for gauge in outside {
            button.begin-ring type="button"
                data-command=(serde_json::json!({"command": "begin_ring", "gauge": gauge.name})) {
                (lang.fill("ring.begin", &[("gauge", &gauge.name)])) small { (lang.say("ring.begin-what")) }
            }
        }
    }
}

/// The gauges that a ring form is about: while one is in its ring, that one alone.
fn asked(state: &View) -> Vec<&GaugeView> {
    let in_ring: Vec<&GaugeView> = state
        .gauges
        .iter()
        .filter(|g| g.in_ring.is_some())
        .collect();
    if in_ring.is_empty() {
        let gauges = state.gauges.iter();
        gauges.filter(|gauge| has_ring(gauge)).collect()
    } else {
        in_ring
    }
}

/// Setting a gauge in its ring: by what it sent there, or by what is typed.
pub(super) fn set(lang: Language, state: &View) -> Markup {
    let gauges = asked(state);
    let sent = gauges.iter().all(|gauge| gauge.in_ring.is_some());
    let ring_mm = gauges.iter().find_map(|gauge| gauge.ring_mm);
    html! {
        @if !gauges.is_empty() {
            form.columns.ring data-command="set_ring" data-done=(lang.say("ring.is-set")) autocomplete="off" {
                h3 { (lang.say("ring.title")) }
                div {
                    label for="ring-gauge" { (lang.say("ring.gauge")) }
                    select #ring-gauge name="gauge" {
                        @for gauge in &gauges {
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
                        value=[ring_mm.map(|mm| lang.mm(mm))];
                }
                @if !sent {
                    div {
                        label for="ring-shown" { (lang.say("ring.shown")) }
                        input #ring-shown name="shown_mm" data-number inputmode="decimal"
                            placeholder=(lang.say("ring.shown-hint"));
                    }
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
    let set: Vec<&GaugeView> = asked(state).into_iter().filter(|g| g.size_set).collect();
    let sent = set.iter().all(|gauge| gauge.in_ring.is_some());
    html! {
        (begin(lang, state, true))
        @if !set.is_empty() {
            form.columns.ring data-command="check_ring" data-done=(lang.say("ring.checked")) autocomplete="off" {
                h3 { (lang.say("ring.check")) }
                div {
                    label for="check-gauge" { (lang.say("ring.gauge")) }
                    select #check-gauge name="gauge" {
                        @for gauge in set { option value=(gauge.name) { (name(lang, gauge)) } }
                    }
                }
                @if !sent {
                    div {
                        label for="check-shown" { (lang.say("ring.shown")) }
                        input #check-shown name="shown_mm" required data-number inputmode="decimal";
                    }
                }
                button type="submit" { (lang.say("ring.check-done")) }
            }
        }
    }
}
