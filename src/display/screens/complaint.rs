//! What is complained of, and what the hand says: one touch each.

use maud::{Markup, html};
use serde_json::{Value, json};

use super::{Task, go_on, hang};
use crate::display::step::Step;
use crate::display::words::{self, Language};
use crate::fit::Evidence;
use crate::job::{JobView, View};

/// A question that is answered with yes, no, or not tried: what it asks, and the field that keeps it.
struct Question {
    key: &'static str,
    field: &'static str,
    answer: Option<bool>,
}

/// The questions, with what is noted.
const fn questions(now: &Evidence) -> [Question; 4] {
    [
        Question {
            key: "complaint.runs-tight",
            field: "runs_tight",
            answer: now.runs_tight,
        },
        Question {
            key: "complaint.free",
            field: "free_once_out",
            answer: now.free_once_out,
        },
        Question {
            key: "complaint.gritty",
            field: "gritty",
            answer: now.gritty,
        },
        Question {
            key: "complaint.axle",
            field: "only_with_axle",
            answer: now.only_with_axle,
        },
    ]
}

pub(super) fn task(lang: Language, state: &View, job: &JobView) -> Task {
    let body = html! {
        h2 { (lang.say("complaint.title")) }
        @for question in &questions(&job.evidence) {
            div.question role="group" aria-label=(lang.say(question.key)) {
                p { (lang.say(question.key)) }
                div.answers {
                    @for (answer, key) in [
                        (Some(true), "complaint.yes"), (Some(false), "complaint.no"), (None, "complaint.untried"),
                    ] {
                        button type="button" aria-pressed=(question.answer == answer)
                            data-command=(set(question.field, answer.into())) { (lang.say(key)) }
                    }
                }
            }
        }
        (side(lang, job))
        (towards(lang, job))
        details #hang open[!job.hang_tests.is_empty()] {
            summary { (lang.say("hang.title")) }
            (hang::section(lang, state, job))
        }
        form data-command="note" data-done=(lang.say("more.note-kept")) autocomplete="off" {
            label for="complaint-note" { (lang.say("complaint.words")) }
            div.line {
                input #complaint-note name="text" required maxlength="500";
                button type="submit" { (lang.say("more.note-keep")) }
            }
        }
        @if !job.notes.is_empty() { ul.notes { @for note in &job.notes { li { (note) } } } }
    };
    Task {
        body,
        foot: Some(go_on(lang, Step::Insert, "complaint.on")),
    }
}

/// What was answered, as it stands in a sentence; empty: nothing.
pub(in crate::display) fn answers(lang: Language, evidence: &Evidence) -> String {
    let mut said: Vec<String> = questions(evidence)
        .into_iter()
        .filter_map(|question| {
            let answer = lang.say(if question.answer? {
                "complaint.yes"
            } else {
                "complaint.no"
            });
            let (question, answer) = (lang.say(question.key), answer.to_lowercase());
            Some(lang.fill(
                "complaint.answer",
                &[("question", &question), ("answer", &answer)],
            ))
        })
        .collect();
    let towards = evidence.tight_towards_deg.map(|angle| lang.clock(angle));
    said.extend(towards.map(|angle| lang.fill("complaint.felt-towards", &[("angle", &angle)])));
    said.join("; ")
}

/// On which bore it runs tight: kept as a note, since the numbers say it by themselves.
fn side(lang: Language, job: &JobView) -> Markup {
    html! {
        @if job.seat.bores.len() > 1 {
            div.question role="group" aria-label=(lang.say("complaint.side")) {
                p { (lang.say("complaint.side")) }
                div.answers {
                    @for bore in &job.seat.bores {
                        @let text = lang.fill("complaint.side-note", &[("bore", &lang.name_of(&bore.name))]);
                        @let said = job.notes.contains(&text);
                        button type="button" aria-pressed=(said) disabled[said]
                            data-command=(json!({"command": "note", "text": text})) {
                            (words::bore(lang, &bore.name))
                        }
                    }
                }
            }
        }
    }
}

/// Towards which hour of the clock face it is felt tight.
fn towards(lang: Language, job: &JobView) -> Markup {
    let now = job.evidence;
    let label = lang.fill(
        "complaint.towards",
        &[("landmark", &lang.name_of(&job.seat.landmark))],
    );
    html! {
        div.question role="group" aria-label=(label) {
            p { (label) }
            div.hours {
                @for hour in [12_u8, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11] {
                    @let angle = f64::from(hour % 12) * 30.0;
                    button type="button" aria-pressed=(now.tight_towards_deg == Some(angle))
                        aria-label=(lang.clock(angle))
                        data-command=(set("tight_towards_deg", angle.into())) { (hour) }
                }
                button.wide type="button" aria-pressed=(now.tight_towards_deg.is_none())
                    data-command=(set("tight_towards_deg", Value::Null)) {
                    (lang.say("complaint.no-side"))
                }
            }
            form.degrees data-command="set_evidence" autocomplete="off" {
                label for="towards" { (lang.say("complaint.degrees")) }
                input #towards name="evidence/tight_towards_deg" required data-number inputmode="decimal"
                    value=[now.tight_towards_deg.map(|angle| lang.short(angle))];
                button type="submit" { (lang.say("more.note-keep")) }
            }
        }
    }
}

/// One field noted anew; what else was noted stays.
fn set(field: &str, answer: Value) -> String {
    json!({"command": "set_evidence", "evidence": {field: answer}}).to_string()
}
