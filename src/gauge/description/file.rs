//! The file behind a description, and the checks it must pass.

use std::collections::BTreeMap;
use std::ops::Range;
use std::time::Duration;

use serde::Deserialize;
use toml::Spanned;

use super::layout::{Part, Point, SignRule};
use super::{
    Ask, BiggerBoreReads, Description, DescriptionError, FrameRule, Sends, SerialLine, Trigger,
    shipped,
};
use crate::bore::Contact;
use crate::mistake::Mistake;
use crate::units::{Length, LengthUnit};

/// No frame of a gauge is longer; a bound on the memory of the framer.
const LONGEST_FRAME: usize = 4_096;
/// A layout longer than this describes no gauge, and keeps matching cheap.
const MOST_PARTS: usize = 24;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    name: Spanned<String>,
    #[serde(default)]
    summary: String,
    #[serde(default = "millimetres")]
    unit: LengthUnit,
    resolution: Spanned<f64>,
    #[serde(default = "button")]
    trigger: Spanned<Trigger>,
    bounce_ms: Option<Spanned<u64>>,
    ask: Option<Spanned<FileAsk>>,
    #[serde(default = "size")]
    sends: Sends,
    #[serde(default = "more")]
    bigger_bore_reads: BiggerBoreReads,
    #[serde(default = "two_point")]
    contact: Contact,
    layout: Spanned<Vec<Spanned<FilePart>>>,
    #[serde(default)]
    messages: BTreeMap<String, String>,
    serial: Option<Spanned<SerialLine>>,
    frame: Option<Spanned<FileFrame>>,
}

const fn millimetres() -> LengthUnit {
    LengthUnit::Mm
}
fn button() -> Spanned<Trigger> {
    Spanned::new(0..0, Trigger::Button)
}
const fn size() -> Sends {
    Sends::Size
}
const fn more() -> BiggerBoreReads {
    BiggerBoreReads::More
}
const fn two_point() -> Contact {
    Contact::TwoPoint
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct FileAsk {
    send: String,
    every_ms: u64,
    silent_after_ms: Option<u64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct FileFrame {
    ends: Option<Vec<String>>,
    idle_ms: Option<u64>,
    longest: Option<usize>,
    unfinished_ms: Option<u64>,
}

/// One table of the layout. Exactly one of `text`, `blanks`, `sign`, `digits`, `unit` and
/// `status` is present; a plain struct and not an enum, since errors keep their place only so.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct FilePart {
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
struct FileUnit {
    mm: Option<String>,
    r#in: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct FileStatus {
    good: Vec<String>,
    #[serde(default)]
    bad: BTreeMap<String, String>,
}

/// The text being checked, to point into.
struct Source<'a> {
    text: &'a str,
    file: &'a str,
}

impl Source<'_> {
    fn wrong(&self, span: Range<usize>, key: &str, message: impl Into<String>) -> DescriptionError {
        DescriptionError::Mistake(Mistake::at(
            self.file,
            self.text,
            span,
            format!("`{key}`: {}", message.into()),
        ))
    }
}

pub(super) fn parse(text: &str, file: &str) -> Result<Description, DescriptionError> {
    let source = Source { text, file };
    let read: File = toml::from_str(text)
        .map_err(|error| DescriptionError::Mistake(Mistake::toml(file, text, &error)))?;

    if !shipped::is_name(read.name.get_ref()) {
        return Err(source.wrong(
            read.name.span(),
            "name",
            "a name has 1 to 64 lower-case letters, digits and hyphens",
        ));
    }
    let layout = layout(&source, &read.layout, read.unit)?;
    let (resolution, resolution_decimal) =
        resolution(&source, &read.resolution, read.unit, &layout)?;
    let frame = frame(&source, read.frame)?;
    let serial = serial(&source, read.serial)?;
    let trigger = *read.trigger.get_ref();
    let ask = ask(&source, trigger, &read.trigger, read.ask)?;
    let bounce = match (trigger, &read.bounce_ms) {
        (Trigger::Button, None) => 150,
        (Trigger::Button, Some(ms)) if *ms.get_ref() <= 10_000 => *ms.get_ref(),
        (_, None) => 0,
        (Trigger::Button, Some(ms)) => {
            return Err(source.wrong(ms.span(), "bounce_ms", "a bounce lasts at most 10000 ms"));
        }
        (_, Some(ms)) => {
            return Err(source.wrong(
                ms.span(),
                "bounce_ms",
                "only a gauge with trigger = \"button\" bounces; remove this key",
            ));
        }
    };
    Ok(Description {
        name: read.name.into_inner(),
        summary: read.summary,
        serial,
        frame,
        layout,
        messages: read
            .messages
            .into_iter()
            .map(|(text, meaning)| (text.trim().as_bytes().to_vec(), meaning))
            .collect(),
        unit: read.unit,
        resolution,
        resolution_decimal,
        trigger,
        bounce: Duration::from_millis(bounce),
        ask,
        sends: read.sends,
        bigger_bore_reads: read.bigger_bore_reads,
        contact: read.contact,
    })
}

fn layout(
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

/// Also checks that the layout can show the resolution: the decimals it may send suffice.
fn resolution(
    source: &Source<'_>,
    resolution: &Spanned<f64>,
    unit: LengthUnit,
    layout: &[Part],
) -> Result<(Length, (i64, u32)), DescriptionError> {
    let value = *resolution.get_ref();
    let wrong = |message| Err(source.wrong(resolution.span(), "resolution", message));
    if !(value > 0.0 && value <= 1.0) {
        return wrong(
            "the resolution is a decimal fraction above 0, at most 1, in the form's unit",
        );
    }
    // The shortest decimal text of the double is the text in the file, less trailing zeros.
    let text = value.to_string();
    let digits = text.split_once('.').map_or("", |(_, digits)| digits);
    let mantissa = text.replace('.', "").parse::<i64>();
    let (Ok(mantissa), Ok(decimals @ 0..=9)) = (mantissa, u32::try_from(digits.len())) else {
        return wrong("the resolution has at most 9 decimals");
    };
    let sendable = layout.iter().find_map(|part| match part {
        Part::Number { decimals, .. } => Some(u32::from(decimals.1)),
        _ => None,
    });
    if sendable.is_some_and(|most| most < decimals) {
        return wrong("the layout's number has fewer decimals than the resolution");
    }
    match Length::from_decimal(mantissa, decimals, unit) {
        Some(length) => Ok((length, (mantissa, decimals))),
        None => wrong("the resolution is no length"),
    }
}

fn frame(
    source: &Source<'_>,
    frame: Option<Spanned<FileFrame>>,
) -> Result<FrameRule, DescriptionError> {
    let span = frame.as_ref().map_or(0..0, Spanned::span);
    let frame = frame.map(Spanned::into_inner);
    let (ends, idle_ms, longest, unfinished_ms) = frame.map_or((None, None, None, None), |f| {
        (f.ends, f.idle_ms, f.longest, f.unfinished_ms)
    });
    let wrong = |key: &str, message: &str| {
        Err(source.wrong(span.clone(), &format!("frame.{key}"), message))
    };
    // Any line end, unless the frame ends by a gap alone.
    let ends = match (ends, idle_ms) {
        (Some(ends), _) => ends,
        (None, Some(_)) => Vec::new(),
        (None, None) => ["\r\n", "\r", "\n"].map(str::to_owned).to_vec(),
    };
    if ends.is_empty() && idle_ms.is_none() {
        return wrong(
            "ends",
            "a frame needs an end, such as \"\\r\\n\", or idle_ms",
        );
    }
    if ends
        .iter()
        .any(|end| end.is_empty() || end.len() > 8 || !end.is_ascii())
    {
        return wrong(
            "ends",
            "an end has 1 to 8 ASCII characters, such as \"\\r\\n\"",
        );
    }
    if idle_ms.is_some_and(|ms| ms == 0 || ms > 10_000) {
        return wrong("idle_ms", "the gap is 1 to 10000 ms");
    }
    let longest = longest.unwrap_or(64);
    if !(4..=LONGEST_FRAME).contains(&longest) {
        return wrong("longest", "the longest frame is 4 to 4096 bytes");
    }
    let unfinished_ms = unfinished_ms.unwrap_or(2_000);
    if unfinished_ms == 0 {
        return wrong("unfinished_ms", "this must be at least 1 ms");
    }
    Ok(FrameRule {
        ends: ends.into_iter().map(String::into_bytes).collect(),
        idle: idle_ms.map(Duration::from_millis),
        longest,
        unfinished: Duration::from_millis(unfinished_ms),
    })
}

fn serial(
    source: &Source<'_>,
    serial: Option<Spanned<SerialLine>>,
) -> Result<SerialLine, DescriptionError> {
    let Some(serial) = serial else {
        return Ok(SerialLine::default());
    };
    let span = serial.span();
    let line = serial.into_inner();
    let wrong =
        |key: &str, message: &str| Err(source.wrong(span, &format!("serial.{key}"), message));
    if !(50..=4_000_000).contains(&line.baud) {
        return wrong("baud", "the rate is 50 to 4000000 bits a second");
    }
    if !(5..=8).contains(&line.data_bits) {
        return wrong("data_bits", "there are 5 to 8 data bits");
    }
    if !(1..=2).contains(&line.stop_bits) {
        return wrong("stop_bits", "there are 1 or 2 stop bits");
    }
    Ok(line)
}

fn ask(
    source: &Source<'_>,
    trigger: Trigger,
    trigger_key: &Spanned<Trigger>,
    ask: Option<Spanned<FileAsk>>,
) -> Result<Option<Ask>, DescriptionError> {
    let Some(ask) = ask else {
        if trigger == Trigger::Ask {
            return Err(source.wrong(
                trigger_key.span(),
                "trigger",
                "a gauge that is asked needs a table [ask] with `send` and `every_ms`",
            ));
        }
        return Ok(None);
    };
    let span = ask.span();
    let ask = ask.into_inner();
    if trigger != Trigger::Ask {
        return Err(source.wrong(span, "ask", "this table needs trigger = \"ask\""));
    }
    if ask.send.is_empty() || !ask.send.is_ascii() {
        return Err(source.wrong(
            span,
            "ask.send",
            "the question is one or more ASCII characters",
        ));
    }
    if !(10..=3_600_000).contains(&ask.every_ms) {
        return Err(source.wrong(span, "ask.every_ms", "ask every 10 to 3600000 ms"));
    }
    let silent_after = ask
        .silent_after_ms
        .unwrap_or_else(|| (3 * ask.every_ms).max(2_000));
    Ok(Some(Ask {
        send: ask.send.into_bytes(),
        every: Duration::from_millis(ask.every_ms),
        silent_after: Duration::from_millis(silent_after),
    }))
}
