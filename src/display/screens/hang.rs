//! The hang test: what each showed, which was tighter, and a new one.

use maud::{Markup, html};

use super::swing::swing;
use crate::display::words::{self, Language};
use crate::job::{Friction, HangView, JobView, Phase, View};

/// How many angles of a kind there is room for.
const STAYS: usize = 4;
const TURNS: usize = 8;

pub(super) fn section(lang: Language, state: &View, job: &JobView) -> Markup {
    html! {
        section.hang aria-label=(lang.say("hang.title")) {
            @if !job.hang_tests.is_empty() {
                dl.row-of {
                    @for test in &job.hang_tests {
                        div { dt { (lang.fill("hang.is", &[("when", &when(lang, test)), ("phase", &phase(lang, test))])) }
                            dd.small { (torque(lang, &test.friction)) } }
                    }
                }
                @for (a, b) in pairs(job) { p.said { (tighter(lang, a, b)) } }
            }
            p.hint { (lang.say("hang.how")) }
            (swing(lang, state, job))
            (form(lang, job))
        }
    }
}

fn when(lang: Language, test: &HangView) -> &'static str {
    lang.say(if test.fitted {
        "hang.fitted"
    } else {
        "hang.free"
    })
}

fn phase(lang: Language, test: &HangView) -> &'static str {
    words::phase(lang, test.phase.unwrap_or(Phase::AsFound))
}

fn torque(lang: Language, friction: &Friction) -> String {
    let torque = lang.decimal(friction.torque_nm, 4);
    match &friction.uncertainty {
        Some(u) => {
            let within = lang.up(u.expanded, 4);
            lang.fill(
                "hang.torque-within",
                &[("torque", &torque), ("within", &within)],
            )
        }
        None if friction.at_least_nm.is_some() => {
            lang.fill("hang.torque-least", &[("torque", &torque)])
        }
        None => lang.fill("hang.torque", &[("torque", &torque)]),
    }
}

/// What is worth holding against each other: the newest fitted and free, the newest fitted now and as
/// found.
fn pairs(job: &JobView) -> Vec<(&HangView, &HangView)> {
    let newest = |fitted: bool, phase: Option<Phase>| {
        let mut tests = job.hang_tests.iter().rev();
        tests.find(|test| test.fitted == fitted && (phase.is_none() || test.phase == phase))
    };
    let fitted = newest(true, None);
    let against = [
        fitted.zip(newest(false, None)),
        newest(true, Some(Phase::AsLeft)).zip(newest(true, Some(Phase::AsFound))),
    ];
    against.into_iter().flatten().collect()
}

/// Which of two is tighter, where their difference is more than its own expanded uncertainty.
fn tighter(lang: Language, a: &HangView, b: &HangView) -> String {
    let apart = a.friction.torque_nm - b.friction.torque_nm;
    let (a, b) = if apart < 0.0 { (b, a) } else { (a, b) };
    let name = |test: &HangView| {
        let how = if test.fitted {
            "hang.fitted"
        } else {
            "hang.loose"
        };
        format!("{} ({})", lang.say(how), phase(lang, test))
    };
    let (first, second) = (words::capital(&name(a)), name(b));
    let reach = |test: &HangView| test.friction.uncertainty.as_ref().map(|u| u.expanded);
    let Some((ua, ub)) = reach(a).zip(reach(b)) else {
        return lang.fill("hang.open", &[("a", &first), ("b", &second)]);
    };
    let within = ua.hypot(ub);
    if apart.abs() <= within {
        return lang.fill("hang.same", &[("a", &first), ("b", &second)]);
    }
    let (by, within) = (lang.decimal(apart.abs(), 4), lang.up(within, 4));
    let values: [(&str, &dyn std::fmt::Display); 4] = [
        ("a", &first),
        ("b", &second),
        ("by", &by),
        ("within", &within),
    ];
    lang.fill("hang.tighter", &values)
}

/// When it is done, and what hangs on the arm. `into` is where the command holds the masses, `id` begins
/// the fields' ids.
pub(super) fn arm(lang: Language, job: &JobView, into: &str, id: &str) -> Markup {
    html! {
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
        @for (field, name, key) in [("mass", "mass_kg", "hang.mass"), ("centre", "centre_mm", "hang.centre")] {
            @let field = format!("{id}-{field}");
            div {
                label for=(field) { (lang.say(key)) }
                input #(field) name={ (into) "masses/0/" (name) } data-number inputmode="decimal" required;
            }
        }
    }
}

fn form(lang: Language, job: &JobView) -> Markup {
    html! {
        form.columns data-command="hang_test" data-done=(lang.say("hang.kept")) autocomplete="off" {
            (arm(lang, job, "test/", "hang"))
            @for (name, key, count) in [
                ("stays_deg", "hang.stays", STAYS), ("slips_deg", "hang.slips", STAYS), ("turning_deg", "hang.turning", TURNS),
            ] {
                fieldset.angles.wide[count > STAYS] {
                    legend { (lang.say(key)) }
                    @for n in 0..count {
                        input name={ "test/" (name) "/" (n) } data-number inputmode="decimal"
                            aria-label=(lang.fill("hang.nth", &[("what", &lang.say(key)), ("n", &(n + 1))]));
                    }
                }
            }
            button type="submit" { (lang.say("hang.keep")) }
        }
    }
}
