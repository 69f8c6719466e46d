//! Sentences, lists, drawings, the code, lines to write on.

use super::{GAP, INK, Layout, Op, Piece, Set, side_by_side};
use crate::report::code::Code;
use crate::report::model::{Line, Mark, Picture};
use crate::report::pdf::picture;

impl<'a> Layout<'_> {
    pub(super) fn sentence(&self, text: &str, set: Set, width: f32) -> Piece<'a> {
        let mut ops = Vec::new();
        let tall = self.paragraph(&mut ops, text, set, (0.0, 0.0), width);
        Piece {
            height: tall + self.size * 0.2,
            ops,
            ..Piece::default()
        }
    }

    pub(super) fn lead(&self, mark: Mark, text: &str, width: f32) -> Piece<'a> {
        let mut ops = Vec::new();
        let set = Set {
            size: self.size * 1.35,
            bold: true,
            colour: INK,
        };
        let marked = Set {
            colour: self.mark(mark).colour,
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

    pub(super) fn line(&self, line: &Line, width: f32) -> Piece<'a> {
        let mut ops = Vec::new();
        let indent = if line.mark.is_some() {
            self.size * 1.4
        } else {
            0.0
        };
        if let Some(mark) = line.mark {
            let set = self.mark(mark);
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

    pub(super) fn drawings(&self, pictures: &'a [Picture], width: f32) -> Piece<'a> {
        const GUTTER: f32 = 8.0;
        let mut whole = Piece::default();
        for row in pictures.chunks(3) {
            let slot = side_by_side(row, width, GUTTER);
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

    pub(super) fn code(&self, code: &'a Code, rows: &[(String, String)], width: f32) -> Piece<'a> {
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

    pub(super) fn sign(&self, lines: &[String], width: f32) -> Piece<'a> {
        let room = self.size * 3.6;
        let column = side_by_side(lines, width, GAP);
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
