//! One job: what it came to, its report, its story.

use maud::{Markup, html};
use serde::Deserialize;

use super::frame::{Here, address, page, troubles, turning};
use super::list::mark;
use super::story::{Kind, Told, story};
use super::{done, minute};
use crate::display::words::Language;
use crate::job::{Event, Phase, Record};
use crate::memory::{Entry, Trouble};

/// Sentences on a page: a job whose gauge sent noise all day has thousands.
const PAGE: usize = 200;

/// What the address asks for.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct Asked {
    page: String,
    pub(super) lang: String,
}

/// A job and what is known of it.
pub(super) struct Shown<'a> {
    pub(super) entry: &'a Entry,
    pub(super) record: &'a Record,
    pub(super) events: &'a [Event],
    /// What of its events can't be read.
    pub(super) troubles: &'a [Trouble],
    /// How many older revisions of its record there are.
    pub(super) older: usize,
}

pub(super) fn show(lang: Language, shown: &Shown<'_>, asked: &Asked) -> Markup {
    let (entry, record) = (shown.entry, shown.record);
    let told = story(lang, record, shown.events);
    let pages = told.len().div_ceil(PAGE).max(1);
    let at = asked.page.parse().unwrap_or(1).clamp(1, pages);
    let here = format!("/jobs/{}", record.job);
    let to = |number: usize| {
        address(
            &here,
            &[("lang", lang.tag()), ("page", &number.to_string())],
        )
    };
    let done = done(lang, entry);
    let main = html! {
        (troubles(lang, shown.troubles))
        dl.facts {
            (fact(lang.say("shelf.seat"), &html! { (lang.seat(&record.seat.title)) }))
            (fact(lang.say("shelf.opened"), &html! { (minute(lang, record.opened_at)) }))
            (fact(lang.say("shelf.closed"), &html! {
                @match record.closed_at { Some(at) => { (minute(lang, at)) } None => { b { (lang.say("shelf.open")) } } }
            }))
            (fact(lang.say("shelf.found"), &mark(lang, entry.verdict(Phase::AsFound))))
            (fact(lang.say("shelf.left"), &mark(lang, entry.verdict(Phase::AsLeft))))
            @if !done.is_empty() { (fact(lang.say("shelf.done"), &html! { (done.join("; ")) })) }
            (fact(lang.say("shelf.job"), &html! { (record.job) }))
            @if shown.older > 0 {
                (fact(lang.say("shelf.revision"), &html! {
                    (lang.fill("shelf.revisions", &[("revision", &record.revision), ("older", &shown.older)]))
                }))
            }
        }
        p.report {
            a href=(format!("/report/{}.html?lang={}", record.job, lang.tag())) { (lang.say("shelf.report")) }
            a href=(format!("/report/{}.pdf?lang={}", record.job, lang.tag())) { (lang.say("shelf.report-pdf")) }
        }
        h2 { (lang.say("shelf.story")) }
        ol.story { @for told in told.iter().skip((at - 1) * PAGE).take(PAGE) { (sentence(lang, told)) } }
        (turning(lang, at, pages, to))
    };
    page(lang, Here::Job, &record.part, &main)
}

fn fact(name: &str, value: &Markup) -> Markup {
    html! { div { dt { (name) } dd { (value) } } }
}

fn sentence(lang: Language, told: &Told) -> Markup {
    let class = match told.kind {
        Kind::Plain => "plain",
        Kind::Gauged => "gauged",
        Kind::Refused => "refused",
    };
    html! {
        li class=(class) {
            time datetime=(told.at) { (minute(lang, told.at)) }
            span {
                @if told.kind == Kind::Refused { span aria-hidden="true" { "✕ " } }
                (told.text)
            }
        }
    }
}
