//! How each gauge is: a line that is always on screen, and behind one touch on it the rest.

use maud::{Markup, html};

use super::words::{self, Language};
use crate::bore::Contact;
use crate::job::{Calibration, GaugeStudy, GaugeView, TYPED, View};

/// The gauges that are worth a line: those on a wire, else the one that is typed from.
pub(super) fn gauges(state: &View) -> Vec<&GaugeView> {
    let wired: Vec<&GaugeView> = state.gauges.iter().filter(|g| g.name != TYPED).collect();
    if wired.is_empty() {
        state.gauges.iter().collect()
    } else {
        wired
    }
}

/// The line.
pub(super) fn line(lang: Language, state: &View) -> Markup {
    html! {
        div #gauges data-part {
            @for (index, gauge) in gauges(state).into_iter().enumerate() {
                button.gauge.gone[!gauge.connected].past[gauge.connected && (past(gauge) || unreadable(gauge))] type="button" data-open={ "gauge-" (index) } {
                    @if gauge.name == TYPED {
                        (lang.say("frame.no-gauge"))
                    } @else {
                        (short(lang, gauge))
                    }
                }
            }
        }
    }
}

/// Whether its ring or its own calibration is out of date.
const fn past(gauge: &GaugeView) -> bool {
    gauge.ring_out_of_date || gauge.calibration_out_of_date
}

/// Whether the newest that came over its link can't be read.
pub(super) fn unreadable(gauge: &GaugeView) -> bool {
    gauge.connected && gauge.last_noise_at > gauge.last_reading_at
}

/// A disc, a warning triangle, a cross: told apart without colour.
fn short(lang: Language, gauge: &GaugeView) -> Markup {
    html! {
        svg viewBox="0 0 20 20" width="20" height="20" aria-hidden="true" {
            @if !gauge.connected {
                path d="M3 3L17 17M3 17L17 3" {}
            } @else if past(gauge) || unreadable(gauge) {
                path d="M10 1L19 18H1Z" {}
                path.cut d="M10 7V12M10 14.5V16" {}
            } @else {
                circle cx="10" cy="10" r="8" {}
            }
        }
        span {
            b { (gauge.name) }
            span.health {
                @match (gauge.connected, gauge.last_reading_at) {
                    (false, _) => { (lang.say("frame.not-connected")) }
                    (true, Some(at)) => { time.age datetime=(at) {} }
                    (true, None) => { (lang.say("frame.nothing-yet")) }
                }
                @if gauge.ring_out_of_date { " · " (lang.say("health.ring-past")) }
                @if gauge.calibration_out_of_date { " · " (lang.say("health.calibration-past")) }
                @if gauge.noise > 0 { " · " (lang.fill("frame.unreadable", &[("count", &gauge.noise)])) }
            }
        }
    }
}

/// What a touch on the line opens. Not the dialog but what is in it follows the state, so that it
/// stays open and true.
pub(super) fn dialogs(lang: Language, state: &View) -> Markup {
    html! {
        @for (index, gauge) in gauges(state).into_iter().enumerate() {
            @let name = if gauge.name == TYPED { lang.say("ring.typed") } else { &gauge.name };
            dialog.gauge-health #{ "gauge-" (index) } aria-label=(name) {
                h2 { (words::capital(name)) }
                dl #{ "gauge-" (index) "-health" } data-part { (rows(lang, gauge)) }
                button.strong type="button" data-close { (lang.say("health.back")) }
            }
        }
    }
}

fn rows(lang: Language, gauge: &GaugeView) -> Markup {
    let row =
        |key: &'static str, said: Markup| html! { div { dt { (lang.say(key)) } dd { (said) } } };
    html! {
        (row("health.what", what(lang, gauge)))
        @if gauge.name != TYPED { (row("health.link", link(lang, gauge))) }
        (row("health.last", html! {
            @match gauge.last_reading_at {
                Some(at) => { time.age datetime=(at) {} }
                None => { (lang.say("health.nothing")) }
            }
        }))
        @if gauge.role == "bore" { (row("health.ring", ring(lang, gauge))) }
        @if gauge.ring_mm.is_some() { (row("health.due", due(lang, gauge))) }
        @if let Some(calibration) = &gauge.calibration { (row("health.calibration", self::calibration(lang, gauge, calibration))) }
        @if gauge.role == "bore" { (row("health.drift", html! {
            @match &gauge.drift {
                Some(drift) => {
                    (lang.fill("health.drift-is", &[("mm", &lang.signed(drift.drift_mm, 4))])) " "
                    time.age datetime=(drift.at) {}
                }
                None => { (lang.say("health.no-drift")) }
            }
        })) }
        (row("health.study", html! {
            @match &gauge.study {
                Some(found) => { (study(lang, found)) }
                None => { (lang.say("health.no-study")) }
            }
        }))
        (row("health.uncounted", html! {
            (lang.fill("health.uncounted-is", &[("refused", &gauge.refused), ("noise", &gauge.noise)]))
        }))
    }
}

fn what(lang: Language, gauge: &GaugeView) -> Markup {
    let kind = match gauge.role.as_str() {
        "bore" => lang.say("health.bore"),
        "insert" => lang.say("health.insert"),
        "angle" => lang.say("health.angle"),
        other => other,
    };
    let contact = gauge.contact.map(|contact| match contact {
        Contact::TwoPoint => "health.two-point",
        Contact::ThreePoint => "health.three-point",
        Contact::Radius => "health.radius",
    });
    let short = |step: f64| {
        let text = lang.decimal(step, 4);
        let text = text.trim_end_matches('0').trim_end_matches(lang.point());
        text.to_owned()
    };
    let step = match (gauge.resolution_mm, gauge.resolution_deg) {
        (Some(mm), _) => format!("{} mm", short(mm)),
        (None, Some(deg)) => format!("{}°", short(deg)),
        (None, None) => String::new(),
    };
    html! {
        (kind)
        @if let Some(contact) = contact { ", " (lang.say(contact)) }
        ", " (lang.fill("health.digit", &[("step", &step)]))
    }
}

fn link(lang: Language, gauge: &GaugeView) -> Markup {
    html! {
        @if gauge.connected {
            (lang.fill("health.connected", &[("port", &gauge.port)]))
        } @else {
            strong { (words::capital(lang.say("frame.not-connected"))) }
            @if let Some(why) = &gauge.why { ": " (words::told_within(lang, why)) }
        }
    }
}

fn ring(lang: Language, gauge: &GaugeView) -> Markup {
    html! {
        @match (gauge.ring_mm, gauge.set_at) {
            (Some(ring), Some(at)) => {
                (lang.mm(ring)) " mm "
                @match gauge.ring_uncertainty_mm {
                    Some(u) => { "±" (lang.up(u, 4)) " mm" }
                    None => { "(" (lang.say("health.ring-u-unknown")) ")" }
                }
                ", " (lang.say("health.set")) " " time.age datetime=(at) {}
            }
            _ => { (lang.say("health.no-ring")) }
        }
    }
}

fn due(lang: Language, gauge: &GaugeView) -> Markup {
    html! {
        @match gauge.ring_due {
            Some(day) if gauge.ring_out_of_date => {
                strong.past { (lang.fill("health.past", &[("day", &lang.day(day))])) }
            }
            Some(day) => { (lang.fill("health.due-is", &[("day", &lang.day(day))])) }
            None => { (lang.say("health.no-due")) }
        }
    }
}

/// Its own calibration, beside that of its ring.
fn calibration(lang: Language, gauge: &GaugeView, calibration: &Calibration) -> Markup {
    html! {
        @if let Some(serial) = &calibration.serial { (lang.fill("health.serial", &[("serial", serial)])) " " }
        @match calibration.due {
            Some(day) if gauge.calibration_out_of_date => {
                strong.past { (lang.fill("health.past", &[("day", &lang.day(day))])) }
            }
            Some(day) => { (lang.fill("health.due-is", &[("day", &lang.day(day))])) }
            None => { (lang.say("health.no-due")) }
        }
    }
}

fn study(lang: Language, study: &GaugeStudy) -> Markup {
    let repeats = lang.decimal(study.repeatability_mm, 4);
    html! {
        (lang.fill("health.repeats", &[("mm", &repeats), ("count", &study.readings)]))
        @if let Some(bias) = study.bias_mm {
            ", " (lang.fill("health.bias", &[("mm", &lang.signed(bias, 4))]))
        }
        @if let Some(at) = study.studied_at { ", " time.age datetime=(at) {} }
    }
}
