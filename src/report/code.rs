//! The QR code (ISO/IEC 18004) with the job's id and the record's hash.

use qrcode::{EcLevel, QrCode};

/// A QR code as rows of modules, without its quiet zone.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Code {
    /// Modules on a side.
    pub(super) side: usize,
    /// Row by row, true where dark.
    dark: Vec<bool>,
}

/// Modules of white that ISO/IEC 18004 asks for round the code.
pub(super) const QUIET: usize = 4;

impl Code {
    /// A code that says `text`; `None` where that is too long for any code. Level M: read with 15 %
    /// of it soiled.
    pub(super) fn of(text: &str) -> Option<Self> {
        let code = QrCode::with_error_correction_level(text, EcLevel::M).ok()?;
        Some(Self {
            side: code.width(),
            dark: code
                .to_colors()
                .iter()
                .map(|colour| *colour == qrcode::Color::Dark)
                .collect(),
        })
    }

    /// The dark runs: column, row and width in modules, the quiet zone counted in.
    pub(super) fn runs(&self) -> Vec<(usize, usize, usize)> {
        let mut runs = Vec::new();
        for (row, modules) in self.dark.chunks(self.side).enumerate() {
            let mut column = 0;
            for run in modules.chunk_by(|a, b| a == b) {
                if run.first() == Some(&true) {
                    runs.push((column + QUIET, row + QUIET, run.len()));
                }
                column += run.len();
            }
        }
        runs
    }

    /// Its side with the quiet zone.
    pub(super) const fn whole(&self) -> usize {
        self.side + 2 * QUIET
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Read back by another program's decoder (rqrr).
    #[test]
    fn what_the_code_says_can_be_read() {
        let text = "job 0197a5c0-0000-7000-8000-000000000000\nsha256 \
                    e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855";
        let code = Code::of(text).unwrap();
        let scale = 4;
        let side = code.whole() * scale;
        let mut picture = vec![255_u8; side * side];
        for (column, row, width) in code.runs() {
            for y in row * scale..(row + 1) * scale {
                picture[y * side + column * scale..y * side + (column + width) * scale].fill(0);
            }
        }
        let mut image =
            rqrr::PreparedImage::prepare_from_greyscale(side, side, |x, y| picture[y * side + x]);
        let grids = image.detect_grids();
        assert_eq!(grids.len(), 1);
        assert_eq!(grids[0].decode().unwrap().1, text);
    }

    #[test]
    fn a_text_too_long_for_any_code_gives_none() {
        assert!(Code::of(&"x".repeat(5_000)).is_none());
    }
}
