//! How much the values of a gauge scatter, learned while it moves.

use std::collections::VecDeque;
use std::time::Duration;

use super::Sample;

/// The noise is learned anew after so many values.
pub(super) const EVERY: u64 = 8;
/// From so many values.
const WINDOW: usize = 64;
/// With fewer, one step is taken for it.
const FEWEST: usize = 16;
/// Closer than this, values show noise and motion apart.
const DENSE: Duration = Duration::from_millis(50);
/// The range is that of this time.
const RANGE: Duration = Duration::from_secs(3);

/// The standard deviation of the noise in the newest of `samples`, mm: never less than that of
/// rounding to the step, which is step / √12.
pub(super) fn of<F>(samples: &VecDeque<Sample<F>>, step_mm: f64) -> f64 {
    if samples.len() < FEWEST {
        return step_mm;
    }
    let window = samples.len().min(WINDOW);
    let newest: Vec<f64> = samples
        .range(samples.len() - window..)
        .map(|sample| sample.mm)
        .collect();
    // Fourth differences: of noise with standard deviation s they have √70 s, since
    // 1 + 16 + 36 + 16 + 1 = 70; 0.6745 s is the median of |normal|.
    let mut differences: Vec<f64> = newest
        .windows(5)
        .map(|v| (v[0] - 4.0 * v[1] + 6.0 * v[2] - 4.0 * v[3] + v[4]).abs())
        .collect();
    let middle = differences.len() / 2;
    let (_, median, _) = differences.select_nth_unstable_by(middle, f64::total_cmp);
    let scatter = *median / (0.6745 * 70.0_f64.sqrt());
    let (oldest, last) = (
        &samples[samples.len() - window],
        &samples[samples.len() - 1],
    );
    let took = last.at.saturating_sub(oldest.at);
    let gaps = u32::try_from(window - 1).unwrap_or(u32::MAX);
    let noise = if took <= DENSE * gaps {
        scatter
    } else {
        scatter.min((range_mm(samples) / 32.0).max(step_mm))
    };
    noise.max(step_mm / 12.0_f64.sqrt())
}

/// Largest less least value of late, mm.
fn range_mm<F>(samples: &VecDeque<Sample<F>>) -> f64 {
    let now = samples.back().map_or(Duration::ZERO, |sample| sample.at);
    let late = samples
        .iter()
        .rev()
        .take_while(|sample| now.saturating_sub(sample.at) <= RANGE);
    let (least, most) = late.fold(
        (f64::INFINITY, f64::NEG_INFINITY),
        |(least, most), sample| (least.min(sample.mm), most.max(sample.mm)),
    );
    (most - least).max(0.0)
}
