//! No more points than anyone can see, the extremes among them.

/// Most points of any path.
pub(super) const MOST: usize = 720;

/// At most `most` (even, 2 or more) of the points, in their order: of each run of neighbours the
/// one with the smallest and the one with the largest value, so that no peak is lost.
pub(super) fn thinned<T: Copy>(points: &[T], most: usize, value: impl Fn(&T) -> f64) -> Vec<T> {
    if points.len() <= most {
        return points.to_vec();
    }
    let runs = (most / 2).max(1);
    let mut kept = Vec::with_capacity(most);
    for run in 0..runs {
        let (from, to) = (run * points.len() / runs, (run + 1) * points.len() / runs);
        let by = |a: &usize, b: &usize| value(&points[*a]).total_cmp(&value(&points[*b]));
        let (Some(low), Some(high)) = ((from..to).min_by(by), (from..to).max_by(by)) else {
            continue;
        };
        kept.push(points[low.min(high)]);
        if low != high {
            kept.push(points[low.max(high)]);
        }
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// Few, in order, from among the given, smallest and largest kept.
        #[test]
        fn the_extremes_stay(values in prop::collection::vec(-1e3..1e3_f64, 1..4_000), half in 1..400_usize) {
            let points: Vec<(usize, f64)> = values.into_iter().enumerate().collect();
            let kept = thinned(&points, 2 * half, |point| point.1);
            prop_assert!(kept.len() <= (2 * half).max(1));
            prop_assert!(kept.windows(2).all(|pair| pair[0].0 < pair[1].0));
            prop_assert!(kept.iter().all(|point| points[point.0] == *point));
            let extreme = |points: &[(usize, f64)]| {
                let values = || points.iter().map(|point| point.1);
                (values().fold(f64::MAX, f64::min), values().fold(f64::MIN, f64::max))
            };
            prop_assert_eq!(extreme(&kept), extreme(&points));
        }
    }
}
