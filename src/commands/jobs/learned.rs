//! What the jobs teach, as tables.

use crate::commands::columns::columns;
use crate::memory::{ENOUGH, Lessons, Mean, Value};

/// Said in place of what too few values can't say.
const TOO_FEW: &str = "too few";

fn um(mm: f64) -> String {
    let text = format!("{:+.1}", mm * 1e3);
    if text == "-0.0" {
        "+0.0".to_owned()
    } else {
        text
    }
}

fn mm(value: f64) -> String {
    format!("{value:.3}")
}

pub(super) fn text(lessons: &Lessons) -> String {
    let mut text = format!(
        "From {} jobs. Nothing is concluded from fewer than {ENOUGH} values.\n",
        lessons.jobs
    );
    text += "\nOut of round as found, the worst section of each bore, mm\n";
    text += &seats(lessons);
    text += "\nWhat the reamers really cut, as left minus nominal, µm\n";
    text += &reamers(lessons);
    text += "\nGauges at the ring: drift of a job at the re-check, µm (larger bore = more)\n";
    text += &gauges(lessons);
    text
}

fn seats(lessons: &Lessons) -> String {
    let rows: Vec<[String; 7]> = lessons
        .seats
        .iter()
        .map(|seat| {
            let cell = |of: fn(&crate::memory::Quartiles) -> f64| match &seat.together {
                Some(together) => mm(of(together)),
                None => "-".to_owned(),
            };
            [
                seat.seat.clone(),
                seat.jobs.to_string(),
                seat.bores.len().to_string(),
                seat.together
                    .map_or_else(|| TOO_FEW.to_owned(), |together| mm(together.median_mm)),
                cell(|q| q.lower_mm),
                cell(|q| q.upper_mm),
                cell(|q| q.largest_mm),
            ]
        })
        .collect();
    if rows.is_empty() {
        return "nothing gauged as found yet\n".to_owned();
    }
    let head = [
        "seat",
        "jobs",
        "bores",
        "median",
        "quarter below",
        "quarter above",
        "largest",
    ];
    columns(head, &rows, &[1, 2, 3, 4, 5, 6])
}

/// Count, mean, its interval, spread, extremes; or that they are too few.
fn together(values: &[Value], together: Option<&Mean>) -> [String; 6] {
    let count = values.len().to_string();
    let none = || "-".to_owned();
    match together {
        Some(mean) => [
            count,
            um(mean.mean_mm),
            format!("{} to {}", um(mean.lower_mm), um(mean.upper_mm)),
            format!("{:.1}", mean.standard_deviation_mm * 1e3),
            um(mean.smallest_mm),
            um(mean.largest_mm),
        ],
        None => [count, TOO_FEW.to_owned(), none(), none(), none(), none()],
    }
}

fn reamers(lessons: &Lessons) -> String {
    let rows: Vec<[String; 8]> = lessons
        .reamers
        .iter()
        .map(|reamer| {
            let [count, mean, interval, spread, least, most] =
                together(&reamer.bores, reamer.together.as_ref());
            let nominal = reamer.nominal_mm.map_or_else(|| "-".to_owned(), mm);
            [
                reamer.reamer.clone(),
                nominal,
                count,
                mean,
                interval,
                spread,
                least,
                most,
            ]
        })
        .collect();
    if rows.is_empty() {
        return "no reamer was seen to cut all round yet\n".to_owned();
    }
    let head = [
        "reamer",
        "nominal",
        "bores",
        "mean",
        "mean, 95 %",
        "spread",
        "least",
        "most",
    ];
    columns(head, &rows, &[1, 2, 3, 4, 5, 6, 7])
}

fn gauges(lessons: &Lessons) -> String {
    let rows: Vec<[String; 9]> = lessons
        .gauges
        .iter()
        .map(|gauge| {
            let [count, mean, interval, spread, least, most] =
                together(&gauge.checks, gauge.together.as_ref());
            let newest = gauge.settings.last();
            [
                gauge.gauge.clone(),
                count,
                mean,
                interval,
                spread,
                least,
                most,
                gauge.settings.len().to_string(),
                newest.map_or_else(|| "-".to_owned(), |newest| um(newest.value_mm)),
            ]
        })
        .collect();
    if rows.is_empty() {
        return "no gauge was set in its ring yet\n".to_owned();
    }
    let head = [
        "gauge",
        "re-checks",
        "mean",
        "mean, 95 %",
        "spread",
        "least",
        "most",
        "settings",
        "newest showed over its ring",
    ];
    columns(head, &rows, &[1, 2, 3, 4, 5, 6, 7, 8])
}
