//! The phrase book: sentences that the daemon computes, in their reader's language.
//!
//! Feed, journal and records hold these sentences in English with decimal points, whoever reads
//! them. Here one is turned into another language, whole or not at all, by the tables `said` and
//! `said-…` of `strings.toml`. What stands in braces there takes
//!
//! | slot | takes | gives |
//! | --- | --- | --- |
//! | `{mean}` | a number | it with the locale's signs |
//! | `{size:size}` | a bearing's size, `30x42x7` | it with the locale's decimal sign |
//! | `{class:sign}` | one word, `K7` | itself |
//! | `{bore:name}` | what somebody named, no sentence | its line in `names`, else itself |
//! | `{error:text}` | anything | itself |
//! | `{why:said}` | a phrase of `said`, or several with semicolons between | the same |
//! | `{place:place}` | a phrase of `said-place` | the same |
//!
//! Of the phrases that fit, the one that leaves least to names counts.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use memchr::memmem::Finder;

use super::language::{LINES, Language, Line};

/// Tries after which a text is given up: far more than any sentence takes.
const TRIES: usize = 200_000;
/// No sentence is longer, bytes; none of more parts.
const LONGEST: usize = 3_000;
const MOST_PARTS: usize = 40;

static GERMAN: LazyLock<Book> = LazyLock::new(|| Book::of(Language::De));

/// The sentence in `lang`, or several with semicolons between; none where the book lacks one.
pub(super) fn said(lang: Language, english: &str) -> Option<String> {
    list(lang, "said", "; ", english)
}

/// Phrases of a group of the book with `between` them.
pub(super) fn list(lang: Language, group: &str, between: &str, english: &str) -> Option<String> {
    match lang {
        Language::En => Some(true_minus(english)),
        Language::De if english.len() > LONGEST => None,
        Language::De => {
            let mut tries = TRIES;
            let told = GERMAN.list(group, between, english, &mut tries)?;
            Some(told.text)
        }
    }
}

/// With a minus sign where a hyphen stands before a number, as the page's own numbers have it; what
/// joins words, and what a gauge sent, in quotes, keeps its hyphen.
fn true_minus(english: &str) -> String {
    let mut text = String::with_capacity(english.len());
    let mut letters = english.chars().peekable();
    let mut before = ' ';
    while let Some(letter) = letters.next() {
        let signs = matches!(before, ' ' | '(') && letters.peek().is_some_and(char::is_ascii_digit);
        text.push(if letter == '-' && signs {
            '\u{2212}'
        } else {
            letter
        });
        before = letter;
    }
    text
}

/// The phrases of one language by their group.
struct Book {
    lang: Language,
    groups: BTreeMap<&'static str, Vec<Phrase>>,
}

/// What was found for a text.
struct Told {
    text: String,
    /// How much of the text is names, bytes.
    named: usize,
}

struct Phrase {
    english: Vec<Piece>,
    other: Vec<Piece>,
    /// The longest literal text: whatever lacks it is another sentence.
    needle: Finder<'static>,
}

enum Piece {
    Text(&'static str),
    Slot(&'static str, Kind),
}

enum Kind {
    Number,
    Size,
    Sign,
    Name,
    Text,
    Phrase(&'static str),
}

impl Book {
    fn of(lang: Language) -> Self {
        let group = |name: &'static str| match name {
            "said" => Some(name),
            _ => name.strip_prefix("said-"),
        };
        let groups = LINES
            .iter()
            .filter_map(|(name, lines)| {
                let phrases = lines.values().map(|line| Phrase::of(lang, line)).collect();
                Some((group(name)?, phrases))
            })
            .collect();
        Self { lang, groups }
    }

    /// As few phrases as can be, from the left.
    fn list(&self, group: &str, between: &str, text: &str, tries: &mut usize) -> Option<Told> {
        if let Some(whole) = self.one(group, text, tries) {
            return Some(whole);
        }
        text.match_indices(between)
            .take(MOST_PARTS)
            .find_map(|(at, _)| {
                let first = self.one(group, &text[..at], tries)?;
                let rest = self.list(group, between, &text[at + between.len()..], tries)?;
                Some(Told {
                    text: first.text + between + &rest.text,
                    named: first.named + rest.named,
                })
            })
    }

    fn one(&self, group: &str, text: &str, tries: &mut usize) -> Option<Told> {
        let phrases = self.groups.get(group)?;
        *tries = tries.checked_sub(phrases.len())?;
        let fitting = phrases.iter().filter_map(|phrase| {
            phrase.needle.find(text.as_bytes())?;
            let mut found = Vec::new();
            self.fits(&phrase.english, text, &mut found, tries)
                .then(|| phrase.filled(&found))
        });
        fitting.min_by_key(|told| told.named)
    }

    /// Whether `text` is `pieces`; what its slots took, in this language, is then in `found`.
    fn fits(
        &self,
        pieces: &[Piece],
        text: &str,
        found: &mut Vec<(&'static str, Told)>,
        tries: &mut usize,
    ) -> bool {
        let Some(left) = tries.checked_sub(1) else {
            return false;
        };
        *tries = left;
        let Some((piece, rest)) = pieces.split_first() else {
            return text.is_empty();
        };
        match piece {
            Piece::Text(literal) => text
                .strip_prefix(literal)
                .is_some_and(|text| self.fits(rest, text, found, tries)),
            Piece::Slot(name, kind) => kind.ends(text, rest).into_iter().any(|end| {
                let (taken, after) = text.split_at(end);
                let Some(value) = self.value(kind, taken, tries) else {
                    return false;
                };
                found.push((name, value));
                let fits = self.fits(rest, after, found, tries);
                if !fits {
                    found.pop();
                }
                fits
            }),
        }
    }

    fn value(&self, kind: &Kind, taken: &str, tries: &mut usize) -> Option<Told> {
        let point = self.lang.point().to_string();
        let told = |text: String, named| Some(Told { text, named });
        match kind {
            Kind::Number => {
                let minus = taken.replace(['-', '\u{2212}'], "\u{2212}");
                told(minus.replace('.', &point), 0)
            }
            Kind::Size => told(taken.replace('.', &point), 0),
            Kind::Sign => told(taken.to_owned(), 0),
            Kind::Name => {
                let sentence = taken.is_empty() || taken.contains(": ") || taken.contains("; ");
                let name = self.lang.name_of(taken).to_owned();
                told(name, taken.len()).filter(|_| !sentence)
            }
            Kind::Text => told(taken.to_owned(), taken.len()),
            Kind::Phrase("said") => self.list("said", "; ", taken, tries),
            Kind::Phrase(group) => self.one(group, taken, tries),
        }
    }
}

impl Phrase {
    fn of(lang: Language, line: &'static Line) -> Self {
        let english = pieces(&line.en);
        let literals = english.iter().filter_map(|piece| match piece {
            Piece::Text(text) => Some(*text),
            Piece::Slot(..) => None,
        });
        let needle = literals.max_by_key(|text| text.len()).unwrap_or_default();
        Self {
            needle: Finder::new(needle),
            english,
            other: pieces(lang.pick(line)),
        }
    }

    fn filled(&self, found: &[(&'static str, Told)]) -> Told {
        let of = |wanted: &str| found.iter().find(|(name, _)| *name == wanted);
        let pieces = self.other.iter().map(|piece| match piece {
            Piece::Text(text) => text,
            Piece::Slot(name, _) => of(name).map_or(*name, |(_, told)| &told.text),
        });
        Told {
            text: pieces.collect(),
            named: found.iter().map(|(_, told)| told.named).sum(),
        }
    }
}

impl Kind {
    /// Where what it takes from the beginning of `text` can end, `rest` standing behind it.
    fn ends(&self, text: &str, rest: &[Piece]) -> Vec<usize> {
        let run = |of: fn(char) -> bool| {
            let end = text.find(|c| !of(c)).unwrap_or(text.len());
            Some(end).filter(|end| *end > 0).into_iter().collect()
        };
        match (self, rest) {
            (Self::Number, _) => number(text).into_iter().collect(),
            (Self::Size, _) => run(|c| c.is_ascii_digit() || c == 'x' || c == '.'),
            (Self::Sign, _) => run(|c| c.is_ascii_alphanumeric() || "-_/".contains(c)),
            (Self::Name | Self::Text | Self::Phrase(_), []) => vec![text.len()],
            (Self::Name | Self::Text | Self::Phrase(_), [Piece::Text(end)]) => {
                let before = text.strip_suffix(end).map(str::len);
                before.into_iter().collect()
            }
            (Self::Name | Self::Text | Self::Phrase(_), [Piece::Text(next), ..]) => {
                text.match_indices(next).map(|(at, _)| at).collect()
            }
            // Nothing says where it ends: a test finds it.
            (Self::Name | Self::Text | Self::Phrase(_), [Piece::Slot(..), ..]) => Vec::new(),
        }
    }
}

/// The length of the number that `text` begins with: a sign, digits, decimals.
fn number(text: &str) -> Option<usize> {
    let digits = |text: &str| text.bytes().take_while(u8::is_ascii_digit).count();
    let unsigned = text.trim_start_matches(['+', '-', '\u{2212}']);
    let signs = text.len() - unsigned.len();
    let whole = digits(unsigned);
    let one_sign = text.chars().nth(1).is_some_and(|c| c.is_ascii_digit());
    if whole == 0 || (signs > 0 && !one_sign) {
        return None;
    }
    let decimals = unsigned[whole..].strip_prefix('.').map_or(0, digits);
    let decimals = if decimals > 0 { decimals + 1 } else { 0 };
    Some(signs + whole + decimals)
}

/// A line of the table, cut at its slots.
fn pieces(line: &'static str) -> Vec<Piece> {
    let mut pieces = Vec::new();
    let mut rest = line;
    while let Some((before, after)) = rest.split_once('{') {
        let Some((slot, after)) = after.split_once('}') else {
            break;
        };
        if !before.is_empty() {
            pieces.push(Piece::Text(before));
        }
        let (name, kind) = slot.split_once(':').unwrap_or((slot, ""));
        let kind = match kind {
            "" => Kind::Number,
            "size" => Kind::Size,
            "sign" => Kind::Sign,
            "name" => Kind::Name,
            "text" => Kind::Text,
            group => Kind::Phrase(group),
        };
        pieces.push(Piece::Slot(name, kind));
        rest = after;
    }
    if !rest.is_empty() {
        pieces.push(Piece::Text(rest));
    }
    pieces
}

#[cfg(test)]
mod tests;
