//! A plain frame of two axes, for drawings whose deviation goes up and not outward.

use super::canvas::{Anchor, Drawing, Step, line, rectangle, stroke};
use super::role::Role;
use super::scale::below;
use super::{Limits, Style};

/// Left edge of the plot.
pub(super) const LEFT: f64 = -136.0;
/// Right edge.
pub(super) const RIGHT: f64 = 184.0;
/// Upper edge.
pub(super) const TOP: f64 = -140.0;
/// Lower edge.
pub(super) const BOTTOM: f64 = 150.0;

/// The deviation axis: deviation of the diameter from a reference, upward.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Frame {
    /// Half the height, mm.
    half_mm: f64,
    /// Between two marks, in the unit of the style.
    step: f64,
    style: Style,
}

impl Frame {
    /// Wide enough for deviations of `furthest_mm`, marked at round numbers.
    pub(super) fn new(furthest_mm: f64, style: Style) -> Self {
        let half_mm = furthest_mm.max(0.002) * 1.08;
        Self {
            half_mm,
            step: below(half_mm / style.unit_mm() / 2.0),
            style,
        }
    }

    /// Where a deviation lies.
    pub(super) fn y(&self, deviation_mm: f64) -> f64 {
        f64::midpoint(BOTTOM, TOP) - deviation_mm / self.half_mm * (BOTTOM - TOP) / 2.0
    }

    /// The band between the limits of deviation over a part of the width.
    pub(super) fn band(&self, drawing: &mut Drawing, limits: Limits, left: f64, right: f64) {
        let y = |size: f64| self.y(size - limits.target_mm).clamp(TOP, BOTTOM);
        let (top, bottom) = (y(limits.upper_mm), y(limits.lower_mm));
        drawing.path(Role::Band, rectangle([left, top, right, bottom]).to_vec());
        let mut edges: Vec<Step> = Vec::new();
        for edge in [top, bottom] {
            edges.extend(stroke((left, edge), (right, edge)));
        }
        drawing.path(Role::Limit, edges);
    }

    /// The axes with their marks, the line of no deviation, and what is counted.
    pub(super) fn axes(&self, drawing: &mut Drawing, title: &'static str) {
        let mut marks = Vec::new();
        let mut labels = Vec::new();
        for count in -20_i32..=20 {
            let units = f64::from(count) * self.step;
            let deviation = units * self.style.unit_mm();
            if deviation.abs() <= self.half_mm {
                let y = self.y(deviation);
                marks.extend(stroke((LEFT - 5.0, y), (LEFT, y)));
                labels.push((y, self.style.signed_round(units)));
            }
        }
        marks.extend(line([(LEFT, TOP), (LEFT, BOTTOM), (RIGHT, BOTTOM)]));
        drawing.path(Role::Mark, marks);
        for (y, text) in labels {
            drawing.label(Role::MarkLabel, Anchor::End, (LEFT - 9.0, y + 5.0), text);
        }
        let zero = self.y(0.0);
        drawing.path(Role::Target, stroke((LEFT, zero), (RIGHT, zero)).to_vec());
        let sign = self.style.sign();
        let title = self.style.language.fill(title, &[("unit", &sign)]);
        drawing.label(
            Role::Legend,
            Anchor::Start,
            (-super::marks::MARGIN, -178.0),
            title,
        );
    }
}
