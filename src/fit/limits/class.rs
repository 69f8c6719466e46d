//! The text of a tolerance class: a letter, a grade, capital for holes.

use std::borrow::Cow;
use std::fmt;
use std::str::FromStr;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::LimitsError;

/// What has the size.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Feature {
    /// An inside size, capital letters.
    Hole,
    /// An outside size, small letters.
    Shaft,
}

/// The letters of fundamental deviations held here, named as for holes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[expect(missing_docs, reason = "the letters of ISO 286-1")]
pub enum Letter {
    F,
    G,
    H,
    J,
    Js,
    K,
    M,
    N,
    P,
    R,
    S,
}

impl Letter {
    const ALL: [(Self, &'static str); 11] = [
        (Self::F, "F"),
        (Self::G, "G"),
        (Self::H, "H"),
        (Self::J, "J"),
        (Self::Js, "JS"),
        (Self::K, "K"),
        (Self::M, "M"),
        (Self::N, "N"),
        (Self::P, "P"),
        (Self::R, "R"),
        (Self::S, "S"),
    ];

    fn capital(self) -> &'static str {
        Self::ALL
            .iter()
            .find(|(letter, _)| *letter == self)
            .map_or("", |(_, text)| text)
    }

    /// Grades held, from and to (which grades ISO 286-2 lists: from memory).
    const fn grades(self, feature: Feature) -> (u8, u8) {
        match (self, feature) {
            (Self::H | Self::Js, _) => (1, 11),
            (Self::J, Feature::Hole) => (6, 8),
            (Self::J, Feature::Shaft) => (5, 6),
            (Self::K | Self::M | Self::N, Feature::Hole) => (3, 8),
            (Self::K | Self::M | Self::N, Feature::Shaft) => (3, 9),
            (Self::F | Self::G | Self::P | Self::R | Self::S, _) => (3, 10),
        }
    }
}

/// A tolerance class such as `H7` or `p6`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Class {
    /// Hole or shaft.
    pub feature: Feature,
    /// The fundamental deviation.
    pub letter: Letter,
    /// The standard tolerance grade.
    pub grade: u8,
}

impl Class {
    pub(super) fn check_grade(self) -> Result<(), LimitsError> {
        let (from, to) = self.letter.grades(self.feature);
        if (from..=to).contains(&self.grade) {
            return Ok(());
        }
        Err(LimitsError::Grade {
            class: self.to_string(),
            letter: self.letter_text(),
            from,
            to,
        })
    }

    fn letter_text(self) -> String {
        match self.feature {
            Feature::Hole => self.letter.capital().to_owned(),
            Feature::Shaft => self.letter.capital().to_ascii_lowercase(),
        }
    }
}

impl FromStr for Class {
    type Err = LimitsError;

    fn from_str(text: &str) -> Result<Self, LimitsError> {
        let text = text.trim();
        let not_a_class = || LimitsError::NotAClass(text.to_owned());
        let at = text
            .find(|c: char| c.is_ascii_digit())
            .ok_or_else(not_a_class)?;
        let (letters, digits) = text.split_at(at);
        let grade: u8 = digits.parse().map_err(|_| not_a_class())?;
        // ISO 286-1 has grades IT01 and IT0 below IT1.
        if digits.starts_with('0') && !letters.is_empty() {
            return Err(LimitsError::BelowOne(text.to_owned()));
        }
        let feature = match letters {
            _ if letters.is_empty() => return Err(not_a_class()),
            _ if letters.bytes().all(|b| b.is_ascii_uppercase()) => Feature::Hole,
            _ if letters.bytes().all(|b| b.is_ascii_lowercase()) => Feature::Shaft,
            // "Js" and "jS" state neither.
            _ => return Err(not_a_class()),
        };
        let letter = Letter::ALL
            .iter()
            .find(|(_, capital)| capital.eq_ignore_ascii_case(letters))
            .map(|(letter, _)| *letter)
            .ok_or_else(|| LimitsError::Letter(text.to_owned()))?;
        let class = Self {
            feature,
            letter,
            grade,
        };
        class.check_grade()?;
        Ok(class)
    }
}

impl fmt::Display for Class {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{}", self.letter_text(), self.grade)
    }
}

impl Serialize for Class {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Class {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer)?
            .parse()
            .map_err(serde::de::Error::custom)
    }
}

impl JsonSchema for Class {
    fn schema_name() -> Cow<'static, str> {
        "ToleranceClass".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({"type": "string", "pattern": "^([FGHJKMNPRS]|JS|[fghjkmnprs]|js)[0-9]{1,2}$"})
    }
}
