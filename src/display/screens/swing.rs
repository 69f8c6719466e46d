//! The hang test with an angle gauge on the arm: begun, swinging, ended.

use maud::{Markup, html};

use super::hang::arm;
use crate::display::words::Language;
use crate::job::{HangSoFar, JobView, View};

/// The way to begin one, or the one that is under way; nothing on a bench without an angle gauge.
pub(super) fn swing(lang: Language, state: &View, job: &JobView) -> Markup {
    let has_gauge = state.gauges.iter().any(|gauge| gauge.role == "angle");
    html! {
        @match &job.hang {
            Some(hang) => { (under_way(lang, hang)) }
            None if has_gauge => { (begin(lang, job)) }
            None => {}
        }
    }
}

fn begin(lang: Language, job: &JobView) -> Markup {
    html! {
        p.hint { (lang.say("hang.swing-how")) }
        form.columns data-command="begin_hang" autocomplete="off" {
            (arm(lang, job, "", "swing"))
            button type="submit" { (lang.say("hang.begin")) }
        }
    }
}

fn under_way(lang: Language, hang: &HangSoFar) -> Markup {
    let turns = &hang.gathered.turns;
    html! {
        div #swing data-part {
            p.hint { (lang.say("hang.swings")) }
            @if !turns.is_empty() {
                p.said {
                    (lang.say("hang.turns")) " "
                    @for (index, turn) in turns.iter().enumerate() {
                        @if index > 0 { " · " }
                        b { (lang.decimal(turn.shown_deg, 1)) "°" }
                    }
                }
            }
            @if let Some(friction) = &hang.friction {
                p.said {
                    (lang.fill("hang.so-far", &[("torque", &lang.decimal(friction.torque_nm, 4))]))
                    @if let Some(u) = &friction.uncertainty { " ±" (lang.up(u.expanded, 4)) }
                }
            }
            @for (command, key) in [("end_hang", "hang.end"), ("cancel_hang", "hang.cancel")] {
                button type="button" data-command=(serde_json::json!({"command": command})) {
                    (lang.say(key))
                }
            }
        }
    }
}
