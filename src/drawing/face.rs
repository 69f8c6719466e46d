//! A bore seen from its face, its deviation magnified.

use std::f64::consts::TAU;

use maud::Markup;

use super::canvas::{Drawing, Point, Shape, Step, circle, line, stroke};
use super::marks;
use super::role::Role;
use super::thin::{MOST, thinned};
use super::{Axes, Limits, Scale, Spot, SpotState, Style, Theme, VIEW, Wall};
use crate::bore::Contact;

/// Radius of the target circle on the drawing.
pub(super) const TARGET_RADIUS: f64 = 120.0;
/// How far inside or outside the target circle the magnified wall may come.
const REACH: f64 = 30.0;
/// More stations than this are dots that touch: they are drawn as one path.
const MOST_SINGLE: usize = 72;
/// A wall that lies so many times its form, and the limits' width, from the target is far off.
const FAR: f64 = 8.0;
/// A point of the hatching every so many degrees.
const HATCH_DEG: u32 = 3;

/// What there is to draw of one section of a bore. [`Face::of`](Self::of) makes it from the
/// section's numbers.
#[derive(Debug, Clone)]
pub struct Face {
    /// What the drawing shows, for those who can't see it: `drive side, 8 mm deep, as found`.
    pub title: String,
    /// What 0° points at.
    pub landmark: String,
    /// How the gauge touches: decides which directions are the same.
    pub contact: Contact,
    /// Size limits and the size to aim at; none where sizes mean nothing, as for a comparator
    /// without a ring.
    pub limits: Option<Limits>,
    /// Nominal diameter, mm.
    pub nominal_mm: f64,
    /// The wall as fitted, once there is enough to fit.
    pub wall: Option<Wall>,
    /// The wall as it was found, beside the one as left.
    pub before: Option<Wall>,
    /// Cutting diameter of a reamer, mm: what it would cut of `wall` is shaded and hatched, and
    /// `before` is left out. It is taken to run on the axis of the bore.
    pub reamer_mm: Option<f64>,
    /// How well the fitted wall is known: expanded uncertainty of its radius, mm. The line is drawn
    /// that thick.
    pub uncertainty_mm: Option<f64>,
    /// The axes of the oval, where there is one to speak of.
    pub axes: Option<Axes>,
    /// Where the hand feels it tight, degrees.
    pub felt_deg: Option<f64>,
    /// The stations of the section.
    pub spots: Vec<Spot>,
    /// Language and unit of its labels.
    pub style: Style,
}

impl Face {
    /// The scale that this drawing uses.
    pub fn scale(&self) -> Scale {
        let furthest = self.furthest_mm() / 2.0;
        Scale::choose(TARGET_RADIUS / (self.nominal_mm / 2.0), furthest, REACH)
    }

    /// The furthest that anything drawn lies from the reference, mm of diameter.
    pub(super) fn furthest_mm(&self) -> f64 {
        let reference = self.reference_mm();
        let limits = self.drawn_limits();
        let limits = limits.map(|limits| [limits.lower_mm, limits.upper_mm]);
        let walls = self.wall.iter().chain(self.before()).flat_map(|wall| {
            let (least, most) = wall.range_mm();
            let rim = 2.0 * self.uncertainty_mm.unwrap_or(0.0);
            [least - rim, most + rim]
        });
        limits
            .into_iter()
            .flatten()
            .chain(walls)
            .chain(self.reamer_mm)
            .chain(self.values())
            .map(|diameter| (diameter - reference).abs())
            .fold(0.0, f64::max)
    }

    /// The wall as found, where it is drawn.
    pub(super) fn before(&self) -> Option<&Wall> {
        self.before.as_ref().filter(|_| self.reamer_mm.is_none())
    }

    /// The values of the stations that are gauged.
    pub(super) fn values(&self) -> impl Iterator<Item = f64> {
        self.spots.iter().filter_map(|spot| match spot.state {
            SpotState::Measured(value) => Some(value),
            _ => None,
        })
    }

    /// How far the wall lies from the target, mm of diameter, where that is so far beside its own form
    /// and the limits that neither could be seen: then it is drawn about its own mean, and the
    /// limits are off the picture.
    pub fn off_mm(&self) -> Option<f64> {
        let (limits, wall) = (self.limits?, self.wall.as_ref()?);
        if self.before().is_some() || self.reamer_mm.is_some() {
            return None;
        }
        let (least, most) = wall.range_mm();
        let off = wall.mean_mm - limits.target_mm;
        let seen = (most - least).max(limits.upper_mm - limits.lower_mm);
        (off.abs() > FAR * seen).then_some(off)
    }

    /// The limits, where they are on the picture.
    pub(super) fn drawn_limits(&self) -> Option<Limits> {
        self.limits.filter(|_| self.off_mm().is_none())
    }

    /// The diameter that the target circle stands for; without limits the mean of what is known.
    pub(super) fn reference_mm(&self) -> f64 {
        let known = self.wall.as_ref().map(|wall| wall.mean_mm);
        let middle = || {
            let (sum, count) = self
                .values()
                .fold((0.0, 0.0), |(s, c), value| (s + value, c + 1.0));
            if count > 0.0 { sum / count } else { 0.0 }
        };
        match self.drawn_limits() {
            Some(limits) => limits.target_mm,
            None => known.unwrap_or_else(middle),
        }
    }

    /// The `svg` element for a page.
    pub fn svg(&self) -> Markup {
        self.draw().svg(Theme::Page)
    }

    /// The drawing.
    pub fn draw(&self) -> Drawing {
        let scale = self.scale();
        let reference = self.reference_mm();
        let place = |diameter: f64| TARGET_RADIUS + scale.drawn((diameter - reference) / 2.0);
        let at_wall = |deg: f64, diameter: f64| at(deg, place(diameter));
        let mut drawing = Drawing::new("face", self.title.clone(), VIEW);
        drawing.facts.push(("factor", scale.factor.to_string()));
        if let Some(limits) = self.drawn_limits() {
            let radii = [place(limits.lower_mm), place(limits.upper_mm)];
            let rings: Vec<Step> = radii
                .into_iter()
                .flat_map(|radius| circle((0.0, 0.0), radius))
                .collect();
            drawing.path(Role::Band, rings.clone());
            drawing.path(Role::Limit, rings);
        }
        drawing.circle(Role::Target, (0.0, 0.0), TARGET_RADIUS);
        marks::clock(&mut drawing, &self.landmark);
        marks::legends(&mut drawing, self, &scale);
        if let Some(before) = self.before() {
            drawing.path(Role::Before, closed(before, 0.0, at_wall));
        }
        if let Some(wall) = &self.wall {
            if let Some(reamer) = self.reamer_mm {
                cut(&mut drawing, wall, reamer, at_wall);
            }
            if let Some(u) = self.uncertainty_mm {
                let mut rim = closed(wall, 2.0 * u, at_wall);
                rim.extend(closed(wall, -2.0 * u, at_wall));
                drawing.path(Role::Known, rim);
            }
            drawing.path(Role::Profile, closed(wall, 0.0, at_wall));
            if let Some(axes) = &self.axes {
                marks::axis_arrows(&mut drawing, axes, |deg| place(wall.diameter_mm(deg)));
            }
        }
        if let Some(deg) = self.felt_deg {
            marks::felt(&mut drawing, deg);
        }
        self.put_spots(&mut drawing, |deg| at(deg, TARGET_RADIUS), at_wall);
        if let Some(next) = self.spots.iter().find(|s| s.state == SpotState::Next) {
            drawing.path(Role::NextPointer, marks::pointer(next.angle_deg));
        }
        if let Some(axes) = &self.axes {
            marks::axis_labels(&mut drawing, axes, self.style);
        }
        drawing
    }

    /// The stations: `idle` is where one lies that has no value yet, `at_wall` where one lies at an
    /// angle with a diameter.
    pub(super) fn put_spots(
        &self,
        drawing: &mut Drawing,
        idle: impl Fn(f64) -> Point,
        at_wall: impl Fn(f64, f64) -> Point,
    ) {
        let period = self.contact.period_deg();
        let turns = match self.contact {
            Contact::TwoPoint => 2,
            Contact::ThreePoint => 3,
            Contact::Radius => 1,
        };
        if self.spots.len() > MOST_SINGLE {
            self.put_dense(drawing, &idle, at_wall);
            if let Some(next) = self.spots.iter().find(|s| s.state == SpotState::Next) {
                let item = drawing.circle(Role::Next, idle(next.angle_deg), 7.5);
                item.fact("deg", super::svg::n(next.angle_deg));
            }
        } else {
            let mut twins = Vec::new();
            for spot in &self.spots {
                if let SpotState::Measured(value) = spot.state {
                    let twin = |turn| spot.angle_deg + period * f64::from(turn);
                    twins.extend((1..turns).map(|turn| at_wall(twin(turn), value)));
                }
            }
            if turns > 1 && !self.spots.is_empty() {
                let radius = 3.0;
                drawing.put(Role::Twin, Shape::Circles { at: twins, radius });
            }
            // In their own order, the next among them, so that a reading exchanges two of them.
            for spot in &self.spots {
                let deg = spot.angle_deg;
                let item = match spot.state {
                    SpotState::Measured(value) => {
                        drawing.circle(Role::Measured, at_wall(deg, value), 5.5)
                    }
                    SpotState::Next => drawing.circle(Role::Next, idle(deg), 7.5),
                    SpotState::Skipped => {
                        drawing.path(Role::Skipped, marks::cross(idle(deg)).to_vec())
                    }
                    _ => drawing.circle(Role::ToDo, idle(deg), 5.0),
                };
                // By its angle: a station keeps its key whatever becomes of it.
                item.key = format!("at-{}", super::svg::n(deg));
                item.fact("deg", super::svg::n(deg));
            }
        }
    }

    /// Many stations: one path of dots each for those gauged and those to come.
    fn put_dense(
        &self,
        drawing: &mut Drawing,
        idle: impl Fn(f64) -> Point,
        at_wall: impl Fn(f64, f64) -> Point,
    ) {
        let mut gauged: Vec<(f64, f64)> = Vec::new();
        let mut open: Vec<f64> = Vec::new();
        for spot in &self.spots {
            match spot.state {
                SpotState::Measured(value) => gauged.push((spot.angle_deg, value)),
                SpotState::ToDo => open.push(spot.angle_deg),
                SpotState::Next | SpotState::Skipped => {}
            }
        }
        gauged.sort_by(|a, b| a.0.total_cmp(&b.0));
        open.sort_by(f64::total_cmp);
        let dots = |points: Vec<Point>| points.into_iter().flat_map(|p| stroke(p, p)).collect();
        let to_do = thinned(&open, MOST / 2, |deg| *deg);
        drawing.path(Role::DenseToDo, dots(to_do.into_iter().map(idle).collect()));
        let places: Vec<Point> = thinned(&gauged, MOST, |spot| spot.1)
            .into_iter()
            .map(|(deg, value)| at_wall(deg, value))
            .collect();
        drawing.path(Role::Dense, dots(places));
        // One reading far from the others may be what all this is about.
        let by = |a: &&(f64, f64), b: &&(f64, f64)| a.1.total_cmp(&b.1);
        let extremes = [gauged.iter().min_by(by), gauged.iter().max_by(by)];
        for &(deg, value) in extremes.into_iter().flatten() {
            let item = drawing.circle(Role::Measured, at_wall(deg, value), 4.5);
            item.fact("deg", super::svg::n(deg));
        }
    }
}

/// 0° is up, clockwise.
pub(super) fn at(deg: f64, radius: f64) -> Point {
    let turn = (deg / 360.0 * TAU).sin_cos();
    (radius * turn.0, -radius * turn.1)
}

/// The closed line of a wall, each diameter moved by `by_mm`.
pub(super) fn closed(wall: &Wall, by_mm: f64, at: impl Fn(f64, f64) -> Point) -> Vec<Step> {
    let mut steps = line(
        wall.angles()
            .map(|deg| at(deg, wall.diameter_mm(deg) + by_mm)),
    );
    steps.push(Step::Close);
    steps
}

/// What a reamer on the axis cuts: between the wall and its circle wherever the wall is tighter
/// (`crate::bore::reaming`), shaded and hatched.
fn cut(drawing: &mut Drawing, wall: &Wall, reamer: f64, at_wall: impl Fn(f64, f64) -> Point) {
    let mut area = line(
        wall.angles()
            .map(|deg| at_wall(deg, wall.diameter_mm(deg).max(reamer))),
    );
    area.push(Step::Close);
    area.extend(closed(wall, 0.0, &at_wall));
    drawing.path(Role::Cut, area);
    let hatch = (0..360 / HATCH_DEG)
        .map(|line| f64::from(line * HATCH_DEG))
        .filter(|&deg| wall.diameter_mm(deg) < reamer)
        .flat_map(|deg| {
            let inner = at_wall(deg, wall.diameter_mm(deg));
            stroke(inner, at_wall(deg, reamer))
        });
    drawing.path(Role::Hatch, hatch.collect());
    let rim = (0..180).map(|step| at_wall(f64::from(step) * 2.0, reamer));
    let mut rim = line(rim);
    rim.push(Step::Close);
    drawing.path(Role::Reamer, rim);
}
