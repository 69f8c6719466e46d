//! What people read, in their language: one table, `strings.toml`, and how numbers are written.

use std::collections::BTreeMap;
use std::fmt::Display;
use std::sync::LazyLock;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::phrases;
use crate::uncertainty::rounded_up;
use crate::units::Day;

const TABLE: &str = include_str!("strings.toml");

/// A language that the table holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Language {
    /// English: `45.963`.
    #[default]
    En,
    /// German: `45,963`.
    De,
}

/// One line of the table.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Line {
    pub(super) en: String,
    pub(super) de: String,
}

pub(super) type Table = BTreeMap<String, BTreeMap<String, Line>>;

pub(super) static LINES: LazyLock<Table> = LazyLock::new(|| {
    // A table that doesn't parse is found by a test; the page then shows its keys.
    toml::from_str(TABLE).unwrap_or_default()
});

/// The lines of `names` by their English text.
static NAMES: LazyLock<BTreeMap<&str, &Line>> = LazyLock::new(|| {
    let lines = LINES.get("names").into_iter().flat_map(BTreeMap::values);
    lines.map(|line| (line.en.as_str(), line)).collect()
});

impl Language {
    /// All of them.
    pub const ALL: [Self; 2] = [Self::En, Self::De];

    /// By its tag after BCP 47, such as `de` or `de-AT`.
    pub fn by_tag(tag: &str) -> Option<Self> {
        let first = tag.split('-').next().unwrap_or_default().trim();
        Self::ALL
            .into_iter()
            .find(|language| first.eq_ignore_ascii_case(language.tag()))
    }

    /// The one that an `Accept-Language` header prefers (RFC 9110, 12.5.4): the held language of
    /// the greatest weight, the first among equals.
    pub fn accepted(header: &str) -> Option<Self> {
        let mut best: Option<(Self, f32)> = None;
        for range in header.split(',') {
            let mut parts = range.split(';');
            let held = parts.next().map(str::trim).and_then(Self::by_tag);
            let weight = parts
                .find_map(|part| part.trim().strip_prefix("q="))
                .map_or(1.0, |q| q.trim().parse().unwrap_or(0.0));
            if let Some(language) = held
                && weight > best.map_or(0.0, |(_, weight)| weight)
            {
                best = Some((language, weight));
            }
        }
        best.map(|(language, _)| language)
    }

    /// Its tag after BCP 47.
    pub const fn tag(self) -> &'static str {
        match self {
            Self::En => "en",
            Self::De => "de",
        }
    }

    /// Its own name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::En => "English",
            Self::De => "Deutsch",
        }
    }

    /// The text of `key`, which is `table.name`. A key that the table doesn't hold is shown as it
    /// is; a test finds it first.
    pub fn say(self, key: &'static str) -> &'static str {
        key.split_once('.')
            .and_then(|(table, name)| self.line(table, name))
            .unwrap_or(key)
    }

    /// What `name` says in `table`; none where the table lacks it, as for a step of the checklist
    /// that a later version of the program wrote.
    pub(crate) fn line(self, table: &str, name: &str) -> Option<&'static str> {
        Some(self.pick(LINES.get(table)?.get(name)?))
    }

    pub(super) fn pick(self, line: &'static Line) -> &'static str {
        match self {
            Self::En => &line.en,
            Self::De => &line.de,
        }
    }

    /// A sentence that the daemon computed, which is English, in this language; none where the phrase
    /// book lacks it.
    pub fn told(self, english: &str) -> Option<String> {
        let english = english.trim();
        phrases::said(self, english).or_else(|| {
            // Some are shown with the stop that the daemon leaves to the page.
            let said = phrases::said(self, english.strip_suffix('.')?)?;
            Some(said + ".")
        })
    }

    /// The same, as it is where the book lacks it.
    pub(crate) fn reason(self, english: &str) -> String {
        self.told(english).unwrap_or_else(|| english.to_owned())
    }

    /// A name that the table holds, such as that of a bore, in this language; as it is where the
    /// table lacks it: what a shop calls its own bores.
    pub(crate) fn name_of(self, english: &str) -> &str {
        NAMES.get(english).map_or(english, |line| self.pick(line))
    }

    /// The title of a seat in this language, where the book holds every part of it between commas;
    /// else as it is.
    pub(crate) fn seat(self, title: &str) -> String {
        phrases::list(self, "seat", ", ", title).unwrap_or_else(|| title.to_owned())
    }

    /// Where a seat's sizes come from, sentence by sentence.
    pub(crate) fn source(self, source: &str) -> String {
        phrases::list(self, "source", " ", source).unwrap_or_else(|| source.to_owned())
    }

    /// All texts of a table as a JSON object from key to text, for the script.
    pub(crate) fn table(self, table: &'static str) -> String {
        let texts: BTreeMap<String, &str> = LINES
            .get(table)
            .into_iter()
            .flatten()
            .map(|(name, line)| (format!("{table}.{name}"), self.pick(line)))
            .collect();
        // A map from text to text can't fail to be written.
        serde_json::to_string(&texts).unwrap_or_default()
    }

    /// The text of `key` with each `{name}` replaced by its value.
    pub fn fill(self, key: &'static str, values: &[(&str, &dyn Display)]) -> String {
        let mut rest = self.say(key);
        let mut text = String::with_capacity(rest.len() + 16);
        while let Some((before, after)) = rest.split_once('{') {
            text.push_str(before);
            let Some((name, after)) = after.split_once('}') else {
                rest = after;
                break;
            };
            match values.iter().find(|(known, _)| *known == name) {
                Some((_, value)) => text.push_str(&value.to_string()),
                None => text.push_str(name),
            }
            rest = after;
        }
        text.push_str(rest);
        text
    }

    /// The decimal sign.
    pub const fn point(self) -> char {
        match self {
            Self::En => '.',
            Self::De => ',',
        }
    }

    /// A number with `digits` behind the decimal sign, a true minus sign and no minus zero.
    pub fn decimal(self, value: f64, digits: usize) -> String {
        let text = format!("{value:.digits$}");
        let text = match text.strip_prefix('-') {
            Some(zero) if zero.bytes().all(|b| matches!(b, b'0' | b'.')) => zero.to_owned(),
            Some(size) => format!("\u{2212}{size}"),
            None => text,
        };
        match self {
            Self::En => text,
            Self::De => text.replace('.', ","),
        }
    }

    /// Millimetres with three digits.
    pub fn mm(self, value: f64) -> String {
        self.decimal(value, 3)
    }

    /// An expanded uncertainty with `digits`, rounded up (JCGM 100:2008, 7.2.6): none is ever shown
    /// as nought.
    pub fn up(self, value: f64, digits: usize) -> String {
        self.decimal(rounded_up(value, digits), digits)
    }

    /// An expanded uncertainty in millimetres, rounded up to a micrometre.
    pub fn reach(self, mm: f64) -> String {
        self.up(mm, 3)
    }

    /// A difference, always with its sign; what is nought at so many digits has none.
    pub fn signed(self, value: f64, digits: usize) -> String {
        let text = self.decimal(value, digits);
        let is_nought = !text.contains(|c: char| c.is_ascii_digit() && c != '0');
        if is_nought || text.starts_with('\u{2212}') {
            text
        } else {
            format!("+{text}")
        }
    }

    /// As short as it can be said: `8`, `7.5`.
    pub fn short(self, value: f64) -> String {
        let text = self.decimal(value, 2);
        text.trim_end_matches('0')
            .trim_end_matches(self.point())
            .to_owned()
    }

    /// A day.
    pub fn day(self, day: Day) -> String {
        let form = match self {
            Self::En => "%Y-%m-%d",
            Self::De => "%d.%m.%Y",
        };
        day.0.strftime(form).to_string()
    }

    /// `90°`, `22.5°`.
    pub fn degrees(self, angle: f64) -> String {
        format!("{}°", self.short(angle))
    }

    /// A direction as the contact sees it: from two-point data an axis, never a side.
    pub fn axis(self, angle_deg: f64) -> String {
        let near = angle_deg.rem_euclid(180.0).round() % 180.0;
        format!("{}–{}", self.degrees(near), self.degrees(near + 180.0))
    }

    /// Where an angle is on a clock face whose 12 is the landmark: `half past 4`, `halb 5`.
    pub fn clock(self, angle_deg: f64) -> String {
        #[expect(clippy::cast_possible_truncation, reason = "0 to 719")]
        let minutes = (angle_deg.rem_euclid(360.0) * 2.0).round() as i64 % 720;
        let hour = |h: i64| if h % 12 == 0 { 12 } else { h % 12 };
        let (h, m) = (minutes / 60, minutes % 60);
        let (this, next) = (hour(h), hour(h + 1));
        let key = match m {
            0 => "clock.full",
            15 => "clock.quarter-past",
            30 => "clock.half",
            45 => "clock.quarter-to",
            _ => "clock.minutes",
        };
        let minutes = format!("{m:02}");
        self.fill(
            key,
            &[("this", &this), ("next", &next), ("minutes", &minutes)],
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;
    use std::path::Path;

    #[test]
    fn an_angle_is_a_place_on_a_clock_face() {
        for (angle, en, de) in [
            (0.0, "12 o’clock", "12 Uhr"),
            (90.0, "3 o’clock", "3 Uhr"),
            (135.0, "half past 4", "halb 5"),
            (22.5, "quarter to 1", "Viertel vor 1"),
            (352.5, "quarter to 12", "Viertel vor 12"),
            (157.5, "quarter past 5", "Viertel nach 5"),
            (20.0, "12:40 on the clock", "12:40 auf der Uhr"),
            (360.0, "12 o’clock", "12 Uhr"),
        ] {
            assert_eq!(Language::En.clock(angle), en, "{angle}");
            assert_eq!(Language::De.clock(angle), de, "{angle}");
        }
    }

    #[test]
    fn an_axis_has_two_ends() {
        assert_eq!(Language::En.axis(35.2), "35°–215°");
        assert_eq!(Language::En.axis(179.8), "0°–180°");
    }

    #[test]
    fn numbers_have_a_true_minus_no_minus_zero_and_the_locales_decimal_sign() {
        let (en, de) = (Language::En, Language::De);
        assert_eq!(en.mm(-0.0462), "\u{2212}0.046");
        assert_eq!(de.mm(-0.0462), "\u{2212}0,046");
        assert_eq!(en.mm(-0.0002), "0.000");
        assert_eq!(en.signed(0.5, 2), "+0.50");
        assert_eq!(
            (en.short(7.50), de.short(7.50)),
            ("7.5".into(), "7,5".into())
        );
        assert_eq!(en.short(10.0), "10");
    }

    /// RFC 9110, 12.5.4: weights from 0 to 1, 1 where none is given, 0 means not acceptable.
    #[test]
    fn the_browsers_wish_is_followed() {
        for (header, wanted) in [
            ("de-AT,de;q=0.9,en;q=0.8", Some(Language::De)),
            ("en-GB,en;q=0.9,de;q=0.8", Some(Language::En)),
            ("fr,de;q=0.3,en;q=0.5", Some(Language::En)),
            ("fr, de;q=0", None),
            ("", None),
        ] {
            assert_eq!(Language::accepted(header), wanted, "{header}");
        }
    }

    #[test]
    fn a_seat_is_named_in_the_language_where_all_of_its_title_is_known() {
        let title = "46 mm bicycle press-fit shell, 86.5 mm wide, cups";
        assert_eq!(
            Language::De.seat(title),
            "Fahrrad-Pressfit-Gehäuse 46 mm, 86,5 mm breit, Schalen"
        );
        assert_eq!(Language::En.seat(title), title);
        assert_eq!(Language::De.seat("Tricycle, cups"), "Tricycle, cups");
        for seat in crate::job::Seats::built_in().iter() {
            assert_ne!(Language::De.seat(&seat.title), seat.title);
            assert_ne!(Language::De.source(&seat.source), seat.source);
        }
        let housing = crate::job::Seats::built_in().find("housing-42-K7").unwrap();
        assert_eq!(Language::De.seat(&housing.title), "Gehäuse 42 K7");
        assert!(
            Language::De
                .source(&housing.source)
                .starts_with("Grenzmaße K7 nach ISO 286-2. ")
        );
    }

    /// JCGM 100:2008, 7.2.6: an uncertainty is rounded up rather than to the nearest digit.
    #[test]
    fn an_uncertainty_is_never_made_smaller() {
        let cases = [
            (0.001, "0.001"),
            (0.001_000_1, "0.002"),
            (0.000_2, "0.001"),
            (0.0, "0.000"),
        ];
        for (value, shown) in cases {
            assert_eq!(Language::En.reach(value), shown);
        }
    }

    #[test]
    fn values_are_put_in_and_nothing_else_is_touched() {
        let text = Language::En.fill("clock.full", &[("this", &"{next}")]);
        assert_eq!(text, "{next} o’clock");
    }

    fn placeholders(text: &str) -> BTreeSet<&str> {
        text.split('{')
            .skip(1)
            .map(|part| part.split_once('}').expect("a closed placeholder").0)
            // What a phrase's slot takes is told in English only.
            .map(|slot| slot.split(':').next().unwrap_or(slot))
            .collect()
    }

    /// Both languages are there by the table's type; a half-translated line has other placeholders
    /// or is empty.
    #[test]
    fn every_line_is_complete_in_both_languages() {
        let table: Table = toml::from_str(TABLE).unwrap();
        for (name, lines) in &table {
            for (key, line) in lines {
                let which = format!("{name}.{key}");
                // A phrase may stand for nothing, in both.
                let empty = |text: &str| text.trim().is_empty();
                if name.starts_with("said-") {
                    assert_eq!(empty(&line.en), empty(&line.de), "{which}");
                } else {
                    assert!(!empty(&line.en) && !empty(&line.de), "{which}");
                }
                // A clock says `half past 4` with this hour and `halb 5` with the next.
                if name != "clock" {
                    assert_eq!(placeholders(&line.en), placeholders(&line.de), "{which}");
                }
            }
        }
    }

    /// Every text that the code asks for is in the table, and the table holds nothing that the code
    /// never asks for.
    #[test]
    fn the_code_and_the_table_know_the_same_keys() {
        let table: Table = toml::from_str(TABLE).unwrap();
        // What the record or an event names is looked up by that name.
        let by_name = ["names", "step", "todo", "report-material", "report-contact"];
        let mut asked = BTreeSet::new();
        sources(
            Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/src")),
            &mut |text| {
                for literal in text.split('"') {
                    let key = literal.split_once('.').filter(|(table_name, name)| {
                        table.contains_key(*table_name)
                            && !name.is_empty()
                            && name
                                .bytes()
                                .all(|b| matches!(b, b'a'..=b'z' | b'0'..=b'9' | b'-'))
                    });
                    asked.extend(key.map(|_| literal.to_owned()));
                }
            },
        );
        let held: BTreeSet<String> = table
            .iter()
            .filter(|(name, _)| !by_name.contains(&name.as_str()) && !name.starts_with("said"))
            .flat_map(|(name, lines)| lines.keys().map(move |key| format!("{name}.{key}")))
            .collect();
        let missing: Vec<_> = asked.difference(&held).collect();
        let unused: Vec<_> = held.difference(&asked).collect();
        let missing: Vec<_> = missing
            .into_iter()
            .filter(|key| {
                !key.split('.')
                    .next()
                    .is_some_and(|table| by_name.contains(&table))
            })
            .collect();
        assert!(missing.is_empty(), "not in strings.toml: {missing:?}");
        assert!(unused.is_empty(), "nobody says: {unused:?}");
    }

    fn sources(folder: &Path, see: &mut impl FnMut(&str)) {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                sources(&path, see);
            } else if path
                .extension()
                .is_some_and(|end| end == "rs" || end == "js")
            {
                see(&std::fs::read_to_string(&path).unwrap());
            }
        }
    }
}
