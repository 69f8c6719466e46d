//! What the report says, in its reader's language, and how numbers and times are written in it.

use std::fmt::{Display, Write as _};

use jiff::tz::TimeZone;
use serde::{Deserialize, Serialize};

use crate::display::{Language, tied};
use crate::units::{Day, INCH_MM, Moment};

/// What stands in place of a character that can't be shown: a control character, a mark that
/// turns the direction of text, or one that the font doesn't hold.
pub(super) const UNSHOWN: char = '\u{25AF}';

/// The unit that lengths are shown in first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Units {
    /// Millimetres.
    #[default]
    Mm,
    /// Inches, with the millimetres beside them.
    Inch,
}

/// A number with its unit, and the same in millimetres where the unit is another.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Figure {
    /// As the reader asked.
    pub(super) text: String,
    /// In millimetres, where `text` isn't.
    pub(super) mm: Option<String>,
}

impl Figure {
    /// In one line: `1.8110 in (46.000 mm)`.
    pub(super) fn inline(&self) -> String {
        match &self.mm {
            Some(mm) => format!("{} ({mm})", self.text),
            None => self.text.clone(),
        }
    }
}

/// One reader's words.
#[derive(Debug, Clone)]
pub(super) struct Words {
    pub(super) language: Language,
    pub(super) units: Units,
    pub(super) zone: TimeZone,
}

impl Words {
    /// What `key`, such as `report-column.mean`, says; the key itself where the table lacks it.
    pub(super) fn get(&self, key: &'static str) -> &'static str {
        self.language.say(key)
    }

    /// What `name` says in `table`; `name` itself where the table lacks it, as for a step that a
    /// later version of the program wrote.
    pub(super) fn named(&self, table: &str, name: &str) -> String {
        self.language.line(table, name).unwrap_or(name).to_owned()
    }

    /// A sentence of the record in this language, where the phrase book holds it; else as it is.
    pub(super) fn reason(&self, why: &str) -> String {
        tied(&self.language.reason(why))
    }

    /// What somebody named, in this language where the table holds it.
    pub(super) fn name(&self, name: &str) -> String {
        self.language.name_of(name).to_owned()
    }

    /// `key` with each `{name}` replaced by its value.
    pub(super) fn fill(&self, key: &'static str, values: &[(&str, &str)]) -> String {
        let values: Vec<(&str, &dyn Display)> = values
            .iter()
            .map(|(name, value)| (*name, value as &dyn Display))
            .collect();
        tied(&self.language.fill(key, &values))
    }

    /// The words for one, or for `count` of it.
    pub(super) fn count(&self, [one, several]: [&'static str; 2], count: usize) -> String {
        let key = if count == 1 { one } else { several };
        self.fill(key, &[("count", &count.to_string())])
    }

    /// `value` with `digits` behind the decimal mark, a true minus and no minus zero.
    pub(super) fn decimal(&self, value: f64, digits: usize) -> String {
        self.language.decimal(value, digits)
    }

    /// As short as it can be said: `8`, `7.5`.
    pub(super) fn short(&self, value: f64) -> String {
        let text = self.decimal(value, 3);
        text.trim_end_matches('0')
            .trim_end_matches(self.language.point())
            .to_owned()
    }

    /// The same with its sign.
    fn with_sign(&self, value: f64, digits: usize) -> String {
        self.language.signed(value, digits)
    }

    /// `in` and 4 digits, or `mm` and 3.
    fn both(&self, of: impl Fn(f64, usize) -> String) -> Figure {
        self.to_digits(3, of)
    }

    /// `mm` and so many digits, or `in` and one more.
    fn to_digits(&self, digits: usize, of: impl Fn(f64, usize) -> String) -> Figure {
        let mm = format!("{}\u{a0}mm", of(1.0, digits));
        match self.units {
            Units::Mm => Figure { text: mm, mm: None },
            Units::Inch => Figure {
                text: format!("{}\u{a0}in", of(1.0 / INCH_MM, digits + 1)),
                mm: Some(mm),
            },
        }
    }

    /// The unit that lengths are shown in first.
    pub(super) fn unit(&self) -> &'static str {
        self.get(match self.units {
            Units::Mm => "report-drawing.unit-mm",
            Units::Inch => "report-drawing.unit-inch",
        })
    }

    /// A length.
    pub(super) fn length(&self, mm: f64) -> Figure {
        self.both(|scale, digits| self.decimal(mm * scale, digits))
    }

    /// An expanded uncertainty alone, rounded up.
    pub(super) fn reach(&self, mm: f64) -> Figure {
        self.both(|scale, digits| self.language.up(mm * scale, digits))
    }

    /// A length of a few micrometres, one digit finer.
    pub(super) fn fine(&self, mm: f64) -> Figure {
        self.to_digits(4, |scale, digits| self.decimal(mm * scale, digits))
    }

    /// The same with its sign.
    pub(super) fn fine_signed(&self, mm: f64) -> Figure {
        self.to_digits(4, |scale, digits| self.with_sign(mm * scale, digits))
    }

    /// A length with its sign.
    pub(super) fn signed(&self, mm: f64) -> Figure {
        self.both(|scale, digits| self.with_sign(mm * scale, digits))
    }

    /// A length and its expanded uncertainty, which is rounded up (JCGM 100:2008, 7.2.6).
    pub(super) fn measured(&self, mm: f64, expanded: Option<f64>, sign: bool) -> Figure {
        self.both(|scale, digits| {
            let mut text = if sign {
                self.with_sign(mm * scale, digits)
            } else {
                self.decimal(mm * scale, digits)
            };
            if let Some(expanded) = expanded {
                let _ = write!(
                    text,
                    "\u{a0}±\u{a0}{}",
                    self.language.up(expanded * scale, digits)
                );
            }
            text
        })
    }

    /// A number and its expanded uncertainty, rounded up.
    pub(super) fn with_uncertainty(
        &self,
        value: f64,
        expanded: Option<f64>,
        digits: usize,
    ) -> String {
        let mut text = self.decimal(value, digits);
        if let Some(expanded) = expanded {
            let _ = write!(text, "\u{a0}±\u{a0}{}", self.language.up(expanded, digits));
        }
        text
    }

    /// From one length to another.
    pub(super) fn range(&self, least: f64, greatest: f64, sign: bool) -> Figure {
        self.both(|scale, digits| {
            let of = |mm: f64| {
                if sign {
                    self.with_sign(mm * scale, digits)
                } else {
                    self.decimal(mm * scale, digits)
                }
            };
            self.to(&of(least), &of(greatest))
        })
    }

    /// A range of micrometres; as inches with the micrometres beside.
    pub(super) fn micrometres(&self, least: f64, greatest: f64) -> Figure {
        let um = self.to(&self.with_sign(least, 0), &self.with_sign(greatest, 0)) + "\u{a0}µm";
        match self.units {
            Units::Mm => Figure { text: um, mm: None },
            Units::Inch => {
                let inch = |um: f64| self.with_sign(um / 1e3 / INCH_MM, 4);
                Figure {
                    text: self.to(&inch(least), &inch(greatest)) + "\u{a0}in",
                    mm: Some(um),
                }
            }
        }
    }

    /// `3 to 5`.
    pub(super) fn to(&self, least: &str, greatest: &str) -> String {
        self.fill("report-fit.to", &[("least", least), ("greatest", greatest)])
    }

    /// A depth: `6 mm`, `0.236 in (6 mm)`.
    pub(super) fn depth(&self, mm: f64) -> Figure {
        let text = format!("{}\u{a0}mm", self.short(mm));
        match self.units {
            Units::Mm => Figure { text, mm: None },
            Units::Inch => Figure {
                text: format!("{}\u{a0}in", self.decimal(mm / INCH_MM, 3)),
                mm: Some(text),
            },
        }
    }

    /// The two ends of an axis: `35°–215°`.
    pub(super) fn axis(&self, deg: f64) -> String {
        let near = deg.rem_euclid(180.0).round() % 180.0;
        format!("{near:.0}°–{:.0}°", near + 180.0)
    }

    /// A moment in the report's time zone, to the minute.
    pub(super) fn moment(&self, moment: Moment) -> String {
        let local = self.zone.to_datetime(moment.0);
        let form = match self.language {
            Language::En => "%Y-%m-%d\u{a0}%H:%M",
            Language::De => "%d.%m.%Y\u{a0}%H:%M",
        };
        local.strftime(form).to_string()
    }

    /// The day of a moment in the report's time zone.
    pub(super) fn day_of(&self, moment: Moment) -> String {
        self.day(Day(self.zone.to_datetime(moment.0).date()))
    }

    /// A day.
    pub(super) fn day(&self, day: Day) -> String {
        self.language.day(day)
    }
}

/// Text from outside as it may be shown: in one line, without what controls or turns text.
pub(super) fn plain(text: &str) -> String {
    let mut shown = String::with_capacity(text.len());
    for character in text.trim().chars() {
        match character {
            _ if character.is_whitespace() => shown.push(' '),
            // Bidirectional formatting and other invisible formatting characters of Unicode
            // (general category Cf, those that alter how other text is read).
            '\u{200b}'..='\u{200f}'
            | '\u{202a}'..='\u{202e}'
            | '\u{2060}'..='\u{206f}'
            | '\u{feff}'
            | '\u{fff9}'..='\u{fffb}' => shown.push(UNSHOWN),
            _ if character.is_control() => shown.push(UNSHOWN),
            _ => shown.push(character),
        }
    }
    shown
}

/// With a capital first letter.
pub(super) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words(language: Language, units: Units) -> Words {
        Words {
            language,
            units,
            zone: TimeZone::UTC,
        }
    }

    /// 25.4 mm are an inch by definition; 46.000 mm are 1.81102… in.
    #[test]
    fn lengths_are_written_as_the_reader_counts() {
        let english = words(Language::En, Units::Inch);
        let size = english.measured(46.0, Some(0.001_21), false);
        assert_eq!(size.text, "1.8110\u{a0}±\u{a0}0.0001\u{a0}in");
        assert_eq!(size.mm.as_deref(), Some("46.000\u{a0}±\u{a0}0.002\u{a0}mm"));
        let german = words(Language::De, Units::Mm);
        assert_eq!(german.signed(-0.0462).text, "\u{2212}0,046\u{a0}mm");
        assert_eq!(german.depth(7.5).text, "7,5\u{a0}mm");
        assert_eq!(german.signed(-0.0002).text, "0,000\u{a0}mm");
        assert_eq!(german.signed(0.0002).text, "0,000\u{a0}mm");
        assert_eq!(german.signed(0.0012).text, "+0,001\u{a0}mm");
        assert_eq!(english.depth(6.0).inline(), "0.236\u{a0}in (6\u{a0}mm)");
    }

    #[test]
    fn a_sentence_is_filled_and_a_reason_found_by_its_text() {
        let german = words(Language::De, Units::Mm);
        let page = german.fill("report-page.page-of", &[("page", "1"), ("pages", "2")]);
        assert_eq!(page, "Seite 1 von 2");
        assert_eq!(german.name("drive side"), "Antriebsseite");
        assert_eq!(
            german.reason("needs 5 directions, has 4"),
            "braucht 5 Richtungen, hat 4"
        );
        assert_eq!(german.reason("the moon is full"), "the moon is full");
        assert_eq!(german.named("step", "of-tomorrow"), "of-tomorrow");
    }

    #[test]
    fn what_turns_or_breaks_text_is_shown_as_a_mark() {
        assert_eq!(plain(" a\nb\tc\u{202e}d\u{7}"), "a b c▯d▯");
    }
}
