//! A drawing on a page, as paths and text.

use krilla::color::rgb;
use krilla::geom::{Path, PathBuilder};
use krilla::num::NormalizedF32;
use krilla::paint::{Fill, FillRule, LineCap, LineJoin, Stroke, StrokeDash};

use super::Pen;
use crate::drawing::{Anchor, Colour, Drawing, Paint, Point, Shape, Step, Theme, canvas};

/// Where a drawing stands and how large it is.
#[derive(Clone, Copy)]
struct Place {
    left: f64,
    top: f64,
    scale: f64,
}

impl Place {
    fn point(self, (x, y): Point) -> (f32, f32) {
        (
            small(x.mul_add(self.scale, self.left)),
            small(y.mul_add(self.scale, self.top)),
        )
    }

    fn length(self, length: f64) -> f32 {
        small(length * self.scale)
    }
}

/// A place on paper; 32 bits hold it to a thousandth of a point and better.
#[expect(clippy::cast_possible_truncation, reason = "see above")]
const fn small(value: f64) -> f32 {
    value as f32
}

/// Height over width.
pub(super) fn shape(drawing: &Drawing) -> f32 {
    let [_, _, width, height] = drawing.view;
    small(height / width)
}

/// Draws `drawing` so many points wide.
pub(super) fn draw(pen: &mut Pen<'_, '_>, drawing: &Drawing, (x, y): (f32, f32), width: f32) {
    let [left, top, wide, _] = drawing.view;
    let scale = f64::from(width) / wide;
    let place = Place {
        left: (-left).mul_add(scale, f64::from(x)),
        top: (-top).mul_add(scale, f64::from(y)),
        scale,
    };
    for item in &drawing.items {
        let paint = item.role.paint(Theme::Paper);
        match &item.shape {
            Shape::Path(steps) => stroke_and_fill(pen, path(steps, place), &paint, place),
            Shape::Circles { at, radius } => {
                let steps: Vec<Step> = at
                    .iter()
                    .flat_map(|centre| canvas::circle(*centre, *radius))
                    .collect();
                stroke_and_fill(pen, path(&steps, place), &paint, place);
            }
            Shape::Text(label) => {
                let size = place.length(label.size);
                let wide = pen.letters.face(label.bold).width(&label.text, size);
                let (x, y) = place.point(label.at);
                let x = match label.anchor {
                    Anchor::Start => x,
                    Anchor::Middle => x - wide / 2.0,
                    Anchor::End => x - wide,
                };
                let Colour(red, green, blue) = paint.fill.unwrap_or(Colour(0, 0, 0));
                pen.text(&label.text, (x, y), size, label.bold, [red, green, blue]);
            }
        }
    }
}

fn path(steps: &[Step], place: Place) -> Option<Path> {
    let mut path = PathBuilder::new();
    for step in steps {
        match step {
            Step::Move(to) => {
                let (x, y) = place.point(*to);
                path.move_to(x, y);
            }
            Step::Line(to) => {
                let (x, y) = place.point(*to);
                path.line_to(x, y);
            }
            Step::Curve(one, two, to) => {
                let ((x1, y1), (x2, y2)) = (place.point(*one), place.point(*two));
                let (x, y) = place.point(*to);
                path.cubic_to(x1, y1, x2, y2, x, y);
            }
            Step::Close => path.close(),
        }
    }
    path.finish()
}

fn stroke_and_fill(pen: &mut Pen<'_, '_>, path: Option<Path>, paint: &Paint, place: Place) {
    let Some(path) = path else {
        return;
    };
    let solid = |Colour(red, green, blue): Colour| rgb::Color::new(red, green, blue).into();
    let fill = paint.fill.map(|colour| Fill {
        paint: solid(colour),
        opacity: NormalizedF32::new(small(paint.fill_opacity)).unwrap_or(NormalizedF32::ONE),
        rule: FillRule::EvenOdd,
    });
    let stroke = paint.pen.map(|line| Stroke {
        paint: solid(line.colour),
        width: place.length(line.width),
        line_join: LineJoin::Round,
        line_cap: if line.round {
            LineCap::Round
        } else {
            LineCap::Butt
        },
        dash: (!line.dashes.is_empty()).then(|| StrokeDash {
            array: line
                .dashes
                .iter()
                .map(|length| place.length(*length))
                .collect(),
            offset: 0.0,
        }),
        ..Stroke::default()
    });
    if fill.is_some() || stroke.is_some() {
        pen.surface.set_fill(fill);
        pen.surface.set_stroke(stroke);
        pen.surface.draw_path(&path);
    }
}
