//! One frame to a reading, exactly, by the layout of a description.

use super::description::{Description, Part, Sends, SignRule};
use crate::units::{Angle, Length, LengthUnit};

/// What a frame is.
#[derive(Debug, Clone, PartialEq)]
pub enum Decoded {
    /// A reading, in the bytes `start..end` of the frame; what is outside is noise.
    Reading {
        /// The value stated.
        value: Length,
        /// Where the reading begins.
        start: usize,
        /// Where it ends.
        end: usize,
    },
    /// The same from a gauge that states angles.
    Angle {
        /// The angle stated.
        value: Angle,
        /// Where the reading begins.
        start: usize,
        /// Where it ends.
        end: usize,
    },
    /// No reading, and why.
    Noise(String),
}

/// What has been matched of a frame so far.
#[derive(Clone, Copy)]
struct Matched<'a> {
    negative: bool,
    mantissa: i64,
    decimals: u32,
    unit: Option<LengthUnit>,
    /// The meaning of a status with which the frame is no reading.
    bad: Option<&'a str>,
}

/// The place where the layout and the frame parted, to say why.
#[derive(Clone, Copy)]
struct Parted {
    at: usize,
    expected: &'static str,
}

impl Description {
    /// What `frame`, without its end, says. Blanks around the layout are a part of the reading.
    ///
    /// Noise in the same line is set apart only where it can't have damaged the number: the
    /// layout begins (or ends) with something that noise can't shorten, and no digit, sign or
    /// letter touches it. Otherwise the whole line is noise; a lost reading is sent again, a wrong
    /// one is not noticed.
    pub fn decode(&self, frame: &[u8]) -> Decoded {
        let masked: Vec<u8> = frame.iter().map(|byte| byte & self.mask()).collect();
        let (from, to) = trimmed(&masked);
        if from == to {
            return Decoded::Noise("only blanks".to_owned());
        }
        let text = &masked[from..to];
        if let Some((_, says)) = self.messages.iter().find(|(message, _)| message == text) {
            return Decoded::Noise(format!("the gauge says: {says}"));
        }
        let mut parted = Parted {
            at: 0,
            expected: "",
        };
        if let Some((_, matched)) = self.matching(&masked[..to], from, Some(to), &mut parted) {
            return self.reading(matched, 0, masked.len());
        }
        self.among_noise(&masked, from, to, parted)
    }

    /// Looks for the layout inside a frame that it does not fill.
    fn among_noise(&self, masked: &[u8], from: usize, to: usize, parted: Parted) -> Decoded {
        let firm = |part: Option<&Part>, is: fn(&Part) -> bool| part.is_some_and(is);
        let mut solid = self
            .layout
            .iter()
            .filter(|part| !matches!(part, Part::Blanks { .. }));
        let starts = firm(solid.clone().next(), Part::starts_firmly);
        let ends = firm(solid.next_back(), Part::ends_firmly);

        let mut found = None;
        let mut at = from;
        while at < to {
            let mut ignored = parted;
            match self.matching(&masked[..to], at, None, &mut ignored) {
                Some(_) if found.is_some() => {
                    return Decoded::Noise("more than one reading in one line".to_owned());
                }
                Some((end, matched)) => {
                    found = Some((at, end, matched));
                    at = end.max(at + 1);
                }
                None => at += 1,
            }
        }
        let Some((start, end, matched)) = found else {
            return Decoded::Noise(self.why_not(masked, parted));
        };
        let clear_before = start == from
            || (starts
                && masked[start - 1..start]
                    .iter()
                    .all(|&byte| !belongs_to_a_number(byte)));
        let clear_behind = end == to
            || (ends
                && masked[end..=end]
                    .iter()
                    .all(|&b| !belongs_to_a_number(b) && !b.is_ascii_alphabetic()));
        if !(clear_before && clear_behind) {
            return Decoded::Noise("a reading damaged by noise in the same line".to_owned());
        }
        let start = if start == from { 0 } else { start };
        let end = if end == to { masked.len() } else { end };
        self.reading(matched, start, end)
    }

    fn reading(&self, matched: Matched<'_>, start: usize, end: usize) -> Decoded {
        if let Some(meaning) = matched.bad {
            return Decoded::Noise(format!("the gauge says: {meaning}"));
        }
        let mantissa = if matched.negative {
            -matched.mantissa
        } else {
            matched.mantissa
        };
        let unit = matched.unit.unwrap_or(self.unit);
        if self.sends == Sends::Angle {
            // At most 18 digits: one rounding, as the decimal text would be.
            #[expect(clippy::cast_precision_loss, reason = "an angle has few digits")]
            let deg = mantissa as f64 / 10_f64.powi(matched.decimals.cast_signed());
            return match Angle::from_deg(deg) {
                Some(value) => Decoded::Angle { value, start, end },
                None => Decoded::Noise("a number too large for an angle".to_owned()),
            };
        }
        match Length::from_decimal(mantissa, matched.decimals, unit) {
            Some(value) => Decoded::Reading { value, start, end },
            None => Decoded::Noise("a number too large for a length".to_owned()),
        }
    }

    /// Matches the layout from `at`; with `whole` it must end there.
    fn matching<'a>(
        &'a self,
        input: &[u8],
        at: usize,
        whole: Option<usize>,
        parted: &mut Parted,
    ) -> Option<(usize, Matched<'a>)> {
        let nothing = Matched {
            negative: false,
            mantissa: 0,
            decimals: 0,
            unit: None,
            bad: None,
        };
        let mut matcher = Matcher {
            input,
            whole,
            parted,
        };
        matcher.rest(&self.layout, at, nothing)
    }

    fn why_not(&self, masked: &[u8], parted: Parted) -> String {
        let Parted { at, expected } = parted;
        let expected = if expected.is_empty() {
            "another form"
        } else {
            expected
        };
        match masked.get(at) {
            Some(byte) => format!(
                "not a reading in the form {}: at byte {} {expected} is expected, not `{}`",
                self.name,
                at + 1,
                byte.escape_ascii()
            ),
            None => format!(
                "not a reading in the form {}: it ends where {expected} is expected",
                self.name
            ),
        }
    }
}

/// Walks a layout along the bytes, longest choice first.
struct Matcher<'i, 'p> {
    input: &'i [u8],
    whole: Option<usize>,
    parted: &'p mut Parted,
}

impl Matcher<'_, '_> {
    fn rest<'a>(
        &mut self,
        parts: &'a [Part],
        at: usize,
        so_far: Matched<'a>,
    ) -> Option<(usize, Matched<'a>)> {
        let Some((part, rest)) = parts.split_first() else {
            if self.whole.is_some_and(|end| end != at) {
                return self.part_ways(at, "the end of the line");
            }
            return Some((at, so_far));
        };
        match part {
            Part::Text { bytes, optional } => {
                if self.input[at..].starts_with(bytes)
                    && let Some(found) = self.rest(rest, at + bytes.len(), so_far)
                {
                    return Some(found);
                }
                if *optional {
                    self.rest(rest, at, so_far)
                } else {
                    self.part_ways(at, "fixed text")
                }
            }
            Part::Blanks { least, most } => {
                let run = self.run(at, usize::from(*most), |byte| matches!(byte, b' ' | b'\t'));
                for length in (usize::from(*least)..=run).rev() {
                    if let Some(found) = self.rest(rest, at + length, so_far) {
                        return Some(found);
                    }
                }
                if run < usize::from(*least) {
                    self.part_ways(at + run, "a blank")
                } else {
                    None
                }
            }
            Part::Sign(rule) => match (self.input.get(at), rule) {
                (Some(b'-'), _) => self.rest(
                    rest,
                    at + 1,
                    Matched {
                        negative: true,
                        ..so_far
                    },
                ),
                (Some(b'+'), _) => self.rest(rest, at + 1, so_far),
                (_, SignRule::Optional) => self.rest(rest, at, so_far),
                (_, SignRule::Always) => self.part_ways(at, "a sign"),
            },
            Part::Number { .. } => self.number(part, rest, at, so_far),
            Part::Unit { mm, inch, optional } => {
                let texts = [(mm, LengthUnit::Mm), (inch, LengthUnit::In)];
                for (text, unit) in texts {
                    if let Some(text) = text
                        && self.input[at..].starts_with(text)
                    {
                        let so_far = Matched {
                            unit: Some(unit),
                            ..so_far
                        };
                        if let Some(found) = self.rest(rest, at + text.len(), so_far) {
                            return Some(found);
                        }
                    }
                }
                if *optional {
                    self.rest(rest, at, so_far)
                } else {
                    self.part_ways(at, "a unit")
                }
            }
            Part::Status { good, bad } => {
                let good = good.iter().map(|text| (text, None));
                let bad = bad
                    .iter()
                    .map(|(text, meaning)| (text, Some(meaning.as_str())));
                let mut texts: Vec<_> = good.chain(bad).collect();
                texts.sort_by_key(|(text, _)| std::cmp::Reverse(text.len()));
                for (text, bad) in texts {
                    if self.input[at..].starts_with(text)
                        && let Some(found) =
                            self.rest(rest, at + text.len(), Matched { bad, ..so_far })
                    {
                        return Some(found);
                    }
                }
                self.part_ways(at, "a status")
            }
        }
    }

    fn number<'a>(
        &mut self,
        part: &'a Part,
        rest: &'a [Part],
        at: usize,
        so_far: Matched<'a>,
    ) -> Option<(usize, Matched<'a>)> {
        let Part::Number {
            whole,
            point,
            decimals,
        } = part
        else {
            return None;
        };
        let (least, most) = (usize::from(whole.0), usize::from(whole.1));
        let (least_behind, most_behind) = (usize::from(decimals.0), usize::from(decimals.1));
        let implied = *point == super::description::Point::Implied;
        let run = self.run(at, most + if implied { most_behind } else { 0 }, |b| {
            b.is_ascii_digit()
        });
        if run < least + if implied { least_behind } else { 0 } {
            return self.part_ways(at + run, "a digit");
        }
        if implied {
            for length in (least + least_behind..=run).rev() {
                let so_far = self.digits(at, length, so_far);
                let so_far = Matched {
                    decimals: u32::from(decimals.0),
                    ..so_far
                };
                if let Some(found) = self.rest(rest, at + length, so_far) {
                    return Some(found);
                }
            }
            return None;
        }
        for length in (least..=run).rev() {
            let end = at + length;
            let before = self.digits(at, length, so_far);
            if self.input.get(end).is_some_and(|&byte| point.accepts(byte)) {
                let run = self.run(end + 1, most_behind, |byte| byte.is_ascii_digit());
                for behind in (least_behind.max(1)..=run).rev() {
                    let matched = self.digits(end + 1, behind, before);
                    #[expect(clippy::cast_possible_truncation, reason = "at most 9")]
                    let matched = Matched {
                        decimals: behind as u32,
                        ..matched
                    };
                    if let Some(found) = self.rest(rest, end + 1 + behind, matched) {
                        return Some(found);
                    }
                }
                if run < least_behind {
                    self.part_ways::<()>(end + 1 + run, "a digit");
                }
            } else if least_behind > 0 {
                self.part_ways::<()>(end, "the decimal point");
            }
            if least_behind == 0
                && length > 0
                && let Some(found) = self.rest(rest, end, before)
            {
                return Some(found);
            }
        }
        None
    }

    /// `so_far` with `length` digits more behind its mantissa; at most 18 in all.
    fn digits<'a>(&self, at: usize, length: usize, so_far: Matched<'a>) -> Matched<'a> {
        let digits = self.input.iter().skip(at).take(length);
        let mantissa = digits.fold(so_far.mantissa, |sum, digit| {
            sum * 10 + i64::from(digit - b'0')
        });
        Matched { mantissa, ..so_far }
    }

    fn run(&self, at: usize, most: usize, is: impl Fn(&u8) -> bool) -> usize {
        self.input
            .iter()
            .skip(at)
            .take(most)
            .take_while(|byte| is(byte))
            .count()
    }

    /// Remembers the place farthest into the frame where it parted from the layout.
    fn part_ways<T>(&mut self, at: usize, expected: &'static str) -> Option<T> {
        if at > self.parted.at || self.parted.expected.is_empty() {
            *self.parted = Parted { at, expected };
        }
        None
    }
}

fn belongs_to_a_number(byte: u8) -> bool {
    byte.is_ascii_digit() || matches!(byte, b'+' | b'-' | b'.' | b',')
}

/// Where the frame begins and ends, less blanks.
fn trimmed(frame: &[u8]) -> (usize, usize) {
    let blank = |byte: &u8| matches!(byte, b' ' | b'\t');
    let from = frame.iter().take_while(|byte| blank(byte)).count();
    let behind = frame[from..]
        .iter()
        .rev()
        .take_while(|byte| blank(byte))
        .count();
    (from, frame.len() - behind)
}
