//! The drawings: a bore from its face, its wall unrolled, its sections along the axis, and charts of
//! what a shop learns.
//!
//! Page, report and command line use the same code. A [`Face`], [`Long`] or chart becomes a
//! [`Drawing`]: a list of paths, circles and labels in a frame, each with its [`Role`]. From there
//! it goes to whoever shows it:
//!
//! - [`Drawing::svg`] for a page or a document, [`Drawing::svg_file`] for a file. The SVG carries
//!   classes for a page to colour and presentation attributes for everything that has no style
//!   sheet; never a `style` attribute, so a strict content security policy holds; nothing from
//!   elsewhere. On a page each element has an `id`, and [`Drawing::changes_from`] names those that
//!   a new reading changed.
//! - [`png()`] for a picture, set in the shipped [`font`].
//! - anything else walks through [`Drawing::items`] and asks [`Role::paint`] for colours and widths.
//!   That is a few lines: four kinds of path steps, circles, and labels on a base line.
//!
//! Equal input gives equal bytes. No path has more than 720 points; where there are more, the
//! extremes are kept. All drawings of a bore have the same frame, so that one takes the other's
//! place.

pub mod canvas;
pub mod chart;
mod face;
pub mod font;
mod frame;
mod long;
mod marks;
mod png;
mod role;
mod scale;
mod section;
mod sheet;
mod style;
mod svg;
mod taper;
mod theme;
mod thin;
mod unrolled;
mod wall;

pub use canvas::{Anchor, Drawing, Item, Label, Point, Shape, Step};
pub use face::Face;
pub use long::{Cut, Long, LongBore};
pub use png::{NoPicture, png};
pub use role::Role;
pub use scale::Scale;
pub use section::Subject;
pub use sheet::sheet;
pub use style::{Style, Unit};
pub use svg::Element;
pub use taper::Taper;
pub use theme::{Colour, Paint, Pen, Theme, Tone};
pub use wall::{Axes, Limits, Lobe, Spot, SpotState, Wall};

#[cfg(test)]
mod tests;

/// What is seen of every drawing of a bore: left, top, width, height.
const VIEW: [f64; 4] = [-208.0, -196.0, 416.0, 440.0];
