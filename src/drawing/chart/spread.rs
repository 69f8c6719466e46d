//! Values by kind, such as out-of-round by seat: each value, and where there are enough their
//! quartiles.

use super::VIEW;
use super::plot::{BOTTOM, LEFT, Plot, RIGHT};
use super::time::put_points;
use crate::drawing::Style;
use crate::drawing::canvas::{Anchor, Drawing, Point, rectangle, stroke};
use crate::drawing::marks::fitted;
use crate::drawing::role::Role;
use crate::drawing::thin::thinned;

/// Values by kind.
#[derive(Debug, Clone, PartialEq)]
pub struct Spread {
    /// What the chart shows, for those who can't see it.
    pub title: String,
    /// What is counted upward, without its unit: `out-of-round as found`.
    pub counted: String,
    /// The kinds, side by side. More than [`MOST_KINDS`] get narrow: split them.
    pub kinds: Vec<Kind>,
    /// What the axis reaches in any case, from and to, mm: charts beside each other that share it are
    /// compared by eye.
    pub reach_mm: [f64; 2],
    /// Language and unit of its labels.
    pub style: Style,
}

/// One kind and its values.
#[derive(Debug, Clone, PartialEq)]
pub struct Kind {
    /// Its name.
    pub name: String,
    /// Its values, mm, in any order.
    pub values_mm: Vec<f64>,
    /// First quartile, median and third quartile, mm; none where there are too few values to speak
    /// of any.
    pub quartiles_mm: Option<[f64; 3]>,
}

/// Most kinds that one chart has room for.
pub const MOST_KINDS: usize = 3;
/// Most points of a kind: more would cover each other.
const MOST_POINTS: usize = 80;

impl Spread {
    /// The chart. Without a value: its frame, and the words that there is nothing yet.
    pub fn draw(&self) -> Drawing {
        let mut drawing = Drawing::new("chart", self.title.clone(), VIEW);
        let values = self.kinds.iter().flat_map(|kind| {
            let quartiles = kind.quartiles_mm.into_iter().flatten();
            kind.values_mm.iter().copied().chain(quartiles)
        });
        let plot = Plot::over(values.chain(self.reach_mm), self.style);
        plot.draw(&mut drawing, &self.counted);
        if self.kinds.iter().all(|kind| kind.values_mm.is_empty()) {
            nothing(&mut drawing, self.style);
            return drawing;
        }
        #[expect(clippy::cast_precision_loss, reason = "a handful of kinds")]
        let slot = (RIGHT - LEFT) / self.kinds.len().max(1) as f64;
        let mut middle = LEFT + slot / 2.0;
        let mut points: Vec<Point> = Vec::new();
        for kind in &self.kinds {
            let half = (slot * 0.28).min(34.0);
            if let Some([lower, median, upper]) = kind.quartiles_mm {
                let corners = [middle - half, plot.y(upper), middle + half, plot.y(lower)];
                drawing.path(Role::Quartiles, rectangle(corners).to_vec());
                let line = stroke(
                    (middle - half, plot.y(median)),
                    (middle + half, plot.y(median)),
                );
                drawing.path(Role::Median, line.to_vec());
            }
            points.extend(scattered(kind, middle, half).map(|(x, value)| (x, plot.y(value))));
            let width = slot - 6.0;
            let (name, size) = fitted(&kind.name, width, 15.0);
            let place = (middle, BOTTOM + 20.0);
            drawing.write(Role::MarkLabel, Anchor::Middle, place, (size, false), name);
            let count = format!("n = {}", kind.values_mm.len());
            let (count, size) = fitted(&count, width, 14.0);
            let place = (middle, BOTTOM + 38.0);
            drawing.write(Role::Legend, Anchor::Middle, place, (size, false), count);
            middle += slot;
        }
        put_points(&mut drawing, points);
        if self.kinds.iter().any(|kind| kind.quartiles_mm.is_some()) {
            let text = self.style.language.say("drawn.box");
            drawing.label(Role::Legend, Anchor::Start, (8.0, 40.0), text);
        }
        drawing
    }
}

/// The values of a kind beside each other, so that equal ones don't cover each other: by steps of
/// the plastic ratio, which spread evenly however many there are.
fn scattered(kind: &Kind, middle: f64, half: f64) -> impl Iterator<Item = (f64, f64)> {
    let finite: Vec<f64> = kind
        .values_mm
        .iter()
        .copied()
        .filter(|value| value.is_finite())
        .collect();
    let alone = finite.len() == 1;
    (0_u32..)
        .zip(thinned(&finite, MOST_POINTS, |value| *value))
        .map(move |(at, value)| {
            let aside = (f64::from(at) * 0.754_878).fract() - 0.5;
            let aside = if alone { 0.0 } else { aside };
            (middle + aside * half * 1.4, value)
        })
}

/// Says that there is nothing to show yet.
pub(super) fn nothing(drawing: &mut Drawing, style: Style) {
    let place = (f64::midpoint(LEFT, RIGHT), BOTTOM + 24.0);
    let text = style.language.say("drawn.nothing");
    drawing.label(Role::Legend, Anchor::Middle, place, text);
}
