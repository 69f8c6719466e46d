//! The minimum circumscribed circle.

use super::{Found, Points};

/// The smallest circle that holds all points. The problem is convex, so what holds all points and
/// is smallest for its own contacts is smallest for all. `None` where rounding keeps the search
/// from ending.
pub(crate) fn circumscribed(points: &Points) -> Option<Found> {
    if points.perfect() {
        let (_, (far, distance)) = points.extremes([0.0, 0.0]);
        return Some(points.found([0.0, 0.0], distance, vec![far], Vec::new()));
    }
    let mut working = points.first_guess(false, true);
    for _ in 0..200 {
        let (centre, radius, contacts) = smallest_around(points, &working)?;
        let (_, (far, distance)) = points.extremes(centre);
        if distance <= radius + points.slack || contacts.contains(&far) {
            return Some(points.found(centre, distance, contacts, Vec::new()));
        }
        working = contacts;
        working.push(far);
    }
    None
}

/// The smallest circle around a few points, by trying every pair and every three.
fn smallest_around(points: &Points, few: &[usize]) -> Option<([f64; 2], f64, Vec<usize>)> {
    let mut best: Option<([f64; 2], f64, Vec<usize>)> = None;
    let mut consider = |centre: [f64; 2], contacts: &[usize]| {
        let radius = contacts
            .iter()
            .map(|&index| points.distance(index, centre))
            .fold(0.0, f64::max);
        if best.as_ref().is_none_or(|(_, least, _)| radius < *least)
            && few
                .iter()
                .all(|&index| points.distance(index, centre) <= radius + points.slack)
        {
            best = Some((centre, radius, contacts.to_vec()));
        }
    };
    for (at, &a) in few.iter().enumerate() {
        for (next, &b) in few.iter().enumerate().skip(at + 1) {
            let (p, q) = (points.all[a], points.all[b]);
            consider(
                [f64::midpoint(p[0], q[0]), f64::midpoint(p[1], q[1])],
                &[a, b],
            );
            for &c in &few[next + 1..] {
                if let Some(centre) = points.equidistant((a, b), (b, c)) {
                    consider(centre, &[a, b, c]);
                }
            }
        }
    }
    best
}
