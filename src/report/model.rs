//! What a report holds, whoever writes it: headed sections of tables, sentences and drawings.

use super::code::Code;
use super::words::Figure;
use crate::display::Language;
use crate::drawing::Drawing;

/// A whole report, ready to be written as HTML or PDF.
#[derive(Debug, Clone)]
pub struct Report {
    /// Its language.
    pub language: Language,
    /// Whether each length stands there twice, in inches and in millimetres: that takes more room.
    pub(super) inches: bool,
    /// The document's title.
    pub title: String,
    /// When what it tells ended: the document's date, so that equal input gives equal bytes.
    pub dated: crate::units::Moment,
    /// The document's identity: the job, and the record's hash where there is one.
    pub identity: String,
    /// The shop.
    pub(super) letterhead: Letterhead,
    /// What kind of document it is, in large type.
    pub(super) heading: String,
    /// What it is about, as pairs of label and value.
    pub(super) facts: Vec<(String, String)>,
    /// That the job isn't closed, where it isn't.
    pub(super) open: Option<String>,
    /// What it says.
    pub(super) parts: Vec<Part>,
    /// What stands at the foot of every page, before its number.
    pub(super) foot: String,
    /// `page {page} of {pages}` in its language.
    #[cfg_attr(
        not(feature = "pdf"),
        expect(dead_code, reason = "a browser counts its pages")
    )]
    pub(super) page_of: &'static str,
}

/// Who made it.
#[derive(Debug, Clone)]
pub(super) struct Letterhead {
    /// The shop's name.
    pub(super) name: Option<String>,
    /// Address, telephone, mail.
    pub(super) lines: Vec<String>,
    /// The shop's mark.
    pub(super) logo: Option<super::Logo>,
}

/// A stretch of the report.
#[derive(Debug, Clone)]
pub(super) enum Part {
    /// A section over the whole width.
    Section(Section),
    /// Columns of sections, side by side.
    Beside(Vec<Vec<Section>>),
    /// What follows begins on a new page.
    NewPage,
}

/// A headed section.
#[derive(Debug, Clone, Default)]
pub(super) struct Section {
    /// Its heading; empty for none.
    pub(super) heading: String,
    /// What stands under it.
    pub(super) blocks: Vec<Block>,
}

/// What stands under a heading.
#[derive(Debug, Clone)]
pub(super) enum Block {
    /// The answer, in large type, with its mark.
    Lead(Mark, String),
    /// A sentence.
    Sentence(String),
    /// Small print.
    Fine(String),
    /// Lines, each with a mark or none.
    Lines(Vec<Line>),
    /// A table.
    Table(Table),
    /// Drawings side by side.
    Drawings(Vec<Picture>),
    /// A code to read by machine, what it is in words, and what it says beside it.
    Code(Code, &'static str, Vec<(String, String)>),
    /// Lines to write on, each with what goes there.
    Sign(Vec<String>),
}

/// One line of a list.
#[derive(Debug, Clone)]
pub(super) struct Line {
    pub(super) mark: Option<Mark>,
    pub(super) text: String,
    /// What stands at its end, in small type.
    pub(super) aside: String,
}

/// How something stands: a shape beside a word, never a colour alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Mark {
    /// As it should be.
    Good,
    /// Not as it should be.
    Bad,
    /// Nobody can tell, or not judged.
    Open,
    /// Not done.
    Undone,
}

impl Mark {
    /// Its shape.
    pub(super) const fn shape(self) -> &'static str {
        match self {
            Self::Good => "\u{2713}",
            Self::Bad => "\u{2717}",
            Self::Open => "?",
            Self::Undone => "\u{25a1}",
        }
    }

    /// Its class on a page.
    pub(super) const fn class(self) -> &'static str {
        match self {
            Self::Good => "good",
            Self::Bad => "bad",
            Self::Open => "open",
            Self::Undone => "undone",
        }
    }
}

/// A table.
#[derive(Debug, Clone, Default)]
pub(super) struct Table {
    /// What it holds, for a program that reads the page.
    pub(super) name: &'static str,
    pub(super) head: Vec<&'static str>,
    pub(super) rows: Vec<Vec<Cell>>,
}

/// A cell of a table.
#[derive(Debug, Clone, Default)]
pub(super) struct Cell {
    pub(super) mark: Option<Mark>,
    pub(super) text: String,
    /// A second line: the same in millimetres.
    pub(super) below: Option<String>,
    /// The number in full, in millimetres, for a program that reads the page.
    pub(super) value: Option<f64>,
}

impl Cell {
    pub(super) fn text(text: impl Into<String>) -> Self {
        Self {
            text: text.into(),
            ..Self::default()
        }
    }

    pub(super) fn figure(figure: Figure, value: f64) -> Self {
        Self {
            text: figure.text,
            below: figure.mm,
            value: Some(value),
            mark: None,
        }
    }

    /// Nothing is stated; why stands below the table.
    pub(super) fn none() -> Self {
        Self::text("—")
    }
}

/// A drawing and what it shows.
#[derive(Debug, Clone)]
pub(super) struct Picture {
    pub(super) caption: String,
    pub(super) drawing: Drawing,
}
