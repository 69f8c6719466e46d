//! What stands together on a page, and how pages come of it.

use super::Colour;
use crate::drawing::Drawing;
use crate::report::Logo;
use crate::report::code::Code;

/// One thing to draw; its place is from the upper left of its piece, in points.
#[derive(Debug, Clone)]
pub(in crate::report::pdf) enum Op<'a> {
    /// Text on a base line.
    Text {
        x: f32,
        y: f32,
        size: f32,
        bold: bool,
        colour: Colour,
        text: String,
    },
    /// A filled rectangle.
    Fill {
        x: f32,
        y: f32,
        width: f32,
        height: f32,
        colour: Colour,
    },
    /// A drawing so many points wide.
    Drawing {
        x: f32,
        y: f32,
        width: f32,
        drawing: &'a Drawing,
    },
    /// A code on a square of this side.
    Code {
        x: f32,
        y: f32,
        side: f32,
        code: &'a Code,
    },
    /// The shop's mark within this height and width.
    Logo {
        x: f32,
        y: f32,
        width: f32,
        height: f32,
        logo: &'a Logo,
    },
}

impl Op<'_> {
    pub(super) fn moved(mut self, dx: f32, dy: f32) -> Self {
        match &mut self {
            Self::Text { x, y, .. }
            | Self::Fill { x, y, .. }
            | Self::Drawing { x, y, .. }
            | Self::Code { x, y, .. }
            | Self::Logo { x, y, .. } => {
                *x += dx;
                *y += dy;
            }
        }
        self
    }
}

/// What stays together on a page.
#[derive(Debug, Clone, Default)]
pub(in crate::report::pdf) struct Piece<'a> {
    pub(in crate::report::pdf) height: f32,
    pub(in crate::report::pdf) ops: Vec<Op<'a>>,
    /// A heading stays with what it heads.
    pub(super) with_next: bool,
    /// Begins on a new page.
    pub(super) new_page: bool,
}

/// A page: its pieces with their distance from the top of the type area.
pub(in crate::report::pdf) type Page<'a> = Vec<(f32, Piece<'a>)>;

/// The pieces on pages of this height.
pub(super) fn paginate(pieces: Vec<Piece<'_>>, height: f32) -> Vec<Page<'_>> {
    let mut pages: Vec<Page<'_>> = vec![Vec::new()];
    let mut top = 0.0;
    let mut rest = pieces.into_iter().peekable();
    while rest.peek().is_some() {
        // A heading and what stands under it move together.
        let mut run = Vec::new();
        for piece in rest.by_ref() {
            let more = piece.with_next;
            run.push(piece);
            if !more {
                break;
            }
        }
        let tall: f32 = run.iter().map(|piece| piece.height).sum();
        let breaks = run.first().is_some_and(|piece| piece.new_page);
        let is_full = top + tall > height && top > 0.0;
        // What no page holds as a whole is broken where the page ends.
        let whole = tall <= height;
        if breaks || (is_full && whole) {
            pages.push(Vec::new());
            top = 0.0;
        }
        for piece in run {
            let tall = piece.height;
            if !whole && top + tall > height && top > 0.0 {
                pages.push(Vec::new());
                top = 0.0;
            }
            if let Some(page) = pages.last_mut() {
                page.push((top, piece));
            }
            top += tall;
        }
    }
    pages
}
