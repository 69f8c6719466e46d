//! Numbers, directions and verdicts as a mechanic says them.

mod language;
mod phrases;

pub use language::Language;

use maud::{Markup, html};

use crate::job::Decision::{CantTell, Conforms, DoesNotConform};
use crate::job::{Phase, Seat, SeatBore, SectionNumbers, StationView, Status};

/// A withheld number.
pub(super) const NONE: &str = "—";

/// With a capital first letter.
pub(super) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

/// The name of a bore in the page's language, with a capital first letter.
pub(super) fn bore(lang: Language, name: &str) -> String {
    capital(lang.name_of(name))
}

/// A reason that the daemon gives, in the page's language where the phrase book holds it; else in
/// English, and marked so for whoever has the page read aloud.
pub(super) fn told(lang: Language, why: &str) -> Markup {
    shown(lang, why, capital)
}

/// The same as a whole sentence.
pub(super) fn told_whole(lang: Language, why: &str) -> Markup {
    shown(lang, why, sentence)
}

/// The same inside a sentence.
pub(super) fn told_within(lang: Language, why: &str) -> Markup {
    shown(lang, why, str::to_owned)
}

/// The same as a whole sentence, under a headline that says already that nothing can be told.
pub(super) fn told_under(lang: Language, why: &str) -> Markup {
    let too_close = lang.say("verdict.too-close");
    shown(lang, why, |text| sentence(&text.replacen(too_close, "", 1)))
}

fn shown(lang: Language, why: &str, as_text: impl Fn(&str) -> String) -> Markup {
    match lang.told(why) {
        Some(told) => html! { (tied(&as_text(&told))) },
        None => html! { span lang="en" { (tied(&as_text(why))) } },
    }
}

/// `text` with every number on one line with its unit and its uncertainty: `0.012 ± 0.003 mm`.
pub(crate) fn tied(text: &str) -> String {
    const UNITS: [&str; 6] = ["mm", "µm", "°C", "MPa", "N·m", "%"];
    let ends = |word: &str| word.ends_with(|last: char| last.is_ascii_digit());
    let is_unit = |word: &str| {
        let word = word.trim_end_matches(|last: char| ".,;:)".contains(last));
        word == "±" || UNITS.contains(&word)
    };
    let mut all = String::with_capacity(text.len() + 8);
    let mut before = "";
    for word in text.split(' ') {
        if !all.is_empty() {
            let tie = before == "±" || ends(before) && is_unit(word);
            all.push(if tie { '\u{a0}' } else { ' ' });
        }
        all.push_str(word);
        before = word;
    }
    all
}

/// How a section stands, as the page shows it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Standing {
    /// Everything that was asked conforms.
    Inside,
    /// Gauging goes on.
    Open,
    /// Gauged, and nobody can tell.
    CantTell,
    /// A limit is passed.
    Outside,
}

/// A verdict: a few words to read from afar, then the sentences behind them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Words {
    pub(super) standing: Standing,
    pub(super) headline: String,
    /// As the daemon says it, in English.
    pub(super) because: Vec<String>,
    /// In the page's language.
    pub(super) more: String,
}

/// The verdict on one section in words. `done` of its stations are gauged, `open` still to do.
pub(super) fn verdict(
    lang: Language,
    section: Option<&SectionNumbers>,
    bore: &SeatBore,
    done: usize,
    open: usize,
) -> Words {
    let Some(section) = section else {
        return Words {
            standing: Standing::Open,
            headline: lang.say("verdict.nothing").into(),
            because: Vec::new(),
            more: String::new(),
        };
    };
    let (size, form) = (&section.verdict.size, &section.verdict.form);
    let set = section.numbers.size_set;
    let over = section
        .numbers
        .mean_diameter_mm
        .is_some_and(|mean| mean > bore.target_mm);
    let count: [(&str, &dyn std::fmt::Display); 2] = [("done", &done), ("all", &(done + open))];
    // Every further station can only make a section less round: that verdict stands already.
    let so_far = open > 0 && form.decision != DoesNotConform;
    let (standing, headline) = match (form.decision, size.decision) {
        (DoesNotConform, DoesNotConform) if over => (Standing::Outside, "verdict.round-over"),
        (DoesNotConform, DoesNotConform) => (Standing::Outside, "verdict.round-under"),
        (DoesNotConform, _) => (Standing::Outside, "verdict.out-of-round"),
        (_, DoesNotConform) if over => (Standing::Outside, "verdict.over"),
        (_, DoesNotConform) => (Standing::Outside, "verdict.under"),
        (Conforms, Conforms) => (Standing::Inside, "verdict.good"),
        (Conforms, CantTell) if !set => (Standing::Inside, "verdict.round-only"),
        _ if open > 0 => {
            // Half of the stations are few by themselves; of more it's said what is missing.
            let few = done <= open;
            let untold = [form, size].into_iter().find(|of| of.decision == CantTell);
            let why = untold.filter(|_| !few).map(|judged| judged.why.clone());
            return Words {
                standing: Standing::Open,
                headline: lang.fill("verdict.progress", &count),
                more: match &why {
                    None => lang.say("verdict.too-few").into(),
                    Some(_) => String::new(),
                },
                because: why.into_iter().collect(),
            };
        }
        (Conforms, CantTell) => (Standing::CantTell, "verdict.size-open"),
        (CantTell, Conforms) => (Standing::CantTell, "verdict.form-open"),
        (CantTell, CantTell) => (Standing::CantTell, "verdict.open"),
    };
    let standing = if so_far && standing == Standing::Inside {
        Standing::Open
    } else {
        standing
    };
    let because = [form, size].map(|judged| judged.why.clone());
    let more = (open > 0).then(|| lang.fill("verdict.progress-more", &count));
    let headline = lang.say(headline);
    Words {
        standing,
        headline: if so_far {
            lang.fill("verdict.so-far", &[("verdict", &headline)])
        } else {
            headline.to_owned()
        },
        because: because.into(),
        more: more.unwrap_or_default(),
    }
}

/// A section: `Drive side, 9.5 mm deep`.
pub(super) fn section(lang: Language, bore: &str, depth_mm: f64) -> String {
    let depth = lang.short(depth_mm);
    lang.fill(
        "place.section",
        &[("bore", &self::bore(lang, bore)), ("depth", &depth)],
    )
}

/// The same where there is little room.
pub(super) fn section_short(lang: Language, bore: &str, depth_mm: f64) -> String {
    let depth = lang.short(depth_mm);
    lang.fill(
        "place.section-short",
        &[("bore", &self::bore(lang, bore)), ("depth", &depth)],
    )
}

/// The name of a phase, as it stands inside a sentence.
pub(super) fn phase(lang: Language, phase: Phase) -> &'static str {
    lang.say(match phase {
        Phase::AsFound => "phase.as-found",
        Phase::AsLeft => "phase.as-left",
    })
}

/// A fragment as a sentence.
pub(super) fn sentence(fragment: &str) -> String {
    let text = capital(fragment.trim());
    if text.ends_with('.') {
        text
    } else {
        text + "."
    }
}

/// How many stations of one section are gauged, and how many still to do.
pub(super) fn progress(stations: &[StationView], bore: &str, depth_mm: f64) -> (usize, usize) {
    let here = |s: &&StationView| s.station.bore == bore && s.station.depth_mm == depth_mm;
    let count = |status| {
        stations
            .iter()
            .filter(here)
            .filter(|s| s.status == status)
            .count()
    };
    (count(Status::Measured), count(Status::ToDo))
}

/// The bore of a seat by name.
pub(super) fn bore_of<'a>(seat: &'a Seat, name: &str) -> Option<&'a SeatBore> {
    seat.bores.iter().find(|bore| bore.name == name)
}

#[cfg(test)]
mod tests {
    use super::tied;

    #[test]
    fn a_number_stays_with_its_unit_and_its_uncertainty() {
        for (text, shown) in [
            (
                "found: 0.012 ± 0.003 mm, 5 in all",
                "found: 0.012\u{a0}±\u{a0}0.003\u{a0}mm, 5 in all",
            ),
            ("over 9 mm of depth", "over 9\u{a0}mm of depth"),
            ("at 20 °C. The 46 is", "at 20\u{a0}°C. The 46 is"),
            ("", ""),
        ] {
            assert_eq!(tied(text), shown);
        }
    }
}
