//! How much the deviation is magnified, and the bar that says so.

use super::Style;

/// A magnification from the series 1, 2, 5, 10 …, and the bar that shows it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    /// How many times larger than the bore itself the deviation is drawn.
    pub factor: u64,
    /// Drawing units for a millimetre of the bore itself.
    units_per_mm: f64,
}

/// Beyond this, what is drawn is no longer the bore but the gauge's last digit.
const MOST: u64 = 5_000;
/// Longest scale bar, drawing units.
const LONGEST_BAR: f64 = 62.0;

impl Scale {
    /// The largest factor at which a deviation of the radius of `furthest_mm` stays within `reach`
    /// drawing units, with `units_per_mm` for the bore itself.
    pub fn choose(units_per_mm: f64, furthest_mm: f64, reach: f64) -> Self {
        let mut factor = 1;
        for candidate in series().take_while(|&candidate| candidate <= MOST) {
            if furthest_mm * units_per_mm * as_f64(candidate) <= reach {
                factor = candidate;
            }
        }
        Self {
            factor,
            units_per_mm,
        }
    }

    /// A deviation of the radius as it is drawn.
    pub fn drawn(&self, deviation_mm: f64) -> f64 {
        deviation_mm * self.units_per_mm * as_f64(self.factor)
    }

    /// The scale bar: a round number of units at the wall, its length on the drawing and in words.
    pub fn bar(&self, style: Style) -> (f64, String) {
        let unit = self.drawn(style.unit_mm());
        let units = below(LONGEST_BAR / unit);
        (
            units * unit,
            format!("{} {}", style.round(units), style.sign()),
        )
    }
}

/// The largest of 1, 2 and 5 times a power of ten that is no larger than `limit`.
pub(super) fn below(limit: f64) -> f64 {
    let mut best = 1e-6;
    for power in -6..=6 {
        for step in [1.0, 2.0, 5.0] {
            let candidate = step * 10_f64.powi(power);
            if candidate <= limit * (1.0 + 1e-9) {
                best = candidate;
            }
        }
    }
    best
}

fn series() -> impl Iterator<Item = u64> {
    (0..8).flat_map(|power| [1, 2, 5].map(|step| step * 10_u64.pow(power)))
}

#[expect(clippy::cast_precision_loss, reason = "at most 5,000")]
const fn as_f64(factor: u64) -> f64 {
    factor as f64
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::Unit;

    #[test]
    fn the_factor_is_the_largest_of_1_2_5_that_fits() {
        // 46 mm drawn as radius 112: 4.87 units a millimetre; 0.055 mm may become 36 units: 134.
        let scale = Scale::choose(112.0 / 23.0, 0.055, 36.0);
        assert_eq!(scale.factor, 100);
        assert!(scale.drawn(0.055) <= 36.0);
        let (length, label) = scale.bar(Style::default());
        assert_eq!(label, "0.1 mm");
        assert!((length - 48.7).abs() < 0.1, "0.1 mm at x100: {length}");
    }

    /// 0.005 in = 0.127 mm: 61.8 units at ×100, below the longest bar; 0.01 in would not be.
    #[test]
    fn in_inches_the_bar_is_a_round_number_of_inches() {
        let style = Style {
            unit: Unit::Inch,
            ..Style::default()
        };
        let (length, label) = Scale::choose(112.0 / 23.0, 0.055, 36.0).bar(style);
        assert_eq!(label, "0.005 in");
        assert!((length - 61.8).abs() < 0.1, "{length}");
    }

    #[test]
    fn nothing_measured_and_a_hopeless_bore_still_have_a_scale() {
        assert_eq!(Scale::choose(5.0, 0.0, 36.0).factor, MOST);
        assert_eq!(Scale::choose(5.0, 100.0, 36.0).factor, 1);
    }
}
