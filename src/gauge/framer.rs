//! Bytes to frames, whatever the chunks they come in.

use super::description::FrameRule;

/// One piece of the stream, without the bytes that ended it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Piece {
    /// The bytes up to an end.
    Frame(Vec<u8>),
    /// A piece of a line that is longer than any frame.
    TooLong(Vec<u8>),
    /// Bytes whose end never came.
    Unfinished(Vec<u8>),
}

/// Cuts a stream of bytes into frames. Holds at most the longest frame and one end.
///
/// With ends CR, LF and CR LF a frame is whole at its CR; the LF that may follow belongs to the
/// same end, and an end right after an end makes no empty frame.
#[derive(Debug, Clone)]
pub struct Framer {
    rule: FrameRule,
    /// The bits of a byte that carry a character.
    mask: u8,
    held: Vec<u8>,
    /// Bytes that would make the last end a longer one, matched so far.
    tail: Tail,
    /// Within a line that is longer than any frame.
    overlong: bool,
}

/// What may still follow an end that is the beginning of a longer one.
#[derive(Debug, Clone, Default)]
struct Tail {
    /// The end seen, with the bytes of the longer one that followed.
    seen: Vec<u8>,
    /// How much of `seen` is the shorter end.
    base: usize,
}

impl Framer {
    /// A framer by this rule; `mask` says which bits of a byte carry a character (0x7f on a line
    /// of seven data bits, whose top bit may be parity).
    pub fn new(rule: FrameRule, mask: u8) -> Self {
        Self {
            rule,
            mask,
            held: Vec::new(),
            tail: Tail::default(),
            overlong: false,
        }
    }

    /// Takes bytes, gives the pieces they complete, in order.
    pub fn push(&mut self, bytes: &[u8], mut out: impl FnMut(Piece)) {
        for &byte in bytes {
            self.take(byte, &mut out);
        }
    }

    /// How many bytes it holds back: at most the longest frame and twice the longest end.
    pub fn held(&self) -> usize {
        self.held.len() + self.tail.seen.len()
    }

    /// Whether bytes wait for an end. The LF that may follow a CR is not waited for.
    pub fn waits(&self) -> bool {
        !self.held.is_empty() || self.tail.seen.len() > self.tail.base
    }

    /// The line was silent for the rule's gap: what is held is a frame, where gaps end frames.
    pub fn gap(&mut self) -> Option<Piece> {
        let overlong = std::mem::take(&mut self.overlong);
        let bytes = self.all_held();
        match (
            bytes.is_empty(),
            overlong || bytes.len() > self.rule.longest,
        ) {
            (true, _) => None,
            (false, true) => Some(Piece::TooLong(bytes)),
            (false, false) => Some(Piece::Frame(bytes)),
        }
    }

    /// No end will come any more: gives up what is held.
    pub fn give_up(&mut self) -> Option<Piece> {
        self.overlong = false;
        let bytes = self.all_held();
        (!bytes.is_empty()).then_some(Piece::Unfinished(bytes))
    }

    /// Takes out all that is held; half of a longer end is content after all.
    fn all_held(&mut self) -> Vec<u8> {
        let tail = std::mem::take(&mut self.tail);
        let mut bytes = std::mem::take(&mut self.held);
        bytes.extend_from_slice(&tail.seen[tail.base..]);
        bytes
    }

    fn take(&mut self, byte: u8, out: &mut impl FnMut(Piece)) {
        if self.tail.base > 0 {
            self.tail.seen.push(byte);
            let seen = self.tail.seen.len();
            let longer = |end: &&Vec<u8>| begins(end, &self.tail.seen, self.mask);
            let lengths = || self.rule.ends.iter().filter(longer).map(Vec::len);
            let (whole, more) = (
                lengths().any(|len| len == seen),
                lengths().any(|l| l > seen),
            );
            if whole {
                self.tail.base = seen;
            }
            if !more {
                // Either the longer end is whole, or it was none and what followed is content.
                let tail = std::mem::take(&mut self.tail);
                for &byte in &tail.seen[tail.base..] {
                    self.take(byte, out);
                }
            }
            return;
        }
        self.take_content(byte, out);
    }

    fn take_content(&mut self, byte: u8, out: &mut impl FnMut(Piece)) {
        self.held.push(byte);
        let ended = self
            .rule
            .ends
            .iter()
            .filter(|end| ends(&self.held, end, self.mask));
        let Some(length) = ended.map(Vec::len).max() else {
            // An end is never split between two pieces: its bytes stay until they are refuted.
            if self.held.len() > self.rule.longest + self.longest_end() {
                self.overlong = true;
                let rest = self.held.split_off(self.rule.longest);
                out(Piece::TooLong(std::mem::replace(&mut self.held, rest)));
            }
            return;
        };
        let end = self.held.split_off(self.held.len() - length);
        let bytes = std::mem::take(&mut self.held);
        let overlong = std::mem::take(&mut self.overlong) || bytes.len() > self.rule.longest;
        if !bytes.is_empty() {
            out(if overlong {
                Piece::TooLong(bytes)
            } else {
                Piece::Frame(bytes)
            });
        }
        let more = |longer: &Vec<u8>| longer.len() > length && begins(longer, &end, self.mask);
        if self.rule.ends.iter().any(more) {
            self.tail = Tail {
                base: length,
                seen: end,
            };
        }
    }

    fn longest_end(&self) -> usize {
        self.rule.ends.iter().map(Vec::len).max().unwrap_or(0)
    }
}

/// Whether `whole` begins with `part`, by the bits in `mask`.
fn begins(whole: &[u8], part: &[u8], mask: u8) -> bool {
    whole.len() >= part.len() && whole.iter().zip(part).all(|(a, b)| *a == *b & mask)
}

/// Whether `held` ends with `end`, by the bits in `mask`.
fn ends(held: &[u8], end: &[u8], mask: u8) -> bool {
    held.len() >= end.len()
        && held[held.len() - end.len()..]
            .iter()
            .zip(end)
            .all(|(a, b)| *a & mask == *b)
}
