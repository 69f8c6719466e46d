//! The moving parts of the page, each with an id of its own: the script replaces a part only when
//! its HTML changed.

use maud::{Markup, html};

use super::bench::{Focus, face};
use super::state::{Gauge, OnBench, SectionNumbers, State, Status, Withheld};
use super::words::{self, NONE, Standing, Verdict};
use crate::job::{Body, Event, Phase, Station};

/// What the ear should hear of the newest reading, and its number: the script sounds it once.
pub(super) fn heard(state: &State) -> (&'static str, u64) {
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
        Body::Reading { .. } => "stored",
        _ => "refused",
    };
    (what, event.seq)
}

/// Where we are, how the gauges are, sound.
pub(super) fn header(state: &State) -> Markup {
    html! {
        header {
            div #where {
                @match &state.on_bench {
                    Some(job) => {
                        strong title=(job.part) { (job.part) }
                        span.seat { (job.seat.title) }
                    }
                    None => { strong { "Borewright" } span.seat { "no job on the bench" } }
                }
            }
            @if let Some(job) = &state.on_bench {
                div #phase role="group" aria-label="Phase" {
                    @for (phase, word, text) in [
                        (Phase::AsFound, "as-found", "As found"),
                        (Phase::AsLeft, "as-left", "As left"),
                    ] {
                        button type="button" aria-pressed=(job.phase == phase)
                            data-command={ "{\"command\":\"set_phase\",\"phase\":\"" (word) "\"}" } {
                            (text)
                        }
                    }
                }
            }
            div #gauges {
                @for gauge in &state.gauges { (gauge_health(gauge)) }
                @if state.gauges.is_empty() {
                    span.gauge { "No gauge configured: type readings by hand" }
                }
            }
            button #sound type="button" aria-pressed="true" {
                svg viewBox="0 0 24 24" width="24" height="24" aria-hidden="true" {
                    path d="M3 9H7L13 4V20L7 15H3Z" {}
                    path.on d="M16 8C18 10 18 14 16 16M18.5 5C22 9 22 15 18.5 19" {}
                    path.off d="M16 9L22 15M22 9L16 15" {}
                }
                span { "Sound on" }
            }
        }
    }
}

fn gauge_health(gauge: &Gauge) -> Markup {
    html! {
        span.gauge.gone[!gauge.connected] {
            svg viewBox="0 0 20 20" width="20" height="20" aria-hidden="true" {
                @if gauge.connected {
                    circle cx="10" cy="10" r="8" {}
                } @else {
                    path d="M3 3L17 17M3 17L17 3" {}
                }
            }
            span {
                b { (gauge.name) }
                span.health {
                    @match (gauge.connected, gauge.last_reading_at) {
                        (false, _) => { "not connected" }
                        (true, Some(at)) => { time.age datetime=(at) {} }
                        (true, None) => { "listening, nothing yet" }
                    }
                    @if gauge.noise > 0 { " · " (gauge.noise) " unreadable" }
                }
            }
        }
    }
}

/// The newest reading, in the largest type there is.
pub(super) fn reading(state: &State) -> Markup {
    let lost: Vec<&Gauge> = state
        .gauges
        .iter()
        .filter(|gauge| !gauge.connected)
        .collect();
    let live = match state.last_reading.as_ref().map(|event| &event.body) {
        Some(Body::Reading { gauge, .. } | Body::ReadingRefused { gauge, .. }) => {
            !lost.iter().any(|lost| lost.name == *gauge)
        }
        _ => true,
    };
    let refused = matches!(
        state.last_reading,
        Some(Event {
            body: Body::ReadingRefused { .. },
            ..
        })
    );
    html! {
        section #reading.refused[refused].stale[!live] aria-label="Current reading" {
            (reading_line(state, live))
            @for gauge in lost {
                @if let Some(why) = &gauge.why { p.why { b { (gauge.name) ": " } (why) } }
            }
        }
    }
}

fn reading_line(state: &State, live: bool) -> Markup {
    let Some(event) = &state.last_reading else {
        return html! {
            p.value.empty { (NONE) }
            p.what { "No reading yet. Rock the gauge to the turning point and press send." }
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
                (Some(size), _) => (words::decimal(*size, digits), ""),
                (None, Some(deviation)) => {
                    (words::signed(*deviation, digits), "from the ring’s zero")
                }
                (None, None) => (words::decimal(*value_mm, digits), ""),
            };
            html! {
                p.value data-length=(value.chars().count()) { output { (value) } span.unit { "mm" } }
                p.what {
                    @if !live { b { "Not live. " } "Last reading " time.age datetime=(event.at) {} ". " }
                    @if !kind.is_empty() { (kind) ", " }
                    @if !size_set { span.not-set { "size not set" } " " }
                    @match station {
                        Some(station) => { "Stored: " (at_station(station)) }
                        None => { "Recorded, outside any job" }
                    }
                }
            }
        }
        Body::ReadingRefused {
            value_mm, raw, why, ..
        } => {
            let value = value_mm.map_or_else(
                || NONE.to_owned(),
                |v| words::decimal(v, digits_behind_point(raw)),
            );
            html! {
                p.value data-length=(value.chars().count()) { output { (value) } span.unit { "mm" } }
                p.what {
                    @if !live { b { "Not live. " } }
                    span.refusal { "Refused" } " " (why)
                }
            }
        }
        _ => html! { p.value.empty { (NONE) } },
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

fn at_station(station: &Station) -> String {
    format!(
        "{}, {} mm deep, {}",
        station.bore,
        words::short(station.depth_mm),
        words::degrees(station.angle_deg)
    )
}

/// The next station, as one sets it.
pub(super) fn next(job: &OnBench) -> Markup {
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
    html! {
        section #next aria-label="Next station" {
            progress max=(all) value=(all - left) aria-label="Stations done" {}
            @match &job.next {
                Some(station) => {
                    (dial(station.angle_deg))
                    div.place {
                        h2 { "Next " small { (left) " left, " (done) " done" } }
                        p.bore {
                            (words::capital(&station.bore)) br; (words::short(station.depth_mm)) " mm deep"
                        }
                        p.angle { (words::degrees(station.angle_deg)) }
                        p.clock { (words::clock(station.angle_deg)) ", " (job.seat.landmark) " at 12" }
                    }
                }
                None => {
                    div.place {
                        h2 { (words::capital(&job.phase.to_string())) }
                        p.bore { "All " (done) " stations gauged" }
                        div.after {
                            @if job.phase == Phase::AsFound {
                                button type="button"
                                    data-command="{\"command\":\"set_phase\",\"phase\":\"as-left\"}" {
                                    "Work done: gauge as left"
                                }
                            }
                            button type="button" data-command="{\"command\":\"second_turn\"}" {
                                "Second turn"
                            }
                            button.strong type="button" data-open="close" { "Close the job" }
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
            g transform=(format!("rotate({})", words::short(angle_deg))) {
                path.hand d="M0 36V-26" {}
                path.tip d="M0 -40L-8 -24H8Z" {}
            }
        }
    }
}

/// The verdict on the section shown: words first, a shape and a colour beside them.
pub(super) fn verdict(job: &OnBench, shown: &Focus) -> Markup {
    let verdict = verdict_of(job, shown);
    html! {
        section #verdict class=(class(verdict.standing)) aria-label="Verdict" {
            (shape(verdict.standing))
            div {
                h2 {
                    (words::capital(&shown.bore)) ", " (words::short(shown.depth_mm)) " mm deep"
                    @if shown.phase != job.phase { ", " (shown.phase) }
                }
                p.headline { (verdict.headline) }
                p.because { (verdict.because) }
            }
        }
    }
}

fn verdict_of(job: &OnBench, shown: &Focus) -> Verdict {
    let (done, open) = if shown.phase == job.phase {
        words::progress(&job.stations, &shown.bore, shown.depth_mm)
    } else {
        (1, 0)
    };
    words::bore_of(&job.seat, &shown.bore).map_or_else(
        || Verdict {
            standing: Standing::Open,
            headline: "No limits known".into(),
            because: format!("The seat has no bore called {}.", shown.bore),
        },
        |bore| words::section_verdict(shown.numbers(job), bore, done, open),
    )
}

const fn class(standing: Standing) -> &'static str {
    match standing {
        Standing::Inside => "inside",
        Standing::Open => "open",
        Standing::CantTell => "cant-tell",
        Standing::Outside => "outside",
    }
}

/// A tick in a disc, a warning triangle, a diamond with a question mark, an open ring: told apart
/// without colour.
fn shape(standing: Standing) -> Markup {
    html! {
        svg.shape viewBox="0 0 48 48" aria-hidden="true" {
            @match standing {
                Standing::Inside => {
                    circle cx="24" cy="24" r="21" {}
                    path.cut d="M13 25L21 33L35 16" {}
                }
                Standing::Outside => {
                    path d="M24 3L46 44H2Z" {}
                    path.cut d="M24 17V30M24 36V38" {}
                }
                Standing::CantTell => {
                    path d="M24 1L47 24L24 47L1 24Z" {}
                    path.cut d="M18 20C18 13 30 13 30 20C30 25 24 24 24 29M24 34V36" {}
                }
                Standing::Open => { circle.hollow cx="24" cy="24" r="19" {} }
            }
        }
    }
}

/// The bore from its face.
pub(super) fn drawing(job: &OnBench, shown: &Focus) -> Markup {
    html! {
        section #drawing aria-label="Bore seen from its face" {
            @if let Some(face) = face(job, shown) { (face.svg()) }
        }
    }
}

/// The numbers of the section shown and of its bore.
pub(super) fn numbers(job: &OnBench, shown: &Focus) -> Markup {
    let Some(section) = shown.numbers(job) else {
        return html! {
            section #numbers aria-label="Numbers" {
                p.hint { "Numbers come with the first reading here." }
            }
        };
    };
    let bore = job
        .bores
        .iter()
        .find(|bore| bore.bore == shown.bore && bore.phase == shown.phase);
    let found = (shown.phase == Phase::AsLeft)
        .then(|| {
            job.sections.iter().find(|s| {
                s.phase == Phase::AsFound && s.bore == shown.bore && s.depth_mm == shown.depth_mm
            })
        })
        .flatten();
    let oval = |section: &SectionNumbers| section.oval.as_ref().map(|oval| oval.size_mm);
    let taper = bore.and_then(|bore| {
        bore.taper_mm_per_mm
            .map(|taper| taper_words(job, shown, taper))
    });
    html! {
        section #numbers aria-label="Numbers" {
            dl {
                (number("Mean", section.mean_diameter_mm, section, "mean_diameter_mm", found.and_then(|f| f.mean_diameter_mm), true))
                (number("Largest", section.largest_mm, section, "largest_mm", None, true))
                (number("Smallest", section.smallest_mm, section, "smallest_mm", None, true))
                (number("Out of round", section.out_of_round_mm, section, "out_of_round_mm", found.and_then(|f| f.out_of_round_mm), false))
                (number("Oval", oval(section), section, "oval", found.and_then(oval), false))
                @if let Some(oval) = &section.oval {
                    div {
                        dd.note { "tight across " (words::axis(oval.tight_axis_deg)) }
                        dd.note { "long across " (words::axis(oval.long_axis_deg)) }
                    }
                }
                @if let Some(mean) = bore.and_then(|bore| bore.mean_diameter_mm) {
                    div { dt { "Mean of this bore" } dd.small { (words::mm(mean)) } }
                }
                div {
                    dt { "Taper of this bore" }
                    @match (taper, bore.and_then(|bore| why(&bore.withheld, "taper_mm_per_mm"))) {
                        (Some((change, how)), _) => { dd.small { (change) } dd.note { (how) } }
                        (None, why) => {
                            dd { (NONE) }
                            dd.note { (why.unwrap_or("Needs two depths.")) }
                        }
                    }
                }
            }
        }
    }
}

fn number(
    name: &str,
    value: Option<f64>,
    section: &SectionNumbers,
    field: &str,
    found: Option<f64>,
    absolute: bool,
) -> Markup {
    let expanded = section.uncertainty.get(field).and_then(|u| u.expanded);
    html! {
        div {
            dt { (name) }
            dd {
                (value.map_or_else(|| NONE.to_owned(), words::mm))
                @if let Some(expanded) = expanded.filter(|_| value.is_some()) {
                    span.uncertainty { " ±" (words::mm(expanded)) }
                }
            }
            @if value.is_none() {
                @if let Some(why) = why(&section.withheld, field) { dd.note { (why) } }
            } @else if absolute && !section.size_set {
                dd.note { "not set" }
            }
            @if let Some(found) = found { dd.note { "found " (words::mm(found)) } }
        }
    }
}

fn why<'a>(withheld: &'a [Withheld], field: &str) -> Option<&'a str> {
    withheld
        .iter()
        .find(|w| w.field == field || w.field.starts_with(&format!("{field}.")))
        .map(|w| w.why.as_str())
}

/// Taper over the depths gauged, the way one sees it: `0.012 mm wider inside, over 16 mm`.
fn taper_words(job: &OnBench, shown: &Focus, taper: f64) -> (String, String) {
    let depths = job
        .sections
        .iter()
        .filter(|s| s.bore == shown.bore && s.phase == shown.phase)
        .map(|s| s.depth_mm);
    let (least, most) = depths.fold((f64::MAX, f64::MIN), |(l, m), d| (l.min(d), m.max(d)));
    let span = most - least;
    let change = taper * span;
    let which = if change >= 0.0 {
        "wider inside"
    } else {
        "tighter inside"
    };
    (
        words::mm(change.abs()),
        format!("{which}, over {} mm", words::short(span)),
    )
}

/// Every section with its verdict, found beside left; a touch shows it.
pub(super) fn sections(job: &OnBench, shown: &Focus) -> Markup {
    html! {
        section #sections aria-label="All sections" {
            h2 { "All sections" }
            table {
                thead {
                    tr {
                        th scope="col" { "Section" }
                        th scope="col" { "Mean" }
                        th scope="col" { "Out of round" }
                        th scope="col" { "Verdict" }
                    }
                }
                tbody {
                    @for phase in [Phase::AsFound, Phase::AsLeft] {
                        @for bore in &job.seat.bores {
                            @for section in job.sections.iter().filter(|s| s.phase == phase && s.bore == bore.name) {
                                @let focus = Focus { bore: section.bore.clone(), depth_mm: section.depth_mm, phase };
                                @let verdict = verdict_of(job, &focus);
                                tr.shown[focus == *shown] {
                                    th scope="row" {
                                        button type="button" data-look=(look(&focus)) {
                                            (words::capital(&section.bore)) ", " (words::short(section.depth_mm)) " mm"
                                            small { (phase) }
                                        }
                                    }
                                    td { (section.mean_diameter_mm.map_or_else(|| NONE.to_owned(), words::mm)) }
                                    td { (section.out_of_round_mm.map_or_else(|| NONE.to_owned(), words::mm)) }
                                    td class=(class(verdict.standing)) { (shape(verdict.standing)) (verdict.headline) }
                                }
                            }
                        }
                    }
                }
            }
            @if job.sections.is_empty() { p.hint { "Each depth of each bore gets a line here." } }
        }
    }
}

fn look(focus: &Focus) -> String {
    format!(
        "{{\"bore\":{},\"depth_mm\":{},\"phase\":{}}}",
        serde_json::Value::from(focus.bore.as_str()),
        focus.depth_mm,
        serde_json::to_string(&focus.phase).unwrap_or_default()
    )
}

/// Every station of the phase; a touch makes it the next one.
pub(super) fn stations(job: &OnBench) -> Markup {
    let mut rows: Vec<(&str, f64)> = Vec::new();
    for s in &job.stations {
        let row = (s.station.bore.as_str(), s.station.depth_mm);
        if !rows.contains(&row) {
            rows.push(row);
        }
    }
    html! {
        section #stations aria-label="Stations" {
            h2 { "Stations, " (job.phase) small { "touch one to gauge it next" } }
            @for (bore, depth_mm) in rows {
                div.row {
                    h3 { (words::capital(bore)) ", " (words::short(depth_mm)) " mm" }
                    @for s in job.stations.iter().filter(|s| s.station.bore == bore && s.station.depth_mm == depth_mm) {
                        @let next = job.next.as_ref() == Some(&s.station);
                        @let (mark, word) = match s.status {
                            Status::Measured => ("✓", "gauged"),
                            Status::Skipped => ("×", "skipped"),
                            Status::ToDo => ("", "to do"),
                        };
                        button type="button" class=(if next { "next" } else { word })
                            aria-label={ (at_station(&s.station)) ", " (if next { "next" } else { word }) }
                            data-command=(go_to(&s.station)) {
                            (words::degrees(s.station.angle_deg))
                            @if !mark.is_empty() { span { (mark) } }
                        }
                    }
                }
            }
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
