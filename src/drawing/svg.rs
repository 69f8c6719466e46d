//! A drawing as SVG text.

use std::fmt::Write as _;

use maud::{Markup, PreEscaped};

use super::canvas::{Anchor, Drawing, Item, Label, Point, Shape, Step};
use super::theme::{Colour, Theme};

/// For what has no style sheet.
const FONT: &str = "system-ui,'Liberation Sans','DejaVu Sans',sans-serif";
/// Where the font is the shipped one.
const PAPER_FONT: &str = "'DejaVu Sans',sans-serif";

/// One element of a drawing, to be put in place of the one that has its `id`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Element {
    /// Its `id`: the drawing's kind and the item's key.
    pub id: String,
    /// The whole element as SVG.
    pub svg: String,
}

impl Drawing {
    /// The `svg` element, to stand within a page. It has classes and presentation attributes, no
    /// `style`, and needs nothing from elsewhere. Equal drawings give equal bytes.
    pub fn svg(&self, theme: Theme) -> Markup {
        PreEscaped(self.element(theme, false, theme == Theme::Page))
    }

    /// The same for a page that never changes and may show several of a kind: without the `id`s,
    /// of which a page may have each but once.
    pub fn still_svg(&self) -> Markup {
        PreEscaped(self.element(Theme::Page, false, false))
    }

    /// A file of its own, on white.
    pub fn svg_file(&self) -> String {
        self.element(Theme::Paper, true, false) + "\n"
    }

    /// The elements that a page must exchange to show this drawing where `before` stood, in no
    /// more than their own bytes; `None` where the two don't consist of the same elements, so that
    /// the whole must be exchanged.
    pub fn changes_from(&self, before: &Self) -> Option<Vec<Element>> {
        let same = |a: &Item, b: &Item| a.key == b.key;
        let alike = self.kind == before.kind
            && self.view == before.view
            && self.title == before.title
            && self.facts == before.facts
            && self.items.len() == before.items.len()
            && self
                .items
                .iter()
                .zip(&before.items)
                .all(|(a, b)| same(a, b));
        alike.then(|| {
            let pairs = self.items.iter().zip(&before.items);
            pairs
                .filter(|(now, then)| now != then)
                .map(|(now, _)| {
                    let mut svg = String::new();
                    self.item(&mut svg, now, Theme::Page, true);
                    let id = self.id(now);
                    Element { id, svg }
                })
                .collect()
        })
    }

    fn id(&self, item: &Item) -> String {
        format!("{}-{}", self.kind, item.key)
    }

    fn element(&self, theme: Theme, on_white: bool, with_ids: bool) -> String {
        let mut out = String::with_capacity(6_000);
        let [left, top, width, height] = self.view;
        let (left, top, width, height) = (n(left), n(top), n(width), n(height));
        let class = match (theme, self.kind) {
            (Theme::Page, "face") => "face".to_owned(),
            (Theme::Page, kind) => format!("face {kind}"),
            (Theme::Paper, kind) => format!("paper-{kind}"),
        };
        let font = match theme {
            Theme::Page => FONT,
            Theme::Paper => PAPER_FONT,
        };
        let _ = write!(
            out,
            r#"<svg class="{class}" xmlns="http://www.w3.org/2000/svg" role="img" viewBox="{left} {top} {width} {height}" font-family="{font}" font-size="15" stroke-linejoin="round""#
        );
        facts(&mut out, &self.facts);
        let _ = write!(out, "><title>{}</title>", escaped(&self.title));
        if on_white {
            let _ = write!(
                out,
                r##"<path d="M{left} {top}h{width}v{height}h-{width}z" fill="#ffffff"/>"##
            );
        }
        for item in &self.items {
            self.item(&mut out, item, theme, with_ids);
        }
        out.push_str("</svg>");
        out
    }

    fn item(&self, out: &mut String, item: &Item, theme: Theme, with_id: bool) {
        let tag = match &item.shape {
            Shape::Path(_) => "path",
            Shape::Circles { at, .. } if at.len() == 1 => "circle",
            Shape::Circles { .. } => "g",
            Shape::Text(_) => "text",
        };
        let _ = write!(out, "<{tag}");
        attributes(out, item, theme);
        if with_id {
            let _ = write!(out, r#" id="{}""#, self.id(item));
        }
        facts(out, &item.facts);
        match &item.shape {
            Shape::Path(steps) => {
                let _ = write!(out, r#" d="{}"/>"#, path(steps));
            }
            Shape::Circles { at, radius } => match at.as_slice() {
                [centre] => {
                    round(out, *centre, *radius);
                    out.push_str("/>");
                }
                centres => {
                    out.push('>');
                    for centre in centres {
                        out.push_str("<circle");
                        round(out, *centre, *radius);
                        out.push_str("/>");
                    }
                    out.push_str("</g>");
                }
            },
            Shape::Text(label) => text(out, label),
        }
    }
}

fn attributes(out: &mut String, item: &Item, theme: Theme) {
    let look = item.role.look();
    if theme == Theme::Page {
        let _ = write!(out, r#" class="{}"#, item.role.class());
        if let Some(tone) = look.fill {
            let _ = write!(out, " fill-{}", tone.class());
        }
        if let Some(line) = look.line {
            let _ = write!(out, " line-{}", line.tone.class());
        }
        out.push('"');
    }
    match look.fill {
        Some(tone) => {
            let _ = write!(out, r#" fill="{}""#, hex(tone.colour(theme)));
        }
        None => out.push_str(r#" fill="none""#),
    }
    if look.fill_opacity < 1.0 {
        let _ = write!(out, r#" fill-opacity="{}""#, look.fill_opacity);
    }
    if look.fill.is_some() && matches!(item.shape, Shape::Path(_)) {
        out.push_str(r#" fill-rule="evenodd""#);
    }
    if let Some(line) = look.line {
        let colour = hex(line.tone.colour(theme));
        let _ = write!(out, r#" stroke="{colour}" stroke-width="{}""#, line.width);
        if !line.dashes.is_empty() {
            let dashes: Vec<String> = line.dashes.iter().map(f64::to_string).collect();
            let _ = write!(out, r#" stroke-dasharray="{}""#, dashes.join(" "));
        }
        if line.round {
            out.push_str(r#" stroke-linecap="round""#);
        }
    }
}

fn facts(out: &mut String, facts: &[(&'static str, String)]) {
    for (name, value) in facts {
        let _ = write!(out, r#" data-{name}="{}""#, escaped(value));
    }
}

fn round(out: &mut String, (x, y): Point, radius: f64) {
    let _ = write!(out, r#" cx="{}" cy="{}" r="{}""#, n(x), n(y), n(radius));
}

fn text(out: &mut String, label: &Label) {
    let (x, y) = label.at;
    let _ = write!(out, r#" x="{}" y="{}""#, n(x), n(y));
    match label.anchor {
        Anchor::Start => {}
        Anchor::Middle => out.push_str(r#" text-anchor="middle""#),
        Anchor::End => out.push_str(r#" text-anchor="end""#),
    }
    if (label.size - 15.0).abs() > 1e-9 {
        let _ = write!(out, r#" font-size="{}""#, n(label.size));
    }
    if label.bold {
        out.push_str(r#" font-weight="bold""#);
    }
    let _ = write!(out, ">{}</text>", escaped(&label.text));
}

/// Path notation (SVG 2, 9.3): `M` where a part begins, then the letter only where it changes.
fn path(steps: &[Step]) -> String {
    let mut out = String::with_capacity(steps.len() * 12);
    let mut letter = ' ';
    let mut pen = (f64::NAN, f64::NAN);
    for step in steps {
        let (next, points): (char, &[Point]) = match step {
            Step::Move(to) => ('M', &[*to]),
            // A dot: a line of no length, seen by its round ends.
            Step::Line(to) if *to == pen => {
                out.push_str("h0");
                letter = 'h';
                continue;
            }
            Step::Line(to) => ('L', &[*to]),
            Step::Curve(one, two, to) => ('C', &[*one, *two, *to]),
            Step::Close => ('Z', &[]),
        };
        if next != letter || next == 'M' {
            out.push(next);
        } else {
            out.push(' ');
        }
        letter = next;
        for (index, (x, y)) in points.iter().enumerate() {
            let gap = if index == 0 { "" } else { " " };
            let _ = write!(out, "{gap}{} {}", n(*x), n(*y));
        }
        pen = points.last().copied().unwrap_or(pen);
    }
    out
}

/// A number on a drawing: at most one digit behind the point, no minus zero.
pub(super) fn n(value: f64) -> String {
    let text = format!("{value:.1}");
    let text = text.strip_suffix(".0").unwrap_or(&text);
    if text == "-0" { "0" } else { text }.to_owned()
}

fn hex(Colour(r, g, b): Colour) -> String {
    format!("#{r:02x}{g:02x}{b:02x}")
}

fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            _ => out.push(letter),
        }
    }
    out
}
