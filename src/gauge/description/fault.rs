//! What can be wrong with a description, and where.

use std::fmt;
use std::ops::Range;

/// Why there is no description.
#[derive(Debug, thiserror::Error)]
pub enum DescriptionError {
    /// No description has this name.
    #[error("no gauge description is called `{name}`; there are: {}", known.join(", "))]
    Unknown {
        /// The name asked for.
        name: String,
        /// The names there are.
        known: Vec<String>,
    },
    /// The file can't be read.
    #[error("can't read the gauge description {file}: {source}")]
    Unreadable {
        /// The file.
        file: String,
        /// Why.
        source: std::io::Error,
    },
    /// The text can't be used.
    #[error("{0}")]
    Wrong(Box<Wrong>),
}

/// A wrong place in the text of a description.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wrong {
    /// The file.
    pub file: String,
    /// The line, from 1.
    pub line: usize,
    /// The column, in characters from 1.
    pub column: usize,
    /// The key, such as `serial.baud`; empty where the text is no TOML at all.
    pub key: String,
    /// What is wrong and what would be right, as a sentence.
    pub message: String,
    /// The line's text.
    pub excerpt: String,
}

impl Wrong {
    pub(super) fn new(
        text: &str,
        file: &str,
        span: Range<usize>,
        key: impl Into<String>,
        message: impl Into<String>,
    ) -> DescriptionError {
        let start = (0..=span.start.min(text.len()))
            .rev()
            .find(|&at| text.is_char_boundary(at));
        let before = &text[..start.unwrap_or(0)];
        let line_start = before.rfind('\n').map_or(0, |at| at + 1);
        DescriptionError::Wrong(Box::new(Self {
            file: file.to_owned(),
            line: before.matches('\n').count() + 1,
            column: before[line_start..].chars().count() + 1,
            key: key.into(),
            message: message.into(),
            excerpt: text[line_start..]
                .lines()
                .next()
                .unwrap_or_default()
                .to_owned(),
        }))
    }
}

impl fmt::Display for Wrong {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}:{}: ", self.file, self.line, self.column)?;
        if !self.key.is_empty() {
            write!(f, "{}: ", self.key)?;
        }
        let gutter = self.line.to_string().len();
        write!(
            f,
            "{}\n {} | {}\n {:gutter$} | {:>column$}",
            self.message,
            self.line,
            self.excerpt,
            "",
            "^",
            column = self.column
        )
    }
}
