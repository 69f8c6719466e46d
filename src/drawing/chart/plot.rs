//! The frame of a chart: its axis of values.

use super::VIEW;
use crate::drawing::canvas::{Anchor, Drawing, line, stroke};
use crate::drawing::marks::fitted;
use crate::drawing::role::Role;
use crate::drawing::scale::below;
use crate::drawing::{Style, font};

/// Left edge of the plot.
pub(super) const LEFT: f64 = 74.0;
/// Right edge.
pub(super) const RIGHT: f64 = 400.0;
/// Upper edge.
pub(super) const TOP: f64 = 52.0;
/// Lower edge.
pub(super) const BOTTOM: f64 = 272.0;

/// The axis of values, mm, upward.
#[derive(Debug, Clone, Copy)]
pub(super) struct Plot {
    least_mm: f64,
    most_mm: f64,
    step: f64,
    style: Style,
}

impl Plot {
    /// From nought, or below it, to all of `values` and beyond it by a little.
    pub(super) fn over(values: impl Iterator<Item = f64>, style: Style) -> Self {
        let finite = values.filter(|value| value.is_finite());
        let (least, most) = finite.fold((0.0_f64, 0.0_f64), |(l, m), v| (l.min(v), m.max(v)));
        let span = (most - least).max(0.001);
        let least_mm = if least < 0.0 {
            least - 0.06 * span
        } else {
            0.0
        };
        let most_mm = most + 0.06 * span;
        Self {
            least_mm,
            most_mm,
            step: below((most_mm - least_mm) / style.unit_mm() / 3.0),
            style,
        }
    }

    /// Where a value lies.
    pub(super) fn y(&self, value_mm: f64) -> f64 {
        BOTTOM - (value_mm - self.least_mm) / (self.most_mm - self.least_mm) * (BOTTOM - TOP)
    }

    /// The axes, marked at round numbers, and what is counted.
    pub(super) fn draw(&self, drawing: &mut Drawing, counted: &str) {
        let mut marks = line([(LEFT, TOP), (LEFT, BOTTOM), (RIGHT, BOTTOM)]);
        for count in -50_i32..=50 {
            let units = f64::from(count) * self.step;
            let value = units * self.style.unit_mm();
            if value >= self.least_mm - 1e-9 && value <= self.most_mm + 1e-9 {
                let y = self.y(value);
                marks.extend(stroke((LEFT - 5.0, y), (LEFT, y)));
                let text = if self.least_mm < 0.0 {
                    self.style.signed_round(units)
                } else {
                    self.style.round(units)
                };
                drawing.label(Role::MarkLabel, Anchor::End, (LEFT - 9.0, y + 5.0), text);
            }
        }
        drawing.path(Role::Mark, marks);
        if self.least_mm < 0.0 {
            let zero = stroke((LEFT, self.y(0.0)), (RIGHT, self.y(0.0)));
            drawing.path(Role::Target, zero.to_vec());
        }
        let (text, size) = fitted(
            &format!("{counted}, {}", self.style.sign()),
            VIEW[2] - 16.0,
            15.0,
        );
        drawing.write(
            Role::Legend,
            Anchor::Start,
            (8.0, 20.0),
            (size, false),
            text,
        );
    }
}

/// Labels along the lower edge that don't touch: those that would are left out.
pub(super) fn below_axis(
    drawing: &mut Drawing,
    y: f64,
    labels: impl Iterator<Item = (f64, String)>,
) {
    let mut free_from = 2.0;
    for (x, text) in labels {
        let half = font::width(&text, 15.0, false) / 2.0;
        let x = x.clamp(half + 2.0, VIEW[2] - half - 2.0);
        if x - half >= free_from {
            drawing.label(Role::MarkLabel, Anchor::Middle, (x, y), text);
            free_from = x + half + 8.0;
        }
    }
}
