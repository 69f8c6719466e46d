//! The same section with its wall rolled out: deviation of the diameter against the angle.

use maud::{Markup, html};

use super::face::{blind_lines, blind_to};
use super::frame::{BOTTOM, Frame, LEFT, RIGHT};
use super::{FONT, Face, SpotState, VIEW_BOX, n};
use crate::bore::Contact;

fn x(deg: f64) -> f64 {
    LEFT + (RIGHT - LEFT) * deg / 360.0
}

impl Face {
    /// The section unrolled, as an SVG element in the frame of [`Face::svg`].
    pub fn unrolled(&self) -> Markup {
        let reference = self.reference_mm();
        let frame = Frame::new(reference, self.furthest_mm());
        let place = |deg: f64, diameter: f64| (x(deg), frame.y(diameter));
        let turns: &[f64] = match self.contact {
            Contact::TwoPoint => &[0.0, 180.0],
            Contact::ThreePoint => &[0.0, 120.0, 240.0],
            Contact::Radius => &[0.0],
        };
        html! {
            svg.face.unrolled xmlns="http://www.w3.org/2000/svg" role="img" viewBox=(VIEW_BOX)
                font-family=(FONT) font-size="15" {
                title { (self.title) ", unrolled" }
                (frame.markup(self.limits.map(|limits| (limits.lower_mm, limits.upper_mm))))
                (frame.title(self.limits.is_some()))
                g.degrees fill="#555d60" {
                    @for deg in [90, 180, 270, 360] {
                        @let x = x(f64::from(deg));
                        path.grid d={ "M" (n(x)) " " (n(BOTTOM)) "V" (n(BOTTOM + 5.0)) }
                            stroke="#7d8a8c" stroke-width="1.5" {}
                        text x=(n(x)) y=(n(BOTTOM + 20.0)) text-anchor="middle" { (deg) "°" }
                    }
                    text x=(n(LEFT)) y=(n(BOTTOM + 20.0)) text-anchor="middle" { "0°" }
                    text x=(n(LEFT - 60.0)) y=(n(BOTTOM + 42.0)) { "0° " (self.landmark) }
                }
                @if let Some(axes) = &self.axes {
                    (axis("tight", axes.tight_deg, "#a8330a"))
                    (axis("long", axes.long_deg, "#14568c"))
                }
                @if let Some(before) = &self.before {
                    path.before d=(before.path(0.0, place)) fill="none" stroke="#5f7377"
                        stroke-width="2" stroke-dasharray="2 4" {}
                }
                @if self.before.is_some() {
                    text.before-label x=(n(RIGHT)) y=(n(BOTTOM + 42.0)) text-anchor="end" fill="#555d60" {
                        "dotted: as found"
                    }
                }
                @if let Some(wall) = &self.wall {
                    path.profile d=(wall.path(0.0, place)) fill="none" stroke="#16323a"
                        stroke-width="3" stroke-linejoin="round" {}
                }
                @for spot in self.drawn_spots() {
                    @match spot.state {
                        SpotState::Measured(value) => {
                            @for (index, turn) in turns.iter().enumerate() {
                                circle class=(if index == 0 { "measured" } else { "twin" })
                                    cx=(n(x((spot.angle_deg + turn).rem_euclid(360.0))))
                                    cy=(n(frame.y(value))) r=(if index == 0 { "5.5" } else { "3" })
                                    fill="#16323a" stroke="#ffffff"
                                    stroke-width=(if index == 0 { "1.5" } else { "0" }) {}
                            }
                        }
                        SpotState::ToDo => {
                            circle.to-do cx=(n(x(spot.angle_deg))) cy=(n(frame.y(reference))) r="5"
                                fill="#ffffff" stroke="#7d8a8c" stroke-width="1.5" {}
                        }
                        SpotState::Next => {
                            circle.next cx=(n(x(spot.angle_deg))) cy=(n(frame.y(reference))) r="7.5"
                                fill="#ffffff" stroke="#16323a" stroke-width="3" {}
                        }
                        SpotState::Skipped => {}
                    }
                }
                (blind_lines(blind_to(self.contact)))
            }
        }
    }
}

/// A line down to the angle of an axis, with its name at the upper end.
fn axis(word: &str, deg: f64, colour: &str) -> Markup {
    html! {
        path class={ (word) "-axis" } d={ "M" (n(x(deg))) " -138V" (n(BOTTOM)) } fill="none"
            stroke=(colour) stroke-width="1.5" stroke-dasharray="1 4" {}
        text class={ (word) "-label" } x=(n(x(deg).max(LEFT + 24.0))) y="-144" text-anchor="middle"
            fill=(colour) { (word) }
    }
}
