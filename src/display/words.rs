//! Numbers, directions and verdicts as a mechanic says them.

use crate::job::Decision::{CantTell, Conforms, DoesNotConform};
use crate::job::{Seat, SeatBore, SectionNumbers, StationView, Status};

/// A withheld number.
pub(super) const NONE: &str = "—";

/// Millimetres with three digits and a true minus sign.
pub(super) fn mm(value: f64) -> String {
    decimal(value, 3)
}

/// A number with `digits` behind the point, a true minus sign and no minus zero.
pub(super) fn decimal(value: f64, digits: usize) -> String {
    let text = format!("{value:.digits$}");
    match text.strip_prefix('-') {
        Some(zero) if zero.bytes().all(|b| matches!(b, b'0' | b'.')) => zero.to_owned(),
        Some(size) => format!("\u{2212}{size}"),
        None => text,
    }
}

/// A difference, always with its sign.
pub(super) fn signed(value: f64, digits: usize) -> String {
    let text = decimal(value, digits);
    if text.starts_with('\u{2212}') {
        text
    } else {
        format!("+{text}")
    }
}

/// As short as it can be said: `8`, `7.5`.
pub(super) fn short(value: f64) -> String {
    let text = decimal(value, 2);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// `90°`, `22.5°`.
pub(super) fn degrees(angle: f64) -> String {
    format!("{}°", short(angle))
}

/// Where an angle is on a clock face whose 12 is the landmark: `half past 4`.
pub(super) fn clock(angle_deg: f64) -> String {
    #[expect(clippy::cast_possible_truncation, reason = "0 to 719")]
    let minutes = (angle_deg.rem_euclid(360.0) * 2.0).round() as i64 % 720;
    let hour = |h: i64| if h % 12 == 0 { 12 } else { h % 12 };
    let (h, m) = (minutes / 60, minutes % 60);
    match m {
        0 => format!("{} o’clock", hour(h)),
        15 => format!("quarter past {}", hour(h)),
        30 => format!("half past {}", hour(h)),
        45 => format!("quarter to {}", hour(h + 1)),
        _ => format!("{}:{m:02} on the clock", hour(h)),
    }
}

/// A direction as the contact sees it: from two-point data an axis, never a side.
pub(super) fn axis(angle_deg: f64) -> String {
    let near = angle_deg.rem_euclid(180.0).round() % 180.0;
    format!("{}–{}", degrees(near), degrees(near + 180.0))
}

/// With a capital first letter.
pub(super) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

/// How a section stands, as the page shows it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Standing {
    /// Everything that was asked conforms.
    Inside,
    /// Gauging goes on.
    Open,
    /// Gauged, and nobody can tell.
    CantTell,
    /// A limit is passed.
    Outside,
}

/// A verdict: a few words to read from afar, then the sentences behind them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Words {
    pub(super) standing: Standing,
    pub(super) headline: String,
    pub(super) because: String,
}

/// The verdict on one section in words. `done` of its stations are gauged, `open` still to do.
pub(super) fn verdict(
    section: Option<&SectionNumbers>,
    bore: &SeatBore,
    done: usize,
    open: usize,
) -> Words {
    let Some(section) = section else {
        return Words {
            standing: Standing::Open,
            headline: "Nothing gauged here yet".into(),
            because: String::new(),
        };
    };
    let (size, form) = (&section.verdict.size, &section.verdict.form);
    let set = section.numbers.size_set;
    let over = section
        .numbers
        .mean_diameter_mm
        .is_some_and(|mean| mean > bore.target_mm);
    let amiss = if over { "over size" } else { "under size" };
    // Every further station can only make a section less round: that verdict stands already.
    let so_far = open > 0 && form.decision != DoesNotConform;
    let (standing, headline) = match (form.decision, size.decision) {
        (DoesNotConform, DoesNotConform) => {
            (Standing::Outside, format!("out of round and {amiss}"))
        }
        (DoesNotConform, _) => (Standing::Outside, "out of round".into()),
        (_, DoesNotConform) => (Standing::Outside, amiss.into()),
        (Conforms, Conforms) => (Standing::Inside, "round and to size".into()),
        (Conforms, CantTell) if !set => (Standing::Inside, "round, size not judged".into()),
        _ if open > 0 => {
            return Words {
                standing: Standing::Open,
                headline: format!("{done} of {} gauged here", done + open),
                because: "Too few to judge.".into(),
            };
        }
        (Conforms, CantTell) => (Standing::CantTell, "round, size can’t be told".into()),
        (CantTell, Conforms) => (
            Standing::CantTell,
            "to size, roundness can’t be told".into(),
        ),
        (CantTell, CantTell) => (Standing::CantTell, "can’t be told".into()),
    };
    let standing = if so_far && standing == Standing::Inside {
        Standing::Open
    } else {
        standing
    };
    let mut because: Vec<String> = [form, size].map(|judged| sentence(&judged.why)).into();
    if open > 0 {
        because.push(format!("{done} of {} stations gauged here.", done + open));
    }
    Words {
        standing,
        headline: capital(&headline) + if so_far { " so far" } else { "" },
        because: because.join(" "),
    }
}

/// A fragment as a sentence.
fn sentence(fragment: &str) -> String {
    let text = capital(fragment.trim());
    if text.ends_with('.') {
        text
    } else {
        text + "."
    }
}

/// How many stations of one section are gauged, and how many still to do.
pub(super) fn progress(stations: &[StationView], bore: &str, depth_mm: f64) -> (usize, usize) {
    let here = |s: &&StationView| s.station.bore == bore && s.station.depth_mm == depth_mm;
    let count = |status| {
        stations
            .iter()
            .filter(here)
            .filter(|s| s.status == status)
            .count()
    };
    (count(Status::Measured), count(Status::ToDo))
}

/// The bore of a seat by name.
pub(super) fn bore_of<'a>(seat: &'a Seat, name: &str) -> Option<&'a SeatBore> {
    seat.bores.iter().find(|bore| bore.name == name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_angle_is_a_place_on_a_clock_face() {
        for (angle, clock) in [
            (0.0, "12 o’clock"),
            (90.0, "3 o’clock"),
            (135.0, "half past 4"),
            (22.5, "quarter to 1"),
            (352.5, "quarter to 12"),
            (157.5, "quarter past 5"),
            (20.0, "12:40 on the clock"),
            (360.0, "12 o’clock"),
        ] {
            assert_eq!(super::clock(angle), clock, "{angle}");
        }
    }

    #[test]
    fn an_axis_has_two_ends() {
        assert_eq!(axis(35.2), "35°–215°");
        assert_eq!(axis(179.8), "0°–180°");
    }

    #[test]
    fn numbers_have_a_true_minus_and_no_minus_zero() {
        assert_eq!(mm(-0.0462), "\u{2212}0.046");
        assert_eq!(mm(-0.0002), "0.000");
        assert_eq!(signed(0.5, 2), "+0.50");
        assert_eq!(short(7.50), "7.5");
        assert_eq!(short(10.0), "10");
    }
}
