//! The minimum zone: two concentric circles, as close together as can be, with all points between.

use super::{Found, Points};

/// A solution for a few points.
struct Zone {
    centre: [f64; 2],
    inner_radius: f64,
    outer_radius: f64,
    outer: [usize; 2],
    inner: [usize; 2],
}

impl Zone {
    const fn width(&self) -> f64 {
        self.outer_radius - self.inner_radius
    }
}

/// The minimum zone of points that surround their centre. Two points touch outside and two inside,
/// and they interlace in angle: otherwise a small shift of the centre would narrow the zone. `None`
/// where rounding keeps the search from ending.
pub(crate) fn minimum_zone(points: &Points) -> Option<Found> {
    if points.perfect() {
        let ((near, least), (far, most)) = points.extremes([0.0, 0.0]);
        return Some(points.found(
            [0.0, 0.0],
            f64::midpoint(least, most),
            vec![far],
            vec![near],
        ));
    }
    let mut seen = points.first_guess(true, true);
    let mut working = seen.clone();
    let mut widest = 0.0;
    for _ in 0..400 {
        let Some(zone) = narrowest(points, &working) else {
            // Too few of the points for a zone of their own: take all that were seen.
            if working.len() == seen.len() {
                return None;
            }
            working.clone_from(&seen);
            continue;
        };
        let ((near, least), (far, most)) = points.extremes(zone.centre);
        let broken_outside = most > zone.outer_radius + points.slack;
        let broken_inside = least < zone.inner_radius - points.slack;
        let newcomers: Vec<usize> = [(broken_outside, far), (broken_inside, near)]
            .into_iter()
            .filter(|&(broken, index)| broken && !working.contains(&index))
            .map(|(_, index)| index)
            .collect();
        if newcomers.is_empty() {
            return Some(points.found(
                zone.centre,
                f64::midpoint(least, most),
                zone.outer.to_vec(),
                zone.inner.to_vec(),
            ));
        }
        for &index in &newcomers {
            if !seen.contains(&index) {
                seen.push(index);
            }
        }
        // While the zone widens, its four contacts stand for all points passed so far.
        if zone.width() > widest + points.slack {
            widest = zone.width();
            working.clear();
            working.extend(zone.outer);
            working.extend(zone.inner);
        }
        working.extend(newcomers);
    }
    None
}

/// The narrowest zone of a few points, by trying every four that interlace.
fn narrowest(points: &Points, few: &[usize]) -> Option<Zone> {
    let mut round: Vec<usize> = few.to_vec();
    let angle = |index: usize| points.all[index][1].atan2(points.all[index][0]);
    round.sort_by(|&a, &b| angle(a).total_cmp(&angle(b)));
    let mut best: Option<Zone> = None;
    let count = round.len();
    for a in 0..count {
        for b in a + 1..count {
            for c in b + 1..count {
                for d in c + 1..count {
                    let one = [round[a], round[c]];
                    let other = [round[b], round[d]];
                    let Some(centre) = points.equidistant((one[0], one[1]), (other[0], other[1]))
                    else {
                        continue;
                    };
                    let (first, second) = (
                        points.distance(one[0], centre),
                        points.distance(other[0], centre),
                    );
                    let (outer, inner) = if first >= second {
                        (one, other)
                    } else {
                        (other, one)
                    };
                    let zone = Zone {
                        centre,
                        inner_radius: first.min(second),
                        outer_radius: first.max(second),
                        outer,
                        inner,
                    };
                    if best.as_ref().is_none_or(|best| zone.width() < best.width())
                        && few.iter().all(|&index| {
                            let distance = points.distance(index, centre);
                            distance <= zone.outer_radius + points.slack
                                && distance >= zone.inner_radius - points.slack
                        })
                    {
                        best = Some(zone);
                    }
                }
            }
        }
    }
    best
}
