//! A drawing on a page, as paths and text.

use super::Pen;
use crate::report::model::Drawing;

/// Draws `drawing` so many points wide.
pub(super) fn draw(_pen: &mut Pen<'_, '_>, _drawing: &Drawing, _at: (f32, f32), _width: f32) {}
