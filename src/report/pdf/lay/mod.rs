//! Lays a report out: from what it says to pieces of a known height, and from those to pages.

mod blocks;
mod head;
mod piece;
mod table;

pub(super) use self::piece::{Op, Page, Piece};

use self::piece::paginate;
use super::letters::Letters;
use crate::report::model::{Block, Mark, Part, Report, Section};

/// A colour, red, green and blue.
pub(super) type Colour = [u8; 3];

const INK: Colour = [0x16, 0x23, 0x2a];
const QUIET: Colour = [0x4c, 0x59, 0x5e];
const RULE: Colour = [0xb9, 0xc4, 0xc4];
const HAIR: Colour = [0xd5, 0xdc, 0xdc];
const WARN: Colour = [0x8a, 0x4b, 0x00];

/// Size of the running text before it is fitted to its pages, points.
const SIZE: f32 = 8.4;
/// From line to line, in sizes.
const LEADING: f32 = 1.28;
/// Small print and labels, in sizes.
const SMALL: f32 = 0.84;
/// Between columns that stand side by side, points.
const GAP: f32 = 16.0;

/// Lays `report` out on pages whose type area is `width` by `height` points. A repair is to come
/// out on two pages, everything else on one; type is made smaller until it does, as far as it can
/// still be read.
pub(super) fn pages<'a>(
    report: &'a Report,
    letters: &Letters,
    (width, height): (f32, f32),
) -> Vec<Page<'a>> {
    let breaks = |part: &&Part| matches!(part, Part::NewPage);
    let wanted = 1 + report.parts.iter().filter(breaks).count();
    let at = |scale: f32| {
        let layout = Layout {
            letters,
            size: SIZE * scale,
        };
        paginate(layout.report(report, width), height)
    };
    for step in 0_u8..14 {
        let pages = at(1.0 - 0.02 * f32::from(step));
        if pages.len() <= wanted {
            return pages;
        }
    }
    at(0.92)
}

struct Layout<'l> {
    letters: &'l Letters,
    size: f32,
}

/// How a paragraph is set.
#[derive(Clone, Copy)]
struct Set {
    size: f32,
    bold: bool,
    colour: Colour,
}

const fn colour(mark: Mark) -> Colour {
    match mark {
        Mark::Good => [0x14, 0x60, 0x3a],
        Mark::Bad => [0xa3, 0x26, 0x0a],
        Mark::Open | Mark::Undone => [0x6b, 0x4a, 0x00],
    }
}

/// How many there are, as a length is reckoned with.
fn count<T>(of: &[T]) -> f32 {
    of.iter().map(|_| 1.0).sum()
}

/// How wide each of them is, `gap` between them, to fill `width` together.
fn side_by_side<T>(of: &[T], width: f32, gap: f32) -> f32 {
    (width - gap * (count(of) - 1.0)) / count(of).max(1.0)
}

impl<'a> Layout<'_> {
    const fn body(&self) -> Set {
        Set {
            size: self.size,
            bold: false,
            colour: INK,
        }
    }

    fn small(&self) -> Set {
        Set {
            size: self.size * SMALL,
            bold: false,
            colour: QUIET,
        }
    }

    /// A mark of the size of the running text.
    fn mark(&self, mark: Mark) -> Set {
        Set {
            bold: true,
            colour: colour(mark),
            ..self.body()
        }
    }

    fn report(&self, report: &'a Report, width: f32) -> Vec<Piece<'a>> {
        let mut pieces = vec![self.head(report, width), self.facts(&report.facts, width)];
        if let Some(open) = &report.open {
            pieces.push(self.banner(open, width));
        }
        let mut new_page = false;
        for part in &report.parts {
            let first = pieces.len();
            match part {
                Part::NewPage => new_page = true,
                Part::Section(section) => pieces.extend(self.section(section, width)),
                Part::Beside(columns) => pieces.push(self.beside(columns, width)),
            }
            if let Some(piece) = pieces.get_mut(first) {
                piece.new_page = std::mem::take(&mut new_page);
            }
        }
        pieces
    }

    /// Text set in `width`; gives the height that it takes.
    fn paragraph(
        &self,
        ops: &mut Vec<Op<'a>>,
        text: &str,
        set: Set,
        (x, y): (f32, f32),
        width: f32,
    ) -> f32 {
        let lead = set.size * LEADING;
        let lines = self.letters.lines(text, set.bold, set.size, width);
        let mut top = y;
        for line in lines {
            ops.push(Op::Text {
                x,
                // The base line: ascender and descender of DejaVu share the leading.
                y: top + set.size * 1.0,
                size: set.size,
                bold: set.bold,
                colour: set.colour,
                text: line,
            });
            top += lead;
        }
        top - y
    }

    fn section(&self, section: &'a Section, width: f32) -> Vec<Piece<'a>> {
        let mut pieces = Vec::new();
        if !section.heading.is_empty() {
            let mut ops = Vec::new();
            let set = Set {
                size: self.size * 1.08,
                bold: true,
                colour: INK,
            };
            let before = self.size * 0.45;
            let tall = self.paragraph(&mut ops, &section.heading, set, (0.0, before), width);
            ops.push(Op::Fill {
                x: 0.0,
                y: before + tall,
                width,
                height: 0.7,
                colour: RULE,
            });
            pieces.push(Piece {
                height: before + tall + 2.0,
                ops,
                with_next: true,
                new_page: false,
            });
        }
        for block in &section.blocks {
            pieces.extend(self.block(block, width));
        }
        // A drawing stays with the table that tells its numbers, a table with its small print.
        let count = pieces.len();
        for piece in pieces.iter_mut().take(count.saturating_sub(1)) {
            piece.with_next = true;
        }
        if let Some(last) = pieces.last_mut() {
            last.with_next = false;
            last.height += self.size * 0.25;
        }
        pieces
    }

    fn beside(&self, columns: &'a [Vec<Section>], width: f32) -> Piece<'a> {
        let column = side_by_side(columns, width, GAP);
        let mut whole = Piece::default();
        let mut x = 0.0;
        for sections in columns {
            let mut y = 0.0;
            let pieces = sections.iter();
            for piece in pieces.flat_map(|section| self.section(section, column)) {
                let tall = piece.height;
                whole
                    .ops
                    .extend(piece.ops.into_iter().map(|op| op.moved(x, y)));
                y += tall;
            }
            whole.height = whole.height.max(y);
            x += column + GAP;
        }
        whole
    }

    fn block(&self, block: &'a Block, width: f32) -> Vec<Piece<'a>> {
        match block {
            Block::Lead(mark, text) => vec![self.lead(*mark, text, width)],
            Block::Sentence(text) => vec![self.sentence(text, self.body(), width)],
            Block::Fine(text) => vec![self.sentence(text, self.small(), width)],
            Block::Lines(lines) => lines.iter().map(|line| self.line(line, width)).collect(),
            Block::Table(table) => self.table(table, width),
            Block::Drawings(pictures) => vec![self.drawings(pictures, width)],
            Block::Code(code, _, rows) => vec![self.code(code, rows, width)],
            Block::Sign(lines) => vec![self.sign(lines, width)],
        }
    }
}
