//! Columns of text that stand under each other.

/// What a cell holds at most; longer text is cut with an ellipsis.
const WIDEST: usize = 44;

/// `rows` under `head`, each column as wide as its widest cell; `right` names those that end under
/// each other, numbers.
pub(super) fn columns<const N: usize>(
    head: [&str; N],
    rows: &[[String; N]],
    right: &[usize],
) -> String {
    let rows: Vec<[String; N]> = std::iter::once(head.map(str::to_owned))
        .chain(rows.iter().map(|row| row.clone().map(|cell| cut(&cell))))
        .collect();
    let width = |column: usize| {
        let cells = rows.iter().map(|row| row[column].chars().count());
        cells.max().unwrap_or(0)
    };
    let widths: [usize; N] = std::array::from_fn(width);
    let mut text = String::new();
    for row in &rows {
        let mut line = String::new();
        for (column, cell) in row.iter().enumerate() {
            let room = widths[column];
            if right.contains(&column) {
                line.push_str(&format!("{cell:>room$}  "));
            } else {
                line.push_str(&format!("{cell:<room$}  "));
            }
        }
        text.push_str(line.trim_end());
        text.push('\n');
    }
    text
}

/// On one line, and not too long.
fn cut(cell: &str) -> String {
    let line: String = cell
        .chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect();
    if line.chars().count() <= WIDEST {
        return line;
    }
    let kept: String = line.chars().take(WIDEST - 1).collect();
    format!("{}…", kept.trim_end())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_stand_under_each_other_and_long_ones_are_cut() {
        let rows = [
            ["ä".to_owned(), "1".to_owned()],
            ["long ".repeat(20), "22\n2".to_owned()],
        ];
        let text = columns(["name", "n"], &rows, &[1]);
        let lines: Vec<&str> = text.lines().collect();
        assert_eq!(lines.len(), 3, "a line break in a cell makes no line");
        let lengths: Vec<usize> = lines.iter().map(|line| line.chars().count()).collect();
        assert!(lengths.iter().all(|length| *length == lengths[0]), "{text}");
        assert!(lines[2].contains('…'));
    }
}
