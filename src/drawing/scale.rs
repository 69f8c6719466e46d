//! How much the deviation is magnified, and the bar that says so.

/// A magnification from the series 1, 2, 5, 10 …, and the bar that shows it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    /// How many times larger than the bore itself the deviation is drawn.
    pub factor: u64,
    /// Length of the scale bar at the wall, mm.
    pub bar_mm: f64,
    /// Drawing units for a millimetre of the bore itself.
    units_per_mm: f64,
}

/// Beyond this, what is drawn is no longer the bore but the gauge's last digit.
const MOST: u64 = 5_000;

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
        let mut bar_mm = 0.0001;
        for power in -4..=1 {
            for step in [1.0, 2.0, 5.0] {
                let candidate = step * 10_f64.powi(power);
                if candidate * units_per_mm * as_f64(factor) <= 62.0 {
                    bar_mm = candidate;
                }
            }
        }
        Self {
            factor,
            bar_mm,
            units_per_mm,
        }
    }

    /// A deviation of the radius as it is drawn.
    pub fn drawn(&self, deviation_mm: f64) -> f64 {
        deviation_mm * self.units_per_mm * as_f64(self.factor)
    }

    /// The bar's length in words.
    pub fn bar_label(&self) -> String {
        format!("{} mm", shortest(self.bar_mm))
    }
}

fn series() -> impl Iterator<Item = u64> {
    (0..8).flat_map(|power| [1, 2, 5].map(|step| step * 10_u64.pow(power)))
}

#[expect(clippy::cast_precision_loss, reason = "at most 5,000")]
const fn as_f64(factor: u64) -> f64 {
    factor as f64
}

/// 0.02 and not 0.0200 or 0.020000000000000004.
fn shortest(mm: f64) -> String {
    let text = format!("{mm:.4}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_factor_is_the_largest_of_1_2_5_that_fits() {
        // 46 mm drawn as radius 112: 4.87 units a millimetre; 0.055 mm may become 36 units: 134.
        let scale = Scale::choose(112.0 / 23.0, 0.055, 36.0);
        assert_eq!(scale.factor, 100);
        assert!(scale.drawn(0.055) <= 36.0);
        assert_eq!(scale.bar_label(), "0.1 mm");
    }

    #[test]
    fn nothing_measured_and_a_hopeless_bore_still_have_a_scale() {
        assert_eq!(Scale::choose(5.0, 0.0, 36.0).factor, MOST);
        assert_eq!(Scale::choose(5.0, 100.0, 36.0).factor, 1);
    }
}
