//! Only what changed goes over the wire: a page names the answer that it shows, and is sent the parts
//! that differ from it; of the drawing and of a row of stations, the elements that do.
//!
//! An answer's name is a digest of it, so that two pages that show the same thing share it, and
//! what was remembered of it is small: a digest a part and an element. Where it is forgotten,
//! everything is sent.

use std::collections::VecDeque;
use std::hash::{DefaultHasher, Hasher as _};

/// So many answers are remembered.
const REMEMBERED: usize = 64;

/// How the moving parts begin.
const BENCH: &str = "<div id=\"bench\"";
/// The part that holds the drawing.
const DRAWING: &str = "drawing";
/// How the drawing begins in it.
const DRAWN: &str = "<svg class=\"face";
/// How a row of stations begins, a part of its own.
const ROW: &str = "<div class=\"row\"";

/// The answers that pages may name.
#[derive(Debug, Default)]
pub(super) struct Sent(VecDeque<Digest>);

/// An answer, remembered.
#[derive(Debug, Clone, PartialEq)]
struct Digest {
    name: u64,
    /// What stands between the parts, and which they are.
    frame: u64,
    parts: Vec<PartDigest>,
}

/// A part, remembered.
#[derive(Debug, Clone, PartialEq)]
struct PartDigest {
    whole: u64,
    apart: Option<ApartDigest>,
}

/// What is sent by its elements, remembered.
#[derive(Debug, Clone, PartialEq)]
struct ApartDigest {
    /// What of the part is no element, and which these are.
    about: u64,
    elements: Vec<u64>,
}

/// The moving parts, taken apart.
struct Pieces<'a> {
    /// The opening tag without its end.
    open: &'a str,
    frame: String,
    parts: Vec<Part<'a>>,
}

struct Part<'a> {
    whole: &'a str,
    apart: Option<Apart<'a>>,
}

/// What is sent by its elements.
struct Apart<'a> {
    /// The opening tag without its end.
    open: &'a str,
    close: &'static str,
    about: String,
    elements: Vec<&'a str>,
}

impl Sent {
    /// What to send of `html`, the moving parts, to a page that shows the answer `held`.
    pub(super) fn answer(&mut self, html: &str, held: Option<&str>) -> String {
        let Some(pieces) = Pieces::of(html) else {
            return html.to_owned();
        };
        let now = pieces.digest();
        let held = held.and_then(|name| u64::from_str_radix(name, 16).ok());
        let before = held.and_then(|name| self.0.iter().find(|known| known.name == name));
        let answer = match before {
            Some(before) if before.frame == now.frame => pieces.changed_from(before, &now),
            _ => format!(
                "{} data-held=\"{:x}\"{}",
                pieces.open,
                now.name,
                &html[pieces.open.len()..]
            ),
        };
        self.0.retain(|known| known.name != now.name);
        self.0.push_back(now);
        if self.0.len() > REMEMBERED {
            self.0.pop_front();
        }
        answer
    }
}

impl<'a> Pieces<'a> {
    /// `None` where it isn't the moving parts.
    fn of(html: &'a str) -> Option<Self> {
        if !html.starts_with(BENCH) {
            return None;
        }
        let end = html.find('>')?;
        let mut pieces = Self {
            open: &html[..end],
            frame: String::new(),
            parts: Vec::new(),
        };
        let mut at = end;
        let mut kept = end;
        while let Some(start) = html[at..].find('<').map(|by| at + by) {
            let tag = &html[start..start + html[start..].find('>')?];
            at = start + 1;
            let Some(id) = part_id(tag) else { continue };
            let stop = end_of(html, start)?;
            let whole = &html[start..stop];
            pieces.frame.extend([&html[kept..start], "<", id, ">"]);
            let apart = Apart::of(id, whole);
            pieces.parts.push(Part { whole, apart });
            (at, kept) = (stop, stop);
        }
        pieces.frame.push_str(&html[kept..]);
        Some(pieces)
    }

    fn digest(&self) -> Digest {
        let frame = digest(&self.frame);
        let parts: Vec<PartDigest> = self.parts.iter().map(Part::digest).collect();
        Digest {
            name: parts
                .iter()
                .fold(frame, |so_far, part| digest(&(so_far, part.whole))),
            frame,
            parts,
        }
    }

    fn changed_from(&self, before: &Digest, now: &Digest) -> String {
        let mut out = format!("{} data-held=\"{:x}\" data-only>", self.open, now.name);
        let pairs = before.parts.iter().zip(&now.parts);
        for (part, (before, now)) in self.parts.iter().zip(pairs) {
            if before.whole == now.whole {
                continue;
            }
            match (&part.apart, &before.apart, &now.apart) {
                (Some(apart), Some(before), Some(now)) if before.about == now.about => {
                    apart.push_changed(&mut out, before, now);
                }
                _ => out.push_str(part.whole),
            }
        }
        out.push_str("</div>");
        out
    }
}

impl Part<'_> {
    fn digest(&self) -> PartDigest {
        PartDigest {
            whole: digest(self.whole),
            apart: self.apart.as_ref().map(Apart::digest),
        }
    }
}

impl<'a> Apart<'a> {
    /// `None` where the part is sent whole.
    fn of(id: &str, part: &'a str) -> Option<Self> {
        let (start, close) = match id {
            DRAWING => (part.find(DRAWN)?, "</svg>"),
            _ => (part.starts_with(ROW).then_some(0)?, "</div>"),
        };
        let stop = end_of(part, start)?;
        let inside = start + part[start..].find('>')?;
        let mut apart = Self {
            open: &part[start..inside],
            close,
            about: part[..start].to_owned() + &part[stop..],
            elements: Vec::new(),
        };
        let last = stop - close.len();
        let mut at = inside + 1;
        while at < last {
            let stop = end_of(part, at)?;
            let element = &part[at..stop];
            let tag = &element[..element.find('>')?];
            match attribute(tag, " id=") {
                Some(id) => {
                    apart.about.extend(["<", id, ">"]);
                    apart.elements.push(element);
                }
                None => apart.about.push_str(element),
            }
            at = stop;
        }
        Some(apart)
    }

    fn digest(&self) -> ApartDigest {
        ApartDigest {
            about: digest(&self.about),
            elements: self.elements.iter().map(digest).collect(),
        }
    }

    fn push_changed(&self, out: &mut String, before: &ApartDigest, now: &ApartDigest) {
        out.extend([self.open, " data-into>"]);
        let pairs = before.elements.iter().zip(&now.elements);
        for (element, (before, now)) in self.elements.iter().zip(pairs) {
            if before != now {
                out.push_str(element);
            }
        }
        out.push_str(self.close);
    }
}

fn digest(of: &(impl std::hash::Hash + ?Sized)) -> u64 {
    let mut hasher = DefaultHasher::new();
    of.hash(&mut hasher);
    hasher.finish()
}

/// The value of an attribute of an opening tag, by how it is written: ` id=`. What is quoted is
/// passed over, whatever people wrote there.
fn attribute<'a>(tag: &'a str, name: &str) -> Option<&'a str> {
    let mut pieces = tag.split('"');
    while let (Some(outside), Some(value)) = (pieces.next(), pieces.next()) {
        if outside.ends_with(name) {
            return Some(value);
        }
    }
    None
}

/// The id of a tag that opens a part.
fn part_id(tag: &str) -> Option<&str> {
    let mut outside = tag.split('"').step_by(2);
    outside
        .any(|piece| piece.split_whitespace().any(|word| word == "data-part"))
        .then(|| attribute(tag, " id="))
        .flatten()
}

/// Where the element that begins at `start` ends. In text and attributes `<` and `>` are escaped, so
/// that each of them is a tag's.
fn end_of(html: &str, start: usize) -> Option<usize> {
    let first = start + html[start..].find('>')? + 1;
    if html[..first].ends_with("/>") {
        return Some(first);
    }
    let named = html[start + 1..first].find(|c: char| !c.is_ascii_alphanumeric())?;
    let name = &html[start + 1..start + 1 + named];
    let (mut at, mut depth) = (first, 1);
    while depth > 0 {
        at += html[at..].find('<')? + 1;
        let (rest, step) = match html[at..].strip_prefix('/') {
            Some(rest) => (rest, -1),
            None => (&html[at..], 1),
        };
        let same = rest
            .strip_prefix(name)
            .is_some_and(|rest| !rest.starts_with(|c: char| c.is_ascii_alphanumeric() || c == '-'));
        if same {
            depth += step;
        }
    }
    Some(at + html[at..].find('>')? + 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn page(reading: &str, dots: [&str; 2], note: &str) -> String {
        format!(
            "<div id=\"bench\" data-seq=\"{reading}\"><div class=\"now\"><section id=\"reading\" data-part>\
             <div><b>{reading}</b></div></section></div><section data-part id=\"drawing\"><button>Face</button>\
             <svg class=\"face\" data-factor=\"5\"><title>t</title><path id=\"face-band\" d=\"M0 0\"/>\
             <circle id=\"face-at-0\" r=\"{}\"/><g id=\"face-twin\"><circle r=\"{}\"/></g></svg></section>\
             <h1 title=\"x data-part id=&quot;y&quot;\">{note}</h1></div>",
            dots[0], dots[1]
        )
    }

    fn held(answer: &str) -> &str {
        attribute(&answer[..answer.find('>').unwrap()], " data-held=").unwrap()
    }

    #[test]
    fn a_page_is_sent_what_differs_from_what_it_shows() {
        let mut sent = Sent::default();
        let whole = sent.answer(&page("1", ["2", "3"], "n"), None);
        assert!(whole.contains("face-band") && whole.ends_with("</h1></div>"));

        // One element of the drawing; the reading stays as it is.
        let name = held(&whole).to_owned();
        let answer = sent.answer(&page("1", ["2", "4"], "n"), Some(&name));
        assert_eq!(
            answer,
            format!(
                "<div id=\"bench\" data-seq=\"1\" data-held=\"{}\" data-only><svg class=\"face\" \
                 data-factor=\"5\" data-into><g id=\"face-twin\"><circle r=\"4\"/></g></svg></div>",
                held(&answer)
            )
        );
        // Nothing at all, but what stands on the bench itself.
        let name = held(&answer).to_owned();
        let answer = sent.answer(&page("1", ["2", "4"], "n"), Some(&name));
        assert!(answer.ends_with("data-only></div>"), "{answer}");
        // A lost answer is no harm: what the page names is what counts.
        let answer = sent.answer(&page("2", ["2", "3"], "n"), Some(held(&whole)));
        assert!(answer.contains("<section id=\"reading\" data-part><div><b>2</b></div></section>"));
        assert!(!answer.contains("face"), "{answer}");
    }

    #[test]
    fn of_a_row_of_stations_come_those_that_differ() {
        let row = |stations: [&str; 3]| {
            let [first, second, third] = stations;
            format!(
                "<div id=\"bench\"><div class=\"row\" id=\"stations-0\" data-part><h3>left</h3>\
                 <button id=\"stations-0-0\">{first}</button><button id=\"stations-0-1\">{second}</button>\
                 <button id=\"stations-0-2\">{third}</button></div></div>"
            )
        };
        let mut sent = Sent::default();
        let whole = sent.answer(&row(["0°", "30°", "60°"]), None);
        let answer = sent.answer(&row(["0° ✓", "30°", "60°"]), Some(held(&whole)));
        assert_eq!(
            answer,
            format!(
                "<div id=\"bench\" data-held=\"{}\" data-only><div class=\"row\" id=\"stations-0\" data-part \
                 data-into><button id=\"stations-0-0\">0° ✓</button></div></div>",
                held(&answer)
            )
        );
        // Other stations than before: the whole row.
        let other = row(["0° ✓", "30°", "60°"]).replace("stations-0-2", "stations-0-3");
        let answer = sent.answer(&other, Some(held(&answer)));
        assert!(
            !answer.contains("data-into") && answer.contains("<h3>"),
            "{answer}"
        );
    }

    #[test]
    fn another_frame_and_a_name_that_is_forgotten_bring_everything() {
        let mut sent = Sent::default();
        let whole = sent.answer(&page("1", ["2", "3"], "n"), None);
        for (note, name) in [("other", held(&whole)), ("n", "12ab"), ("n", "no name")] {
            let answer = sent.answer(&page("1", ["2", "3"], note), Some(name));
            assert!(answer.contains("face-band"), "{answer}");
        }
        for index in 0..2 * REMEMBERED {
            sent.answer(&page(&index.to_string(), ["2", "3"], "n"), None);
        }
        assert_eq!(sent.0.len(), REMEMBERED);
        let answer = sent.answer(&page("1", ["2", "3"], "n"), Some(held(&whole)));
        assert!(answer.contains("face-band"), "{answer}");
    }
}
