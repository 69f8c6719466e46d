//! The end of the job: what it came to, the gauge in its ring once more, the record.

use maud::html;

use super::{Task, ring};
use crate::display::findings::bores;
use crate::display::words::{self, Language};
use crate::job::{JobView, Phase, View};

pub(super) fn task(lang: Language, state: &View, job: &JobView) -> Task {
    let outcomes = job.findings.iter().flat_map(|findings| &findings.outcomes);
    let not_compared = outcomes.filter_map(|outcome| outcome.not_compared.as_ref());
    let body = html! {
        h2 { (lang.say("done.title")) }
        @for phase in [Phase::AsFound, Phase::AsLeft] {
            @if job.sections.iter().any(|section| section.phase == phase) {
                h3 { (words::capital(words::phase(lang, phase))) }
                (bores(lang, job, phase))
            }
        }
        @for why in not_compared { p.why { (words::told_whole(lang, why)) } }
        h3 { (lang.say("done.report")) }
        p.links {
            @for (kind, key) in [("html", "done.look"), ("pdf", "done.pdf")] {
                a.button href={ "/report/" (job.job) "." (kind) "?lang=" (lang.tag()) } target="_blank" rel="noopener" { (lang.say(key)) }
            }
        }
        (ring::check(lang, state))
        @if !job.notes.is_empty() {
            h3 { (lang.say("done.notes")) }
            ul.notes { @for note in &job.notes { li { (note) } } }
        }
    };
    let foot = html! {
        div.after {
            button.strong.on type="button" data-open="close" { (lang.say("more.close")) }
            button type="button" data-command="{\"command\":\"put_aside\"}" {
                (lang.say("more.put-aside")) small { (lang.say("more.put-aside-what")) }
            }
        }
    };
    Task {
        body,
        foot: Some(foot),
    }
}
