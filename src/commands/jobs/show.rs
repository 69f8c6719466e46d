//! One job's whole story.

use crate::commands::data::{DataArgs, failure};
use crate::commands::{Failure, Outcome as _};
use crate::display::Language;
use crate::display::shelf::{Kind, decision, done, minute, story};
use crate::job::Phase;

pub(super) fn text(data: &DataArgs, words: &str, json: bool) -> Result<String, Failure> {
    let records = data.records()?;
    let entry = records.find(words).map_err(failure)?;
    let (events, damaged) = records.events(entry).map_err(failure)?;
    for damaged in &damaged {
        tracing::warn!("{damaged}");
    }
    if json {
        let mut text = String::new();
        for event in &events {
            text.push_str(&serde_json::to_string(event).outside()?);
            text.push('\n');
        }
        return Ok(text);
    }
    let lang = Language::En;
    let record = records.record(entry, &data.shop()?).map_err(failure)?;
    let until = match record.closed_at {
        Some(at) => format!("closed {}", minute(lang, at)),
        None => "still open".to_owned(),
    };
    let mut text = format!(
        "{}\n{}\njob {}, opened {}, {until}\n",
        record.part,
        record.seat.title,
        record.job,
        minute(lang, record.opened_at),
    );
    for phase in [Phase::AsFound, Phase::AsLeft] {
        let verdict = decision(lang, entry.verdict(phase));
        text.push_str(&format!("{phase}: {verdict}\n"));
    }
    let done = done(lang, entry);
    if !done.is_empty() {
        text.push_str(&format!("done: {}\n", done.join("; ")));
    }
    text.push('\n');
    for told in story(lang, &record, &events) {
        let mark = if told.kind == Kind::Refused { '!' } else { ' ' };
        text.push_str(&format!("{} {mark} {}\n", minute(lang, told.at), told.text));
    }
    let older = records.older_revisions(entry).map_err(failure)?;
    if !older.is_empty() {
        text.push_str(&format!(
            "\nThis is revision {} of the record; older revisions beside it: {}.\n",
            record.revision,
            older.len()
        ));
    }
    Ok(text)
}
