//! How much of a bore's length is a seat.

use crate::bore::Section;

/// How much of a bore's length is a seat.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Straight {
    /// The longest run of depth over which the mean diameter lies within the limits, mm.
    pub length_mm: f64,
    /// The shortest and the longest that it may be: where each mean diameter lies within the limits
    /// with all of its expanded uncertainty, and with any of it. `None` where how well a mean
    /// diameter is known is not known.
    pub range_mm: Option<[f64; 2]>,
}

/// Why there is no [`Straight::range_mm`].
pub const RANGE_UNKNOWN: &str =
    "how well each mean diameter is known is not known; gauge more directions or repeat them";

/// The run of depth over which the mean diameter lies within `lower_mm` and `upper_mm`, taken as
/// straight between neighbouring sections; nothing is claimed beyond the first and last, nor past a
/// section whose mean diameter or form is not known or of which an arc was not gauged.
///
/// # Errors
/// Why there is none: a gauge that was never set, or no two neighbouring sections.
pub fn straight(
    sections: &[Section],
    lower_mm: f64,
    upper_mm: f64,
) -> Result<Straight, &'static str> {
    if sections.iter().any(|section| !section.size_set) {
        return Err(
            "limits are of sizes, and the gauge was never set in a setting ring: set it and gauge again",
        );
    }
    let mut sections: Vec<&Section> = sections.iter().collect();
    sections.sort_by(|a, b| a.depth_mm.total_cmp(&b.depth_mm));
    let points: Vec<Option<Point>> = sections.iter().map(|section| Point::of(section)).collect();
    let longest = |reach: f64| longest(&points, reach, lower_mm, upper_mm);
    let length_mm = longest(0.0)
        .ok_or("needs two depths with a mean diameter, gauged all round; gauge another section")?;
    let known = points
        .iter()
        .flatten()
        .all(|point| point.expanded_mm.is_some());
    let range = || Some([longest(1.0)?, longest(-1.0)?]);
    Ok(Straight {
        length_mm,
        range_mm: known.then(range).flatten(),
    })
}

/// A section's mean diameter.
struct Point {
    depth_mm: f64,
    mean_mm: f64,
    expanded_mm: Option<f64>,
}

impl Point {
    fn of(section: &Section) -> Option<Self> {
        let mean_mm = section.mean_diameter_mm?;
        if section.mean_unproven(mean_mm).is_some() {
            return None;
        }
        let known = section.uncertainty.get("mean_diameter_mm");
        Some(Self {
            depth_mm: section.depth_mm,
            mean_mm,
            expanded_mm: known.map(|known| known.expanded),
        })
    }
}

/// The longest run where both the mean less and the mean with `reach` times its uncertainty lie
/// within the limits; `None` without two neighbours.
fn longest(points: &[Option<Point>], reach: f64, lower_mm: f64, upper_mm: f64) -> Option<f64> {
    let (mut longest, mut run) = (None, 0.0_f64);
    for pair in points.windows(2) {
        let [Some(a), Some(b)] = pair else {
            run = 0.0;
            continue;
        };
        let off = |point: &Point| reach * point.expanded_mm.unwrap_or(0.0);
        let above = [a, b].map(|point| point.mean_mm - off(point) - lower_mm);
        let below = [a, b].map(|point| upper_mm - point.mean_mm - off(point));
        let (above, below) = (share(above), share(below));
        let (enters, leaves) = (above.0.max(below.0), above.1.min(below.1));
        let inside = (leaves - enters).max(0.0) * (b.depth_mm - a.depth_mm);
        run = if enters > 0.0 { inside } else { run + inside };
        longest = Some(longest.map_or(run, |longest: f64| longest.max(run)));
        if leaves < 1.0 {
            run = 0.0;
        }
    }
    longest
}

/// From where to where on the way between two heights the straight line is not below zero; the end
/// lies before the beginning where it is nowhere.
fn share([from, to]: [f64; 2]) -> (f64, f64) {
    let crossing = from / (from - to);
    match (from >= 0.0, to >= 0.0) {
        (true, true) => (0.0, 1.0),
        (true, false) => (0.0, crossing),
        (false, true) => (crossing, 1.0),
        (false, false) => (1.0, 0.0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bore::{Basis, Contact, Observation, Setting, section};

    /// Round, by three directions, known to the ring alone: ± 1.96 u.
    fn gauged(points: &[(f64, f64)], directions: usize) -> Vec<Section> {
        let basis = Basis {
            setting: Some(Setting {
                by_ring: true,
                standard_mm: 0.001,
                degrees_of_freedom: f64::INFINITY,
                ..Setting::default()
            }),
            resolution_mm: Some(1e-9),
            ..Basis::default()
        };
        let of = |&(depth, reading_mm): &(f64, f64)| {
            let readings: Vec<Observation> = [0.0, 180.0, 60.0, 120.0][..directions]
                .iter()
                .map(|&angle_deg| Observation {
                    angle_deg,
                    reading_mm,
                })
                .collect();
            section(Contact::TwoPoint, depth, &readings, &basis).unwrap()
        };
        points.iter().map(of).collect()
    }

    /// By hand: 46.00, 46.02, 46.06 at 0, 5 and 10 mm lie between 46.01 and 46.04 from 2.5 mm to
    /// 7.5 mm. With ± 0.00196 they enter 0.49 mm earlier or later and leave 0.245 mm.
    #[test]
    fn the_seat_is_as_long_as_it_lies_within_its_limits() {
        let sections = gauged(&[(0.0, 46.0), (5.0, 46.02), (10.0, 46.06)], 4);
        let found = straight(&sections, 46.01, 46.04).unwrap();
        assert!((found.length_mm - 5.0).abs() < 1e-9);
        let [least, most] = found.range_mm.unwrap();
        assert!((least - 4.265).abs() < 1e-3, "{least}");
        assert!((most - 5.735).abs() < 1e-3, "{most}");
        let length = |lower, upper| straight(&sections, lower, upper).unwrap().length_mm;
        assert!((length(45.9, 46.1) - 10.0).abs() < 1e-9);
        assert!(length(46.1, 46.2).abs() < 1e-9);
        let why = straight(&sections[..1], 45.0, 47.0).unwrap_err();
        assert!(why.contains("two depths"), "{why}");
    }

    /// What is not known in between is not claimed, and without a ring no size is.
    #[test]
    fn a_section_that_is_not_known_breaks_the_run() {
        let mut sections = gauged(&[(0.0, 46.0), (5.0, 46.0)], 4);
        sections.extend(gauged(&[(10.0, 46.0)], 1));
        sections.extend(gauged(&[(15.0, 46.0), (25.0, 46.0)], 4));
        let found = straight(&sections, 45.9, 46.1).unwrap();
        assert!((found.length_mm - 10.0).abs() < 1e-9, "{found:?}");
        assert!(straight(&sections[1..4], 45.9, 46.1).is_err());
        sections[0].size_set = false;
        let why = straight(&sections, 45.9, 46.1).unwrap_err();
        assert!(why.contains("setting ring"), "{why}");
    }
}
