//! What the bores should be, and what is pressed into them.

use maud::{Markup, html};

use super::{Task, go_on, housing};
use crate::display::step::Step;
use crate::display::words::{self, Language};
use crate::fit::{Material, Outside};
use crate::job::{JobView, NamedInsert, View};

pub(super) fn task(lang: Language, state: &View, job: &JobView) -> Task {
    let body = html! {
        h2 { (lang.say("insert.seat")) }
        (seat(lang, job))
        (housing::form(lang, job, true))
        h2 { (lang.say("insert.title")) }
        p.said { (said(lang, job)) }
        (measured(lang, state, job))
        (form(lang, job))
    };
    Task {
        body,
        foot: Some(go_on(lang, Step::Ring, "insert.on")),
    }
}

/// The bores as they should be.
fn seat(lang: Language, job: &JobView) -> Markup {
    let wall = job.seat.bores.iter().find_map(|bore| bore.wall_mm);
    html! {
        p { b { (lang.seat(&job.seat.title)) } }
        ul.plain {
            @for bore in &job.seat.bores {
                li {
                    (lang.fill("insert.limits", &[
                        ("bore", &words::bore(lang, &bore.name)), ("lower", &lang.mm(bore.lower_mm)),
                        ("upper", &lang.mm(bore.upper_mm)), ("target", &lang.mm(bore.target_mm)),
                        ("round", &lang.mm(bore.out_of_round_limit_mm)),
                    ]))
                }
            }
        }
        p.hint {
            @match (job.seat.material, wall) {
                (Some(material), Some(wall)) => {
                    (lang.fill("insert.housing", &[
                        ("material", &material_word(lang, material)), ("wall", &lang.short(wall)),
                    ]))
                }
                _ => { (lang.say("insert.no-wall")) }
            }
        }
    }
}

/// What is known of the insert in one line.
pub(super) fn said(lang: Language, job: &JobView) -> String {
    match (&job.insert, job.seat.bearing) {
        (Some(insert), _) => is(lang, insert),
        (None, Some(bearing)) => lang.fill("insert.usual", &[("bearing", &bearing)]),
        (None, None) => lang.say("insert.unknown").to_owned(),
    }
}

/// An insert in one line.
pub(in crate::display) fn is(lang: Language, insert: &NamedInsert) -> String {
    let name = name(lang, insert);
    match &insert.outside {
        Some(outside) => lang.fill(
            "insert.is",
            &[
                ("insert", &name),
                ("mm", &lang.mm(outside.mean_mm)),
                ("from", &from(lang, outside)),
            ],
        ),
        None => lang.fill("insert.is-open", &[("insert", &name)]),
    }
}

fn name(lang: Language, insert: &NamedInsert) -> String {
    let cup = insert.cup.map(|cup| material_word(lang, cup));
    match (cup, insert.bearing) {
        (None, Some(bearing)) => lang.fill("insert.bearing-is", &[("size", &bearing.size)]),
        (Some(cup), Some(bearing)) => {
            lang.fill("insert.cup-with", &[("cup", &cup), ("size", &bearing.size)])
        }
        (Some(cup), None) => lang.fill("insert.cup-is", &[("cup", &cup)]),
        (None, None) => lang.say("insert.ring").to_owned(),
    }
}

fn from(lang: Language, outside: &Outside) -> String {
    match outside.from.as_str() {
        "measured" => lang.say("insert.measured").to_owned(),
        class => lang.reason(class),
    }
}

pub(in crate::display) fn material_word(lang: Language, material: Material) -> &'static str {
    lang.say(match material {
        Material::Aluminium => "material.aluminium",
        Material::Steel => "material.steel",
        Material::Titanium => "material.titanium",
        Material::BearingSteel => "material.bearing-steel",
        Material::Polymer => "material.polymer",
        Material::Laminate => "material.laminate",
    })
}

/// What the gauge for inserts has sent.
fn measured(lang: Language, state: &View, job: &JobView) -> Markup {
    let gauge = state.gauges.iter().find(|gauge| gauge.role == "insert");
    html! {
        @if !job.insert_readings_mm.is_empty() {
            p.said {
                (lang.say("insert.sent")) " "
                @for (index, mm) in job.insert_readings_mm.iter().enumerate() {
                    @if index > 0 { " · " }
                    b { (lang.mm(*mm)) }
                }
                " mm"
            }
        } @else if let Some(gauge) = gauge {
            p.hint { (lang.fill("insert.send", &[("gauge", &gauge.name)])) }
        }
    }
}

/// Saying what is pressed in.
fn form(lang: Language, job: &JobView) -> Markup {
    let bearing = job.insert.as_ref().and_then(|insert| insert.bearing);
    let size = bearing.map(|bearing| bearing.size).or(job.seat.bearing);
    let cup = job.insert.as_ref().and_then(|insert| insert.cup);
    let group = bearing.map(|bearing| bearing.clearance).unwrap_or_default();
    let group = serde_json::to_value(group).unwrap_or_default();
    // What was typed is sent again as shown; what the gauge sends next counts more.
    let outside = job
        .insert
        .as_ref()
        .and_then(|insert| insert.outside.as_ref());
    let typed =
        outside.filter(|outside| outside.from == "measured" && job.insert_readings_mm.is_empty());
    html! {
        form.columns data-command="set_insert" data-done=(lang.say("insert.kept")) autocomplete="off" {
            div {
                label for="insert-bearing" { (lang.say("insert.bearing")) }
                input #insert-bearing name="insert/bearing" placeholder="30x42x7" inputmode="text"
                    value=[size.map(|size| size.to_string())];
            }
            div {
                label for="insert-clearance" { (lang.say("insert.clearance")) }
                select #insert-clearance name="insert/clearance" {
                    @for name in ["C2", "CN", "C3", "C4", "C5"] {
                        option value=(name) selected[group == name] { (name) }
                    }
                }
            }
            div {
                label for="insert-cup" { (lang.say("insert.sits")) }
                select #insert-cup name="insert/cup" {
                    option value="" { (lang.say("insert.straight")) }
                    @for (material, value) in [
                        (Material::Aluminium, "aluminium"), (Material::Steel, "steel"), (Material::Polymer, "polymer"),
                    ] {
                        option value=(value) selected[cup == Some(material)] {
                            (lang.fill("insert.in-cup", &[("cup", &material_word(lang, material))]))
                        }
                    }
                }
            }
            div {
                label for="insert-outside" { (lang.say("insert.outside")) }
                input #insert-outside name="insert/outside_mm" data-number inputmode="decimal"
                    placeholder=(lang.say("insert.outside-hint")) value=[typed.map(|outside| lang.short(outside.mean_mm))];
            }
            div {
                label for="insert-length" { (lang.say("insert.length")) }
                input #insert-length name="insert/length_mm" data-number inputmode="decimal"
                    placeholder=(lang.say("insert.length-hint"));
            }
            button type="submit" { (lang.say("insert.keep")) }
        }
    }
}
