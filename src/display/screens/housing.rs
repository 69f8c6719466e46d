//! What is known of a part's housing: asked when its job is opened, and again wherever advice ends
//! because it isn't known.

use maud::{Markup, html};

use super::insert::material_word;
use crate::display::words::Language;
use crate::fit::{Finish, Material};
use crate::job::{HousingSaid, JobView};

/// What is known of the housing of the job; of the wall what holds for all bores.
fn known(job: &JobView) -> HousingSaid {
    let seat = &job.seat;
    HousingSaid {
        material: seat.material,
        wall_mm: seat
            .bores
            .first()
            .and_then(|bore| bore.wall_mm)
            .filter(|_| !differs(job)),
        yield_mpa: seat.yield_mpa,
        finish: seat.finish,
        service_c: seat.service_c,
    }
}

/// Whether the walls of the bores differ.
fn differs(job: &JobView) -> bool {
    let mut bores = job.seat.bores.windows(2);
    bores.any(|pair| pair[0].wall_mm != pair[1].wall_mm)
}

/// Whether nothing can be cut before more is said.
pub(super) fn is_asked(job: &JobView) -> bool {
    let known = known(job);
    let laminate = known.material == Some(Material::Laminate);
    let unknown = job.seat.bores.iter().any(|bore| bore.wall_mm.is_none());
    known.material.is_none() || unknown && !laminate
}

/// Saying it once the job is open; `open`: without a touch, where it is asked.
pub(super) fn form(lang: Language, job: &JobView, open: bool) -> Markup {
    let (known, asked) = (known(job), is_asked(job));
    html! {
        details #housing open[open && asked] {
            summary { (lang.say(if asked { "housing.asked" } else { "housing.title" })) }
            form.columns data-command="set_housing" data-changes data-done=(lang.say("housing.kept")) autocomplete="off" {
                (first_fields(lang, &known, differs(job))) (further_fields(lang, &known))
                button type="submit" { (lang.say("housing.keep")) }
            }
        }
    }
}

/// Material and wall: nothing is cut without them. `differs`: the wall is another in each bore, and stays
/// so where nothing is said.
pub(super) fn first_fields(lang: Language, known: &HousingSaid, differs: bool) -> Markup {
    let hint = if differs {
        "housing.by-bore"
    } else {
        "start.wall-hint"
    };
    html! {
        div {
            label for="material" { (lang.say("start.material")) }
            select #material name="material" {
                option value="" { (lang.say("start.as-seat")) }
                @for (material, value) in [
                    (Material::Aluminium, "aluminium"), (Material::Steel, "steel"),
                    (Material::Titanium, "titanium"), (Material::Laminate, "laminate"),
                ] {
                    option value=(value) selected[known.material == Some(material)] { (material_word(lang, material)) }
                }
            }
        }
        div {
            label for="wall" { (lang.say("start.wall")) }
            input #wall name="wall_mm" data-number inputmode="decimal" placeholder=(lang.say(hint))
                value=[known.wall_mm.map(|mm| lang.short(mm))];
        }
    }
}

/// What stress, interference and warm fit follow from.
pub(super) fn further_fields(lang: Language, known: &HousingSaid) -> Markup {
    let coldest = known.service_c.map(|(coldest, _)| coldest);
    let warmest = known.service_c.map(|(_, warmest)| warmest);
    html! {
        div {
            label for="yield" { (lang.say("start.yield")) }
            input #yield name="yield_mpa" data-number inputmode="decimal" placeholder=(lang.say("start.wall-hint"))
                value=[known.yield_mpa.map(|mpa| lang.short(mpa))];
        }
        div {
            label for="finish" { (lang.say("start.finish")) }
            select #finish name="finish" {
                option value="" { (lang.say("start.as-seat")) }
                @for (finish, value, key) in [
                    (Finish::Turned, "turned", "start.turned"), (Finish::Ground, "ground", "start.ground"),
                ] {
                    option value=(value) selected[known.finish == Some(finish)] { (lang.say(key)) }
                }
            }
        }
        @for (id, name, key, value) in [
            ("coldest", "service_c/0", "start.coldest", coldest), ("warmest", "service_c/1", "start.warmest", warmest),
        ] {
            div {
                label for=(id) { (lang.say(key)) }
                input #(id) name=(name) data-number data-pair inputmode="text"
                    value=[value.map(|celsius| lang.short(celsius))];
            }
        }
    }
}
