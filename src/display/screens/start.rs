//! No job on the bench: open one, or take one up again.

use maud::{Markup, html};

use super::{housing, ring};
use crate::display::parts;
use crate::display::words::{self, Language};
use crate::job::{HousingSaid, View};

pub(in crate::display) fn start(lang: Language, state: &View) -> Markup {
    html! {
        div.screen.start {
            div.now { (parts::reading(lang, state)) (parts::live(lang, state)) }
            section #start data-part aria-label=(lang.say("start.open")) { (open(lang, state)) }
            section #open-jobs data-part aria-label=(lang.say("start.open-jobs")) {
                @if !state.open_jobs.is_empty() {
                    h2 { (lang.say("start.aside")) }
                    @for job in &state.open_jobs {
                        button type="button" data-command=(serde_json::json!({"command": "take_up", "job": job.job})) {
                            b { (job.part) }
                            span { (lang.fill("start.take-up", &[("phase", &words::phase(lang, job.phase))])) }
                        }
                    }
                }
                (ring::begin(lang, state, false))
                (ring::set(lang, state))
                nav.links aria-label=(lang.say("shelf.ways")) {
                    a.button href={ "/jobs?lang=" (lang.tag()) } { (lang.say("shelf.jobs")) }
                    a.button href={ "/learned?lang=" (lang.tag()) } { (lang.say("shelf.learned")) }
                }
                (languages(lang))
            }
        }
    }
}

/// The page in another language.
pub(super) fn languages(lang: Language) -> Markup {
    html! {
        nav.links aria-label=(lang.say("start.language")) {
            @for other in Language::ALL {
                a.button href={ "/?lang=" (other.tag()) } hreflang=(other.tag()) lang=(other.tag())
                    aria-current=[(other == lang).then_some("true")] { (other.name()) }
            }
        }
    }
}

fn open(lang: Language, state: &View) -> Markup {
    html! {
        form data-command="open_job" autocomplete="off" {
            h2 { (lang.say("start.open")) }
            label for="part" { (lang.say("start.part")) }
            input #part name="part" required maxlength="120" placeholder=(lang.say("start.part-hint"));
            label for="seat" { (lang.say("start.seat")) }
            select #seat name="seat" required {
                @for seat in &state.seats { option value=(seat.name) { (lang.seat(&seat.title)) } }
            }
            fieldset {
                legend { (lang.say("start.how")) }
                @for (value, name, what) in [
                    ("quick", "start.quick", "start.quick-what"),
                    ("seat", "start.by-seat", "start.by-seat-what"),
                    ("standard", "start.standard", "start.standard-what"),
                    ("full", "start.full", "start.full-what"),
                ] {
                    label.choice {
                        input type="radio" name="plan" value=(value) checked[value == "seat"];
                        span { b { (lang.say(name)) } " " (lang.say(what)) }
                    }
                }
            }
            div.columns { (housing::first_fields(lang, &HousingSaid::default(), false)) }
            details #known {
                summary { (lang.say("start.known")) }
                div.columns { (housing::further_fields(lang, &HousingSaid::default())) }
            }
            button.strong type="submit" { (lang.say("start.put-on")) }
        }
    }
}
