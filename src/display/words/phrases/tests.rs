use std::path::Path;

use proptest::prelude::*;

use super::*;

fn german(english: &str) -> Option<String> {
    said(Language::De, english)
}

#[test]
fn a_sentence_is_whole_in_the_other_language_or_not_at_all() {
    for (english, other) in [
        (
            "drive side at 6 mm: mean 45.912 mm is 0.038 mm under the lower limit 45.950 mm",
            "Antriebsseite, 6 mm tief: Mittel 45,912 mm, 0,038 mm unter dem unteren Grenzmaß 45,950 mm",
        ),
        (
            "what the shop calls it at 2.5 mm: mean 42.000 mm is on the upper limit 42.000 mm",
            "what the shop calls it, 2,5 mm tief: Mittel 42,000 mm, auf dem oberen Grenzmaß 42,000 mm",
        ),
        (
            "It can't be told yet: no section was gauged; needs two depths; gauge another section.",
            "Noch nicht zu entscheiden: kein Querschnitt gemessen; braucht Querschnitte in zwei \
             Tiefen.",
        ),
        (
            "where the bore is smallest the gap may be -0.012 mm, it needs 0.050 mm",
            "wo die Bohrung am kleinsten ist, kann der Spalt \u{2212}0,012 mm sein; nötig sind 0,050 mm",
        ),
    ] {
        assert_eq!(german(english).as_deref(), Some(other));
    }
    for unknown in [
        "",
        "; ",
        "the moon is full",
        "no section was gauged; the moon is full",
        "The seat is at fault: the moon is full.",
        "needs 3 directions, has NaN",
        "needs three directions, has 2",
    ] {
        assert_eq!(german(unknown), None, "{unknown}");
    }
}

/// A minus is a minus, and what joins words or a date is none.
#[test]
fn an_english_sentence_has_a_true_minus() {
    for (english, shown) in [
        (
            "clearance -13 to 12 µm (-0.5)",
            "clearance \u{2212}13 to 12 µm (\u{2212}0.5)",
        ),
        (
            r#"pressfit-46-73, 2024-05-31, ISO 286-2, re-check, "-1.2""#,
            r#"pressfit-46-73, 2024-05-31, ISO 286-2, re-check, "-1.2""#,
        ),
    ] {
        assert_eq!(said(Language::En, english).as_deref(), Some(shown));
    }
}

/// Somebody may ask for anything: an answer comes, whatever the text.
#[test]
fn a_text_without_end_is_given_up() {
    let endless = "no section was gauged; ".repeat(2_000);
    let _ = german(&endless);
    let _ = german(&": ".repeat(5_000));
    let _ = german(&"a at 3 mm: ".repeat(1_000));
}

#[test]
fn every_slot_takes_something_that_there_is() {
    for phrase in GERMAN.groups.values().flatten() {
        for pair in phrase.english.windows(2) {
            let [Piece::Slot(name, kind), Piece::Slot(..)] = pair else {
                continue;
            };
            // Of two neighbours the first must know its own end.
            assert!(
                !matches!(kind, Kind::Name | Kind::Text | Kind::Phrase(_)),
                "{name}"
            );
        }
        for piece in &phrase.english {
            if let Piece::Slot(name, Kind::Phrase(group)) = piece {
                assert!(GERMAN.groups.contains_key(group), "{name}: {group}");
            }
        }
    }
}

/// Numbers without end, the same for the same seed.
struct Dice(u64);

impl Dice {
    /// After Marsaglia's xorshift (from memory).
    fn roll(&mut self, below: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        usize::try_from(self.0 % below.max(1) as u64).unwrap()
    }

    fn number(&mut self) -> String {
        let sign = ["", "", "", "-", "+"][self.roll(5)];
        let (whole, digits) = (self.roll(1_000), self.roll(5));
        let decimals = self.roll(10_usize.pow(u32::try_from(digits).unwrap()));
        match digits {
            0 => format!("{sign}{whole}"),
            digits => format!("{sign}{whole}.{decimals:0digits$}"),
        }
    }

    /// A phrase with its slots filled, in English and in German.
    fn fill(&mut self, phrase: &Phrase, depth: usize) -> (String, String) {
        let mut english = String::new();
        let mut found = Vec::new();
        for piece in &phrase.english {
            match piece {
                Piece::Text(text) => english.push_str(text),
                Piece::Slot(name, kind) => {
                    let (here, there) = self.slot(kind, depth);
                    english.push_str(&here);
                    let there = Told {
                        text: there,
                        named: 0,
                    };
                    found.push((*name, there));
                }
            }
        }
        (english, phrase.filled(&found).text)
    }

    fn slot(&mut self, kind: &Kind, depth: usize) -> (String, String) {
        let same = |text: &str| (text.to_owned(), text.to_owned());
        match kind {
            Kind::Number => {
                let number = self.number();
                let there = number.replace('.', ",").replace('-', "\u{2212}");
                (number, there)
            }
            Kind::Size => same(["30x42x7", "10x26x8"][self.roll(2)]),
            Kind::Sign => same(["K7", "dialout", "EC34"][self.roll(3)]),
            Kind::Name => match self.roll(4) {
                0 => ("drive side".to_owned(), "Antriebsseite".to_owned()),
                1 => same("/dev/ttyUSB0"),
                2 => same("A"),
                _ => same("reamer no. 2"),
            },
            Kind::Text => same(["line 1: expected `,`", "Frame 12; blue"][self.roll(2)]),
            Kind::Phrase(group) => {
                let phrases = &GERMAN.groups[group];
                let plain: Vec<&Phrase> = phrases
                    .iter()
                    .filter(|phrase| depth < 2 || !phrase.english.iter().any(nests))
                    // What holds any text is never a part of another sentence.
                    .filter(|phrase| !phrase.english.iter().any(free))
                    .collect();
                let phrase = plain[self.roll(plain.len())];
                self.fill(phrase, depth + 1)
            }
        }
    }
}

fn nests(piece: &Piece) -> bool {
    matches!(piece, Piece::Slot(_, Kind::Phrase("said")))
}

fn free(piece: &Piece) -> bool {
    matches!(piece, Piece::Slot(_, Kind::Text))
}

/// The numbers of a text, each with its sign where it has one, sorted.
fn numbers(text: &str) -> Vec<String> {
    let text: Vec<char> = text.replace('\u{2212}', "-").chars().collect();
    let digit = |at: usize| text.get(at).is_some_and(char::is_ascii_digit);
    let mut found = Vec::new();
    let mut at = 0;
    while at < text.len() {
        if !digit(at) {
            at += 1;
            continue;
        }
        let signed = at > 0
            && "+-".contains(text[at - 1])
            && (at == 1 || !(text[at - 2].is_alphanumeric() || text[at - 2] == '°'));
        let begin = if signed { at - 1 } else { at };
        while digit(at) || (".,".contains(*text.get(at).unwrap_or(&' ')) && digit(at + 1)) {
            at += 1;
        }
        let number: String = text[begin..at].iter().collect();
        found.push(number.replace(',', "."));
    }
    found.sort();
    found
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(16))]

    /// Whatever stands in its slots, a sentence is taken for itself and no other, and its numbers
    /// are all there afterwards.
    #[test]
    fn numbers_survive_and_no_phrase_hides_another(seed in 1_u64..) {
        let mut dice = Dice(seed);
        for phrase in &GERMAN.groups["said"] {
            let (english, expected) = dice.fill(phrase, 0);
            let got = german(&english);
            prop_assert_eq!(got.as_deref(), Some(expected.as_str()), "{}", english);
            prop_assert_eq!(numbers(&english), numbers(&expected), "{}", english);
        }
    }
}

/// Rooms whose sentences a page or report shows.
const ROOMS: [&str; 7] = [
    "fit",
    "bore",
    "job",
    "bench",
    "bench.rs",
    "gauge",
    "journal/error.rs",
];
/// Files of theirs that say nothing on a page: what is said of a configuration, of a file on the
/// command line, of the simulated gauge.
const ELSEWHERE: [&str; 10] = [
    "fit/cylinders.rs",
    "fit/limits/mod.rs",
    "job/seats.rs",
    "job/housing.rs",
    "bore/mod.rs",
    "gauge/description",
    "gauge/encode.rs",
    "gauge/simulate",
    "gauge/port.rs",
    "bench/learned.rs",
];
/// The same, sentence by sentence, by how they begin.
const NOT_SHOWN: [&str; 14] = [
    "least_wall_mm",
    "off_centre_mm",
    "sleeve_wall_mm",
    "sleeve_grade",
    "a reamer needs a name",
    "two reamers are called",
    "reamer `",
    "compound `",
    "not multiples of 3",
    "no amendment",
    "the bench's thread",
    "the data folder",
    "the state can't be written",
    "numbers can't be written",
];

/// Whoever adds a sentence to a room of the daemon adds it to the phrase book.
#[test]
fn every_sentence_of_the_daemon_has_its_phrase() {
    let known: Vec<String> = LINES
        .values()
        .flat_map(|lines| lines.values().map(|line| open(&line.en)))
        .collect();
    let src = Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/src"));
    let mut missing = Vec::new();
    let mut seen = 0;
    for room in ROOMS {
        files(&src.join(room), &mut |path| {
            let name = path
                .strip_prefix(src)
                .unwrap()
                .to_string_lossy()
                .into_owned();
            if ELSEWHERE.iter().any(|other| name.starts_with(other)) {
                return;
            }
            let text = std::fs::read_to_string(path).unwrap();
            for literal in literals(text.split("#[cfg(test)]").next().unwrap()) {
                seen += 1;
                let not_shown = NOT_SHOWN.iter().any(|text| literal.starts_with(text));
                let parts = || open(&literal);
                let held = |text: &str| {
                    let text = text.trim_matches(|c: char| "{}: ;.".contains(c));
                    !text.contains(char::is_alphabetic)
                        || known.iter().any(|known| known.contains(text))
                };
                if !not_shown && !held(&parts()) && !parts().split("; ").all(held) {
                    missing.push(format!("{name}: {literal}"));
                }
            }
        });
    }
    assert!(seen > 300, "{seen}");
    assert!(missing.is_empty(), "no phrase for:\n{}", missing.join("\n"));
}

fn files(path: &Path, see: &mut impl FnMut(&Path)) {
    if path.is_file() {
        if path.extension().is_some_and(|end| end == "rs") && !path.ends_with("tests.rs") {
            see(path);
        }
        return;
    }
    for entry in std::fs::read_dir(path).unwrap() {
        let path = entry.unwrap().path();
        if !path.ends_with("tests") {
            files(&path, see);
        }
    }
}

/// A sentence with nothing in its slots, and slots for its numbers.
fn open(text: &str) -> String {
    let mut parts = text.split('{');
    let mut open = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        open.push('0');
        open.push_str(part.split_once('}').map_or("", |(_, after)| after));
    }
    let mut words: Vec<&str> = open.split(|c: char| c.is_ascii_digit()).collect();
    words.dedup_by(|after, _| after.is_empty());
    words.join("{}")
}

/// The texts of more than one word in a source: no comments, no log, no reasons of a lint.
fn literals(source: &str) -> Vec<String> {
    let mut found = Vec::new();
    let mut at = 0;
    while let Some(next) = source[at..].find(['"', '/', '\'']).map(|next| at + next) {
        let rest = &source[next..];
        at = if rest.starts_with("//") {
            rest.find('\n').map_or(source.len(), |end| next + end)
        } else if rest.starts_with("'\"'") || rest.starts_with("'\\\"'") {
            next + 3
        } else if let Some(text) = rest.strip_prefix('"') {
            let end = closing(text);
            let before = source[..next].trim_end();
            let logged = before
                .rfind(['{', ';'])
                .is_some_and(|from| before[from..].contains("tracing::"));
            if text[..end].contains(' ') && !before.ends_with("reason =") && !logged {
                found.push(unbroken(&text[..end]));
            }
            next + 1 + end + 1
        } else {
            next + 1
        };
    }
    found
}

/// Where a literal ends.
fn closing(text: &str) -> usize {
    let mut escaped = false;
    text.find(|c| {
        let ends = c == '"' && !escaped;
        escaped = c == '\\' && !escaped;
        ends
    })
    .unwrap_or(text.len())
}

/// A literal over several lines in one.
fn unbroken(text: &str) -> String {
    let mut lines = text.split("\\\n");
    let mut whole = lines.next().unwrap_or_default().to_owned();
    for line in lines {
        whole.push_str(line.trim_start());
    }
    whole.replace("\\\"", "\"")
}
