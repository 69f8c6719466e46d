//! How much of a bore's length is a seat.

use crate::bore::Section;

/// The longest run of depth, mm, over which the mean diameter lies within `lower_mm` and
/// `upper_mm`, taken as straight between neighbouring sections; nothing is claimed beyond the first
/// and last. `None` where fewer than two sections have a mean diameter.
pub fn straight_length_mm(sections: &[Section], lower_mm: f64, upper_mm: f64) -> Option<f64> {
    let mut points: Vec<(f64, f64)> = sections
        .iter()
        .filter_map(|section| Some((section.depth_mm, section.mean_diameter_mm?)))
        .collect();
    if points.len() < 2 {
        return None;
    }
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (mut longest, mut run) = (0.0_f64, 0.0);
    for pair in points.windows(2) {
        let ((z0, d0), (z1, d1)) = (pair[0], pair[1]);
        // The share of the way at which the straight line between the two crosses a limit.
        let crossing = |limit: f64| (limit - d0) / (d1 - d0);
        let (enters, leaves) = if (d1 - d0).abs() < f64::EPSILON {
            if d0 >= lower_mm && d0 <= upper_mm {
                (0.0, 1.0)
            } else {
                (1.0, 0.0)
            }
        } else {
            let (a, b) = (crossing(lower_mm), crossing(upper_mm));
            (a.min(b).max(0.0), a.max(b).min(1.0))
        };
        if leaves < enters {
            run = 0.0;
            continue;
        }
        let inside = (leaves - enters) * (z1 - z0);
        run = if enters > 0.0 { inside } else { run + inside };
        longest = longest.max(run);
        if leaves < 1.0 {
            run = 0.0;
        }
    }
    Some(longest)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bore::{Basis, Contact, Observation, section};

    /// By hand: 46.00, 46.02, 46.06 at 0, 5 and 10 mm lie between 46.01 and 46.04 from 2.5 mm to
    /// 7.5 mm.
    #[test]
    fn the_seat_is_as_long_as_it_lies_within_its_limits() {
        let sections: Vec<Section> = [(0.0, 46.0), (5.0, 46.02), (10.0, 46.06)]
            .iter()
            .map(|&(depth, reading_mm)| {
                let reading = Observation {
                    angle_deg: 0.0,
                    reading_mm,
                };
                section(Contact::TwoPoint, depth, &[reading], &Basis::default()).unwrap()
            })
            .collect();
        let length = |lower, upper| straight_length_mm(&sections, lower, upper).unwrap();
        assert!((length(46.01, 46.04) - 5.0).abs() < 1e-9);
        assert!((length(45.9, 46.1) - 10.0).abs() < 1e-9);
        assert!(length(46.1, 46.2).abs() < 1e-9);
        assert_eq!(straight_length_mm(&sections[..1], 45.0, 47.0), None);
    }
}
