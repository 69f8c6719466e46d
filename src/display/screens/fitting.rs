//! Cleaning, pressing, spinning: the checklist, and the hang test before and after.

use maud::html;

use super::work::option;
use super::{Task, findings, hang, insert, ring, tick};
use crate::display::step::Part;
use crate::display::words::{self, Language};
use crate::job::{JobView, View};

pub(super) fn task(lang: Language, state: &View, job: &JobView) -> Task {
    let body = html! {
        h2 { (lang.say("fitting.title")) }
        ul.plain {
            @for bore in job.chosen.keys() {
                @if let Some(option) = option(job, bore) {
                    li {
                        b { (words::bore(lang, bore)) ": " } (findings::work(lang, option.work))
                        @if let Some(with) = &option.with { ", " (with) }
                    }
                }
            }
            li { (insert::said(lang, job)) }
        }
        (tick::cautions(lang, job))
        (tick::steps(lang, job, Part::Fitting))
        h3 { (lang.say("hang.title")) }
        (hang::section(lang, state, job))
        (ring::check(lang, state))
    };
    Task { body, foot: None }
}
