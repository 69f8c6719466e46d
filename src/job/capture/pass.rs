//! One pass of a rocked gauge through its turning point.

/// A pass: where it turned and how high it rose on its lower side.
#[derive(Debug, Clone, Copy)]
pub(super) struct Pass {
    pub(super) turning_mm: f64,
    pub(super) height_mm: f64,
    /// The number of its first value.
    pub(super) from: u64,
    /// The number of its lowest value.
    pub(super) low: u64,
}

/// The turning point of a pass whose lowest value is `values[low]` and which rises by `height_mm` on
/// its lower side, with noise of standard deviation `noise_mm`.
pub(in crate::job) fn turning_mm(values: &[f64], low: usize, height_mm: f64, noise_mm: f64) -> f64 {
    let bottom = values[low] + (12.0 * noise_mm).clamp(0.1 * height_mm, 0.4 * height_mm);
    let start = values[..low]
        .iter()
        .rposition(|mm| *mm > bottom + 4.0 * noise_mm);
    let start = start.map_or(0, |above| above + 1);
    let end = values[low..]
        .iter()
        .position(|mm| *mm > bottom + 4.0 * noise_mm);
    let end = end.map_or(values.len(), |above| low + above);
    let inside = |at: &usize| values[*at] <= bottom;
    let first = (start..=low).find(inside).unwrap_or(low);
    let last = (low..end).rev().find(inside).unwrap_or(low);
    let valley = &values[first..=last];
    if valley.len() >= 5
        && let Some(vertex) = vertex(valley)
    {
        return vertex;
    }
    if low == 0 || low + 1 >= values.len() {
        return values[low];
    }
    let [before, here, after] = [values[low - 1], values[low], values[low + 1]];
    let bend = before - 2.0 * here + after;
    if bend <= 0.0 {
        return here;
    }
    here - (after - before).powi(2) / (8.0 * bend)
}

/// The least value of the parabola that fits `values`, spaced evenly, by least squares; `None` where
/// it has no least value among them.
#[expect(
    clippy::cast_precision_loss,
    reason = "a pass has a few hundred values"
)]
fn vertex(values: &[f64]) -> Option<f64> {
    let n = values.len() as f64;
    let centre = (n - 1.0) / 2.0;
    // About the centre of even spacing the sums of odd powers vanish, and the normal equations of
    // a + b x + c x² fall apart; the sums have closed forms.
    let sum2 = n * (n * n - 1.0) / 12.0;
    let sum4 = sum2 * (3.0 * n * n - 7.0) / 20.0;
    let base = values[0];
    let (mut y, mut xy, mut xxy) = (0.0, 0.0, 0.0);
    for (index, value) in values.iter().enumerate() {
        let x = index as f64 - centre;
        y += value - base;
        xy += x * (value - base);
        xxy += x * x * (value - base);
    }
    let bend = (n * xxy - sum2 * y) / (n * sum4 - sum2 * sum2);
    let slope = xy / sum2;
    let level = (y - bend * sum2) / n;
    let at = -slope / (2.0 * bend);
    (bend > 0.0 && at.abs() <= centre).then(|| base + level - slope * slope / (4.0 * bend))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: 45.96 + 0.001 (x - 3.3)² has its least value 45.96 between two values.
    #[test]
    fn a_parabola_is_found_exactly_between_its_values() {
        let value = |x: f64| 45.96 + 0.001 * (x - 3.3).powi(2);
        let values: Vec<f64> = (0..8).map(|x| value(f64::from(x))).collect();
        assert!((vertex(&values).unwrap() - 45.96).abs() < 1e-12);
        let three = [value(2.0), value(3.0), value(4.0)];
        assert!((turning_mm(&three, 1, 0.001, 0.0) - 45.96).abs() < 1e-12);
    }

    #[test]
    fn what_has_no_least_value_inside_has_no_vertex() {
        assert_eq!(vertex(&[1.0, 2.0, 3.1, 4.3, 5.6]), None);
        assert_eq!(vertex(&[1.0, 2.0, 2.5, 2.0, 1.0]), None);
    }
}
