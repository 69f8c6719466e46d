//! Several drawings on one sheet, such as the sections of a bore stacked along its axis.

use super::canvas::{Anchor, Drawing, Item, Point, Shape, Step};
use super::marks::fitted;
use super::role::Role;

/// Most drawings beside each other; a longer row goes on below.
const MOST_ACROSS: usize = 4;
/// Height of the line above a drawing that says what it shows.
const CAPTION: f64 = 30.0;

/// One drawing of all: each row of `rows` begins a new line, each drawing has its title above it.
pub fn sheet(title: String, rows: Vec<Vec<Drawing>>) -> Drawing {
    let mut lines: Vec<Vec<Drawing>> = Vec::new();
    for row in rows {
        let mut row = row.into_iter().peekable();
        while row.peek().is_some() {
            lines.push(row.by_ref().take(MOST_ACROSS).collect());
        }
    }
    let mut sheet = Drawing::new("sheet", title, [0.0, 0.0, 0.0, 0.0]);
    let (mut top, mut widest) = (0.0_f64, 0.0_f64);
    for (line, drawings) in lines.into_iter().enumerate() {
        let (mut left, mut highest) = (0.0, 0.0_f64);
        for (column, drawing) in drawings.into_iter().enumerate() {
            let [from_x, from_y, width, height] = drawing.view;
            let (caption, size) = fitted(&drawing.title, width - 12.0, 15.0);
            let place = (left + width / 2.0, top + CAPTION - 9.0);
            sheet.write(Role::Legend, Anchor::Middle, place, (size, true), caption);
            let by = |(x, y): Point| (x - from_x + left, y - from_y + top + CAPTION);
            for item in drawing.items {
                let item = Item {
                    key: format!("{line}-{column}-{}", item.key),
                    shape: moved(item.shape, by),
                    ..item
                };
                sheet.items.push(item);
            }
            left += width;
            highest = highest.max(height + CAPTION);
        }
        top += highest;
        widest = widest.max(left);
    }
    sheet.view = [0.0, 0.0, widest.max(1.0), top.max(1.0)];
    sheet
}

fn moved(shape: Shape, by: impl Fn(Point) -> Point) -> Shape {
    match shape {
        Shape::Path(steps) => {
            let steps = steps.into_iter().map(|step| match step {
                Step::Move(to) => Step::Move(by(to)),
                Step::Line(to) => Step::Line(by(to)),
                Step::Curve(a, b, to) => Step::Curve(by(a), by(b), by(to)),
                Step::Close => Step::Close,
            });
            Shape::Path(steps.collect())
        }
        Shape::Circles { at, radius } => Shape::Circles {
            at: at.into_iter().map(by).collect(),
            radius,
        },
        Shape::Text(mut label) => {
            label.at = by(label.at);
            Shape::Text(label)
        }
    }
}
