//! The long view: how the bores run along their depth, as found and as left.

use maud::Markup;

use super::canvas::{Anchor, Drawing, Shape, Step, line, stroke};
use super::frame::{BOTTOM, Frame, LEFT, RIGHT, TOP};
use super::marks::{MARGIN, fitted, under};
use super::role::Role;
use super::{Limits, Style, Taper, Theme, VIEW, font};
use crate::bore::Section;

/// What there is to draw of a part's bores along their axes.
#[derive(Debug, Clone, PartialEq)]
pub struct Long {
    /// The bores, side by side.
    pub bores: Vec<LongBore>,
    /// Language and unit of its labels.
    pub style: Style,
}

/// One bore along its depth.
#[derive(Debug, Clone, PartialEq)]
pub struct LongBore {
    /// Its name.
    pub name: String,
    /// Its limits.
    pub limits: Limits,
    /// How deep it goes, mm.
    pub depth_mm: f64,
    /// Its sections as found, by depth.
    pub found: Vec<Cut>,
    /// Its sections as left, by depth.
    pub left: Vec<Cut>,
    /// Its taper as it is now.
    pub taper: Option<Taper>,
}

/// One section of the long view.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cut {
    /// Depth from the face, mm.
    pub depth_mm: f64,
    /// Mean diameter, mm.
    pub mean_mm: f64,
    /// Smallest diameter measured, mm.
    pub smallest_mm: f64,
    /// Largest diameter measured, mm.
    pub largest_mm: f64,
    /// Expanded uncertainty of the mean diameter, mm.
    pub uncertainty_mm: Option<f64>,
}

/// Between two bores.
const GAP: f64 = 16.0;
/// As found stands this far to the left of its depth and as left to the right.
const ASIDE: f64 = 4.0;

impl Cut {
    /// A section's; none where its size isn't known.
    pub fn of(numbers: &Section) -> Option<Self> {
        let mean_mm = numbers.mean_diameter_mm?;
        Some(Self {
            depth_mm: numbers.depth_mm,
            mean_mm,
            // A three-point or a swept gauge gives no single diameters.
            smallest_mm: numbers.smallest_mm.unwrap_or(mean_mm),
            largest_mm: numbers.largest_mm.unwrap_or(mean_mm),
            uncertainty_mm: numbers
                .uncertainty
                .get("mean_diameter_mm")
                .map(|estimate| estimate.expanded),
        })
    }
}

impl Long {
    /// The `svg` element for a page.
    pub fn svg(&self) -> Markup {
        self.draw().svg(Theme::Page)
    }

    /// The drawing, in the frame of [`super::Face::draw`]. All bores share one axis of deviation, each
    /// from its own target.
    pub fn draw(&self) -> Drawing {
        let say = |key| self.style.language.say(key);
        let furthest = self.bores.iter().map(LongBore::furthest_mm);
        let frame = Frame::new(furthest.fold(0.0, f64::max), self.style);
        let title = say("drawn.along").to_owned();
        let mut drawing = Drawing::new("along", title, VIEW);
        #[expect(clippy::cast_precision_loss, reason = "a handful of bores")]
        let width = (RIGHT - LEFT + GAP) / self.bores.len().max(1) as f64 - GAP;
        let mut lefts = Vec::new();
        for bore in &self.bores {
            let left = lefts.last().map_or(LEFT, |last| last + width + GAP);
            lefts.push(left);
            frame.band(&mut drawing, bore.limits, left, left + width);
        }
        // Where no seat is known the mean stands for both limits.
        let has_limits = |bore: &LongBore| bore.limits.lower_mm < bore.limits.upper_mm;
        let from = if self.bores.iter().all(has_limits) {
            "drawn.from-target"
        } else {
            "drawn.from-mean"
        };
        frame.axes(&mut drawing, from);
        // Depths are round in millimetres, whatever the unit of the diameters.
        let across = say("drawn.across");
        let place = (MARGIN, -178.0);
        drawing.label(Role::Legend, Anchor::End, place, across);
        for (bore, left) in self.bores.iter().zip(lefts) {
            bore.draw(&mut drawing, &frame, (left, width), self.style);
        }
        under(
            &mut drawing,
            [say("drawn.bars").to_owned(), say("drawn.runs").to_owned()],
        );
        drawing
    }
}

impl LongBore {
    fn cuts(&self) -> impl Iterator<Item = &Cut> {
        self.found.iter().chain(&self.left)
    }

    fn furthest_mm(&self) -> f64 {
        self.cuts()
            .flat_map(|cut| [cut.smallest_mm, cut.largest_mm])
            .chain([self.limits.lower_mm, self.limits.upper_mm])
            .map(|size| (size - self.limits.target_mm).abs())
            .fold(0.0, f64::max)
    }

    fn draw(&self, drawing: &mut Drawing, frame: &Frame, (left, width): (f64, f64), style: Style) {
        let x = |depth: f64| left + 14.0 + (width - 28.0) * depth / self.depth_mm.max(0.1);
        let middle = left + width / 2.0;
        let mut free_from = f64::MIN;
        for depth in self.depths() {
            let text = style.language.short(depth);
            let half = font::width(&text, 15.0, false) / 2.0;
            if x(depth) - half > free_from {
                let place = (x(depth), BOTTOM + 18.0);
                drawing.label(Role::MarkLabel, Anchor::Middle, place, text);
                free_from = x(depth) + half + 4.0;
            }
        }
        let mut write = |role, y, size, text: &str| {
            let (text, size) = fitted(text, width, size);
            drawing.write(role, Anchor::Middle, (middle, y), (size, false), text);
        };
        write(Role::MarkLabel, TOP - 10.0, 15.0, &self.name);
        if let Some(taper) = self.taper {
            write(
                Role::Legend,
                BOTTOM + 35.0,
                14.0,
                taper.said(style.language),
            );
            write(Role::Legend, BOTTOM + 51.0, 14.0, &taper.size(style));
        }
        let y = |size: f64| frame.y(size - self.limits.target_mm);
        let found = [Role::Before, Role::BeforeMean];
        run(drawing, &self.found, found, |depth| x(depth) - ASIDE, y);
        let left = [Role::Profile, Role::ProfileMean];
        run(drawing, &self.left, left, |depth| x(depth) + ASIDE, y);
    }

    fn depths(&self) -> Vec<f64> {
        let mut depths: Vec<f64> = self.cuts().map(|cut| cut.depth_mm).collect();
        depths.sort_by(f64::total_cmp);
        depths.dedup();
        depths
    }
}

/// One run of sections: a line through the means, at each a bar from smallest to largest, a shade as
/// high as the mean is uncertain and a dot at the mean.
fn run(
    drawing: &mut Drawing,
    cuts: &[Cut],
    [role, mean]: [Role; 2],
    x: impl Fn(f64) -> f64,
    y: impl Fn(f64) -> f64,
) {
    const HALF: f64 = 5.0;
    if cuts.is_empty() {
        return;
    }
    let mut known: Vec<Step> = Vec::new();
    for cut in cuts {
        if let Some(u) = cut.uncertainty_mm {
            let (left, right) = (x(cut.depth_mm) - HALF - 2.0, x(cut.depth_mm) + HALF + 2.0);
            // However little is known, the shade stays within the frame.
            let [above, below] = [u, -u].map(|u| y(cut.mean_mm + u).clamp(TOP, BOTTOM));
            let corners = [left, above, right, below];
            known.extend(super::canvas::rectangle(corners));
        }
    }
    if !known.is_empty() {
        drawing.path(Role::Known, known);
    }
    let mean_at = |cut: &Cut| (x(cut.depth_mm), y(cut.mean_mm));
    drawing.path(role, line(cuts.iter().map(mean_at)));
    let bars = cuts.iter().flat_map(|cut| {
        let x = x(cut.depth_mm);
        let (low, high) = (y(cut.smallest_mm), y(cut.largest_mm));
        let cap = |y| stroke((x - HALF, y), (x + HALF, y));
        [stroke((x, low), (x, high)), cap(low), cap(high)].concat()
    });
    drawing.path(role.bar(), bars.collect());
    let at = cuts.iter().map(mean_at).collect();
    drawing.put(mean, Shape::Circles { at, radius: 4.5 });
}
