//! The font that drawings and reports are set in where no browser sets them: DejaVu Sans.

use std::sync::LazyLock;

use skrifa::instance::{LocationRef, Size};
use skrifa::metrics::GlyphMetrics;
use skrifa::{FontRef, GlyphId, MetadataProvider as _};

/// DejaVu Sans, a TrueType font.
pub const REGULAR: &[u8] = include_bytes!("font/DejaVuSans.ttf");
/// DejaVu Sans Bold.
pub const BOLD: &[u8] = include_bytes!("font/DejaVuSans-Bold.ttf");
/// Its licence, to be shipped wherever the font is.
pub const LICENCE: &str = include_str!("font/LICENSE");

/// A face of the font, read once.
pub(super) struct Face {
    pub(super) font: FontRef<'static>,
    metrics: GlyphMetrics<'static>,
}

static FACES: LazyLock<[Option<Face>; 2]> = LazyLock::new(|| {
    [REGULAR, BOLD].map(|bytes| {
        let font = FontRef::new(bytes).ok()?;
        let metrics = font.glyph_metrics(Size::new(1.0), LocationRef::default());
        Some(Face { font, metrics })
    })
});

/// The face; none only where the shipped file is damaged, which a test would find.
pub(super) fn face(bold: bool) -> Option<&'static Face> {
    FACES[usize::from(bold)].as_ref()
}

impl Face {
    /// The glyph of a character, the font's own mark where it has none.
    pub(super) fn glyph(&self, letter: char) -> GlyphId {
        self.font.charmap().map(letter).unwrap_or_default()
    }

    /// How wide a glyph is at type size 1.
    pub(super) fn advance(&self, glyph: GlyphId) -> f64 {
        f64::from(self.metrics.advance_width(glyph).unwrap_or(0.6))
    }
}

/// How wide a text is in type of `size`, in the unit of `size`. Letters side by side, without
/// kerning.
pub fn width(text: &str, size: f64, bold: bool) -> f64 {
    face(bold).map_or_else(
        || f64::from(u32::try_from(text.chars().count()).unwrap_or(u32::MAX)) * 0.6 * size,
        |face| {
            let widths = text.chars().map(|letter| face.advance(face.glyph(letter)));
            widths.sum::<f64>() * size
        },
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Advance widths of DejaVu Sans 2.37 in units of 2048 to the em, as `fc-query` and any font
    /// editor show them: digits 1303, full stop 651, M 1767; bold digits 1425.
    #[test]
    fn text_is_as_wide_as_its_letters() {
        let em = |units: f64, size: f64| units / 2048.0 * size;
        assert!((width("45.950", 15.0, false) - em(5.0 * 1303.0 + 651.0, 15.0)).abs() < 1e-3);
        assert!((width("M", 20.0, false) - em(1767.0, 20.0)).abs() < 1e-3);
        assert!((width("45", 10.0, true) - em(2.0 * 1425.0, 10.0)).abs() < 1e-3);
    }

    /// Every sign that drawings use is in both faces.
    #[test]
    fn no_sign_is_missing() {
        let signs = "ÄÖÜäöüßØµ±°×·–—−’≤≥Δ√→✓0123456789abcXYZ()/,.:;?!%²³";
        for bold in [false, true] {
            let face = face(bold).unwrap();
            for sign in signs.chars() {
                assert_ne!(face.glyph(sign).to_u32(), 0, "{sign} bold: {bold}");
            }
        }
        assert!(LICENCE.contains("free of charge"));
    }
}
