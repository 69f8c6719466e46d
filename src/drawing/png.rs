//! A drawing as a picture.

use skrifa::MetadataProvider as _;
use skrifa::instance::{LocationRef, Size};
use skrifa::outline::{DrawSettings, OutlinePen};
use tiny_skia::{
    Color, FillRule, LineCap, LineJoin, Paint, Path, PathBuilder, Pixmap, Stroke, StrokeDash,
    Transform,
};

use super::canvas::{Anchor, Drawing, Item, Label, Shape, Step, circle};
use super::font;
use super::theme::{Colour, Theme};

/// Why there is no picture.
#[derive(Debug, thiserror::Error)]
pub enum NoPicture {
    /// No such size.
    #[error("a picture {0} pixels wide can't be made; ask for 16 to 20000")]
    Width(u32),
    /// The writer failed.
    #[error("the picture can't be written: {0}")]
    Written(String),
}

/// The drawing as PNG, `width` pixels wide, black on white, set in the shipped font. Equal drawings
/// give equal bytes.
///
/// # Errors
/// [`NoPicture::Width`] where nothing of that width can be made.
pub fn png(drawing: &Drawing, width: u32) -> Result<Vec<u8>, NoPicture> {
    let [left, top, view_width, view_height] = drawing.view;
    let scale = f64::from(width) / view_width;
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "at most 20,000 times the frame's height in widths"
    )]
    let height = (view_height * scale).round() as u32;
    let pixels = (16..=20_000)
        .contains(&width)
        .then(|| Pixmap::new(width, height));
    let mut pixels = pixels.flatten().ok_or(NoPicture::Width(width))?;
    pixels.fill(Color::WHITE);
    let to_pixels = Transform::from_row(
        f(scale),
        0.0,
        0.0,
        f(scale),
        f(-left * scale),
        f(-top * scale),
    );
    for item in &drawing.items {
        if let Some(path) = outline(item) {
            paint(&mut pixels, item, &path, to_pixels);
        }
    }
    pixels
        .encode_png()
        .map_err(|why| NoPicture::Written(why.to_string()))
}

fn outline(item: &Item) -> Option<Path> {
    let mut pen = Outline(PathBuilder::new());
    match &item.shape {
        Shape::Path(steps) => pen.steps(steps),
        Shape::Circles { at, radius } => {
            for centre in at {
                pen.steps(&circle(*centre, *radius));
            }
        }
        Shape::Text(label) => pen.text(label),
    }
    pen.0.finish()
}

fn paint(pixels: &mut Pixmap, item: &Item, path: &Path, to_pixels: Transform) {
    let look = item.role.paint(Theme::Paper);
    let colour = |Colour(r, g, b): Colour, opacity: f64| {
        let mut paint = Paint::default();
        paint.set_color_rgba8(r, g, b, 255);
        paint.shader.apply_opacity(f(opacity));
        paint.anti_alias = true;
        paint
    };
    if let Some(fill) = look.fill {
        let rule = match item.shape {
            Shape::Path(_) => FillRule::EvenOdd,
            Shape::Circles { .. } | Shape::Text(_) => FillRule::Winding,
        };
        let paint = colour(fill, look.fill_opacity);
        pixels.fill_path(path, &paint, rule, to_pixels, None);
    }
    if let Some(pen) = look.pen {
        let dashes: Vec<f32> = pen.dashes.iter().copied().map(f).collect();
        let stroke = Stroke {
            width: f(pen.width),
            line_cap: if pen.round {
                LineCap::Round
            } else {
                LineCap::Butt
            },
            line_join: LineJoin::Round,
            dash: StrokeDash::new(dashes, 0.0),
            ..Stroke::default()
        };
        pixels.stroke_path(path, &colour(pen.colour, 1.0), &stroke, to_pixels, None);
    }
}

/// A path being built, from drawing steps and from glyphs.
struct Outline(PathBuilder);

impl Outline {
    fn steps(&mut self, steps: &[Step]) {
        for step in steps {
            match *step {
                Step::Move((x, y)) => self.0.move_to(f(x), f(y)),
                Step::Line((x, y)) => self.0.line_to(f(x), f(y)),
                Step::Curve(a, b, to) => {
                    self.0
                        .cubic_to(f(a.0), f(a.1), f(b.0), f(b.1), f(to.0), f(to.1));
                }
                Step::Close => self.0.close(),
            }
        }
    }

    fn text(&mut self, label: &Label) {
        let Some(face) = font::face(label.bold) else {
            return;
        };
        let width = font::width(&label.text, label.size, label.bold);
        let mut x = match label.anchor {
            Anchor::Start => label.at.0,
            Anchor::Middle => label.at.0 - width / 2.0,
            Anchor::End => label.at.0 - width,
        };
        let outlines = face.font.outline_glyphs();
        for letter in label.text.chars() {
            let glyph = face.glyph(letter);
            if let Some(outline) = outlines.get(glyph) {
                let mut pen = Glyph {
                    to: &mut self.0,
                    x: f(x),
                    y: f(label.at.1),
                };
                let size = DrawSettings::unhinted(Size::new(f(label.size)), LocationRef::default());
                // A glyph without an outline, as a space, draws nothing.
                let _ = outline.draw(size, &mut pen);
            }
            x += face.advance(glyph) * label.size;
        }
    }
}

/// A glyph whose base point is at (x, y); fonts have y upward.
struct Glyph<'a> {
    to: &'a mut PathBuilder,
    x: f32,
    y: f32,
}

impl OutlinePen for Glyph<'_> {
    fn move_to(&mut self, x: f32, y: f32) {
        self.to.move_to(self.x + x, self.y - y);
    }

    fn line_to(&mut self, x: f32, y: f32) {
        self.to.line_to(self.x + x, self.y - y);
    }

    fn quad_to(&mut self, cx: f32, cy: f32, x: f32, y: f32) {
        self.to
            .quad_to(self.x + cx, self.y - cy, self.x + x, self.y - y);
    }

    fn curve_to(&mut self, ax: f32, ay: f32, bx: f32, by: f32, x: f32, y: f32) {
        self.to.cubic_to(
            self.x + ax,
            self.y - ay,
            self.x + bx,
            self.y - by,
            self.x + x,
            self.y - y,
        );
    }

    fn close(&mut self) {
        self.to.close();
    }
}

#[expect(clippy::cast_possible_truncation, reason = "drawing units and pixels")]
const fn f(value: f64) -> f32 {
    value as f32
}
