//! What was chosen is being done: the choice, the cautions, the steps.

use maud::{Markup, html};

use super::findings::{outcome, work};
use super::{Task, tick};
use crate::display::step::{Part, Step};
use crate::display::words::{self, Language};
use crate::fit::plan::Choice;
use crate::job::JobView;

pub(super) fn task(lang: Language, job: &JobView) -> Task {
    let body = html! {
        h2 { (lang.say("work.title")) }
        (choices(lang, job))
        (tick::cautions(lang, job))
        (tick::steps(lang, job, Part::Work))
    };
    let foot = html! {
        div.after {
            button.strong.on type="button" data-command="{\"command\":\"set_phase\",\"phase\":\"as-left\"}" {
                (lang.say("next.work-done"))
            }
            button type="button" data-step=(Step::Findings.word()) { (lang.say("work.change")) }
        }
    };
    Task {
        body,
        foot: Some(foot),
    }
}

/// What was chosen for each bore, and what it should come to.
fn choices(lang: Language, job: &JobView) -> Markup {
    html! {
        div.options {
            @for (bore, chosen) in &job.chosen {
                article.option.chosen {
                    h3 { (words::bore(lang, bore)) }
                    h4 {
                        (work(lang, chosen.work))
                        @if let Some(with) = &chosen.with { small { (with) } }
                    }
                    @if let Some(predicted) = option(job, bore).and_then(|option| option.predicted.as_ref()) {
                        (outcome(lang, predicted))
                    }
                }
            }
        }
    }
}

/// The option that was chosen for a bore.
pub(super) fn option<'a>(job: &'a JobView, bore: &str) -> Option<&'a Choice> {
    let chosen = job.chosen.get(bore)?;
    let examined = &job.findings.as_ref()?.examined;
    let plan = &examined.bores.iter().find(|b| b.bore == bore)?.plan;
    let mut options = plan.options.iter();
    options.find(|option| option.work == chosen.work && option.with == chosen.with)
}
