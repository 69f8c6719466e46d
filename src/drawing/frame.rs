//! A plain frame of two axes, for drawings whose deviation goes up and not outward.

use maud::{Markup, html};

use super::n;

/// Left edge of the plot.
pub(super) const LEFT: f64 = -140.0;
/// Right edge.
pub(super) const RIGHT: f64 = 184.0;
/// Upper edge.
const TOP: f64 = -150.0;
/// Lower edge.
pub(super) const BOTTOM: f64 = 150.0;

/// The deviation axis: millimetres of diameter about a reference, upward.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Frame {
    reference_mm: f64,
    /// Half the height, mm.
    half_mm: f64,
    step_mm: f64,
}

impl Frame {
    /// Wide enough for deviations of `furthest_mm`, marked at 1, 2 or 5 times a power of ten.
    pub(super) fn new(reference_mm: f64, furthest_mm: f64) -> Self {
        let furthest_mm = furthest_mm.max(0.002);
        let mut step_mm = 0.001;
        for power in -3..=2 {
            for step in [1.0, 2.0, 5.0] {
                let candidate = step * 10_f64.powi(power);
                if candidate * 2.0 <= furthest_mm * 1.08 {
                    step_mm = candidate;
                }
            }
        }
        Self {
            reference_mm,
            half_mm: furthest_mm * 1.08,
            step_mm,
        }
    }

    /// Where a diameter lies.
    pub(super) fn y(&self, diameter_mm: f64) -> f64 {
        (BOTTOM + TOP) / 2.0
            - (diameter_mm - self.reference_mm) / self.half_mm * (BOTTOM - TOP) / 2.0
    }

    /// The frame with its marks, the band between `limits` and the line of the reference.
    pub(super) fn markup(&self, limits: Option<(f64, f64)>) -> Markup {
        let mut marks = Vec::new();
        for count in -20_i32..=20 {
            let deviation = f64::from(count) * self.step_mm;
            if deviation.abs() <= self.half_mm {
                marks.push((deviation, self.y(self.reference_mm + deviation)));
            }
        }
        html! {
            @if let Some((lower, upper)) = limits {
                @let (top, bottom) = (self.y(upper).max(TOP), self.y(lower).min(BOTTOM));
                rect.band x=(n(LEFT)) y=(n(top)) width=(n(RIGHT - LEFT)) height=(n(bottom - top))
                    fill="#dfe7e4" {}
            }
            @for (deviation, y) in &marks {
                path.grid d={ "M" (n(LEFT - 5.0)) " " (n(*y)) "H" (n(LEFT)) } fill="none"
                    stroke="#7d8a8c" stroke-width="1.5" {}
                text.mark x=(n(LEFT - 9.0)) y=(n(y + 5.0)) text-anchor="end" fill="#555d60" {
                    (label(*deviation))
                }
            }
            path.target d={ "M" (n(LEFT)) " " (n(self.y(self.reference_mm))) "H" (n(RIGHT)) }
                fill="none" stroke="#7d8a8c" stroke-dasharray="5 4" {}
            path.axis d={ "M" (n(LEFT)) " " (n(TOP)) "V" (n(BOTTOM)) "H" (n(RIGHT)) } fill="none"
                stroke="#7d8a8c" stroke-width="1.5" {}
        }
    }

    /// What the axis counts, at the top.
    pub(super) fn title(&self, sizes: bool) -> Markup {
        let about = if sizes {
            format!("mm of diameter from {:.3}", self.reference_mm)
        } else {
            "mm of diameter from the mean".to_owned()
        };
        html! {
            text.mark x=(n(LEFT - 60.0)) y="-176" fill="#555d60" { (about) }
        }
    }
}

/// `+0.02`, `0`, `−0.1`.
fn label(deviation: f64) -> String {
    let size = format!("{:.3}", deviation.abs());
    let size = size.trim_end_matches('0').trim_end_matches('.');
    match size {
        "0" => "0".to_owned(),
        _ if deviation < 0.0 => format!("\u{2212}{size}"),
        _ => format!("+{size}"),
    }
}
