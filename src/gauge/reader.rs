//! A stream of bytes to readings and noise: framing and decoding in one.

use std::sync::Arc;
use std::time::Duration;

use super::decode::Decoded;
use super::description::Description;
use super::framer::{Framer, Piece};
use super::reading::{Content, Raw};

/// Reads a gauge's bytes by its description. Every byte that is not part of an end comes out
/// again, in order, in the raw bytes of a reading or of noise.
#[derive(Debug, Clone)]
pub struct Reader {
    form: Arc<Description>,
    framer: Framer,
}

impl Reader {
    /// A reader of this form.
    pub fn new(form: Arc<Description>) -> Self {
        let framer = Framer::new(form.frame.clone(), form.mask());
        Self { form, framer }
    }

    /// Takes bytes as they came; appends what they complete to `out`.
    pub fn push(&mut self, bytes: &[u8], out: &mut Vec<Content>) {
        let form = &self.form;
        self.framer.push(bytes, |piece| contents(form, piece, out));
    }

    /// How long to wait for the next byte before calling [`Reader::quiet`]; `None` where nothing
    /// is held and there is nothing to wait for.
    pub fn patience(&self) -> Option<Duration> {
        let rule = &self.form.frame;
        self.framer
            .waits()
            .then(|| rule.idle.unwrap_or(rule.unfinished))
    }

    /// How many bytes wait for the rest of their frame.
    pub fn held(&self) -> usize {
        self.framer.held()
    }

    /// The line was quiet for as long as [`Reader::patience`] said.
    pub fn quiet(&mut self, out: &mut Vec<Content>) {
        let piece = match self.form.frame.idle {
            Some(_) => self.framer.gap(),
            None => self.framer.give_up(),
        };
        if let Some(piece) = piece {
            contents(&self.form, piece, out);
        }
    }

    /// The line is gone: what is held is noise.
    pub fn end(&mut self, out: &mut Vec<Content>) {
        if let Some(piece) = self.framer.give_up() {
            contents(&self.form, piece, out);
        }
    }
}

fn contents(form: &Description, piece: Piece, out: &mut Vec<Content>) {
    let noise = |bytes: &[u8], why: String| Content::Noise {
        raw: Raw(bytes.to_vec()),
        why,
    };
    match piece {
        Piece::TooLong(bytes) => out.push(noise(&bytes, "a line without an end".to_owned())),
        Piece::Unfinished(bytes) => out.push(noise(&bytes, "a line that broke off".to_owned())),
        Piece::Frame(bytes) => match form.decode(&bytes) {
            Decoded::Noise(why) => out.push(noise(&bytes, why)),
            Decoded::Reading { value, start, end } => {
                let raw = Raw(bytes[start..end].to_vec());
                among(&bytes, (start, end), Content::Reading { raw, value }, out);
            }
            Decoded::Angle { value, start, end } => {
                let raw = Raw(bytes[start..end].to_vec());
                among(&bytes, (start, end), Content::Angle { raw, value }, out);
            }
        },
    }
}

/// A reading with the noise on either side of it.
fn among(bytes: &[u8], (start, end): (usize, usize), reading: Content, out: &mut Vec<Content>) {
    let beside = |bytes: &[u8]| Content::Noise {
        raw: Raw(bytes.to_vec()),
        why: "noise in the line of a reading".to_owned(),
    };
    if start > 0 {
        out.push(beside(&bytes[..start]));
    }
    out.push(reading);
    if end < bytes.len() {
        out.push(beside(&bytes[end..]));
    }
}
