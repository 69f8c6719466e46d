//! The layout of a frame: its parts, and what can be wrong with them.

use std::collections::BTreeMap;

use serde::Deserialize;
use toml::Spanned;

use super::super::DescriptionError;
use super::super::layout::{Part, Point, SignRule};
use super::Source;
use crate::units::LengthUnit;

/// A layout longer than this describes no gauge, and keeps matching cheap.
const MOST_PARTS: usize = 24;

/// One table of the layout. Exactly one of `text`, `blanks`, `sign`, `digits`, `unit` and
/// `status` is present; a plain struct and not an enum, since errors keep their place only so.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct FilePart {
    text: Option<String>,
    blanks: Option<(u8, u8)>,
    sign: Option<SignRule>,
    digits: Option<(u8, u8)>,
    decimals: Option<(u8, u8)>,
    point: Option<Point>,
    unit: Option<FileUnit>,
    status: Option<FileStatus>,
    optional: Option<bool>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct FileUnit {
    mm: Option<String>,
    r#in: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct FileStatus {
    good: Vec<String>,
    #[serde(default)]
    bad: BTreeMap<String, String>,
}

pub(super) fn layout(
    source: &Source<'_>,
    parts: &Spanned<Vec<Spanned<FilePart>>>,
    default_unit: LengthUnit,
) -> Result<Vec<Part>, DescriptionError> {
    let mut layout = Vec::new();
    for (index, part) in parts.get_ref().iter().enumerate() {
        let key = format!("layout[{index}]");
        let part = self::part(part.get_ref())
            .map_err(|message| source.wrong(part.span(), &key, message))?;
        layout.push(part);
    }
    let count = |wanted: fn(&Part) -> bool| layout.iter().filter(|part| wanted(part)).count();
    let numbers = count(|part| matches!(part, Part::Number { .. }));
    let signs = count(|part| matches!(part, Part::Sign(_)));
    let units = count(|part| matches!(part, Part::Unit { .. }));
    let default_is_missing = layout.iter().any(|part| match (part, default_unit) {
        (
            Part::Unit {
                mm,
                optional: false,
                ..
            },
            LengthUnit::Mm,
        ) => mm.is_none(),
        (
            Part::Unit {
                inch,
                optional: false,
                ..
            },
            LengthUnit::In,
        ) => inch.is_none(),
        _ => false,
    });
    let message = if numbers != 1 {
        "a layout has exactly one part with `digits`"
    } else if signs > 1 || units > 1 {
        "a layout has at most one `sign` and one `unit`"
    } else if default_is_missing {
        "the part with `unit` has no text for the form's own unit (the key `unit` of the file, \
         mm where left out)"
    } else if layout.len() > MOST_PARTS {
        "a layout has at most 24 parts"
    } else {
        return Ok(layout);
    };
    Err(source.wrong(parts.span(), "layout", message))
}

fn part(part: &FilePart) -> Result<Part, String> {
    let kinds = [
        part.text.is_some(),
        part.blanks.is_some(),
        part.sign.is_some(),
        part.digits.is_some(),
        part.unit.is_some(),
        part.status.is_some(),
    ];
    if kinds.iter().filter(|present| **present).count() != 1 {
        return Err(
            "a part has exactly one of `text`, `blanks`, `sign`, `digits`, `unit` and \
                    `status`"
                .to_owned(),
        );
    }
    if part.digits.is_none() && (part.decimals.is_some() || part.point.is_some()) {
        return Err("`decimals` and `point` belong beside `digits`".to_owned());
    }
    if part.optional.is_some() && part.text.is_none() && part.unit.is_none() {
        return Err(
            "`optional` belongs beside `text` or `unit`; for a sign write \
                    sign = \"optional\""
                .to_owned(),
        );
    }
    let optional = part.optional.unwrap_or(false);
    if let Some(text) = &part.text {
        let bytes = ascii(text, 1)?;
        return Ok(Part::Text { bytes, optional });
    }
    if let Some((least, most)) = part.blanks {
        ordered("blanks", (least, most), 64)?;
        return Ok(Part::Blanks { least, most });
    }
    if let Some(rule) = part.sign {
        return Ok(Part::Sign(rule));
    }
    if let Some(whole) = part.digits {
        return number(whole, part.decimals.unwrap_or((0, 0)), part.point);
    }
    if let Some(unit) = &part.unit {
        let mm = unit.mm.as_deref().map(|text| ascii(text, 1)).transpose()?;
        let inch = unit
            .r#in
            .as_deref()
            .map(|text| ascii(text, 1))
            .transpose()?;
        if mm.is_none() && inch.is_none() {
            return Err("a unit has `mm`, `in` or both".to_owned());
        }
        if mm == inch {
            return Err("the texts for `mm` and `in` must differ".to_owned());
        }
        return Ok(Part::Unit { mm, inch, optional });
    }
    let status = part.status.as_ref().ok_or("a part must not be empty")?;
    let good = status
        .good
        .iter()
        .map(|text| ascii(text, 0))
        .collect::<Result<Vec<_>, _>>()?;
    let bad = status
        .bad
        .iter()
        .map(|(text, meaning)| Ok((ascii(text, 0)?, meaning.clone())))
        .collect::<Result<Vec<_>, String>>()?;
    if good.is_empty() {
        return Err("`good` needs at least one text with which a frame is a reading".to_owned());
    }
    if good
        .iter()
        .any(|text| bad.iter().any(|(other, _)| other == text))
    {
        return Err("a text can't be both `good` and `bad`".to_owned());
    }
    Ok(Part::Status { good, bad })
}

fn number(whole: (u8, u8), decimals: (u8, u8), point: Option<Point>) -> Result<Part, String> {
    ordered("digits", whole, 9)?;
    ordered("decimals", decimals, 9)?;
    let point = point.unwrap_or(Point::Point);
    if whole.0 == 0 && decimals.0 == 0 {
        return Err("with no digit before the point at least one decimal is needed".to_owned());
    }
    if point == Point::Implied && decimals.0 != decimals.1 {
        return Err(
            "with point = \"implied\" the number of decimals must be fixed, such as \
                    decimals = [4, 4]"
                .to_owned(),
        );
    }
    Ok(Part::Number {
        whole,
        point,
        decimals,
    })
}

fn ordered(key: &str, (least, most): (u8, u8), limit: u8) -> Result<(), String> {
    if least > most || most > limit {
        return Err(format!(
            "`{key}` is [least, most], least not above most, most at most {limit}"
        ));
    }
    Ok(())
}

fn ascii(text: &str, least: usize) -> Result<Vec<u8>, String> {
    if text.len() < least || text.len() > 64 || !text.is_ascii() {
        return Err("a text in a layout has 1 to 64 ASCII characters".to_owned());
    }
    Ok(text.as_bytes().to_vec())
}
