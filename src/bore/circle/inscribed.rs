//! The maximum inscribed circle.

use super::{Found, Points};

/// The largest circle that holds no point and whose centre lies within its three contacts: the
/// largest plug that enters and is held. There can be several that are largest among their
/// neighbours; the points taken in stay, so that the largest of all is found. `None` where no
/// three points hold a circle.
pub(crate) fn inscribed(points: &Points) -> Option<Found> {
    if points.perfect() {
        let ((near, distance), _) = points.extremes([0.0, 0.0]);
        return Some(points.found([0.0, 0.0], distance, Vec::new(), vec![near]));
    }
    let mut working = points.first_guess(true, false);
    for _ in 0..200 {
        let (centre, radius, contacts) = largest_among(points, &working)?;
        let ((near, distance), _) = points.extremes(centre);
        if distance >= radius - points.slack || working.contains(&near) {
            return Some(points.found(centre, distance, Vec::new(), contacts));
        }
        working.push(near);
    }
    None
}

fn largest_among(points: &Points, few: &[usize]) -> Option<([f64; 2], f64, Vec<usize>)> {
    let mut best: Option<([f64; 2], f64, Vec<usize>)> = None;
    for (at, &a) in few.iter().enumerate() {
        for (next, &b) in few.iter().enumerate().skip(at + 1) {
            for &c in &few[next + 1..] {
                let Some(centre) = points.equidistant((a, b), (b, c)) else {
                    continue;
                };
                let radius = [a, b, c]
                    .iter()
                    .map(|&index| points.distance(index, centre))
                    .fold(f64::INFINITY, f64::min);
                if best.as_ref().is_none_or(|(_, most, _)| radius > *most)
                    && within(points, [a, b, c], centre)
                    && few
                        .iter()
                        .all(|&index| points.distance(index, centre) >= radius - points.slack)
                {
                    best = Some((centre, radius, vec![a, b, c]));
                }
            }
        }
    }
    best
}

/// Whether `centre` lies in the triangle of the three points, its edges included.
fn within(points: &Points, corners: [usize; 3], centre: [f64; 2]) -> bool {
    let [a, b, c] = corners.map(|index| points.all[index]);
    let side = |p: [f64; 2], q: [f64; 2]| {
        (q[0] - p[0]).mul_add(centre[1] - p[1], -((q[1] - p[1]) * (centre[0] - p[0])))
    };
    let sides = [side(a, b), side(b, c), side(c, a)];
    let slack = points.slack * points.radius;
    sides.iter().all(|&s| s >= -slack) || sides.iter().all(|&s| s <= slack)
}
