//! What each step of the job shows: one file a step.

mod complaint;
mod done;
mod findings;
mod fitting;
mod gauging;
mod hang;
mod housing;
mod insert;
mod left;
mod ring;
mod start;
mod swing;
mod tick;
mod work;

use maud::{Markup, html};

pub(super) use complaint::answers;
pub(super) use findings::work as work_in_words;
pub(super) use gauging::close;
pub(super) use gauging::more;
pub(super) use insert::{is as insert_in_words, material_word};
pub(super) use start::start;

use super::bench::{Focus, Look};
use super::drawn::reamer_mm;
use super::step::Step;
use super::words::Language;
use super::{findings as parts_of, parts};
use crate::job::{JobView, Phase, View};

/// The screen of a step of the job.
pub(super) fn screen(
    lang: Language,
    state: &View,
    job: &JobView,
    step: Step,
    (shown, look): (&Focus, &Look),
) -> Markup {
    let phase = match step {
        Step::Found => Some(Phase::AsFound),
        Step::Left => Some(Phase::AsLeft),
        _ => None,
    };
    // What is gauged fills the screen; its outcome as left has one of its own.
    let gauging = phase == Some(job.phase) && (step == Step::Found || job.next.is_some());
    if gauging {
        return gauging::screen(lang, state, job, shown, look.view);
    }
    let drawn = matches!(
        step,
        Step::Found | Step::Findings | Step::Work | Step::Left | Step::Done
    );
    // What would be cut is drawn where it is decided and done.
    let reamer_mm = matches!(step, Step::Findings | Step::Work)
        .then(|| reamer_mm(job, &shown.bore))
        .flatten();
    html! {
        div.screen.task data-step=(step.word()) {
            div.side {
                div.now { (parts::reading(lang, state)) (parts::live(lang, state)) }
                @if step < Step::Found { (parts::next(lang, state, job)) }
                @if drawn {
                    @let caption = parts_of::caption(lang, shown, look.view);
                    (parts_of::drawing(lang, job, shown, (look.view, Some(caption)), reamer_mm))
                }
            }
            @let task = match step {
                    Step::Complaint => complaint::task(lang, state, job),
                    Step::Insert => insert::task(lang, state, job),
                    Step::Ring => ring::task(lang, state, job),
                    Step::Found => left::other_phase(lang, job, Phase::AsFound, shown),
                    Step::Findings => findings::task(lang, job, shown),
                    Step::Work => work::task(lang, job),
                    Step::Left if job.phase == Phase::AsLeft => left::task(lang, job, shown),
                    Step::Left => left::other_phase(lang, job, Phase::AsLeft, shown),
                    Step::Fitting => fitting::task(lang, state, job),
                    Step::Done => done::task(lang, state, job),
            };
            section #task data-part aria-label=(lang.say("steps.this")) {
                div.body { (task.body) }
                @if let Some(foot) = task.foot { div.foot { (foot) } }
            }
        }
    }
}

/// What one step asks for, and what leads on from it, always within reach.
struct Task {
    body: Markup,
    foot: Option<Markup>,
}

/// The way on, without a command.
fn go_on(lang: Language, to: Step, key: &'static str) -> Markup {
    html! { button.strong.on type="button" data-step=(to.word()) { (lang.say(key)) } }
}
