//! The tables `[frame]`, `[serial]` and `[ask]`, and what can be wrong with them.

use std::time::Duration;

use serde::Deserialize;
use toml::Spanned;

use super::super::{Ask, DescriptionError, FrameRule, SerialLine, Trigger};
use super::Source;

/// No frame of a gauge is longer; a bound on the memory of the framer.
const LONGEST_FRAME: usize = 4_096;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct FileAsk {
    send: String,
    every_ms: u64,
    silent_after_ms: Option<u64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct FileFrame {
    ends: Option<Vec<String>>,
    idle_ms: Option<u64>,
    longest: Option<usize>,
    unfinished_ms: Option<u64>,
}

pub(super) fn frame(
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

pub(super) fn serial(
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

pub(super) fn ask(
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
