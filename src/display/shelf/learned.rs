//! What the shop learns: for each question a plot and the table behind it.

use maud::{Markup, html};

use super::frame::{Here, page, troubles};
use crate::display::words::{Language, NONE};
use crate::drawing::chart::{Kind, MOST_KINDS, Spread, TimeLine, TimePoint};
use crate::drawing::{Style, Unit};
use crate::memory::{ENOUGH, GaugeLesson, Lessons, Mean, Quartiles, Trouble, Value};

/// Rows of a table or plot on the page; a shop with more has `jobs learned`.
const MOST: usize = 50;

pub(super) fn show(lang: Language, lessons: &Lessons, passed_over: &[Trouble]) -> Markup {
    let main = html! {
        (troubles(lang, passed_over))
        p.count { (lang.fill(if lessons.jobs == 1 { "learned.rests-on-one" } else { "learned.rests-on" }, &[("jobs", &lessons.jobs), ("enough", &ENOUGH)])) }
        section.lesson {
            h2 { (lang.say("learned.seats")) }
            p.hint { (lang.say("learned.seats-how")) }
            @if lessons.seats.is_empty() { p { (lang.say("learned.nothing")) } } @else { (seats(lang, lessons)) }
        }
        section.lesson {
            h2 { (lang.say("learned.reamers")) }
            p.hint { (lang.say("learned.reamers-how")) }
            @if lessons.reamers.is_empty() { p { (lang.say("learned.nothing")) } } @else { (reamers(lang, lessons)) }
        }
        section.lesson {
            h2 { (lang.say("learned.gauges")) }
            p.hint { (lang.say("learned.gauges-how")) }
            @if lessons.gauges.is_empty() { p { (lang.say("learned.nothing")) } }
            @if !lessons.gauges.is_empty() { (gauges(lang, lessons)) }
        }
    };
    page(lang, Here::Learned, lang.say("shelf.learned"), &main)
}

fn table(head: &[&str], rows: &[Vec<String>]) -> Markup {
    html! {
        div.table tabindex="0" {
            table.numbers {
                thead { tr { @for name in head { th scope="col" { (name) } } } }
                tbody {
                    @for row in rows { tr {
                        @for (number, cell) in row.iter().enumerate() {
                            @if number == 0 { th scope="row" { (cell) } } @else { td { (cell) } }
                        }
                    } }
                }
            }
        }
    }
}

/// Differences of a size are read in micrometres.
const fn micrometres(lang: Language) -> Style {
    Style {
        language: lang,
        unit: Unit::Micrometre,
    }
}

fn kind(name: &str, values: &[Value], together: Option<Quartiles>) -> Kind {
    Kind {
        name: name.to_owned(),
        values_mm: values.iter().map(|value| value.value_mm).collect(),
        quartiles_mm: together.map(|q| [q.lower_mm, q.median_mm, q.upper_mm]),
    }
}

/// From the least to the greatest of `values`, nought among them: what charts are on that are compared.
fn reach(values: impl Iterator<Item = f64>) -> [f64; 2] {
    values.fold([0.0_f64; 2], |[from, to], mm| [from.min(mm), to.max(mm)])
}

/// Kinds side by side, as many a chart as it has room for, on one scale.
fn spreads(style: Style, counted: &str, kinds: &[Kind]) -> Markup {
    let reach_mm = reach(kinds.iter().flat_map(|kind| kind.values_mm.iter().copied()));
    // Four kinds are two and two, not three and one.
    let charts = kinds.len().div_ceil(MOST_KINDS).max(1);
    let each = kinds.len().div_ceil(charts).max(1);
    let charts = kinds.chunks(each).map(|kinds| {
        let names: Vec<&str> = kinds.iter().map(|kind| &*kind.name).collect();
        let chart = Spread {
            title: format!("{counted}: {}", names.join(", ")),
            counted: counted.to_owned(),
            kinds: kinds.to_vec(),
            reach_mm,
            style,
        };
        chart.draw().still_svg()
    });
    html! { div.charts { @for chart in charts { (chart) } } }
}

fn seats(lang: Language, lessons: &Lessons) -> Markup {
    let seats = || lessons.seats.iter().take(MOST);
    let kinds: Vec<Kind> = seats()
        .map(|seat| kind(&seat.seat, &seat.bores, seat.together))
        .collect();
    let rows: Vec<Vec<String>> = seats()
        .map(|seat| {
            let mut row = vec![
                seat.seat.clone(),
                seat.jobs.to_string(),
                seat.bores.len().to_string(),
            ];
            match seat.together {
                Some(q) => row.extend(
                    [q.median_mm, q.lower_mm, q.upper_mm, q.largest_mm].map(|mm| lang.mm(mm)),
                ),
                None => row.extend(too_few(lang, 4)),
            }
            row
        })
        .collect();
    let head = [
        "shelf.seat",
        "learned.jobs",
        "learned.bores",
        "learned.median",
        "learned.quarter-below",
        "learned.quarter-above",
        "learned.largest",
    ]
    .map(|key| lang.say(key));
    html! {
        (spreads(Style::mm(lang), lang.say("learned.seats-drawn"), &kinds))
        (table(&head, &rows))
    }
}

/// What stands in place of numbers that too few values can't give.
fn too_few(lang: Language, columns: usize) -> Vec<String> {
    let mut cells = vec![NONE.to_owned(); columns];
    if let Some(first) = cells.first_mut() {
        lang.say("learned.too-few").clone_into(first);
    }
    cells
}

/// Mean, its interval, spread, extremes, in µm.
fn together(lang: Language, mean: Option<&Mean>) -> Vec<String> {
    let um = |mm: f64| lang.signed(mm * 1e3, 1);
    let Some(mean) = mean else {
        return too_few(lang, 5);
    };
    vec![
        um(mean.mean_mm),
        lang.fill(
            "learned.between",
            &[("from", &um(mean.lower_mm)), ("to", &um(mean.upper_mm))],
        ),
        lang.decimal(mean.standard_deviation_mm * 1e3, 1),
        um(mean.smallest_mm),
        um(mean.largest_mm),
    ]
}

const TOGETHER: [&str; 5] = [
    "learned.mean",
    "learned.mean-between",
    "learned.spread",
    "learned.least",
    "learned.most",
];

fn reamers(lang: Language, lessons: &Lessons) -> Markup {
    let reamers = || lessons.reamers.iter().take(MOST);
    let kinds: Vec<Kind> = reamers()
        .map(|reamer| {
            let cuts: Vec<f64> = reamer.bores.iter().map(|value| value.value_mm).collect();
            kind(&reamer.reamer, &reamer.bores, Quartiles::of(&cuts))
        })
        .collect();
    let rows: Vec<Vec<String>> = reamers()
        .map(|reamer| {
            let nominal = reamer
                .nominal_mm
                .map_or_else(|| NONE.to_owned(), |mm| lang.mm(mm));
            let mut row = vec![
                reamer.reamer.clone(),
                nominal,
                reamer.bores.len().to_string(),
            ];
            row.extend(together(lang, reamer.together.as_ref()));
            row
        })
        .collect();
    let head: Vec<&str> = ["learned.reamer", "learned.nominal", "learned.bores"]
        .into_iter()
        .chain(TOGETHER)
        .map(|key| lang.say(key))
        .collect();
    html! {
        (spreads(micrometres(lang), lang.say("learned.reamers-drawn"), &kinds))
        (table(&head, &rows))
    }
}

/// The re-checks of one gauge over time.
fn drift(lang: Language, gauge: &GaugeLesson, reach_mm: [f64; 2]) -> Markup {
    let point = |check: &Value| TimePoint {
        at: check.at,
        value_mm: check.value_mm,
    };
    let counted = format!("{}: {}", gauge.gauge, lang.say("learned.gauges-drawn"));
    let chart = TimeLine {
        title: counted.clone(),
        counted,
        points: gauge.checks.iter().map(point).collect(),
        reach_mm,
        style: micrometres(lang),
    };
    html! { @if !gauge.checks.is_empty() { (chart.draw().still_svg()) } }
}

fn gauges(lang: Language, lessons: &Lessons) -> Markup {
    let rows: Vec<Vec<String>> = lessons
        .gauges
        .iter()
        .take(MOST)
        .map(|gauge| {
            let mut row = vec![gauge.gauge.clone(), gauge.checks.len().to_string()];
            row.extend(together(lang, gauge.together.as_ref()));
            row.push(gauge.settings.len().to_string());
            let newest = gauge.settings.last();
            row.push(newest.map_or_else(
                || NONE.to_owned(),
                |value| lang.signed(value.value_mm * 1e3, 1),
            ));
            row
        })
        .collect();
    let head: Vec<&str> = ["learned.gauge", "learned.checks"]
        .into_iter()
        .chain(TOGETHER)
        .chain(["learned.settings", "learned.newest"])
        .map(|key| lang.say(key))
        .collect();
    html! {
        @let all = || lessons.gauges.iter().take(MOST);
        @let reach_mm = reach(all().flat_map(|gauge| &gauge.checks).map(|check| check.value_mm));
        div.charts { @for gauge in all() { (drift(lang, gauge, reach_mm)) } }
        (table(&head, &rows))
    }
}
