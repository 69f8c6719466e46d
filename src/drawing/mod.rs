//! The drawings: a bore from its face, its wall unrolled, and its sections along the axis, as SVG.
//!
//! Page, report and command line use the same code. The SVG carries classes for a page to colour
//! and presentation attributes for everything that has no style sheet; never a `style` attribute,
//! so a strict content security policy holds. Equal input gives equal bytes. All drawings have the
//! same frame, so that one takes the other's place.

mod face;
mod frame;
mod long;
mod scale;
mod unrolled;

pub use face::{Axes, Face, Limits, Lobe, Spot, SpotState, Wall};
pub use long::{Cut, Long, LongBore};
pub use scale::Scale;

#[cfg(test)]
mod tests;

/// Where every drawing's numbers and colours agree.
const VIEW_BOX: &str = "-208 -196 416 440";
/// For what has no style sheet.
const FONT: &str = "system-ui, 'Liberation Sans', 'DejaVu Sans', sans-serif";

/// A number on a drawing: one digit behind the point, no minus zero.
fn n(value: f64) -> String {
    let text = format!("{value:.1}");
    if text == "-0.0" { "0.0".into() } else { text }
}
