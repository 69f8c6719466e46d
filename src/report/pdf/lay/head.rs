//! What stands at the head of the report: who made it, what it is about, whether it is finished.

use super::{INK, LEADING, Layout, Op, Piece, Set, WARN};
use crate::report::model::{Letterhead, Report};

impl<'a> Layout<'_> {
    pub(super) fn head(&self, report: &'a Report, width: f32) -> Piece<'a> {
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
    pub(super) fn facts(&self, facts: &[(String, String)], width: f32) -> Piece<'a> {
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

    pub(super) fn banner(&self, text: &str, width: f32) -> Piece<'a> {
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
}
