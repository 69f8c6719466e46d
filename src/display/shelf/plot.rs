//! Dots: each value where it lies, what they say together as a bar behind them.

use maud::{Markup, html};

use crate::display::words::Language;

const WIDTH: f64 = 640.0;
/// Room for the numbers of the scale and the row's name.
const LEFT: f64 = 16.0;
const RIGHT: f64 = 624.0;
const ROW: f64 = 56.0;
/// A row shows at most its newest so many values.
const DOTS: usize = 400;

/// Values of one kind.
pub(super) struct Row {
    pub(super) name: String,
    /// In the unit of the scale, the oldest first.
    pub(super) values: Vec<f64>,
    /// From, middle and to of what they say together.
    pub(super) together: Option<(f64, f64, f64)>,
}

/// Rows of dots under one scale. `label` says what the whole plot shows, and in which unit.
pub(super) fn rows(lang: Language, label: &str, digits: usize, rows: &[Row]) -> Markup {
    let (low, high) = span(rows);
    let step = step(high - low);
    let (low, high) = ((low / step).floor() * step, (high / step).ceil() * step);
    let x = |value: f64| LEFT + (value - low) / (high - low) * (RIGHT - LEFT);
    #[expect(clippy::cast_precision_loss, reason = "a handful of rows")]
    let y = |row: usize| 34.0 + row as f64 * ROW;
    let bottom = y(rows.len()) - 20.0;
    let ticks: Vec<f64> = (0..=20)
        .map(|number| f64::from(number).mul_add(step, low))
        .take_while(|tick| *tick <= high + step * 1e-6)
        .collect();
    html! {
        svg.plot role="img" aria-label=(label) viewBox=(format!("0 0 {WIDTH} {}", bottom + 34.0)) {
            @for tick in &ticks {
                line.grid x1=(at(x(*tick))) x2=(at(x(*tick))) y1="8" y2=(at(bottom)) {}
                text.scale x=(at(x(*tick))) y=(at(bottom + 20.0)) text-anchor=(anchor(x(*tick))) {
                    (lang.decimal(*tick, digits))
                }
            }
            @for (number, row) in rows.iter().enumerate() {
                text.name x=(LEFT) y=(at(y(number) - 8.0)) { (row.name) " · n = " (row.values.len()) }
                @if let Some((from, middle, to)) = row.together {
                    rect.together x=(at(x(from))) width=(at((x(to) - x(from)).max(1.0))) y=(at(y(number))) height="20" {}
                    line.middle x1=(at(x(middle))) x2=(at(x(middle))) y1=(at(y(number) - 2.0)) y2=(at(y(number) + 22.0)) {}
                }
                @for (number_of_dot, value) in newest(&row.values).iter().enumerate() {
                    circle.dot cx=(at(x(*value))) cy=(at(y(number) + 10.0 + jitter(number_of_dot))) r="4" {}
                }
            }
        }
    }
}

/// A value and its day, as days since some day.
pub(super) type Dated = (f64, f64);

/// Values over time; `from` and `to` are the first and the last day in words.
pub(super) fn over_time(
    lang: Language,
    label: &str,
    digits: usize,
    (from, to): (&str, &str),
    values: &[Dated],
) -> Markup {
    let values = &values[values.len().saturating_sub(DOTS)..];
    let row = Row {
        name: String::new(),
        values: values
            .iter()
            .map(|(_, value)| *value)
            .chain([0.0])
            .collect(),
        together: None,
    };
    let (low, high) = span(&[row]);
    let step = step(high - low);
    let (low, high) = ((low / step).floor() * step, (high / step).ceil() * step);
    let days = values.iter().map(|(day, _)| *day);
    let (first, last) = days.fold((f64::INFINITY, f64::NEG_INFINITY), |(least, most), day| {
        (least.min(day), most.max(day))
    });
    let x = |day: f64| {
        let share = if last > first {
            (day - first) / (last - first)
        } else {
            0.5
        };
        90.0 + share * (RIGHT - 98.0)
    };
    let is_zero = |tick: f64| tick.abs() < step * 1e-6;
    let y = |value: f64| 176.0 - (value - low) / (high - low) * 156.0;
    let ticks: Vec<f64> = (0..=20)
        .map(|number| f64::from(number).mul_add(step, low))
        .take_while(|tick| *tick <= high + step * 1e-6)
        .collect();
    html! {
        svg.plot role="img" aria-label=(label) viewBox=(format!("0 0 {WIDTH} 214")) {
            @for tick in &ticks {
                line.grid.zero[is_zero(*tick)] x1="84" x2=(RIGHT) y1=(at(y(*tick))) y2=(at(y(*tick))) {}
                text.scale x="78" y=(at(y(*tick) + 5.0)) text-anchor="end" {
                    @if is_zero(*tick) { "0" } @else { (lang.signed(*tick, digits)) }
                }
            }
            text.scale x="84" y="204" { (from) }
            @if from != to { text.scale x=(RIGHT) y="204" text-anchor="end" { (to) } }
            @for (day, value) in values { circle.dot cx=(at(x(*day))) cy=(at(y(*value))) r="4" {} }
        }
    }
}

fn newest(values: &[f64]) -> &[f64] {
    &values[values.len().saturating_sub(DOTS)..]
}

/// From the least to the greatest of all, never of no width.
fn span(rows: &[Row]) -> (f64, f64) {
    let mut all = rows.iter().flat_map(|row| {
        let (from, to) = row
            .together
            .map_or((None, None), |(from, _, to)| (Some(from), Some(to)));
        row.values.iter().copied().chain(from).chain(to)
    });
    let first = all.next().unwrap_or(0.0);
    let (low, high) = all.fold((first, first), |(low, high), value| {
        (low.min(value), high.max(value))
    });
    if high - low < 1e-9 {
        (low - 0.5, high + 0.5)
    } else {
        (low, high)
    }
}

/// A round step, 1, 2 or 5 times a power of ten, of which four to ten fill `width`.
fn step(width: f64) -> f64 {
    let rough = width / 5.0;
    let power = 10.0_f64.powf(rough.log10().floor());
    let share = rough / power;
    power
        * if share < 1.5 {
            1.0
        } else if share < 3.5 {
            2.0
        } else if share < 7.5 {
            5.0
        } else {
            10.0
        }
}

/// Equal values would hide each other, so dots stand a little above and below the middle.
fn jitter(number: usize) -> f64 {
    const PLACES: [f64; 5] = [0.0, -5.0, 5.0, -2.5, 2.5];
    PLACES[number % PLACES.len()]
}

/// A label at the edge stays inside.
fn anchor(x: f64) -> &'static str {
    if x < LEFT + 20.0 {
        "start"
    } else if x > RIGHT - 40.0 {
        "end"
    } else {
        "middle"
    }
}

/// A place in the picture, to a tenth.
fn at(place: f64) -> String {
    format!("{place:.1}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_value_has_its_dot_inside_the_picture_and_equal_values_make_no_nonsense() {
        let one = |values: Vec<f64>| Row {
            name: "seat".into(),
            values,
            together: None,
        };
        for values in [vec![0.02; 3], vec![0.0], vec![-3.0, 1200.0, 0.5]] {
            let count = values.len();
            let svg = rows(Language::En, "label", 2, &[one(values)]).into_string();
            assert_eq!(svg.matches("<circle").count(), count, "{svg}");
            assert!(!svg.contains("NaN") && !svg.contains("inf"), "{svg}");
            for place in svg.split("cx=\"").skip(1) {
                let x: f64 = place.split('"').next().unwrap().parse().unwrap();
                assert!((LEFT..=RIGHT).contains(&x), "{x} in {svg}");
            }
        }
        let dated = [(1.0, 0.5), (1.0, 0.5)];
        let svg = over_time(Language::De, "label", 1, ("a", "b"), &dated).into_string();
        assert!(
            svg.matches("<circle").count() == 2 && !svg.contains("NaN"),
            "{svg}"
        );
    }

    #[test]
    fn steps_are_round() {
        for (width, wanted) in [(1.0, 0.2), (0.07, 0.01), (12.0, 2.0), (26.0, 5.0)] {
            assert!(
                (step(width) - wanted).abs() < 1e-12,
                "{width}: {}",
                step(width)
            );
        }
    }
}
