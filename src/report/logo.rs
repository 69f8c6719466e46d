//! The shop's mark, from a PNG or SVG file.

use std::path::{Path, PathBuf};

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;

/// The shop's mark.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Logo {
    pub(super) kind: Kind,
    pub(super) bytes: Vec<u8>,
}

/// Of which kind.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    Png,
    Svg,
}

/// Why a file is no logo.
#[derive(Debug, thiserror::Error)]
pub enum LogoError {
    /// It can't be read.
    #[error("{}: the logo can't be read; check the path and its permissions", .0.display())]
    Unreadable(PathBuf, #[source] std::io::Error),
    /// It is neither PNG nor SVG.
    #[error("{}: a logo is a PNG or an SVG file, and this is neither", .0.display())]
    Kind(PathBuf),
    /// It is larger than a report should be.
    #[error("{}: a logo is at most 1 MB; make the picture smaller", .0.display())]
    Large(PathBuf),
}

/// A report is sent by mail; its logo shouldn't be what makes it heavy.
const MOST_BYTES: usize = 1_000_000;

/// How every PNG file begins (ISO/IEC 15948, 5.2).
const PNG: [u8; 8] = [0x89, b'P', b'N', b'G', 0x0d, 0x0a, 0x1a, 0x0a];

impl Logo {
    /// Reads `file`.
    ///
    /// # Errors
    /// [`LogoError`].
    pub fn read(file: &Path) -> Result<Self, LogoError> {
        let bytes =
            std::fs::read(file).map_err(|error| LogoError::Unreadable(file.to_owned(), error))?;
        if bytes.len() > MOST_BYTES {
            return Err(LogoError::Large(file.to_owned()));
        }
        Self::of(bytes).ok_or_else(|| LogoError::Kind(file.to_owned()))
    }

    /// From the bytes of a file; `None` where they are neither PNG nor SVG.
    pub fn of(bytes: Vec<u8>) -> Option<Self> {
        let kind = if bytes.starts_with(&PNG) {
            Kind::Png
        } else if std::str::from_utf8(&bytes).is_ok_and(|text| text.contains("<svg")) {
            Kind::Svg
        } else {
            return None;
        };
        Some(Self { kind, bytes })
    }

    /// The picture as a `data:` address (RFC 2397): shown as an image it can run nothing and load
    /// nothing.
    pub(super) fn address(&self) -> String {
        let kind = match self.kind {
            Kind::Png => "image/png",
            Kind::Svg => "image/svg+xml",
        };
        format!("data:{kind};base64,{}", STANDARD.encode(&self.bytes))
    }
}

#[cfg(feature = "pdf")]
impl Logo {
    /// The picture for a PDF; `None` where it can't be one.
    pub(super) fn image(&self) -> Option<krilla::image::Image> {
        match self.kind {
            Kind::Png => krilla::image::Image::from_png(self.bytes.clone().into(), false).ok(),
            Kind::Svg => krilla::image::Image::from_png(self.drawn()?.into(), false).ok(),
        }
    }

    /// An SVG drawn as PNG, fine enough for a letterhead. What it refers to outside itself is left
    /// out, and so is its text, since which fonts there are differs from machine to machine.
    fn drawn(&self) -> Option<Vec<u8>> {
        const SIDE: f32 = 1_000.0;
        let mut options = resvg::usvg::Options::default();
        options.image_href_resolver.resolve_string = Box::new(|_, _| None);
        let tree = resvg::usvg::Tree::from_data(&self.bytes, &options).ok()?;
        let size = tree.size();
        let scale = SIDE / size.width().max(size.height());
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "1 to 1000"
        )]
        let pixels = |length: f32| (length * scale).round().max(1.0) as u32;
        let mut map = resvg::tiny_skia::Pixmap::new(pixels(size.width()), pixels(size.height()))?;
        let scale = resvg::tiny_skia::Transform::from_scale(scale, scale);
        resvg::render(&tree, scale, &mut map.as_mut());
        map.encode_png().ok()
    }

    /// Width and height within `most`, its own shape kept.
    pub(super) fn fitted(&self, (wide, high): (f32, f32)) -> Option<(f32, f32)> {
        let (width, height) = self.image()?.size();
        #[expect(clippy::cast_precision_loss, reason = "a shape, not a count")]
        let shape = width as f32 / height as f32;
        (shape.is_finite() && shape > 0.0).then(|| (wide.min(high * shape), high.min(wide / shape)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_logo_is_known_by_its_content() {
        let svg = Logo::of(b"<?xml version=\"1.0\"?>\n<svg xmlns='x'/>".to_vec()).unwrap();
        assert!(svg.address().starts_with("data:image/svg+xml;base64,PD94"));
        assert!(Logo::of([&PNG[..], b"rest"].concat()).is_some());
        assert!(Logo::of(b"GIF89a".to_vec()).is_none());
    }

    #[cfg(feature = "pdf")]
    #[test]
    fn an_svg_is_drawn_in_its_own_shape() {
        let svg = "<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 40 10'>\
                   <image href='file:///etc/passwd' width='9' height='9'/>\
                   <path d='M0 0H40V10H0Z' fill='#123456'/></svg>";
        let logo = Logo::of(svg.as_bytes().to_vec()).unwrap();
        let (width, height) = logo.fitted((100.0, 30.0)).unwrap();
        assert_eq!((width, height), (100.0, 25.0));
        let broken = Logo::of(b"<svg".to_vec()).unwrap();
        assert!(broken.fitted((100.0, 30.0)).is_none());
    }

    #[test]
    fn a_file_that_is_none_is_named() {
        let error = Logo::read(Path::new("/nowhere/logo.png")).unwrap_err();
        assert!(error.to_string().starts_with("/nowhere/logo.png: "));
    }
}
