//! The long view: how the bores run along their depth, as found and as left.

use maud::{Markup, html};

use super::frame::{BOTTOM, Frame, LEFT, RIGHT};
use super::{FONT, Limits, VIEW_BOX, n};

/// What there is to draw of a part's bores along their axes.
#[derive(Debug, Clone, PartialEq)]
pub struct Long {
    /// The bores, side by side.
    pub bores: Vec<LongBore>,
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
}

/// Between two bores.
const GAP: f64 = 16.0;

impl Long {
    /// The SVG element, in the frame of [`super::Face::svg`]. All bores share one deviation axis, about
    /// the target of the first.
    pub fn svg(&self) -> Markup {
        let reference = self.bores.first().map_or(0.0, |bore| bore.limits.target_mm);
        let frame = Frame::new(reference, self.furthest_mm(reference));
        let limits = self
            .bores
            .first()
            .map(|bore| (bore.limits.lower_mm, bore.limits.upper_mm));
        #[expect(clippy::cast_precision_loss, reason = "a handful of bores")]
        let width = (RIGHT - LEFT + GAP) / self.bores.len().max(1) as f64 - GAP;
        let mut left = LEFT;
        html! {
            svg.face.along xmlns="http://www.w3.org/2000/svg" role="img" viewBox=(VIEW_BOX)
                font-family=(FONT) font-size="15" {
                title { "The bores along their depth" }
                (frame.markup(limits))
                (frame.title(true))
                @for bore in &self.bores {
                    (bore.markup(&frame, left, width))
                    ({ left += width + GAP; "" })
                }
                text.blind y="222" text-anchor="middle" font-size="14" fill="#555d60" {
                    "Bars run from smallest to largest, dots are means."
                    tspan x="0" dy="17" { "As found dotted, as left full." }
                }
            }
        }
    }

    fn furthest_mm(&self, reference: f64) -> f64 {
        let of = |bore: &LongBore| {
            let cuts = bore.found.iter().chain(&bore.left);
            cuts.flat_map(|cut| [cut.smallest_mm, cut.largest_mm])
                .chain([bore.limits.lower_mm, bore.limits.upper_mm])
                .map(|size| (size - reference).abs())
                .fold(0.0, f64::max)
        };
        self.bores.iter().map(of).fold(0.0, f64::max)
    }
}

impl LongBore {
    fn markup(&self, frame: &Frame, left: f64, width: f64) -> Markup {
        let x = |depth: f64| left + 12.0 + (width - 24.0) * depth / self.depth_mm.max(0.1);
        html! {
            g.bore-along data-bore=(self.name) {
                text.mark x=(n(left + width / 2.0)) y=(n(BOTTOM + 42.0)) text-anchor="middle"
                    fill="#555d60" { (self.name) }
                @for depth in self.depths() {
                    text.mark x=(n(x(depth))) y=(n(BOTTOM + 20.0)) text-anchor="middle"
                        fill="#555d60" { (short(depth)) }
                }
                (run(&self.found, "before", "#5f7377", "2 4", frame, x, -3.0))
                (run(&self.left, "profile", "#16323a", "none", frame, x, 3.0))
            }
        }
    }

    fn depths(&self) -> Vec<f64> {
        let mut depths: Vec<f64> = self
            .found
            .iter()
            .chain(&self.left)
            .map(|cut| cut.depth_mm)
            .collect();
        depths.sort_by(f64::total_cmp);
        depths.dedup();
        depths
    }
}

/// One run of sections: a line through the means, a bar from smallest to largest at each.
fn run(
    cuts: &[Cut],
    class: &str,
    colour: &str,
    dashes: &str,
    frame: &Frame,
    x: impl Fn(f64) -> f64,
    aside: f64,
) -> Markup {
    let mut line = String::new();
    for (index, cut) in cuts.iter().enumerate() {
        let (x, y) = (n(x(cut.depth_mm) + aside), n(frame.y(cut.mean_mm)));
        line += &format!("{}{x} {y}", if index == 0 { 'M' } else { 'L' });
    }
    html! {
        @if !cuts.is_empty() {
            path class=(class) d=(line) fill="none" stroke=(colour) stroke-width="2"
                stroke-dasharray=(dashes) {}
            @for cut in cuts {
                @let x = x(cut.depth_mm) + aside;
                path class=(class) fill="none" stroke=(colour) stroke-width="3"
                    d={ "M" (n(x)) " " (n(frame.y(cut.smallest_mm))) "V" (n(frame.y(cut.largest_mm))) } {}
                circle class={ (class) "-mean" } cx=(n(x)) cy=(n(frame.y(cut.mean_mm))) r="5"
                    fill=(colour) {}
            }
        }
    }
}

fn short(mm: f64) -> String {
    let text = format!("{mm:.1}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}
