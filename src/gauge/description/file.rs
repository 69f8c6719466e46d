//! The file behind a description, and the checks it must pass.

mod parts;
mod tables;

use std::collections::BTreeMap;
use std::ops::Range;
use std::time::Duration;

use serde::Deserialize;
use toml::Spanned;

use self::parts::FilePart;
use self::tables::{FileAsk, FileFrame};
use super::layout::Part;
use super::{
    Ask, BiggerBoreReads, Capture, Description, DescriptionError, Sends, SerialLine, Trigger,
    shipped,
};
use crate::bore::Contact;
use crate::mistake::Mistake;
use crate::units::{Length, LengthUnit};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    name: Spanned<String>,
    #[serde(default)]
    summary: String,
    #[serde(default = "millimetres")]
    unit: Unit,
    resolution: Spanned<f64>,
    #[serde(default = "button")]
    trigger: Spanned<Trigger>,
    bounce_ms: Option<Spanned<u64>>,
    ask: Option<Spanned<FileAsk>>,
    sends: Option<Spanned<Sends>>,
    #[serde(default = "more")]
    bigger_bore_reads: BiggerBoreReads,
    #[serde(default = "two_point")]
    contact: Contact,
    capture: Option<Spanned<Capture>>,
    layout: Spanned<Vec<Spanned<FilePart>>>,
    #[serde(default)]
    messages: BTreeMap<String, String>,
    serial: Option<Spanned<SerialLine>>,
    frame: Option<Spanned<FileFrame>>,
}

/// The unit of a gauge.
#[derive(Clone, Copy, PartialEq, Deserialize)]
#[serde(rename_all = "lowercase")]
enum Unit {
    Mm,
    In,
    Deg,
}

const fn millimetres() -> Unit {
    Unit::Mm
}
fn button() -> Spanned<Trigger> {
    Spanned::new(0..0, Trigger::Button)
}
const fn more() -> BiggerBoreReads {
    BiggerBoreReads::More
}
const fn two_point() -> Contact {
    Contact::TwoPoint
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
    let unit = match read.unit {
        Unit::Mm | Unit::Deg => LengthUnit::Mm,
        Unit::In => LengthUnit::In,
    };
    let layout = parts::layout(&source, &read.layout, unit)?;
    let sends = sends(&source, read.unit, read.sends, &read.layout.span(), &layout)?;
    let (resolution, resolution_decimal) = resolution(&source, &read.resolution, unit, &layout)?;
    let frame = tables::frame(&source, read.frame)?;
    let serial = tables::serial(&source, read.serial)?;
    let trigger = *read.trigger.get_ref();
    let ask = tables::ask(&source, trigger, &read.trigger, read.ask)?;
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
    let capture = capture(&source, trigger, ask.as_ref(), read.contact, read.capture)?;
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
        unit,
        resolution,
        resolution_decimal,
        trigger,
        bounce: Duration::from_millis(bounce),
        ask,
        sends,
        bigger_bore_reads: read.bigger_bore_reads,
        contact: read.contact,
        capture,
    })
}

/// What the number is: an angle where the unit is one.
fn sends(
    source: &Source<'_>,
    unit: Unit,
    sends: Option<Spanned<Sends>>,
    layout_at: &Range<usize>,
    layout: &[Part],
) -> Result<Sends, DescriptionError> {
    match (unit, sends) {
        (Unit::Deg, Some(sends)) => Err(source.wrong(
            sends.span(),
            "sends",
            "a gauge with unit = \"deg\" sends angles; remove this key",
        )),
        (Unit::Deg, None) if layout.iter().any(|part| matches!(part, Part::Unit { .. })) => {
            Err(source.wrong(
                layout_at.clone(),
                "layout",
                "a part with `unit` is for lengths; write the degrees as `text`",
            ))
        }
        (Unit::Deg, None) => Ok(Sends::Angle),
        (_, sends) => Ok(sends.map_or(Sends::Size, Spanned::into_inner)),
    }
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

/// A gauge that is asked less often gives too few values while it is rocked.
const ROCKED_EVERY: Duration = Duration::from_millis(200);

/// Which values are readings: as the file says, else as the trigger lets one expect.
fn capture(
    source: &Source<'_>,
    trigger: Trigger,
    ask: Option<&Ask>,
    contact: Contact,
    capture: Option<Spanned<Capture>>,
) -> Result<Capture, DescriptionError> {
    let too_slow = ask.is_some_and(|ask| ask.every > ROCKED_EVERY);
    let Some(capture) = capture else {
        return Ok(match trigger {
            Trigger::Button => Capture::Each,
            // An indicator swept from an axis is turned, not rocked: its turning points are lobes.
            _ if too_slow || contact == Contact::Radius => Capture::OnCommand,
            Trigger::Stream | Trigger::Ask => Capture::TurningPoint,
        });
    };
    let wrong = |message| Err(source.wrong(capture.span(), "capture", message));
    match (*capture.get_ref(), trigger) {
        (Capture::TurningPoint, Trigger::Button) => wrong(
            "a gauge with trigger = \"button\" sends too few values to find a turning point; \
             write \"each\"",
        ),
        (Capture::TurningPoint, _) if too_slow => wrong(
            "a turning point is found from five values a second or more: set every_ms = 200 or \
             less, or write \"on-command\"",
        ),
        (capture, _) => Ok(capture),
    }
}
