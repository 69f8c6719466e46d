//! What is known of a part's housing: asked when its job is opened, and again wherever advice ends
//! because it isn't known.

use maud::{Markup, html};

use super::insert::material_word;
use crate::display::words::Language;
use crate::fit::{Finish, Material};
use crate::job::{HousingSaid, JobView};

/// What is known of the housing of the job.
fn known(job: &JobView) -> HousingSaid {
    let seat = &job.seat;
    HousingSaid {
        material: seat.material,
        wall_mm: seat.bores.iter().find_map(|bore| bore.wall_mm),
        yield_mpa: seat.yield_mpa,
        finish: seat.finish,
        service_c: seat.service_c,
    }
}

/// Whether nothing can be cut before more is said.
pub(super) fn is_asked(job: &JobView) -> bool {
    let known = known(job);
    let laminate = known.material == Some(Material::Laminate);
    known.material.is_none() || known.wall_mm.is_none() && !laminate
}

/// Saying it once the job is open; `open`: without a touch, where it is asked.
pub(super) fn form(lang: Language, job: &JobView, open: bool) -> Markup {
    let (known, asked) = (known(job), is_asked(job));
    html! {
        details #housing open[open && asked] {
            summary { (lang.say(if asked { "housing.asked" } else { "housing.title" })) }
            form.columns data-command="set_housing" data-done=(lang.say("housing.kept")) autocomplete="off" {
                (first_fields(lang, &known)) (further_fields(lang, &known))
                button type="submit" { (lang.say("housing.keep")) }
            }
        }
    }
}

/// Material and wall: nothing is cut without them.
pub(super) fn first_fields(lang: Language, known: &HousingSaid) -> Markup {
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
            input #wall name="wall_mm" data-number inputmode="decimal" placeholder=(lang.say("start.wall-hint"))
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
