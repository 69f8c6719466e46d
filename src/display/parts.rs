//! The moving parts of the page, each with an id of its own: the script replaces a part only when
//! its HTML changed.

use maud::{Markup, html};

use super::step::Step;
use super::words::{self, Language, NONE};
use super::{findings, health};
use crate::gauge::Capture;
use crate::job::{
    Body, Event, GaugeView, InRingView, JobView, Phase, Station, StationView, Status, TYPED, View,
};

/// What the ear should hear of the newest reading, and its number: the script sounds it once.
pub(super) fn heard(state: &View) -> (&'static str, u64) {
    let Some(event) = &state.last_reading else {
        return ("nothing", 0);
    };
    let what = match &event.body {
        Body::Reading {
            station: Some(station),
            ..
        } => {
            let Some(job) = &state.on_bench else {
                return ("stored", event.seq);
            };
            let open = words::progress(&job.stations, &station.bore, station.depth_mm).1;
            if job.next.is_none() {
                "all-done"
            } else if open == 0 {
                "section-done"
            } else {
                "stored"
            }
        }
        Body::Reading { .. } | Body::AngleReading { .. } => "stored",
        _ => "refused",
    };
    (what, event.seq)
}

/// Where we are, how the gauges are, sound.
pub(super) fn header(lang: Language, state: &View) -> Markup {
    html! {
        header {
            div #where data-part {
                @match &state.on_bench {
                    Some(job) => {
                        h1 title=(job.part) { (job.part) }
                        span.seat title=(lang.seat(&job.seat.title)) { (lang.seat(&job.seat.title)) }
                    }
                    None => { h1 { "Borewright" } span.seat { (lang.say("frame.no-job")) } }
                }
            }
            (health::line(lang, state))
            @if state.on_bench.is_some() {
                button #menu data-part type="button" data-open="more" { (lang.say("bar.more")) }
            }
            button #sound data-part type="button" {
                svg viewBox="0 0 24 24" width="24" height="24" aria-hidden="true" {
                    path d="M3 9H7L13 4V20L7 15H3Z" {}
                    path.on d="M16 8C18 10 18 14 16 16M18.5 5C22 9 22 15 18.5 19" {}
                    path.off d="M16 9L22 15M22 9L16 15" {}
                }
                span data-on=(lang.say("frame.sound-on")) data-off=(lang.say("frame.sound-off"))
                    data-touch=(lang.say("frame.sound-touch")) { (lang.say("frame.sound-touch")) }
            }
        }
    }
}

/// Who is at work, for the pages that watch: the script shows it to those and no other.
pub(super) fn at_work(lang: Language, state: &View) -> Markup {
    html! {
        div #at-work data-part role="status" hidden {
            @if let Some(at_work) = &state.at_work {
                p { (lang.fill("at-work.watch", &[("who", &called(lang, &at_work.who))])) }
                button type="button" data-take { (lang.say("at-work.take")) }
            }
        }
    }
}

/// A page that nobody named calls itself by its own language: `The tablet 12`.
fn called(lang: Language, who: &str) -> String {
    for key in ["script.tablet", "script.computer"] {
        for own in Language::ALL {
            if let Some(number) = who.strip_prefix(own.say(key)) {
                return format!("{}{number}", lang.say(key));
            }
        }
    }
    who.to_owned()
}

/// The newest reading that belongs to what is on the bench: one of another job is not this one's.
fn newest(state: &View) -> Option<&Event> {
    let job = state.on_bench.as_ref().map(|job| job.job);
    let newest = state.last_reading.as_ref();
    newest.filter(|event| job.is_none() || event.job == job)
}

/// The newest reading, in the largest type there is.
pub(super) fn reading(lang: Language, state: &View) -> Markup {
    let lost: Vec<&GaugeView> = state
        .gauges
        .iter()
        .filter(|gauge| !gauge.connected)
        .collect();
    let newest = newest(state);
    let live = match newest.map(|event| &event.body) {
        Some(Body::Reading { gauge, .. } | Body::ReadingRefused { gauge, .. }) => {
            !lost.iter().any(|lost| lost.name == *gauge)
        }
        _ => true,
    };
    let refused = matches!(
        newest,
        Some(Event {
            body: Body::ReadingRefused { .. },
            ..
        })
    );
    let unreadable = || {
        state
            .gauges
            .iter()
            .filter(|gauge| health::unreadable(gauge))
    };
    let in_ring = in_ring(state);
    html! {
        section #reading.refused[refused && in_ring.is_none()].stale[!live] data-part aria-label=(lang.say("reading.title")) {
            @match in_ring {
                Some((gauge, in_ring)) => { (ring_line(lang, gauge, in_ring)) }
                None if newest.is_none() && unreadable().next().is_some() => { p.value.empty { (NONE) } }
                None => { (reading_line(lang, state, live)) }
            }
            @for gauge in unreadable() {
                p.why { span.refusal { (lang.say("reading.unreadable")) } " " (lang.fill("reading.form", &[("gauge", &gauge.name)])) }
            }
            @for gauge in lost {
                @if let Some(why) = &gauge.why { p.why { b { (gauge.name) ": " } (words::told_whole(lang, why)) } }
            }
        }
    }
}

/// A gauge that is in its ring.
fn in_ring(state: &View) -> Option<(&GaugeView, &InRingView)> {
    let mut gauges = state.gauges.iter();
    gauges.find_map(|gauge| Some((gauge, gauge.in_ring.as_ref()?)))
}

/// What a gauge shows in its ring, and the way out of it.
fn ring_line(lang: Language, gauge: &GaugeView, in_ring: &InRingView) -> Markup {
    let name: &dyn std::fmt::Display = if gauge.name == TYPED {
        &lang.say("ring.typed")
    } else {
        &gauge.name
    };
    html! {
        @match (in_ring.newest_mm, in_ring.mean_mm) {
            (Some(newest), Some(mean)) => {
                @let value = lang.mm(newest);
                p.value data-length=(value.chars().count()) { output { (value) } span.unit { "mm" } }
                p.what {
                    b { (lang.fill("ring.mean", &[("mean", &lang.decimal(mean, 4)), ("count", &in_ring.readings)])) } " "
                    @if in_ring.readings > 1 {
                        (lang.fill("ring.apart", &[("apart", &lang.mm(in_ring.apart_mm))])) " "
                    }
                    (lang.fill("ring.in", &[("gauge", name)]))
                }
            }
            _ => {
                p.value.empty { (NONE) }
                p.what { (lang.fill("ring.in", &[("gauge", name)])) " " (lang.say("ring.rock")) }
            }
        }
        button.out type="button" data-command=(serde_json::json!({"command": "cancel_ring", "gauge": gauge.name})) {
            (lang.say("ring.out"))
        }
    }
}

fn reading_line(lang: Language, state: &View, live: bool) -> Markup {
    let Some(event) = newest(state) else {
        return html! {
            p.value.empty { (NONE) }
            p.what { (lang.say("reading.none")) }
        };
    };
    match &event.body {
        Body::Reading {
            raw,
            value_mm,
            corrected_mm,
            size_set,
            deviation_mm,
            station,
            ..
        } => {
            let digits = digits_behind_point(raw);
            let (value, kind) = match (corrected_mm, deviation_mm) {
                (Some(size), _) => (lang.decimal(*size, digits), ""),
                (None, Some(deviation)) => (
                    lang.signed(*deviation, digits),
                    lang.say("reading.from-zero"),
                ),
                (None, None) => (lang.decimal(*value_mm, digits), ""),
            };
            html! {
                p.value data-length=(value.chars().count()) { output { (value) } span.unit { "mm" } }
                p.what {
                    @if !live { b { (lang.say("reading.not-live")) " " } }
                    @if !kind.is_empty() { (kind) ", " }
                    @if !size_set { span.not-set { (lang.say("reading.not-set")) } " " }
                    @match station {
                        Some(station) if state.last_reading_out => {
                            span.refusal { (lang.say("reading.out")) } " " (at_station(lang, station))
                        }
                        Some(station) => { (words::tied(&lang.fill("reading.stored", &[("place", &at_station(lang, station))]))) }
                        None => { (lang.say("reading.outside")) }
                    }
                    " · " time.age datetime=(event.at) {}
                }
            }
        }
        Body::AngleReading { turning_deg, .. } => {
            let value = lang.decimal(*turning_deg, 1);
            html! {
                p.value data-length=(value.chars().count()) { output { (value) } span.unit { "°" } }
                p.what { (lang.say("hang.turns")) " · " time.age datetime=(event.at) {} }
            }
        }
        Body::ReadingRefused {
            value_mm, raw, why, ..
        } => {
            let value = value_mm.map_or_else(
                || NONE.to_owned(),
                |v| lang.decimal(v, digits_behind_point(raw)),
            );
            html! {
                p.value data-length=(value.chars().count()) { output { (value) } span.unit { "mm" } }
                p.what {
                    @if !live { b { (lang.say("reading.not-live")) " " } }
                    span.refusal { (lang.say("reading.refused")) } " " (words::told_whole(lang, why)) " · " time.age datetime=(event.at) {}
                }
            }
        }
        _ => html! { p.value.empty { (NONE) } },
    }
}

/// What a gauge shows just now, where not every value is a reading, and the touch that takes it.
pub(super) fn live(lang: Language, state: &View) -> Markup {
    let gauges = state
        .gauges
        .iter()
        .filter(|gauge| gauge.capture != Capture::Each && gauge.name != TYPED)
        .filter(|gauge| gauge.role != "angle");
    html! {
        @for (index, gauge) in gauges.enumerate() {
            section.live data-part #{ "live-" (index) } data-gauge=(gauge.name)
                aria-label=(lang.fill("live.title", &[("gauge", &gauge.name)])) {
                p {
                    span.hint { (lang.fill("live.title", &[("gauge", &gauge.name)])) }
                    output aria-live="off" { (NONE) }
                    span.hint.how {
                        (lang.say(match gauge.capture {
                            Capture::TurningPoint => "live.rock",
                            Capture::Each | Capture::OnCommand => "live.touch",
                        }))
                    }
                }
                button.strong.take type="button"
                    data-command=(serde_json::json!({"command": "take", "gauge": gauge.name})) {
                    (lang.say("live.take"))
                }
            }
        }
    }
}

/// As many digits as the gauge shows, within reason: an inch gauge's text says nothing about mm.
fn digits_behind_point(raw: &str) -> usize {
    let after = raw.rsplit(['.', ',']).next().unwrap_or_default();
    let count = after.bytes().take_while(u8::is_ascii_digit).count();
    if raw.contains("in") || after.len() == raw.len() {
        3
    } else {
        count.clamp(2, 4)
    }
}

pub(super) fn at_station(lang: Language, station: &Station) -> String {
    let depth = lang.short(station.depth_mm);
    let angle = lang.degrees(station.angle_deg);
    lang.fill(
        "place.station",
        &[
            ("bore", &lang.name_of(&station.bore)),
            ("depth", &depth),
            ("angle", &angle),
        ],
    )
}

/// The next station, as one sets it.
pub(super) fn next(lang: Language, state: &View, job: &JobView) -> Markup {
    let left = job
        .stations
        .iter()
        .filter(|s| s.status == Status::ToDo)
        .count();
    let done = job
        .stations
        .iter()
        .filter(|s| s.status == Status::Measured)
        .count();
    let all = job.stations.len();
    let in_ring = in_ring(state).is_some();
    let onward = match job.phase {
        Phase::AsFound => Step::Findings,
        Phase::AsLeft => Step::Left,
    };
    html! {
        section #next data-part aria-label=(lang.say("next.title")) {
            progress max=(all) value=(all - left) aria-label=(lang.say("next.progress")) {}
            @match &job.next {
                Some(station) => {
                    (dial(station.angle_deg))
                    div.place {
                        h2 { (lang.say(if in_ring { "next.after-ring" } else { "next.next" })) " " small { (lang.fill("next.count", &[("left", &left), ("done", &done)])) } }
                        p.bore {
                            (words::bore(lang, &station.bore)) br;
                            (lang.fill("place.deep", &[("depth", &lang.short(station.depth_mm))]))
                        }
                        p.angle { (lang.degrees(station.angle_deg)) }
                        p.clock {
                            (lang.fill("place.at-twelve", &[
                                ("clock", &lang.clock(station.angle_deg)), ("landmark", &lang.name_of(&job.seat.landmark)),
                            ]))
                        }
                    }
                }
                None => {
                    div.place {
                        h2 { (words::capital(words::phase(lang, job.phase))) }
                        p.bore { (lang.fill("next.all-done", &[("done", &done)])) }
                        (findings::bores(lang, job, job.phase))
                        div.after {
                            button.strong type="button" data-step=(onward.word()) { (lang.say("next.on")) }
                            button type="button" data-command="{\"command\":\"second_turn\"}" {
                                (lang.say("next.second-turn"))
                            }
                        }
                    }
                }
            }
        }
    }
}

/// A clock face that shows where to turn the gauge.
fn dial(angle_deg: f64) -> Markup {
    html! {
        svg.dial viewBox="-50 -50 100 100" aria-hidden="true" {
            circle.rim r="46" {}
            @for hour in 0..12 {
                path.tick transform=(format!("rotate({})", hour * 30)) d="M0 -44V-38" {}
            }
            path.landmark d="M0 -34L-6 -45H6Z" {}
            g transform=(format!("rotate({})", Language::En.short(angle_deg))) {
                path.hand d="M0 36V-26" {}
                path.tip d="M0 -40L-8 -24H8Z" {}
            }
        }
    }
}

/// With more stations than this, only the section at work shows each of its own.
const MOST_BUTTONS: usize = 150;

/// Every station of the phase, section by section; a touch makes it the next one.
pub(super) fn stations(lang: Language, job: &JobView) -> Markup {
    let same = |a: &StationView, b: &StationView| {
        a.station.bore == b.station.bore && a.station.depth_mm == b.station.depth_mm
    };
    // Stations of a section follow one another; a second turn appends to the whole.
    let mut sections: Vec<Vec<&StationView>> = Vec::new();
    for station in &job.stations {
        match sections
            .iter_mut()
            .find(|section| same(section[0], station))
        {
            Some(section) => section.push(station),
            None => sections.push(vec![station]),
        }
    }
    let all = job.stations.len() <= MOST_BUTTONS;
    let at_work = |section: &[&StationView]| {
        section
            .iter()
            .any(|station| job.next.as_ref() == Some(&station.station))
    };
    html! {
        section #stations aria-label=(lang.fill("stations.title", &[("phase", &words::phase(lang, job.phase))])) {
            h2 #stations-title data-part {
                (lang.fill("stations.title", &[("phase", &words::phase(lang, job.phase))])) " "
                small { (lang.say("stations.hint")) }
            }
            // Each row a part of its own, each station an element of it: a reading changes two of them.
            @for (index, section) in sections.iter().enumerate() {
                @let place = &section[0].station;
                div.row #{ "stations-" (index) } data-part {
                    h3 { (words::section_short(lang, &place.bore, place.depth_mm)) }
                    @if all || at_work(section) {
                        @for (at, station) in section.iter().enumerate() {
                            (station_button(lang, job, station, &format!("stations-{index}-{at}")))
                        }
                    } @else {
                        (section_button(lang, section))
                    }
                }
            }
        }
    }
}

fn station_button(lang: Language, job: &JobView, view: &StationView, id: &str) -> Markup {
    let next = job.next.as_ref() == Some(&view.station);
    let (mark, class, word) = match view.status {
        _ if next => ("", "next", "stations.next"),
        Status::Measured => ("✓", "gauged", "stations.gauged"),
        Status::Skipped => ("×", "skipped", "stations.skipped"),
        Status::ToDo => ("", "to-do", "stations.to-do"),
    };
    html! {
        button #(id) type="button" class=(class)
            aria-label={ (at_station(lang, &view.station)) ", " (lang.say(word)) }
            data-command=(go_to(&view.station)) {
            (lang.degrees(view.station.angle_deg))
            @if !mark.is_empty() { span { (mark) } }
        }
    }
}

/// A section in one button: how far it is; a touch goes to its first station still to do.
fn section_button(lang: Language, section: &[&StationView]) -> Markup {
    let done = section
        .iter()
        .filter(|view| view.status == Status::Measured)
        .count();
    let first = section
        .iter()
        .find(|view| view.status == Status::ToDo)
        .unwrap_or(&section[0]);
    html! {
        button type="button" data-command=(go_to(&first.station)) {
            (lang.fill("stations.of", &[("done", &done), ("all", &section.len())]))
        }
    }
}

fn go_to(station: &Station) -> String {
    serde_json::json!({
        "command": "go_to",
        "bore": station.bore,
        "depth_mm": station.depth_mm,
        "angle_deg": station.angle_deg,
    })
    .to_string()
}
