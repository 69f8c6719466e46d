//! Small charts of what a shop learns: a value over time, and values by kind.
//!
//! Both show every value there is (of very many, the extremes and evenly chosen others), mark the
//! axis at round numbers, and say the unit. Nothing is smoothed, joined up or extrapolated. A point
//! outside a limit is a triangle where the others are discs.

mod plot;
mod spread;
mod time;

pub use spread::{Kind, Spread};
pub use time::{TimeLine, TimePoint};

/// What is seen of a chart: left, top, width, height.
pub(super) const VIEW: [f64; 4] = [0.0, 0.0, 560.0, 320.0];
