//! A bore seen from its face, its deviation magnified.

use std::f64::consts::TAU;
use std::fmt::Write as _;

use maud::{Markup, html};

use super::{FONT, Scale, VIEW_BOX, n};
use crate::bore::Contact;

/// Radius of the target circle on the drawing.
const TARGET_RADIUS: f64 = 120.0;
/// How far inside or outside the target circle the magnified wall may come.
const REACH: f64 = 30.0;
/// Inner end of the ring of degree marks.
const MARKS_FROM: f64 = 154.0;
/// Half the width of the drawing.
const HALF: f64 = 208.0;
/// Points of the profile line: every second degree.
const PROFILE_POINTS: u32 = 180;
/// Most stations drawn one by one; beyond it every n-th is drawn, the extremes always.
const MOST_SPOTS: usize = 720;

/// What there is to draw of one section of a bore.
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
    /// How well the fitted wall is known: expanded uncertainty of its radius, mm. The line is drawn
    /// that thick.
    pub uncertainty_mm: Option<f64>,
    /// The axes of the oval, where there is one to speak of.
    pub axes: Option<Axes>,
    /// The stations of the section.
    pub spots: Vec<Spot>,
}

/// A fitted wall.
#[derive(Debug, Clone, PartialEq)]
pub struct Wall {
    /// Mean diameter, mm, in the same terms as the stations' values: a size, or a deviation where
    /// the face has no limits.
    pub mean_mm: f64,
    /// The lobes found.
    pub lobes: Vec<Lobe>,
}

impl Wall {
    /// Deviation of the radius from the mean at `deg`.
    pub fn form_mm(&self, deg: f64) -> f64 {
        self.lobes
            .iter()
            .map(|lobe| {
                let turn = f64::from(lobe.count) * (deg - lobe.peak_deg);
                lobe.amplitude_mm * turn.to_radians().cos()
            })
            .sum()
    }

    /// Diameter, or what stands for it, at `deg`.
    pub fn diameter_mm(&self, deg: f64) -> f64 {
        2.0f64.mul_add(self.form_mm(deg), self.mean_mm)
    }

    /// Its points every second degree, each diameter moved by `by_mm`, in path notation.
    pub(super) fn path(&self, by_mm: f64, at: impl Fn(f64, f64) -> (f64, f64)) -> String {
        let mut path = String::with_capacity(2_400);
        for step in 0..PROFILE_POINTS {
            let deg = 360.0 / f64::from(PROFILE_POINTS) * f64::from(step);
            let (x, y) = at(deg, self.diameter_mm(deg) + by_mm);
            let _ = write!(
                path,
                "{}{} {}",
                if step == 0 { 'M' } else { 'L' },
                n(x),
                n(y)
            );
        }
        path
    }
}

/// Limits of the mean diameter, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Least.
    pub lower_mm: f64,
    /// Greatest.
    pub upper_mm: f64,
    /// The size to aim at.
    pub target_mm: f64,
}

/// The n-lobe part of a section: `amplitude_mm` cos(n (θ - `peak_deg`)) of the radius.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lobe {
    /// n.
    pub count: u32,
    /// Half peak-to-valley of the radius.
    pub amplitude_mm: f64,
    /// A direction in which the bore is largest.
    pub peak_deg: f64,
}

/// Tight and long axis of an oval.
#[derive(Debug, Clone, PartialEq)]
pub struct Axes {
    /// Direction of the smallest diameter, degrees.
    pub tight_deg: f64,
    /// The label at the tight axis: its size.
    pub tight_label: String,
    /// Direction of the largest diameter, degrees.
    pub long_deg: f64,
    /// The label at the long axis: its size.
    pub long_label: String,
}

/// One station on the drawing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spot {
    /// Where, degrees.
    pub angle_deg: f64,
    /// How far along it is.
    pub state: SpotState,
}

/// How far along a station is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SpotState {
    /// Gauged: its mean diameter (or deviation of it), mm.
    Measured(f64),
    /// Still to gauge.
    ToDo,
    /// The one to gauge now.
    Next,
    /// Passed over.
    Skipped,
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
        let limits = self.limits.map(|limits| [limits.lower_mm, limits.upper_mm]);
        let walls = [&self.wall, &self.before]
            .into_iter()
            .flatten()
            .flat_map(|wall| {
                let form: f64 = wall
                    .lobes
                    .iter()
                    .map(|lobe| 2.0 * lobe.amplitude_mm.abs())
                    .sum();
                [wall.mean_mm - form, wall.mean_mm + form]
            });
        limits
            .into_iter()
            .flatten()
            .chain(walls)
            .chain(self.values())
            .map(|diameter| (diameter - reference).abs())
            .fold(0.0, f64::max)
    }

    /// The values of the stations that are gauged.
    pub(super) fn values(&self) -> impl Iterator<Item = f64> {
        self.spots.iter().filter_map(|spot| match spot.state {
            SpotState::Measured(value) => Some(value),
            _ => None,
        })
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
        match self.limits {
            Some(limits) => limits.target_mm,
            None => known.unwrap_or_else(middle),
        }
    }

    /// The SVG element.
    pub fn svg(&self) -> Markup {
        let scale = self.scale();
        let reference = self.reference_mm();
        let place = |diameter: f64| TARGET_RADIUS + scale.drawn((diameter - reference) / 2.0);
        let at_wall = |deg: f64, diameter: f64| at(deg, place(diameter));
        let blind = blind_to(self.contact);
        html! {
            svg.face xmlns="http://www.w3.org/2000/svg" role="img" viewBox=(VIEW_BOX)
                font-family=(FONT) font-size="15" data-factor=(scale.factor) {
                title { (self.title) }
                @if let Some(limits) = self.limits {
                    path.band d=(annulus(place(limits.lower_mm), place(limits.upper_mm)))
                        fill="#dfe7e4" fill-rule="evenodd" {}
                }
                circle.target r=(n(TARGET_RADIUS)) fill="none" stroke="#7d8a8c"
                    stroke-dasharray="5 4" {}
                (marks(&self.landmark))
                @if let Some(before) = &self.before {
                    path.before d={ (before.path(0.0, at_wall)) "Z" } fill="none" stroke="#5f7377"
                        stroke-width="2" stroke-dasharray="2 4" {}
                }
                @if self.before.is_some() {
                    text.before-label x=(n(8.0 - HALF)) y="-176" fill="#555d60" { "dotted:" }
                    text.before-label x=(n(8.0 - HALF)) y="-158" fill="#555d60" { "as found" }
                }
                @if let Some(wall) = &self.wall {
                    @if let Some(axes) = &self.axes { (axis_arrows(axes, wall, &place)) }
                    @if let Some(u) = self.uncertainty_mm {
                        path.known fill="#16323a" fill-opacity="0.22" fill-rule="evenodd"
                            d={ (wall.path(2.0 * u, at_wall)) "Z" (wall.path(-2.0 * u, at_wall)) "Z" } {}
                    }
                    path.profile d={ (wall.path(0.0, at_wall)) "Z" } fill="none" stroke="#16323a"
                        stroke-width="3" stroke-linejoin="round" {}
                }
                @for spot in self.drawn_spots() { (spot_mark(spot, self.contact, &place)) }
                @if let Some(axes) = &self.axes { (axis_labels(axes)) }
                (scale_bar(&scale))
                (blind_lines(blind))
            }
        }
    }

    /// The stations to draw: all, or so many that the page stays quick, extremes kept.
    pub(super) fn drawn_spots(&self) -> Vec<&Spot> {
        let every = self.spots.len().div_ceil(MOST_SPOTS).max(1);
        let extreme = |better: fn(f64, f64) -> bool| {
            let mut best: Option<(usize, f64)> = None;
            for (index, spot) in self.spots.iter().enumerate() {
                if let SpotState::Measured(value) = spot.state
                    && best.is_none_or(|(_, held)| better(value, held))
                {
                    best = Some((index, value));
                }
            }
            best.map(|(index, _)| index)
        };
        let largest = extreme(|a, b| a > b);
        let smallest = extreme(|a, b| a < b);
        self.spots
            .iter()
            .enumerate()
            .filter(|(index, spot)| {
                index % every == 0
                    || spot.state == SpotState::Next
                    || Some(*index) == largest
                    || Some(*index) == smallest
            })
            .map(|(_, spot)| spot)
            .collect()
    }
}

/// What a contact cannot see, in two short lines.
pub(super) const fn blind_to(contact: Contact) -> (&'static str, &'static str) {
    match contact {
        Contact::TwoPoint => (
            "A two-point gauge sees ovals (2, 4, 6 … lobes).",
            "It can't see 3, 5, 7 … lobes, nor give ISO roundness.",
        ),
        Contact::ThreePoint => (
            "A three-point gauge sees 3, 6, 9 … lobes.",
            "It can't see an oval, nor give ISO roundness.",
        ),
        Contact::Radius => ("", ""),
    }
}

/// The two lines under a drawing.
pub(super) fn blind_lines((first, second): (&str, &str)) -> Markup {
    html! {
        text.blind y="222" text-anchor="middle" font-size="14" fill="#555d60" {
            (first)
            @if !second.is_empty() { tspan x="0" dy="17" { (second) } }
        }
    }
}

/// 0° is up, clockwise.
fn at(deg: f64, radius: f64) -> (f64, f64) {
    let turn = (deg / 360.0 * TAU).sin_cos();
    (radius * turn.0, -radius * turn.1)
}

fn annulus(inner: f64, outer: f64) -> String {
    let mut path = String::new();
    for radius in [outer, inner] {
        let r = n(radius);
        let _ = write!(path, "M0 -{r}A{r} {r} 0 1 1 0 {r}A{r} {r} 0 1 1 0 -{r}Z");
    }
    path
}

/// The clock face round the bore: twelve marks, degrees at the quarters, the landmark at the top.
fn marks(landmark: &str) -> Markup {
    let mut path = String::new();
    for hour in 0..12 {
        let deg = f64::from(hour) * 30.0;
        let (x1, y1) = at(deg, MARKS_FROM);
        let (x2, y2) = at(deg, MARKS_FROM + if hour % 3 == 0 { 9.0 } else { 5.0 });
        let _ = write!(path, "M{} {}L{} {}", n(x1), n(y1), n(x2), n(y2));
    }
    html! {
        path.marks d=(path) fill="none" stroke="#7d8a8c" stroke-width="1.5" {}
        path.landmark d="M0 -152L-9 -167L9 -167Z" fill="#16323a" {}
        g.degrees fill="#555d60" {
            text.landmark-name y="-176" text-anchor="middle" { "0° " (landmark) }
            text x="167" y="5" { "90°" }
            text y="183" text-anchor="middle" { "180°" }
            text x="-167" y="5" text-anchor="end" { "270°" }
        }
    }
}

/// An arrow at each end of each axis: the tight ones press inward, the long ones outward.
fn axis_arrows(axes: &Axes, wall: &Wall, place: &impl Fn(f64) -> f64) -> Markup {
    let arrow = |deg: f64, inward: bool| {
        let wall = place(wall.diameter_mm(deg)) - 5.0;
        let (tip, tail) = if inward {
            (wall - 17.0, wall)
        } else {
            (wall, wall - 17.0)
        };
        let head = if inward { tip + 9.0 } else { tip - 9.0 };
        let (x1, y1) = at(deg, tail);
        let (x2, y2) = at(deg, tip);
        let side = |sign: f64| {
            let (x, y) = at(deg, head);
            let (dx, dy) = at(deg + 90.0, 5.5 * sign);
            (n(x + dx), n(y + dy))
        };
        let (left, right) = (side(-1.0), side(1.0));
        format!(
            "M{} {}L{} {}M{} {}L{} {}L{} {}",
            n(x1),
            n(y1),
            n(x2),
            n(y2),
            left.0,
            left.1,
            n(x2),
            n(y2),
            right.0,
            right.1
        )
    };
    let both = |deg: f64, inward| format!("{}{}", arrow(deg, inward), arrow(deg + 180.0, inward));
    html! {
        path.tight-axis data-deg=(n(axes.tight_deg)) d=(both(axes.tight_deg, true)) fill="none"
            stroke="#a8330a" stroke-width="2.5" {}
        path.long-axis data-deg=(n(axes.long_deg)) d=(both(axes.long_deg, false)) fill="none"
            stroke="#14568c" stroke-width="2.5" {}
    }
}

/// Inside the bore, at those ends of the axes that stand furthest apart up and down, so that the
/// two never touch: |cos a| + |sin a| is never below 1.
fn axis_labels(axes: &Axes) -> Markup {
    const FROM_CENTRE: f64 = 42.0;
    let height = |deg: f64| -deg.to_radians().cos();
    let mut best = (0.0, 0.0, f64::MIN);
    for tight in [axes.tight_deg, axes.tight_deg + 180.0] {
        for long in [axes.long_deg, axes.long_deg + 180.0] {
            let apart = (height(tight) - height(long)).abs();
            if apart > best.2 + 1e-9 {
                best = (tight, long, apart);
            }
        }
    }
    let label = |class: &str, deg: f64, word: &str, size: &str, colour: &str| {
        let (x, y) = at(deg, FROM_CENTRE);
        html! {
            text.{ (class) } x=(n(x)) y=(n(y - 2.0)) text-anchor="middle" fill=(colour) {
                (word)
                tspan x=(n(x)) dy="17" font-weight="bold" font-size="17" { (size) }
            }
        }
    };
    html! {
        (label("tight-label", best.0, "tight", &axes.tight_label, "#a8330a"))
        (label("long-label", best.1, "long", &axes.long_label, "#14568c"))
    }
}

fn spot_mark(spot: &Spot, contact: Contact, place: &impl Fn(f64) -> f64) -> Markup {
    let deg = spot.angle_deg;
    let (x, y) = at(deg, TARGET_RADIUS);
    match spot.state {
        SpotState::Measured(value) => {
            let (x, y) = at(deg, place(value));
            let twins = match contact {
                Contact::TwoPoint => 1..2,
                Contact::ThreePoint => 1..3,
                Contact::Radius => 1..1,
            };
            html! {
                @for twin in twins {
                    @let (x, y) = at(deg + contact.period_deg() * f64::from(twin), place(value));
                    circle.twin cx=(n(x)) cy=(n(y)) r="3" fill="#5f7377" {}
                }
                circle.measured cx=(n(x)) cy=(n(y)) r="5.5" data-deg=(n(deg)) fill="#16323a"
                    stroke="#ffffff" stroke-width="1.5" {}
            }
        }
        SpotState::ToDo => html! {
            circle.to-do cx=(n(x)) cy=(n(y)) r="5" data-deg=(n(deg)) fill="#ffffff"
                stroke="#7d8a8c" stroke-width="1.5" {}
        },
        SpotState::Skipped => {
            let cross = format!(
                "M{} {}L{} {}M{} {}L{} {}",
                n(x - 4.0),
                n(y - 4.0),
                n(x + 4.0),
                n(y + 4.0),
                n(x - 4.0),
                n(y + 4.0),
                n(x + 4.0),
                n(y - 4.0)
            );
            html! {
                path.skipped d=(cross) data-deg=(n(deg)) fill="none" stroke="#7d8a8c"
                    stroke-width="2" {}
            }
        }
        SpotState::Next => {
            let (tip, left, right) = (at(deg, 137.0), at(deg - 3.6, 153.0), at(deg + 3.6, 153.0));
            let pointer = format!(
                "M{} {}L{} {}L{} {}Z",
                n(tip.0),
                n(tip.1),
                n(left.0),
                n(left.1),
                n(right.0),
                n(right.1)
            );
            html! {
                circle.next cx=(n(x)) cy=(n(y)) r="7.5" data-deg=(n(deg)) fill="#ffffff"
                    stroke="#16323a" stroke-width="3" {}
                path.next-pointer d=(pointer) fill="#16323a" {}
            }
        }
    }
}

fn scale_bar(scale: &Scale) -> Markup {
    let length = scale.drawn(scale.bar_mm);
    let (from, to) = (-HALF + 6.0, -HALF + 6.0 + length);
    html! {
        g.scale fill="#555d60" {
            path d=(format!("M{} 170V182M{} 176H{}M{} 170V182", n(from), n(from), n(to), n(to)))
                fill="none" stroke="#555d60" stroke-width="2" {}
            text x=(n(from)) y="198" { (scale.bar_label()) }
            text x=(n(HALF - 6.0)) y="180" text-anchor="end" { "magnified" }
            text.factor x=(n(HALF - 6.0)) y="198" text-anchor="end" { "×" (scale.factor) }
        }
    }
}
