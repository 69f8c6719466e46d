//! The report as one HTML file: no script, nothing loaded from anywhere, printed well on A4 and
//! Letter.

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use maud::{DOCTYPE, Markup, PreEscaped, html};
use sha2::{Digest as _, Sha256};

use super::code::Code;
use super::model::{Block, Cell, Letterhead, Line, Part, Picture, Report, Section, Table};
use crate::drawing::Theme;

const STYLE: &str = include_str!("report.css");

/// What the page may load and do: its own style, known by its hash, and the pictures in it.
pub fn policy() -> String {
    format!(
        "default-src 'none'; style-src 'sha256-{}'; img-src data:; form-action 'none'; base-uri 'none'",
        STANDARD.encode(Sha256::digest(STYLE))
    )
}

impl Report {
    /// The whole page.
    pub fn html(&self) -> String {
        let page = html! {
            (DOCTYPE)
            html lang=(self.language.tag()) {
                head {
                    meta charset="utf-8";
                    meta http-equiv="Content-Security-Policy" content=(policy());
                    meta name="viewport" content="width=device-width, initial-scale=1";
                    title { (self.title) }
                    style { (PreEscaped(STYLE)) }
                }
                body.inches[self.inches] {
                    header { (letterhead(&self.letterhead)) h1 { (self.heading) } }
                    main {
                        dl.facts {
                            @for (label, value) in &self.facts {
                                div { dt { (label) } dd { (value) } }
                            }
                        }
                        @if let Some(open) = &self.open { p.unfinished { (open) } }
                        @for part in &self.parts { (stretch(part)) }
                    }
                    footer { (self.foot) }
                }
            }
        };
        page.into_string()
    }
}

fn letterhead(letterhead: &Letterhead) -> Markup {
    html! {
        div.shop {
            @if let Some(logo) = &letterhead.logo {
                img.logo src=(logo.address()) alt=(letterhead.name.as_deref().unwrap_or_default());
            }
            div {
                @if let Some(name) = &letterhead.name { p.name { (name) } }
                @for line in &letterhead.lines { p { (line) } }
            }
        }
    }
}

fn stretch(part: &Part) -> Markup {
    match part {
        Part::Section(section) => of_section(section),
        Part::Beside(columns) => html! {
            div.beside {
                @for column in columns { div { @for section in column { (of_section(section)) } } }
            }
        },
        Part::NewPage => html! { div.page {} },
    }
}

fn of_section(section: &Section) -> Markup {
    html! {
        section {
            @if !section.heading.is_empty() { h2 { (section.heading) } }
            @for block in &section.blocks { (of_block(block, &section.heading)) }
        }
    }
}

/// `heading` is what it stands under.
fn of_block(block: &Block, heading: &str) -> Markup {
    match block {
        Block::Lead(mark, text) => html! {
            p.lead.{ (mark.class()) } { span.mark { (mark.shape()) } " " (text) }
        },
        Block::Sentence(text) => html! { p { (text) } },
        Block::Fine(text) => html! { p.fine { (text) } },
        Block::Lines(lines) => html! { ul { @for line in lines { (of_line(line)) } } },
        Block::Table(table) => of_table(table, heading),
        Block::Drawings(pictures) => html! {
            div.drawings { @for picture in pictures { (of_picture(picture)) } }
        },
        Block::Code(code, what, rows) => of_code(code, what, rows),
        Block::Sign(lines) => html! {
            div.sign { @for line in lines { p { (line) } } }
        },
    }
}

fn of_line(line: &Line) -> Markup {
    html! {
        li {
            @if let Some(mark) = line.mark {
                span.mark.{ (mark.class()) } { (mark.shape()) }
            }
            span.text { (line.text) }
            @if !line.aside.is_empty() { span.aside { (line.aside) } }
        }
    }
}

/// On a narrow screen a table is moved sideways: by keyboard too, and so it has a name.
fn of_table(table: &Table, heading: &str) -> Markup {
    html! {
        div.wide role="group" aria-label=(heading) tabindex="0" {
            table data-name=(table.name) {
                thead { tr { @for head in &table.head { th scope="col" { (head) } } } }
                tbody {
                    @for row in &table.rows { tr { @for cell in row { (of_cell(cell)) } } }
                }
            }
        }
    }
}

fn of_cell(cell: &Cell) -> Markup {
    html! {
        td {
            @if let Some(mark) = cell.mark {
                span.mark.{ (mark.class()) } { (mark.shape()) } " "
            }
            @match cell.value {
                Some(value) => { data value=(value) { (cell.text) } }
                None => { (cell.text) }
            }
            @if let Some(below) = &cell.below { span.below { (below) } }
        }
    }
}

fn of_picture(picture: &Picture) -> Markup {
    html! {
        figure {
            (picture.drawing.svg(Theme::Paper))
            figcaption { (picture.caption) }
        }
    }
}

fn of_code(code: &Code, what: &str, rows: &[(String, String)]) -> Markup {
    use std::fmt::Write as _;
    let mut path = String::new();
    for (column, row, width) in code.runs() {
        let _ = write!(path, "M{column} {row}h{width}v1h-{width}z");
    }
    let whole = code.whole();
    html! {
        div.papers {
            svg.code viewBox={ "0 0 " (whole) " " (whole) } role="img" aria-label=(what)
                xmlns="http://www.w3.org/2000/svg" shape-rendering="crispEdges" {
                rect width=(whole) height=(whole) fill="#ffffff" {}
                path d=(path) fill="#000000" {}
            }
            dl {
                @for (label, value) in rows { div { dt { (label) } dd { (value) } } }
            }
        }
    }
}
