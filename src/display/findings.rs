//! What was found: verdicts in words, the drawing, the numbers, section by section.

use maud::{Markup, html};

use super::bench::{Drawn, Focus};
use super::drawn::{face, long, taper};
use super::words::{self, Language, NONE, Standing, Words};
use crate::bore::{Contact, Section, Withheld};
use crate::drawing::Style;
use crate::job::{Decision, JobView, NamedBore, Phase, SectionNumbers};

/// The verdict on the section shown: words first, a shape and a colour beside them.
pub(super) fn verdict(lang: Language, job: &JobView, shown: &Focus) -> Markup {
    let words = verdict_of(lang, job, shown);
    html! {
        section #verdict data-part class=(class(words.standing)) aria-label=(lang.say("verdict.title")) {
            (shape(words.standing))
            div {
                h2 {
                    (words::section(lang, &shown.bore, shown.depth_mm))
                    @if shown.phase != job.phase { ", " (words::phase(lang, shown.phase)) }
                }
                p.headline { (words.headline) }
                p.because { @for why in &words.because { (words::told_under(lang, why)) " " } (words.more) }
            }
        }
    }
}

fn verdict_of(lang: Language, job: &JobView, shown: &Focus) -> Words {
    let (done, open) = if shown.phase == job.phase {
        words::progress(&job.stations, &shown.bore, shown.depth_mm)
    } else {
        (1, 0)
    };
    words::bore_of(&job.seat, &shown.bore).map_or_else(
        || Words {
            standing: Standing::Open,
            headline: lang.say("verdict.no-limits").into(),
            because: Vec::new(),
            more: lang.fill("verdict.no-bore", &[("bore", &shown.bore)]),
        },
        |bore| words::verdict(lang, shown.numbers(job), bore, done, open),
    )
}

/// Each bore of a phase by its worst section: what the job comes to.
pub(super) fn bores(lang: Language, job: &JobView, phase: Phase) -> Markup {
    html! {
        ul.bores {
            @for bore in &job.seat.bores {
                @let found = worst(lang, job, phase, &bore.name);
                @if found.is_none() && phase == Phase::AsFound {
                    li class=(class(Standing::CantTell)) {
                        (shape(Standing::CantTell))
                        span { (lang.fill("findings.not-gauged", &[("bore", &words::bore(lang, &bore.name))])) }
                    }
                }
                @if let Some((words, depth_mm)) = found {
                    li class=(class(words.standing)) {
                        (shape(words.standing))
                        span {
                            (words::bore(lang, &bore.name)) ": " b { (words.headline) }
                            @if words.standing != Standing::Inside {
                                ", " (lang.fill("place.deep", &[("depth", &lang.short(depth_mm))]))
                            }
                        }
                    }
                }
            }
        }
    }
}

/// The sections of a bore in a phase, as they were gauged.
pub(super) fn of_bore<'a>(job: &'a JobView, phase: Phase, bore: &str) -> Vec<&'a SectionNumbers> {
    job.sections
        .iter()
        .filter(|section| section.phase == phase && section.numbers.bore == bore)
        .map(|section| &section.numbers)
        .collect()
}

/// The worst section of a bore: its verdict and its depth.
pub(super) fn worst(
    lang: Language,
    job: &JobView,
    phase: Phase,
    bore: &str,
) -> Option<(Words, f64)> {
    let focus = worst_of(job, phase, |of| of == bore)?;
    Some((verdict_of(lang, job, &focus), focus.depth_mm))
}

/// The worst section of the bores that `of` names: by its verdict, then by what that is of: how far
/// out of round, or how far off its target.
pub(super) fn worst_of(job: &JobView, phase: Phase, of: impl Fn(&str) -> bool) -> Option<Focus> {
    let badness = |section: &SectionNumbers| {
        let (verdict, numbers) = (&section.verdict, &section.numbers);
        let worst = verdict.worst();
        let out = numbers.form().map_or(0.0, |form| form.out_of_round_mm);
        let target = words::bore_of(&job.seat, &section.bore).map(|bore| bore.target_mm);
        let off = numbers.mean_diameter_mm.zip(target);
        let off = off.map_or(0.0, |(mean, target)| (mean - target).abs());
        let by = |judged: Decision, by: f64| if judged == worst { by } else { 0.0 };
        let form = by(verdict.form.decision, out);
        (worst, form, by(verdict.size.decision, off))
    };
    let sections = job.sections.iter().filter(|section| section.phase == phase);
    sections
        .filter(|section| of(&section.numbers.bore))
        .max_by(|a, b| {
            let (a, b) = (badness(&a.numbers), badness(&b.numbers));
            let by_form = a.0.cmp(&b.0).then(a.1.total_cmp(&b.1));
            by_form.then(a.2.total_cmp(&b.2))
        })
        .map(Focus::on)
}

pub(super) const fn class(standing: Standing) -> &'static str {
    match standing {
        Standing::Inside => "inside",
        Standing::Open => "open",
        Standing::CantTell => "cant-tell",
        Standing::Outside => "outside",
    }
}

/// A tick in a disc, a warning triangle, a diamond with a question mark, an open ring: told apart
/// without colour.
pub(super) fn shape(standing: Standing) -> Markup {
    html! {
        svg.shape viewBox="0 0 48 48" aria-hidden="true" {
            @match standing {
                Standing::Inside => {
                    circle cx="24" cy="24" r="21" {}
                    path.cut d="M13 25L21 33L35 16" {}
                }
                Standing::Outside => {
                    path d="M24 3L46 44H2Z" {}
                    path.cut d="M24 17V30M24 36V38" {}
                }
                Standing::CantTell => {
                    path d="M24 1L47 24L24 47L1 24Z" {}
                    path.cut d="M18 20C18 13 30 13 30 20C30 25 24 24 24 29M24 34V36" {}
                }
                Standing::Open => { circle.hollow cx="24" cy="24" r="19" {} }
            }
        }
    }
}

/// Which section the drawing shows, for where nothing else near it names one.
pub(super) fn caption(lang: Language, shown: &Focus, view: Drawn) -> Markup {
    let section = words::section(lang, &shown.bore, shown.depth_mm);
    html! {
        p.caption {
            @match view {
                Drawn::Along => { (lang.say("drawn.along")) }
                _ => { (section) ", " (words::phase(lang, shown.phase)) }
            }
        }
    }
}

/// The drawing asked for under its `caption`, and the way to the other two.
pub(super) fn drawing(
    lang: Language,
    job: &JobView,
    shown: &Focus,
    (view, caption): (Drawn, Option<Markup>),
    reamer_mm: Option<f64>,
) -> Markup {
    html! {
        section #drawing data-part aria-label=(lang.say("drawing.title")) {
            div.views role="group" aria-label=(lang.say("drawing.which")) {
                @for (drawn, word, text) in [
                    (Drawn::Face, "face", "drawing.face"),
                    (Drawn::Unrolled, "unrolled", "drawing.unrolled"),
                    (Drawn::Along, "along", "drawing.along"),
                ] {
                    button type="button" aria-pressed=(drawn == view) data-view=(word) { (lang.say(text)) }
                }
            }
            @if let Some(caption) = caption { (caption) }
            @match drawn(lang, job, shown, view, reamer_mm) {
                Some(svg) => { (svg) }
                None => { p.hint { (lang.say("drawing.none")) } }
            }
        }
    }
}

/// A drawing as SVG; none where there is nothing to draw.
pub(super) fn drawn(
    lang: Language,
    job: &JobView,
    shown: &Focus,
    view: Drawn,
    reamer_mm: Option<f64>,
) -> Option<Markup> {
    let face = || face(lang, job, shown, reamer_mm);
    match view {
        Drawn::Face => face().map(|face| face.svg()),
        Drawn::Unrolled => face().map(|face| face.unrolled()),
        Drawn::Along => long(lang, job).map(|long| long.svg()),
    }
}

/// The numbers of the section shown and of its bore.
pub(super) fn numbers(lang: Language, job: &JobView, shown: &Focus) -> Markup {
    let Some(section) = shown.numbers(job).map(|section| &section.numbers) else {
        return html! {
            section #numbers data-part aria-label=(lang.say("numbers.title")) {
                p.hint { (lang.say("numbers.none")) }
            }
        };
    };
    let waits = |field| waits(job, shown, section, field);
    let found = Focus {
        phase: Phase::AsFound,
        ..shown.clone()
    };
    let found = (shown.phase == Phase::AsLeft)
        .then(|| found.numbers(job))
        .flatten()
        .map(|section| &section.numbers);
    let oval = |section: &Section| section.oval.map(|oval| oval.size_mm);
    let axes = section
        .oval
        .and_then(|oval| Some((oval.tight_axis_deg?, oval.long_axis_deg?)));
    let rows = [
        (
            "numbers.mean",
            "mean_diameter_mm",
            section.mean_diameter_mm,
            found.and_then(|f| f.mean_diameter_mm),
        ),
        ("numbers.largest", "largest_mm", section.largest_mm, None),
        ("numbers.smallest", "smallest_mm", section.smallest_mm, None),
        (
            "numbers.out-of-round",
            "out_of_round_mm",
            section.out_of_round_mm,
            found.and_then(|f| f.out_of_round_mm),
        ),
        (
            "numbers.oval",
            "oval.size_mm",
            oval(section),
            found.and_then(oval),
        ),
    ];
    let (mut said, mut set) = ("", section.size_set);
    html! {
        section #numbers data-part aria-label=(lang.say("numbers.title")) {
            dl {
                @for (index, (name, field, value, found)) in rows.into_iter().enumerate() {
                    div {
                        dt { (lang.say(name)) }
                        dd {
                            (value.map_or_else(|| NONE.to_owned(), |mm| lang.mm(mm)))
                            (within(lang, section, field, value))
                            @if waits(field) {
                                span.uncertainty { " " (lang.say("numbers.gauge-on")) }
                            }
                        }
                        @if value.is_none() && !waits(field) {
                            @let reason = why(&section.withheld, field).unwrap_or_default();
                            // One reason for three numbers is said once.
                            @if reason != said { dd.note { (words::told(lang, reason)) } }
                            ({ said = reason; "" })
                        } @else if value.is_some() && index < 3 && !set {
                            // So are the two below it.
                            dd.note.not-set-size { (lang.say("numbers.not-set")) }
                            ({ set = true; "" })
                        }
                        @if let Some(found) = found { dd.note { (lang.fill("numbers.found", &[("value", &lang.mm(found))])) } }
                        @if field == "oval.size_mm" {
                            @if let Some((tight, long)) = axes {
                                dd.note { (lang.fill("numbers.tight", &[("axis", &lang.axis(tight))])) }
                                dd.note { (lang.fill("numbers.long", &[("axis", &lang.axis(long))])) }
                            } @else if value.is_some() {
                                @if let Some(why) = why(&section.withheld, "oval.tight_axis_deg") {
                                    dd.note { (lang.say("numbers.axes")) " " (words::told_within(lang, why)) }
                                }
                            }
                        }
                    }
                }
                (of_the_bore(lang, job, shown))
            }
        }
    }
}

/// Whether a number is withheld for nothing but directions still to come: said in two words, so that
/// no sentence comes and goes from reading to reading.
fn waits(job: &JobView, shown: &Focus, section: &Section, field: &str) -> bool {
    let (_, to_do) = words::progress(&job.stations, &shown.bore, shown.depth_mm);
    let open = shown.phase == job.phase && to_do > 0 && section.form_unknown;
    let of_directions = match field {
        // Without a ring it waits for that too, which is said where its arc is closed.
        "mean_diameter_mm" => section.size_set || section.stations >= 3,
        "out_of_round_mm" => job.contact != Contact::Radius,
        "oval.size_mm" => job.contact != Contact::ThreePoint,
        _ => false,
    };
    open && of_directions && why(&section.withheld, field).is_some()
}

/// How far off a section's number may be; of one of which nobody knows, that is said.
pub(super) fn within(lang: Language, section: &Section, field: &str, value: Option<f64>) -> Markup {
    let known = section.uncertainty.get(field);
    html! {
        @if value.is_some() {
            span.uncertainty { " ±" (known.map_or_else(|| "\u{a0}?".to_owned(), |u| lang.reach(u.expanded))) }
        }
    }
}

fn of_the_bore(lang: Language, job: &JobView, shown: &Focus) -> Markup {
    let bore = job
        .bores
        .iter()
        .find(|b| b.numbers.bore == shown.bore && b.phase == shown.phase);
    let Some(bore) = bore.map(|bore| &bore.numbers.numbers) else {
        return html! {};
    };
    let along = along(lang, job, &shown.bore, shown.phase);
    html! {
        div {
            dt { (lang.say("numbers.bore-taper")) }
            @match taper(job, &shown.bore, shown.phase) {
                Some(taper) => {
                    @let (said, span) = (taper.said(lang), lang.short(taper.over_mm));
                    dd.small { (taper.size(Style::mm(lang))) }
                    dd.note { (lang.fill("numbers.taper-over", &[("said", &said), ("span", &span)])) }
                }
                None => {
                    dd.small { (NONE) }
                    dd.note { (words::told(lang, why(&bore.withheld, "taper_mm_per_mm").unwrap_or_default())) }
                }
            }
            @if let Some(along) = along { dd.note { (along) } }
        }
    }
}

/// How much of a bore's length is a seat, and where it is narrowest, in one line.
pub(super) fn along(lang: Language, job: &JobView, bore: &str, phase: Phase) -> Option<String> {
    let mut bores = job.bores.iter();
    let of = bores.find(|of| of.phase == phase && of.numbers.bore == bore)?;
    let straight = straight(lang, &of.numbers);
    // One section alone is the narrowest of itself.
    let numbers = &of.numbers.numbers;
    let several = numbers.taper_mm_per_mm.or(numbers.barrel_mm).is_some();
    let waist = numbers.waist.filter(|_| several).map(|waist| {
        let (mm, depth) = (lang.mm(waist.diameter_mm), lang.short(waist.depth_mm));
        lang.fill("numbers.waist", &[("mm", &mm), ("depth", &depth)])
    });
    let said: Vec<String> = straight.into_iter().chain(waist).collect();
    (!said.is_empty()).then(|| said.join("; "))
}

/// Over how much depth a bore is within limits, as far as its means carry the claim.
fn straight(lang: Language, of: &NamedBore) -> Option<String> {
    let length_mm = of.straight_length_mm?;
    let [least, greatest] = of.straight_range_mm.unwrap_or([length_mm; 2]);
    let [least, greatest] = [least, greatest].map(|mm| lang.decimal(mm, 1));
    let is_none = |length: &str| length.trim_matches(['0', lang.point()]).is_empty();
    Some(if is_none(&greatest) {
        lang.say("numbers.nowhere-straight").to_owned()
    } else if is_none(&least) {
        lang.fill("numbers.perhaps-straight", &[("to", &greatest)])
    } else if least == greatest {
        lang.fill("numbers.straight", &[("length", &least)])
    } else {
        lang.fill(
            "numbers.straight-between",
            &[("from", &least), ("to", &greatest)],
        )
    })
}

/// Why a field, or the object it is in, is withheld.
fn why<'a>(withheld: &'a [Withheld], field: &str) -> Option<&'a str> {
    let object = field.split('.').next().unwrap_or(field);
    let of = |wanted: &str| {
        withheld
            .iter()
            .find(|w| w.field == wanted)
            .map(|w| w.why.as_str())
    };
    of(field).or_else(|| of(object))
}

/// Every section with its verdict, the phase at work first; a touch shows it.
pub(super) fn sections(lang: Language, job: &JobView, shown: &Focus) -> Markup {
    html! {
        section #sections data-part aria-label=(lang.say("sections.title")) {
            h2 { (lang.say("sections.title")) }
            @if job.sections.is_empty() {
                p.hint { (lang.say("sections.none")) }
            } @else {
                @for phase in [job.phase, other(job.phase)] {
                    @if job.sections.iter().any(|section| section.phase == phase) {
                        h3 { (words::capital(words::phase(lang, phase))) }
                        (sections_of(lang, job, phase, shown))
                    }
                }
            }
        }
    }
}

/// The sections of one phase with their verdicts.
pub(super) fn sections_of(lang: Language, job: &JobView, phase: Phase, shown: &Focus) -> Markup {
    let name = words::capital(words::phase(lang, phase));
    let columns = ["numbers.mean", "numbers.out-of-round", "verdict.title"];
    let rows = html! {
        @for section in job.sections.iter().filter(|section| section.phase == phase) {
            (row(lang, job, &Focus::on(section), &section.numbers.numbers, shown.is(section)))
        }
    };
    by_section(lang, &name, columns, &rows)
}

/// A table with a row for each section, which scrolls by itself where it is too wide.
pub(super) fn by_section(
    lang: Language,
    name: &str,
    columns: [&'static str; 3],
    rows: &Markup,
) -> Markup {
    html! {
        div.wide tabindex="0" role="region" aria-label=(name) {
            table {
                thead {
                    tr {
                        th scope="col" { (lang.say("sections.section")) }
                        @for column in columns { th scope="col" { (lang.say(column)) } }
                    }
                }
                tbody { (rows) }
            }
        }
    }
}

/// A row's head: its depth, and a touch that draws it.
pub(super) fn by_depth(lang: Language, focus: &Focus) -> Markup {
    html! {
        th scope="row" {
            button type="button" data-look=(focus.json()) {
                (lang.fill("place.deep", &[("depth", &lang.short(focus.depth_mm))]))
            }
        }
    }
}

const fn other(phase: Phase) -> Phase {
    match phase {
        Phase::AsFound => Phase::AsLeft,
        Phase::AsLeft => Phase::AsFound,
    }
}

fn row(lang: Language, job: &JobView, focus: &Focus, numbers: &Section, shown: bool) -> Markup {
    let words = verdict_of(lang, job, focus);
    let or_none = |value: Option<f64>| value.map_or_else(|| NONE.to_owned(), |mm| lang.mm(mm));
    html! {
        tr.shown[shown] {
            th scope="row" {
                button type="button" data-look=(focus.json()) {
                    (words::section_short(lang, &focus.bore, focus.depth_mm))
                }
            }
            td data-of=(lang.say("numbers.mean")) {
                (or_none(numbers.mean_diameter_mm))
                @if !numbers.size_set { small { " " (lang.say("numbers.not-set")) } }
            }
            td data-of=(lang.say("numbers.out-of-round")) { (or_none(numbers.out_of_round_mm)) }
            td class={ "judged " (class(words.standing)) } { (shape(words.standing)) (words.headline) }
        }
    }
}
