//! What is complained of, and what the hand says: one touch each.

use maud::{Markup, html};

use super::{Task, go_on, hang};
use crate::display::step::Step;
use crate::display::words::{self, Language};
use crate::fit::Evidence;
use crate::job::{JobView, View};

/// A question that is answered with yes, no, or not tried.
struct Question {
    key: &'static str,
    answer: Option<bool>,
    with: fn(Evidence, Option<bool>) -> Evidence,
}

pub(super) fn task(lang: Language, state: &View, job: &JobView) -> Task {
    let now = job.evidence;
    let questions = [
        Question {
            key: "complaint.runs-tight",
            answer: now.runs_tight,
            with: |evidence, answer| Evidence {
                runs_tight: answer,
                ..evidence
            },
        },
        Question {
            key: "complaint.free",
            answer: now.free_once_out,
            with: |evidence, answer| Evidence {
                free_once_out: answer,
                ..evidence
            },
        },
        Question {
            key: "complaint.gritty",
            answer: now.gritty,
            with: |evidence, answer| Evidence {
                gritty: answer,
                ..evidence
            },
        },
        Question {
            key: "complaint.axle",
            answer: now.only_with_axle,
            with: |evidence, answer| Evidence {
                only_with_axle: answer,
                ..evidence
            },
        },
    ];
    let body = html! {
        h2 { (lang.say("complaint.title")) }
        @for question in &questions {
            div.question role="group" aria-label=(lang.say(question.key)) {
                p { (lang.say(question.key)) }
                div.answers {
                    @for (answer, key) in [
                        (Some(true), "complaint.yes"), (Some(false), "complaint.no"), (None, "complaint.untried"),
                    ] {
                        button type="button" aria-pressed=(question.answer == answer)
                            data-command=(set((question.with)(now, answer))) { (lang.say(key)) }
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
    let answered = [
        ("complaint.runs-tight", evidence.runs_tight),
        ("complaint.free", evidence.free_once_out),
        ("complaint.gritty", evidence.gritty),
        ("complaint.axle", evidence.only_with_axle),
    ];
    let mut said: Vec<String> = answered
        .into_iter()
        .filter_map(|(question, answer)| {
            let answer = lang.say(if answer? {
                "complaint.yes"
            } else {
                "complaint.no"
            });
            let (question, answer) = (lang.say(question), answer.to_lowercase());
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
                            data-command=(serde_json::json!({"command": "note", "text": text})) {
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
                        data-command=(set(Evidence { tight_towards_deg: Some(angle), ..now })) { (hour) }
                }
                button.wide type="button" aria-pressed=(now.tight_towards_deg.is_none())
                    data-command=(set(Evidence { tight_towards_deg: None, ..now })) {
                    (lang.say("complaint.no-side"))
                }
            }
            form.degrees data-command="set_evidence" data-with=(set(now)) autocomplete="off" {
                label for="towards" { (lang.say("complaint.degrees")) }
                input #towards name="evidence/tight_towards_deg" required data-number inputmode="decimal"
                    value=[now.tight_towards_deg.map(|angle| lang.short(angle))];
                button type="submit" { (lang.say("more.note-keep")) }
            }
        }
    }
}

fn set(evidence: Evidence) -> String {
    serde_json::json!({"command": "set_evidence", "evidence": evidence}).to_string()
}
