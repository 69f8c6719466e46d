//! Lays a report out: from what it says to pieces of a known height, and from those to pages.

use super::letters::Letters;
use super::picture;
use crate::drawing::Drawing;
use crate::report::Logo;
use crate::report::code::Code;
use crate::report::model::{
    Block, Cell, Letterhead, Line, Mark, Part, Picture, Report, Section, Table,
};

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

/// One thing to draw; its place is from the upper left of its piece, in points.
#[derive(Debug, Clone)]
pub(super) enum Op<'a> {
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
    fn moved(mut self, dx: f32, dy: f32) -> Self {
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
pub(super) struct Piece<'a> {
    pub(super) height: f32,
    pub(super) ops: Vec<Op<'a>>,
    /// A heading stays with what it heads.
    with_next: bool,
    /// Begins on a new page.
    new_page: bool,
}

/// A page: its pieces with their distance from the top of the type area.
pub(super) type Page<'a> = Vec<(f32, Piece<'a>)>;

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

fn paginate(pieces: Vec<Piece<'_>>, height: f32) -> Vec<Page<'_>> {
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

    fn head(&self, report: &'a Report, width: f32) -> Piece<'a> {
        let mut ops = Vec::new();
        let Letterhead { name, lines, logo } = &report.letterhead;
        let heading = Set {
            size: self.size * 1.7,
            bold: true,
            colour: INK,
        };
        let title = self.letters.face(true).width(&report.heading, heading.size);
        let mut left = 0.0;
        let mut tall: f32 = 0.0;
        if let Some(logo) = logo
            && let Some((w, h)) = logo.fitted((self.size * 12.0, self.size * 3.6))
        {
            ops.push(Op::Logo {
                x: 0.0,
                y: 0.0,
                width: w,
                height: h,
                logo,
            });
            left = w + self.size;
            tall = h;
        }
        let room = (width - left - title - self.size * 2.0).max(width * 0.2);
        let mut top = 0.0;
        if let Some(name) = name {
            let set = Set {
                size: self.size * 1.1,
                bold: true,
                colour: INK,
            };
            top += self.paragraph(&mut ops, name, set, (left, top), room);
        }
        for line in lines {
            let set = Set {
                size: self.size * 0.9,
                ..self.body()
            };
            top += self.paragraph(&mut ops, line, set, (left, top), room);
        }
        tall = tall.max(top).max(heading.size * LEADING);
        ops.push(Op::Text {
            x: width - title,
            y: tall - heading.size * 0.28,
            size: heading.size,
            bold: true,
            colour: INK,
            text: report.heading.clone(),
        });
        ops.push(Op::Fill {
            x: 0.0,
            y: tall + 2.5,
            width,
            height: 1.5,
            colour: INK,
        });
        Piece {
            height: tall + 4.0 + self.size * 0.5,
            ops,
            ..Piece::default()
        }
    }

    /// The first over the whole width, the others in four columns.
    fn facts(&self, facts: &[(String, String)], width: f32) -> Piece<'a> {
        let mut ops = Vec::new();
        let mut top = 0.0;
        let Some(((label, value), rest)) = facts.split_first() else {
            return Piece::default();
        };
        top += self.paragraph(&mut ops, label, self.small(), (0.0, top), width);
        let set = Set {
            size: self.size * 1.1,
            bold: true,
            colour: INK,
        };
        top += self.paragraph(&mut ops, value, set, (0.0, top), width);
        for row in rest.chunks(4) {
            let shares: &[f32] = match row.len() {
                4 => &[0.33, 0.17, 0.2, 0.3],
                _ => &[0.25; 4],
            };
            let (mut x, mut tall): (f32, f32) = (0.0, 0.0);
            for ((label, value), share) in row.iter().zip(shares) {
                let room = width * share - self.size;
                let mut y = top;
                y += self.paragraph(&mut ops, label, self.small(), (x, y), room);
                y += self.paragraph(&mut ops, value, self.body(), (x, y), room);
                x += width * share;
                tall = tall.max(y - top);
            }
            top += tall;
        }
        Piece {
            height: top + self.size * 0.5,
            ops,
            ..Piece::default()
        }
    }

    fn banner(&self, text: &str, width: f32) -> Piece<'a> {
        let mut ops = Vec::new();
        let set = Set {
            bold: true,
            colour: WARN,
            ..self.body()
        };
        let pad = self.size * 0.4;
        let inner = width - 2.0 * pad - 4.0;
        let tall = self.paragraph(&mut ops, text, set, (pad + 4.0, pad), inner) + 2.0 * pad;
        ops.push(Op::Fill {
            x: 0.0,
            y: 0.0,
            width: 3.0,
            height: tall,
            colour: WARN,
        });
        Piece {
            height: tall + self.size * 0.4,
            ops,
            ..Piece::default()
        }
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
        let count: f32 = columns.iter().map(|_| 1.0).sum();
        let column = (width - GAP * (count - 1.0)) / count.max(1.0);
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
            Block::Code(code, rows) => vec![self.code(code, rows, width)],
            Block::Sign(lines) => vec![self.sign(lines, width)],
        }
    }

    fn sentence(&self, text: &str, set: Set, width: f32) -> Piece<'a> {
        let mut ops = Vec::new();
        let tall = self.paragraph(&mut ops, text, set, (0.0, 0.0), width);
        Piece {
            height: tall + self.size * 0.2,
            ops,
            ..Piece::default()
        }
    }

    fn lead(&self, mark: Mark, text: &str, width: f32) -> Piece<'a> {
        let mut ops = Vec::new();
        let set = Set {
            size: self.size * 1.35,
            bold: true,
            colour: INK,
        };
        let marked = Set {
            colour: colour(mark),
            ..set
        };
        let indent = set.size * 1.2;
        self.paragraph(&mut ops, mark.shape(), marked, (0.0, 0.0), indent);
        let tall = self.paragraph(&mut ops, text, set, (indent, 0.0), width - indent);
        Piece {
            height: tall + self.size * 0.15,
            ops,
            ..Piece::default()
        }
    }

    fn line(&self, line: &Line, width: f32) -> Piece<'a> {
        let mut ops = Vec::new();
        let indent = if line.mark.is_some() {
            self.size * 1.4
        } else {
            0.0
        };
        if let Some(mark) = line.mark {
            let set = Set {
                bold: true,
                colour: colour(mark),
                ..self.body()
            };
            let inset = self.size * 0.2;
            self.paragraph(&mut ops, mark.shape(), set, (inset, 0.0), indent);
        }
        let small = self.small();
        let aside = self.letters.face(false).width(&line.aside, small.size);
        let gap = if aside > 0.0 { self.size } else { 0.0 };
        let room = width - indent - aside - gap;
        let tall = self.paragraph(&mut ops, &line.text, self.body(), (indent, 0.0), room);
        if aside > 0.0 {
            let down = self.size - small.size;
            self.paragraph(
                &mut ops,
                &line.aside,
                small,
                (width - aside, down),
                aside + 1.0,
            );
        }
        Piece {
            height: tall,
            ops,
            ..Piece::default()
        }
    }

    /// What the columns of a table take, and the gap between them: as wide as their widest cell;
    /// where that is too much for the page the gaps give way first, then lines are broken.
    fn columns(&self, table: &Table, width: f32) -> (Vec<f32>, f32) {
        let (body, small) = (self.letters.face(false), self.size * SMALL);
        let natural = |cell: &Cell| {
            let below = cell.below.as_deref().unwrap_or_default();
            let mark = cell.mark.map_or(0.0, |_| self.size * 1.1);
            (mark + body.width(&cell.text, self.size)).max(body.width(below, small))
        };
        let longest = |text: &str, size: f32| {
            let words = text.split(' ').map(|word| body.width(word, size));
            words.fold(0.0, f32::max)
        };
        let mut wide = Vec::new();
        let mut least = Vec::new();
        for (at, head) in table.head.iter().enumerate() {
            let cells = || table.rows.iter().filter_map(move |row| row.get(at));
            let words = longest(head, small);
            wide.push(cells().map(natural).fold(words, f32::max));
            let narrow = cells().map(|cell| {
                let mark = cell.mark.map_or(0.0, |_| self.size * 1.1);
                mark + longest(&cell.text, self.size)
            });
            least.push(narrow.fold(words, f32::max).min(width / 3.0));
        }
        let sum: f32 = wide.iter().sum();
        let count: f32 = table.head.iter().map(|_| 1.0).sum();
        let between = (count - 1.0).max(1.0);
        let gap = ((width - sum) / between).clamp(self.size * 0.45, self.size * 0.9);
        let gaps = gap * (count - 1.0);
        let spare = width - gaps - sum;
        if spare >= -0.1 {
            return (wide.iter().map(|w| w + spare / count).collect(), gap);
        }
        let floor: f32 = least.iter().sum();
        let give = ((width - gaps - floor) / (sum - floor).max(0.1)).clamp(0.0, 1.0);
        let columns = wide.iter().zip(&least);
        let columns = columns.map(|(w, l)| l + (w - l).max(0.0) * give);
        (columns.collect(), gap)
    }

    fn table(&self, table: &'a Table, width: f32) -> Vec<Piece<'a>> {
        let (columns, gap) = self.columns(table, width);
        let small = self.small();
        let mut pieces = Vec::new();
        let mut ops = Vec::new();
        // Headings stand on the line of the lowest.
        let tall = |head: &&str, column: &f32| {
            let lines = self
                .letters
                .lines(head, false, small.size, *column + gap * 0.5);
            lines.iter().map(|_| small.size * LEADING).sum::<f32>()
        };
        let heads = || table.head.iter().zip(&columns);
        let highest = heads().map(|(h, c)| tall(h, c)).fold(0.0, f32::max);
        let mut x = 0.0;
        for (head, column) in heads() {
            let y = highest - tall(head, column);
            self.paragraph(&mut ops, head, small, (x, y), column + gap * 0.5);
            x += column + gap;
        }
        pieces.push(self.ruled(ops, highest, width));
        for row in &table.rows {
            let mut ops = Vec::new();
            let (mut x, mut highest): (f32, f32) = (0.0, 0.0);
            for (cell, column) in row.iter().zip(&columns) {
                let mut indent = 0.0;
                if let Some(mark) = cell.mark {
                    let set = Set {
                        bold: true,
                        colour: colour(mark),
                        ..self.body()
                    };
                    indent = self.size * 1.1;
                    self.paragraph(&mut ops, mark.shape(), set, (x, 0.0), indent);
                }
                let room = column - indent + 0.5;
                let mut y =
                    self.paragraph(&mut ops, &cell.text, self.body(), (x + indent, 0.0), room);
                if let Some(below) = &cell.below {
                    y += self.paragraph(&mut ops, below, small, (x, y), column + 0.5);
                }
                highest = highest.max(y);
                x += column + gap;
            }
            pieces.push(self.ruled(ops, highest, width));
        }
        pieces
    }

    fn ruled(&self, mut ops: Vec<Op<'a>>, tall: f32, width: f32) -> Piece<'a> {
        let pad = self.size * 0.12;
        ops.push(Op::Fill {
            x: 0.0,
            y: tall + pad,
            width,
            height: 0.5,
            colour: HAIR,
        });
        Piece {
            height: tall + 2.0 * pad + 0.5,
            ops,
            ..Piece::default()
        }
    }

    fn drawings(&self, pictures: &'a [Picture], width: f32) -> Piece<'a> {
        const GUTTER: f32 = 8.0;
        let mut whole = Piece::default();
        for row in pictures.chunks(3) {
            let count: f32 = row.iter().map(|_| 1.0).sum();
            let slot = (width - GUTTER * (count - 1.0)) / count;
            let wide = slot.min(self.size * if row.len() > 2 { 18.5 } else { 24.0 });
            let set = self.small();
            let (mut x, mut highest): (f32, f32) = (0.0, 0.0);
            for picture in row {
                let left = x + (slot - wide) / 2.0;
                let tall = wide * picture::shape(&picture.drawing);
                whole.ops.push(Op::Drawing {
                    x: left,
                    y: whole.height,
                    width: wide,
                    drawing: &picture.drawing,
                });
                let lines = self.letters.lines(&picture.caption, false, set.size, slot);
                let mut y = tall;
                for line in lines {
                    let indent = (slot - self.letters.face(false).width(&line, set.size)) / 2.0;
                    let at = (x + indent.max(0.0), whole.height + y);
                    y += self.paragraph(&mut whole.ops, &line, set, at, slot + 1.0);
                }
                highest = highest.max(y);
                x += slot + GUTTER;
            }
            whole.height += highest + self.size * 0.3;
        }
        whole
    }

    fn code(&self, code: &'a Code, rows: &[(String, String)], width: f32) -> Piece<'a> {
        let side = self.size * 9.0;
        let mut ops = vec![Op::Code {
            x: 0.0,
            y: 0.0,
            side,
            code,
        }];
        let left = side + self.size * 0.6;
        let mut y = self.size * 0.4;
        let value = Set {
            colour: INK,
            ..self.small()
        };
        for (label, text) in rows {
            y += self.paragraph(&mut ops, label, self.small(), (left, y), width - left);
            y += self.paragraph(&mut ops, text, value, (left, y), width - left);
        }
        Piece {
            height: y.max(side) + self.size * 0.2,
            ops,
            ..Piece::default()
        }
    }

    fn sign(&self, lines: &[String], width: f32) -> Piece<'a> {
        let room = self.size * 3.6;
        let count: f32 = lines.iter().map(|_| 1.0).sum();
        let column = (width - GAP * (count - 1.0)) / count.max(1.0);
        let mut ops = Vec::new();
        let mut x = 0.0;
        for line in lines {
            ops.push(Op::Fill {
                x,
                y: room,
                width: column,
                height: 0.7,
                colour: INK,
            });
            self.paragraph(&mut ops, line, self.small(), (x, room + 1.5), column);
            x += column + GAP;
        }
        Piece {
            height: room + self.size * 1.3,
            ops,
            ..Piece::default()
        }
    }
}
