//! Tables: how wide their columns are, and their rows.

use super::{HAIR, LEADING, Layout, Op, Piece, SMALL, count};
use crate::report::model::{Cell, Table};

impl<'a> Layout<'_> {
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
        let count = count(&table.head);
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

    pub(super) fn table(&self, table: &'a Table, width: f32) -> Vec<Piece<'a>> {
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
                    let set = self.mark(mark);
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
}
