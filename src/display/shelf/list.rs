//! The list of jobs, with what is asked for above it.

use std::collections::BTreeMap;
use std::sync::Arc;

use maud::{Markup, html};
use serde::Deserialize;

use super::frame::{Here, address, page, troubles, turning};
use super::{decision, done};
use crate::display::words::Language;
use crate::job::{Decision, Phase};
use crate::memory::{Entry, Filter, Records};
use crate::units::Day;

/// Jobs on a page.
const PAGE: usize = 50;

/// What the address asks for. A form sends each field, the empty ones too.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct Asked {
    q: String,
    seat: String,
    verdict: String,
    since: String,
    until: String,
    open: String,
    page: String,
    pub(super) lang: String,
}

impl Asked {
    fn filter(&self) -> Filter {
        let given = |text: &str| Some(text.trim().to_owned()).filter(|text| !text.is_empty());
        let day = |text: &str| text.trim().parse().ok().map(Day);
        Filter {
            words: self.q.clone(),
            seat: given(&self.seat),
            verdict: verdict(&self.verdict),
            since: day(&self.since),
            until: day(&self.until),
            open: !self.open.is_empty(),
        }
    }

    /// The address of page `number` of the same list.
    fn page(&self, number: usize) -> String {
        let number = number.to_string();
        address(
            "/jobs",
            &[
                ("q", &self.q),
                ("seat", &self.seat),
                ("verdict", &self.verdict),
                ("since", &self.since),
                ("until", &self.until),
                ("open", &self.open),
                ("lang", &self.lang),
                ("page", &number),
            ],
        )
    }
}

const VERDICTS: [(&str, Decision); 3] = [
    ("conforms", Decision::Conforms),
    ("does-not-conform", Decision::DoesNotConform),
    ("cant-tell", Decision::CantTell),
];

fn verdict(word: &str) -> Option<Decision> {
    let mut verdicts = VERDICTS.iter();
    verdicts
        .find(|(known, _)| *known == word)
        .map(|(_, verdict)| *verdict)
}

pub(super) fn show(lang: Language, records: &Records, asked: &Asked) -> Markup {
    let filter = asked.filter();
    let entries: Vec<&Arc<Entry>> = records
        .entries()
        .iter()
        .filter(|entry| filter.takes(entry))
        .collect();
    let pages = entries.len().div_ceil(PAGE).max(1);
    let at = asked.page.parse().unwrap_or(1).clamp(1, pages);
    let shown = entries.iter().skip((at - 1) * PAGE).take(PAGE);
    let main = html! {
        (form(lang, records, asked))
        (troubles(lang, records.troubles()))
        p.count {
            (lang.fill("shelf.count", &[("count", &entries.len()), ("all", &records.entries().len())]))
        }
        @if !entries.is_empty() {
            table.jobs {
                thead { tr {
                    @for key in HEADS { th scope="col" { (lang.say(key)) } }
                } }
                tbody { @for entry in shown { (row(lang, entry)) } }
            }
            (turning(lang, at, pages, |number| asked.page(number)))
        }
    };
    page(lang, Here::Jobs, lang.say("shelf.jobs"), &main)
}

const HEADS: [&str; 7] = [
    "shelf.part",
    "shelf.seat",
    "shelf.opened",
    "shelf.closed",
    "shelf.found",
    "shelf.left",
    "shelf.done",
];

fn form(lang: Language, records: &Records, asked: &Asked) -> Markup {
    let seats: BTreeMap<&str, &str> = records
        .entries()
        .iter()
        .map(|entry| (&*entry.seat.name, &*entry.seat.title))
        .collect();
    let is_open = !asked.open.is_empty();
    html! {
        form.search role="search" action="/jobs" method="get" {
            input type="hidden" name="lang" value=(lang.tag());
            label { (lang.say("shelf.words")) input type="search" name="q" value=(asked.q); }
            label { (lang.say("shelf.seat"))
                select name="seat" {
                    option value="" { (lang.say("shelf.any")) }
                    @for (name, title) in &seats {
                        option value=(name) selected[*name == asked.seat] { (if title.is_empty() { (*name).to_owned() } else { lang.seat(title) }) }
                    }
                }
            }
            label { (lang.say("shelf.verdict"))
                select name="verdict" {
                    option value="" { (lang.say("shelf.any")) }
                    @for (word, verdict) in VERDICTS {
                        option value=(word) selected[word == asked.verdict] { (decision(lang, Some(verdict))) }
                    }
                }
            }
            label { (lang.say("shelf.since")) input type="date" name="since" value=(asked.since); }
            label { (lang.say("shelf.until")) input type="date" name="until" value=(asked.until); }
            label.tick { input type="checkbox" name="open" value="1" checked[is_open]; (lang.say("shelf.only-open")) }
            button.strong type="submit" { (lang.say("shelf.search")) }
        }
    }
}

fn row(lang: Language, entry: &Entry) -> Markup {
    let job = entry.job.to_string();
    let href = address(&format!("/jobs/{job}"), &[("lang", lang.tag())]);
    let closed = entry.closed_at.map(|at| lang.day(at.day_here()));
    html! {
        tr {
            th scope="row" { a href=(href) { (entry.part) } }
            td data-head=(lang.say("shelf.seat")) {
                @if entry.seat.title.is_empty() { (entry.seat.name) } @else { (lang.seat(&entry.seat.title)) }
            }
            td.day data-head=(lang.say("shelf.opened")) { (lang.day(entry.opened_at.day_here())) }
            td.day data-head=(lang.say("shelf.closed")) {
                @match closed { Some(day) => { (day) } None => { b { (lang.say("shelf.open")) } } }
            }
            td data-head=(lang.say("shelf.found")) { (mark(lang, entry.verdict(Phase::AsFound))) }
            td data-head=(lang.say("shelf.left")) { (mark(lang, entry.verdict(Phase::AsLeft))) }
            td data-head=(lang.say("shelf.done")) { (done(lang, entry).join("; ")) }
        }
    }
}

/// A verdict by shape and word, never by colour alone.
pub(super) fn mark(lang: Language, verdict: Option<Decision>) -> Markup {
    let (class, shape) = match verdict {
        Some(Decision::Conforms) => ("inside", "✓ "),
        Some(Decision::DoesNotConform) => ("outside", "✕ "),
        Some(Decision::CantTell) => ("near", "? "),
        None => ("none", ""),
    };
    html! { span class=(class) { span aria-hidden="true" { (shape) } (decision(lang, verdict)) } }
}
