//! Numbers, directions and verdicts as a mechanic says them.

use crate::job::{Seat, SeatBore};

use super::state::{SectionNumbers, StationState, Status};

/// Multiplier of the standard uncertainty that a value must stay clear of a limit by: one-sided
/// 95 % of a normal distribution (ISO 14253-1:2017, 5: guard band at a conformance probability
/// of 95 %).
const GUARD: f64 = 1.65;

/// A withheld number.
pub(crate) const NONE: &str = "—";

/// Millimetres with three digits and a true minus sign.
pub(crate) fn mm(value: f64) -> String {
    decimal(value, 3)
}

/// A number with `digits` behind the point, a true minus sign and no minus zero.
pub(crate) fn decimal(value: f64, digits: usize) -> String {
    let text = format!("{value:.digits$}");
    match text.strip_prefix('-') {
        Some(zero) if zero.bytes().all(|b| matches!(b, b'0' | b'.')) => zero.to_owned(),
        Some(size) => format!("\u{2212}{size}"),
        None => text,
    }
}

/// A difference, always with its sign.
pub(crate) fn signed(value: f64, digits: usize) -> String {
    let text = decimal(value, digits);
    if text.starts_with('\u{2212}') {
        text
    } else {
        format!("+{text}")
    }
}

/// As short as it can be said: `8`, `7.5`.
pub(crate) fn short(value: f64) -> String {
    let text = decimal(value, 2);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// `90°`, `22.5°`.
pub(crate) fn degrees(angle: f64) -> String {
    format!("{}°", short(angle))
}

/// Where an angle is on a clock face whose 12 is the landmark: `half past 4`.
pub(crate) fn clock(angle_deg: f64) -> String {
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
pub(crate) fn axis(angle_deg: f64) -> String {
    let near = angle_deg.rem_euclid(180.0).round() % 180.0;
    format!("{}–{}", degrees(near), degrees(near + 180.0))
}

/// With a capital first letter.
pub(crate) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

/// How a section, a bore or a job stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Standing {
    /// Everything that was asked conforms.
    Inside,
    /// Too little is known to say.
    Open,
    /// Measured, but too near a limit for this uncertainty.
    CantTell,
    /// A limit is passed.
    Outside,
}

/// A verdict: a few words to read from afar, then the sentences behind them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Verdict {
    pub(crate) standing: Standing,
    pub(crate) headline: String,
    pub(crate) because: String,
}

/// One quantity against its limits.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Against {
    Unknown,
    Within,
    Near,
    /// Below the lower limit by so many mm.
    Below(f64),
    /// Above the upper limit by so many mm.
    Above(f64),
}

fn against(value: Option<f64>, lower: f64, upper: f64, guard: f64) -> Against {
    let Some(value) = value else {
        return Against::Unknown;
    };
    if value < lower - guard {
        Against::Below(lower - value)
    } else if value > upper + guard {
        Against::Above(value - upper)
    } else if value >= lower + guard && value <= upper - guard {
        Against::Within
    } else {
        Against::Near
    }
}

/// The verdict on one section. `open` is how many of its stations are still to do.
pub(crate) fn section_verdict(
    section: Option<&SectionNumbers>,
    bore: &SeatBore,
    done: usize,
    open: usize,
) -> Verdict {
    let all = done + open;
    let Some(section) = section.filter(|_| done > 0) else {
        return Verdict {
            standing: Standing::Open,
            headline: "Nothing gauged here yet".into(),
            because: format!("{all} stations to do at this depth."),
        };
    };
    let guard = |field: &str| {
        section
            .uncertainty
            .get(field)
            .map_or(0.0, |u| GUARD * u.standard)
    };
    let form = match section.out_of_round_mm {
        // A difference of diameters is never negative: the guard band has one side only.
        Some(value) => against(
            Some(value),
            f64::MIN,
            bore.out_of_round_limit_mm,
            guard("out_of_round_mm"),
        ),
        None => Against::Unknown,
    };
    let mean = section.mean_diameter_mm.filter(|_| section.size_set);
    let size = against(
        mean,
        bore.lower_mm,
        bore.upper_mm,
        guard("mean_diameter_mm"),
    );

    let mut because = Vec::new();
    match (form, section.out_of_round_mm) {
        (Against::Above(_), Some(value)) => because.push(format!(
            "{} mm out of round, limit {}.",
            mm(value),
            mm(bore.out_of_round_limit_mm)
        )),
        (Against::Near, Some(value)) => because.push(format!(
            "{} mm out of round is too near the limit {} for this gauge to say.",
            mm(value),
            mm(bore.out_of_round_limit_mm)
        )),
        _ => {}
    }
    match size {
        Against::Below(by) => because.push(format!(
            "{} mm below the least size {}.",
            mm(by),
            mm(bore.lower_mm)
        )),
        Against::Above(by) => because.push(format!(
            "{} mm above the greatest size {}.",
            mm(by),
            mm(bore.upper_mm)
        )),
        Against::Near => because.push("The mean is too near a limit for this gauge to say.".into()),
        Against::Within => {}
        Against::Unknown if !section.size_set => {
            because.push("Size not judged: the gauge was not set in a ring.".into());
        }
        Against::Unknown => {}
    }
    let misshapen = matches!(form, Against::Above(_));
    if let Some(oval) = section.oval.as_ref().filter(|_| misshapen) {
        because.push(format!("Tight across {}.", axis(oval.tight_axis_deg)));
    }

    // More stations can only make a section less round: that verdict stands already.
    let so_far = if open > 0 && !misshapen {
        " so far"
    } else {
        ""
    };
    let (standing, headline) = match (form, size) {
        (Against::Above(_), Against::Below(_)) => {
            (Standing::Outside, "Out of round and under size")
        }
        (Against::Above(_), Against::Above(_)) => (Standing::Outside, "Out of round and over size"),
        (Against::Above(_), _) => (Standing::Outside, "Out of round"),
        (_, Against::Below(_)) => (Standing::Outside, "Under size"),
        (_, Against::Above(_)) => (Standing::Outside, "Over size"),
        (Against::Near, _) | (_, Against::Near) => (Standing::CantTell, "Too near to call"),
        (Against::Unknown, _) => (Standing::Open, "Gauge on"),
        (Against::Within, Against::Unknown) => (Standing::Inside, "Round"),
        (Against::Within, Against::Within) => (Standing::Inside, "Round and to size"),
        (Against::Below(_), _) => (Standing::Inside, "Round"),
    };
    let standing = if open > 0 && standing == Standing::Inside {
        Standing::Open
    } else {
        standing
    };
    if open > 0 {
        because.push(format!("{done} of {all} stations gauged at this depth."));
    }
    let headline = if headline == "Gauge on" {
        format!("{done} of {all} gauged")
    } else {
        format!("{headline}{so_far}")
    };
    Verdict {
        standing,
        headline,
        because: because.join(" "),
    }
}

/// How many stations of one section are gauged, and how many still to do.
pub(crate) fn progress(stations: &[StationState], bore: &str, depth_mm: f64) -> (usize, usize) {
    let here = |s: &&StationState| s.station.bore == bore && s.station.depth_mm == depth_mm;
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
pub(crate) fn bore_of<'a>(seat: &'a Seat, name: &str) -> Option<&'a SeatBore> {
    seat.bores.iter().find(|bore| bore.name == name)
}
