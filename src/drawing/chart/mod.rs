//! Small charts of what a shop learns: a value over time, and values by kind.
//!
//! Both show every value there is (of very many, the extremes and evenly chosen others), mark the
//! axis at round numbers, and say the unit. Nothing is smoothed, joined up or extrapolated.

mod plot;
mod spread;
mod time;

pub use spread::{Kind, MOST_KINDS, Spread};
pub use time::{TimeLine, TimePoint};

/// What is seen of a chart: left, top, width, height. As wide as the drawings of a bore, so that its
/// type is read on a phone too.
pub(super) const VIEW: [f64; 4] = [0.0, 0.0, 416.0, 320.0];
