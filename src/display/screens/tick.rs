//! Steps to tick off, and cautions to heed.

use maud::{Markup, html};

use crate::display::step::{Part, steps_of};
use crate::display::words::Language;
use crate::job::JobView;

/// The steps of `part`, one touch each; a touch too many is taken back by the button below.
pub(super) fn steps(lang: Language, job: &JobView, part: Part) -> Markup {
    let steps = steps_of(lang, job, part);
    html! {
        ol.steps {
            @for step in &steps {
                @let done = job.ticked.iter().any(|id| *id == step.id);
                li {
                    button.tick type="button" role="checkbox" aria-checked=(done) disabled[done]
                        data-command=(serde_json::json!({"command": "tick", "step": step.id})) {
                        span.box aria-hidden="true" { @if done { "✓" } }
                        span { (step.text) }
                    }
                }
            }
        }
        @if steps.iter().any(|step| job.ticked.iter().any(|id| *id == step.id)) {
            button type="button" data-command="{\"command\":\"undo\"}" disabled[!job.can_undo] {
                (lang.say("tick.undo"))
            }
        }
    }
}

/// What is heeded throughout.
pub(super) fn cautions(lang: Language, job: &JobView) -> Markup {
    let cautions = steps_of(lang, job, Part::Caution);
    html! {
        @if !cautions.is_empty() {
            aside.cautions aria-label=(lang.say("tick.cautions")) {
                h3 {
                    svg viewBox="0 0 48 48" width="28" height="28" aria-hidden="true" {
                        path d="M24 3L46 44H2Z" {}
                        path.cut d="M24 17V30M24 36V38" {}
                    }
                    (lang.say("tick.cautions"))
                }
                ul { @for caution in &cautions { li { (caution.text) } } }
            }
        }
    }
}
