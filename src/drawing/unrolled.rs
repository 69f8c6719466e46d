//! The same section with its wall rolled out: deviation of the diameter against the angle.

use maud::Markup;

use super::canvas::{Anchor, Drawing, Step, line, stroke};
use super::frame::{BOTTOM, Frame, LEFT, RIGHT, TOP};
use super::marks::{self, MARGIN, fitted};
use super::role::Role;
use super::{Axes, Face, Style, Theme, VIEW, Wall};

fn x(deg: f64) -> f64 {
    LEFT + (RIGHT - LEFT) * deg / 360.0
}

/// The line of a wall from 0° to 360°, each diameter moved by `by_mm`.
fn open(wall: &Wall, by_mm: f64, y: impl Fn(f64) -> f64) -> Vec<Step> {
    let angles = wall.angles().chain([360.0]);
    line(angles.map(|deg| (x(deg), y(wall.diameter_mm(deg) + by_mm))))
}

impl Face {
    /// The section unrolled, as an `svg` element for a page.
    pub fn unrolled(&self) -> Markup {
        self.draw_unrolled().svg(Theme::Page)
    }

    /// The section unrolled, in the frame of [`Face::draw`].
    pub fn draw_unrolled(&self) -> Drawing {
        let reference = self.reference_mm();
        let frame = Frame::new(self.furthest_mm(), self.style);
        let y = |diameter: f64| frame.y(diameter - reference);
        let mut drawing = Drawing::new("unrolled", self.title.clone(), VIEW);
        if let Some(limits) = self.drawn_limits() {
            frame.band(&mut drawing, limits, LEFT, RIGHT);
        }
        frame.axes(
            &mut drawing,
            if self.drawn_limits().is_some() {
                "drawn.from-target"
            } else {
                "drawn.from-mean"
            },
        );
        degrees(&mut drawing, &self.landmark);
        if let Some(axes) = &self.axes {
            axis_lines(&mut drawing, axes, self.style);
        }
        if let Some(before) = self.before() {
            drawing.path(Role::Before, open(before, 0.0, y));
            let say = |key| self.style.language.say(key);
            let legend = format!("{} {}", say("drawn.dotted"), say("drawn.found"));
            legend_below(&mut drawing, legend);
        }
        if let Some(wall) = &self.wall {
            if let Some(reamer) = self.reamer_mm {
                cut(&mut drawing, wall, reamer, y);
                let size = self.style.size(reamer);
                let legend = self.style.language.fill("drawn.cut-by", &[("size", &size)]);
                legend_below(&mut drawing, legend);
            }
            if let Some(u) = self.uncertainty_mm {
                let mut rim = open(wall, 2.0 * u, y);
                let mut lower = open(wall, -2.0 * u, y);
                lower.reverse();
                rim.extend(lower.into_iter().map(|step| match step {
                    Step::Move(to) => Step::Line(to),
                    other => other,
                }));
                rim.push(Step::Close);
                drawing.path(Role::Known, rim);
            }
            drawing.path(Role::Profile, open(wall, 0.0, y));
        }
        let middle = y(reference);
        self.put_spots(
            &mut drawing,
            |deg| (x(deg.rem_euclid(360.0)), middle),
            |deg, diameter| (x(deg.rem_euclid(360.0)), y(diameter)),
        );
        marks::blind(&mut drawing, self.contact, self.style);
        drawing
    }
}

fn degrees(drawing: &mut Drawing, landmark: &str) {
    let quarters = [0.0, 90.0, 180.0, 270.0, 360.0];
    let below = quarters.map(|deg| stroke((x(deg), BOTTOM), (x(deg), BOTTOM + 5.0)));
    drawing.path(Role::Mark, below.concat());
    for deg in quarters {
        let text = format!("{deg}°");
        let place = (x(deg), BOTTOM + 21.0);
        drawing.label(Role::MarkLabel, Anchor::Middle, place, text);
    }
    let (name, size) = fitted(&format!("0° {landmark}"), 170.0, 15.0);
    let place = (-MARGIN, BOTTOM + 44.0);
    drawing.write(
        Role::LandmarkName,
        Anchor::Start,
        place,
        (size, false),
        name,
    );
}

fn legend_below(drawing: &mut Drawing, text: String) {
    let (text, size) = fitted(&text, 220.0, 15.0);
    let place = (MARGIN, BOTTOM + 44.0);
    drawing.write(Role::Legend, Anchor::End, place, (size, false), text);
}

/// A line down to the angle of each axis, with its name and size at the upper end.
fn axis_lines(drawing: &mut Drawing, axes: &Axes, style: Style) {
    let (tight, long) = (axes.tight_deg, axes.long_deg);
    for (role, deg, other, word, size) in [
        (
            Role::TightAxis,
            tight,
            long,
            "drawn.tight",
            &axes.tight_label,
        ),
        (Role::LongAxis, long, tight, "drawn.long", &axes.long_label),
    ] {
        let (deg, other) = (deg.rem_euclid(180.0), other.rem_euclid(180.0));
        let ends = [deg, deg + 180.0];
        let lines = ends.map(|deg| stroke((x(deg), TOP - 2.0), (x(deg), TOP + 14.0)));
        let item = drawing.path(role, lines.concat());
        item.fact("deg", super::svg::n(deg));
        let text = format!("{} {size}", style.language.say(word));
        let half = super::font::width(&text, 15.0, false) / 2.0;
        // The first axis is named at its first end, the other at its second: 270° apart.
        let named = if deg < other { ends[0] } else { ends[1] };
        let x = x(named).clamp(half - MARGIN, MARGIN - half);
        drawing.write(
            role.label(),
            Anchor::Middle,
            (x, TOP - 8.0),
            (15.0, false),
            text,
        );
    }
}

/// What a reamer cuts: between wall and reamer wherever the wall is tighter.
fn cut(drawing: &mut Drawing, wall: &Wall, reamer: f64, y: impl Fn(f64) -> f64) {
    let angles: Vec<f64> = wall.angles().chain([360.0]).collect();
    let upper = angles
        .iter()
        .map(|&deg| (deg, wall.diameter_mm(deg).max(reamer)));
    let lower = angles.iter().rev().map(|&deg| (deg, wall.diameter_mm(deg)));
    let mut area = line(upper.chain(lower).map(|(deg, size)| (x(deg), y(size))));
    area.push(Step::Close);
    drawing.path(Role::Cut, area);
    let hatch = (0..=60)
        .map(|step| f64::from(step) * 6.0)
        .filter(|&deg| wall.diameter_mm(deg) < reamer)
        .flat_map(|deg| stroke((x(deg), y(wall.diameter_mm(deg))), (x(deg), y(reamer))));
    drawing.path(Role::Hatch, hatch.collect());
    let edge = stroke((LEFT, y(reamer)), (RIGHT, y(reamer)));
    drawing.path(Role::Reamer, edge.to_vec());
}
