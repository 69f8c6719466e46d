//! A mistake in a file, shown where it stands.

use std::fmt;
use std::ops::Range;

/// Something wrong in a configuration, gauge description or seat file: a sentence, the place, and
/// the line itself with a caret under it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mistake {
    /// The file as the user would name it.
    pub file: String,
    /// Line, from 1; 0 where the mistake has no place of its own.
    pub line: usize,
    /// Column, from 1, in characters.
    pub column: usize,
    /// What is wrong and what to do.
    pub what: String,
    /// The line itself.
    excerpt: String,
    /// How many characters the caret runs under.
    width: usize,
}

impl Mistake {
    /// `what` at `span` (bytes) of `text`, which was read from `file`.
    pub fn at(file: &str, text: &str, span: Range<usize>, what: impl Into<String>) -> Self {
        let start = floor_char_boundary(text, span.start);
        let line_start = text[..start].rfind('\n').map_or(0, |newline| newline + 1);
        let line_end = text[start..]
            .find('\n')
            .map_or(text.len(), |newline| start + newline);
        let end = floor_char_boundary(text, span.end).clamp(start, line_end);
        Self {
            file: file.to_owned(),
            line: text[..start].matches('\n').count() + 1,
            column: text[line_start..start].chars().count() + 1,
            what: what.into(),
            excerpt: text[line_start..line_end].trim_end_matches('\r').to_owned(),
            width: text[start..end].chars().count().max(1),
        }
    }

    /// `what` is wrong with `file` as a whole.
    pub fn whole(file: &str, what: impl Into<String>) -> Self {
        Self {
            file: file.to_owned(),
            line: 0,
            column: 0,
            what: what.into(),
            excerpt: String::new(),
            width: 0,
        }
    }

    /// What the TOML reader found wrong in `text`.
    pub fn toml(file: &str, text: &str, error: &toml::de::Error) -> Self {
        let what = error.message().trim_end().replace('\n', "; ");
        match error.span() {
            Some(span) => Self::at(file, text, span, what),
            None => Self::whole(file, what),
        }
    }
}

fn floor_char_boundary(text: &str, index: usize) -> usize {
    let mut index = index.min(text.len());
    while !text.is_char_boundary(index) {
        index -= 1;
    }
    index
}

impl fmt::Display for Mistake {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.line == 0 {
            return write!(f, "{}: {}", self.file, self.what);
        }
        writeln!(
            f,
            "{}:{}:{}: {}",
            self.file, self.line, self.column, self.what
        )?;
        let number = self.line.to_string();
        writeln!(f, "  {number} | {}", self.excerpt)?;
        let gap = " ".repeat(number.len());
        write!(
            f,
            "  {gap} | {}{}",
            " ".repeat(self.column - 1),
            "^".repeat(self.width)
        )
    }
}

impl std::error::Error for Mistake {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mistake_points_at_its_line_and_column() {
        let text = "[page]\nlisten = \"here\"\n";
        let mistake = Mistake::at("bench.toml", text, 16..22, "no address");
        assert_eq!((mistake.line, mistake.column), (2, 10));
        assert_eq!(
            mistake.to_string(),
            "bench.toml:2:10: no address\n  2 | listen = \"here\"\n    |          ^^^^^^"
        );
    }

    #[test]
    fn a_span_beyond_the_text_still_prints() {
        let mistake = Mistake::at("x", "é", 1..90, "odd");
        assert_eq!((mistake.line, mistake.column), (1, 1));
    }
}
