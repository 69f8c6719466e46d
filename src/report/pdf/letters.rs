//! The two faces of the report, how wide their text runs, and where its lines break.

use krilla::text::{Font, GlyphId, KrillaGlyph};
use skrifa::instance::{LocationRef, Size};
use skrifa::metrics::GlyphMetrics;
use skrifa::{FontRef, MetadataProvider as _};

use super::PdfError;
use crate::drawing::font::{BOLD, REGULAR};
use crate::report::words::UNSHOWN;

/// Both faces.
pub(super) struct Letters {
    regular: Face,
    bold: Face,
}

/// One face.
pub(super) struct Face {
    pub(super) font: Font,
    charmap: skrifa::charmap::Charmap<'static>,
    metrics: GlyphMetrics<'static>,
}

impl Letters {
    pub(super) fn load() -> Result<Self, PdfError> {
        Ok(Self {
            regular: Face::load(REGULAR)?,
            bold: Face::load(BOLD)?,
        })
    }

    pub(super) const fn face(&self, bold: bool) -> &Face {
        if bold { &self.bold } else { &self.regular }
    }

    /// `text` broken at spaces, and within words that are wider than a line by themselves.
    pub(super) fn lines(&self, text: &str, bold: bool, size: f32, width: f32) -> Vec<String> {
        let face = self.face(bold);
        let space = face.width(" ", size);
        let mut lines = Vec::new();
        let (mut line, mut taken) = (String::new(), 0.0);
        for word in text.split(' ').filter(|word| !word.is_empty()) {
            let wide = face.width(word, size);
            let before = if line.is_empty() { 0.0 } else { space };
            if taken + before + wide <= width {
                if !line.is_empty() {
                    line.push(' ');
                }
                line.push_str(word);
                taken += before + wide;
                continue;
            }
            if !line.is_empty() {
                lines.push(std::mem::take(&mut line));
                taken = 0.0;
            }
            for character in word.chars() {
                let wide = face.glyph(character).1 * size;
                if taken + wide > width && !line.is_empty() {
                    lines.push(std::mem::take(&mut line));
                    taken = 0.0;
                }
                line.push(character);
                taken += wide;
            }
        }
        if !line.is_empty() || lines.is_empty() {
            lines.push(line);
        }
        lines
    }
}

impl Face {
    fn load(bytes: &'static [u8]) -> Result<Self, PdfError> {
        let read = FontRef::new(bytes).map_err(|_| PdfError::Font)?;
        let font = Font::new(bytes.into(), 0).ok_or(PdfError::Font)?;
        Ok(Self {
            font,
            charmap: read.charmap(),
            metrics: read.glyph_metrics(Size::new(1.0), LocationRef::default()),
        })
    }

    /// The glyph of a character, and its advance for a size of 1; that of the mark for what the
    /// face doesn't hold.
    fn glyph(&self, character: char) -> (skrifa::GlyphId, f32) {
        let held = self.charmap.map(character);
        let glyph = held
            .or_else(|| self.charmap.map(UNSHOWN))
            .unwrap_or_default();
        (glyph, self.metrics.advance_width(glyph).unwrap_or(0.6))
    }

    /// How wide `text` runs.
    pub(super) fn width(&self, text: &str, size: f32) -> f32 {
        text.chars()
            .map(|character| self.glyph(character).1)
            .sum::<f32>()
            * size
    }

    /// `text` as it can be set: each character that the face doesn't hold replaced by the mark.
    pub(super) fn settable(&self, text: &str) -> String {
        text.chars()
            .map(|character| {
                if self.charmap.map(character).is_some() {
                    character
                } else {
                    UNSHOWN
                }
            })
            .collect()
    }

    /// The glyphs of a text that is settable.
    pub(super) fn glyphs(&self, text: &str) -> Vec<KrillaGlyph> {
        text.char_indices()
            .map(|(start, character)| {
                let (glyph, advance) = self.glyph(character);
                KrillaGlyph::new(
                    GlyphId::new(glyph.to_u32()),
                    advance,
                    0.0,
                    0.0,
                    0.0,
                    start..start + character.len_utf8(),
                    None,
                )
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_breaks_at_spaces_and_in_words_that_are_too_long() {
        let letters = Letters::load().unwrap();
        let lines = letters.lines("one two three", false, 10.0, 45.0);
        assert_eq!(lines, ["one two", "three"]);
        let endless = "x".repeat(500);
        let lines = letters.lines(&endless, false, 10.0, 100.0);
        assert_eq!(lines.concat(), endless);
        let widest = lines
            .iter()
            .map(|line| letters.face(false).width(line, 10.0));
        assert!(widest.fold(0.0, f32::max) <= 100.0);
        assert_eq!(letters.lines("", false, 10.0, 100.0), [""]);
    }

    #[test]
    fn what_the_face_lacks_is_shown_as_a_mark_and_what_a_report_says_is_held() {
        let letters = Letters::load().unwrap();
        for bold in [false, true] {
            let face = letters.face(bold);
            assert_eq!(face.settable("a🚲語"), "a▯▯");
            let signs = "Ø ± µ ° − – … ✓ ✗ □ · × ÄÖÜäöüß „“ ’ Ω λ Ж €";
            assert_eq!(face.settable(signs), signs);
            assert_eq!(
                face.settable(
                    include_str!("../../display/words/strings.toml")
                        .replace('\n', " ")
                        .as_str()
                ),
                include_str!("../../display/words/strings.toml").replace('\n', " ")
            );
        }
    }
}
