//! Cleaning, pressing, spinning: the checklist, and the hang test before and after.

use maud::{Markup, html};

use super::swing::swing;
use super::work::option;
use super::{Task, findings, insert, ring, tick};
use crate::display::step::Part;
use crate::display::words::{self, Language};
use crate::job::{HangView, JobView, View};

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
        (hang(lang, state, job))
        (ring::check(lang, state))
    };
    Task { body, foot: None }
}

/// The hang tests so far, free beside fitted, and a new one.
fn hang(lang: Language, state: &View, job: &JobView) -> Markup {
    html! {
        section.hang aria-label=(lang.say("hang.title")) {
            h3 { (lang.say("hang.title")) }
            p.hint { (lang.say("hang.how")) }
            @if !job.hang_tests.is_empty() {
                ul.plain { @for test in &job.hang_tests { li { (one(lang, test)) } } }
            }
            (swing(lang, state, job))
            form.columns data-command="hang_test" data-done=(lang.say("hang.kept")) autocomplete="off" {
                fieldset.wide {
                    legend { (lang.say("hang.when")) }
                    @for (value, key) in [("false", "hang.free"), ("true", "hang.fitted")] {
                        label.choice {
                            input type="radio" name="fitted" data-truth value=(value)
                                checked[(value == "true") != job.hang_tests.is_empty()];
                            span { (lang.say(key)) }
                        }
                    }
                }
                @for (id, name, key) in [
                    ("hang-mass", "test/masses/0/mass_kg", "hang.mass"),
                    ("hang-centre", "test/masses/0/centre_mm", "hang.centre"),
                    ("hang-stays", "test/stays_deg/0", "hang.stays"),
                    ("hang-slips", "test/slips_deg/0", "hang.slips"),
                ] {
                    div {
                        label for=(id) { (lang.say(key)) }
                        input #(id) name=(name) data-number inputmode="decimal" required[id != "hang-slips"];
                    }
                }
                button type="submit" { (lang.say("hang.keep")) }
            }
        }
    }
}

fn one(lang: Language, test: &HangView) -> String {
    let when = lang.say(if test.fitted {
        "hang.fitted"
    } else {
        "hang.free"
    });
    let torque = lang.decimal(test.friction.torque_nm, 3);
    lang.fill("hang.is", &[("when", &when), ("torque", &torque)])
}
