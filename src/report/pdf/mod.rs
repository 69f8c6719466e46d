//! The report as PDF/A-2b (ISO 19005-2): made without a browser, its fonts in it, its drawings as
//! paths.

mod lay;
mod letters;
mod picture;

use krilla::color::rgb;
use krilla::configure::{Archival, ConfigurationBuilder};
use krilla::geom::{PathBuilder, Point, Rect, Size, Transform};
use krilla::metadata::{DateTime, Metadata};
use krilla::num::NormalizedF32;
use krilla::page::PageSettings;
use krilla::paint::Fill;
use krilla::surface::Surface;
use krilla::{Document, SerializeSettings};
use serde::{Deserialize, Serialize};

use self::lay::{Colour, Op};
use self::letters::Letters;
use super::code::Code;
use super::model::Report;
use crate::units::Moment;

/// The paper that a report is laid out for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, clap::ValueEnum)]
#[serde(rename_all = "lowercase")]
pub enum Paper {
    /// ISO 216, 210 x 297 mm.
    #[default]
    A4,
    /// ANSI/ASME Y14.1, 8.5 x 11 in.
    Letter,
}

impl Paper {
    /// Width and height, points of 1/72 in.
    const fn size(self) -> (f32, f32) {
        match self {
            Self::A4 => (595.276, 841.89),
            Self::Letter => (612.0, 792.0),
        }
    }
}

/// Margins, points: left and right, above, below.
const SIDE: f32 = 40.0;
const ABOVE: f32 = 28.0;
const BELOW: f32 = 34.0;

/// Why no PDF could be made.
#[derive(Debug, thiserror::Error)]
pub enum PdfError {
    /// The font that the program carries can't be read.
    #[error("the program's own font can't be read; build the program again")]
    Font,
    /// The document can't be written.
    #[error("the PDF can't be written: {0}; write the report as HTML and print that")]
    Document(String),
}

impl Report {
    /// The whole document.
    ///
    /// # Errors
    /// [`PdfError`].
    pub fn pdf(&self, paper: Paper) -> Result<Vec<u8>, PdfError> {
        let letters = Letters::load()?;
        let (width, height) = paper.size();
        let area = (width - 2.0 * SIDE, height - ABOVE - BELOW);
        let pages = lay::pages(self, &letters, area);
        let wrong = |what: &dyn std::fmt::Debug| PdfError::Document(format!("{what:?}"));
        let configuration = ConfigurationBuilder::new()
            .with_archival_validator(Archival::A2_B)
            .finish()
            .map_err(|error| wrong(&error))?;
        let mut document = Document::new_with(SerializeSettings {
            configuration,
            ..SerializeSettings::default()
        });
        let count = pages.len().to_string();
        for (number, pieces) in (1..).zip(pages) {
            let settings = PageSettings::from_wh(width, height)
                .ok_or_else(|| PdfError::Document("no such paper".to_owned()))?;
            let mut page = document.start_page_with(settings);
            let mut surface = page.surface();
            let mut pen = Pen {
                surface: &mut surface,
                letters: &letters,
            };
            for (top, piece) in &pieces {
                for op in &piece.ops {
                    pen.draw(op, (SIDE, ABOVE + top));
                }
            }
            let number: i32 = number;
            let counted = self
                .page_of
                .replace("{page}", &number.to_string())
                .replace("{pages}", &count);
            pen.foot(&self.foot, &counted, (width, height));
            surface.finish();
            page.finish();
        }
        document.set_metadata(
            Metadata::new()
                .title(self.title.clone())
                .language(self.language.tag().to_owned())
                .creator(format!("Borewright {}", env!("CARGO_PKG_VERSION")))
                .document_id(self.identity.clone())
                .creation_date(date(self.dated)),
        );
        document.finish().map_err(|error| wrong(&error))
    }
}

/// The document's date: that of the record, so that equal input gives equal bytes.
fn date(moment: Moment) -> DateTime {
    let utc = jiff::tz::Offset::UTC.to_datetime(moment.0);
    let small = |value: i8| u8::try_from(value).unwrap_or(0);
    DateTime::new(u16::try_from(utc.year()).unwrap_or(0))
        .month(small(utc.month()))
        .day(small(utc.day()))
        .hour(small(utc.hour()))
        .minute(small(utc.minute()))
        .second(small(utc.second()))
        .utc_offset_hour(0)
        .utc_offset_minute(0)
}

fn fill(colour: Colour, opacity: f32) -> Fill {
    let [red, green, blue] = colour;
    Fill {
        paint: rgb::Color::new(red, green, blue).into(),
        opacity: NormalizedF32::new(opacity).unwrap_or(NormalizedF32::ONE),
        ..Fill::default()
    }
}

/// What draws on a page.
struct Pen<'p, 's> {
    surface: &'p mut Surface<'s>,
    letters: &'p Letters,
}

impl Pen<'_, '_> {
    fn draw(&mut self, op: &Op<'_>, (left, top): (f32, f32)) {
        match op {
            Op::Text {
                x,
                y,
                size,
                bold,
                colour,
                text,
            } => self.text(text, (left + x, top + y), *size, *bold, *colour),
            Op::Fill {
                x,
                y,
                width,
                height,
                colour,
            } => self.rect((left + x, top + y, *width, *height), *colour),
            Op::Drawing {
                x,
                y,
                width,
                drawing,
            } => picture::draw(self, drawing, (left + x, top + y), *width),
            Op::Code { x, y, side, code } => self.code(code, (left + x, top + y), *side),
            Op::Logo {
                x,
                y,
                width,
                height,
                logo,
            } => self.logo(logo, (left + x, top + y), (*width, *height)),
        }
    }

    /// Text on a base line.
    fn text(&mut self, text: &str, (x, y): (f32, f32), size: f32, bold: bool, colour: Colour) {
        let face = self.letters.face(bold);
        let text = face.settable(text);
        if text.is_empty() {
            return;
        }
        self.surface.set_stroke(None);
        self.surface.set_fill(Some(fill(colour, 1.0)));
        self.surface.draw_glyphs(
            Point::from_xy(x, y),
            &face.glyphs(&text),
            face.font.clone(),
            &text,
            size,
            false,
        );
    }

    fn rect(&mut self, (x, y, width, height): (f32, f32, f32, f32), colour: Colour) {
        let mut path = PathBuilder::new();
        if let Some(rect) = Rect::from_xywh(x, y, width, height) {
            path.push_rect(rect);
        }
        if let Some(path) = path.finish() {
            self.surface.set_stroke(None);
            self.surface.set_fill(Some(fill(colour, 1.0)));
            self.surface.draw_path(&path);
        }
    }

    /// One path, so that no seam shows between its modules.
    fn code(&mut self, code: &Code, (left, top): (f32, f32), side: f32) {
        let module = side / float(code.whole());
        let mut path = PathBuilder::new();
        for (column, row, width) in code.runs() {
            let (x, y) = (left + float(column) * module, top + float(row) * module);
            if let Some(rect) = Rect::from_xywh(x, y, float(width) * module, module) {
                path.push_rect(rect);
            }
        }
        if let Some(path) = path.finish() {
            self.surface.set_stroke(None);
            self.surface.set_fill(Some(fill([0, 0, 0], 1.0)));
            self.surface.draw_path(&path);
        }
    }

    fn logo(&mut self, logo: &super::Logo, (x, y): (f32, f32), (width, height): (f32, f32)) {
        let Some((image, size)) = logo.image().zip(Size::from_wh(width, height)) else {
            return;
        };
        self.surface
            .push_transform(&Transform::from_translate(x, y));
        self.surface.draw_image(image, size);
        self.surface.pop();
    }

    fn foot(&mut self, left: &str, right: &str, (width, height): (f32, f32)) {
        const SMALL: f32 = 6.5;
        const GREY: Colour = [0x4c, 0x59, 0x5e];
        let y = height - BELOW * 0.5;
        self.text(left, (SIDE, y), SMALL, false, GREY);
        let wide = self.letters.face(false).width(right, SMALL);
        self.text(right, (width - SIDE - wide, y), SMALL, false, GREY);
    }
}

/// A count of modules; far below what a 32-bit float holds exactly.
#[expect(clippy::cast_precision_loss, reason = "see above")]
const fn float(count: usize) -> f32 {
    count as f32
}
