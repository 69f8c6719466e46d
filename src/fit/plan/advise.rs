//! Which option is advised, and why.

use super::{Choice, Predicted, Work};
use crate::fit::expected::Meets;
use crate::fit::judged::JudgedBore;
use crate::uncertainty::Decision;

/// Which option, and why (common practice, no source). What is open is gauged again before
/// anything else; what no gauging settles is the maker's to accept. A good seat is pressed, or takes another insert: it is never cut for the insert.
/// A loose one is bonded, since a reamer only makes it larger. Any other is reamed where a reamer
/// brings it to size, which leaves a seat as it was meant to be, while a compound only fills what
/// is wrong. Among reamers what is certain comes before what is not, then what leaves the bearing
/// the most clearance, then the least cut.
pub(super) fn advise(
    options: &[Choice],
    judged: &JudgedBore,
    misaligned: Option<&str>,
) -> (usize, String) {
    let open = |work: Work| {
        options
            .iter()
            .enumerate()
            .filter(move |(_, option)| option.work == work && option.refused.is_none())
    };
    let first = |work: Work| open(work).next();
    let chosen = |(at, option): (usize, &Choice)| (at, reason(option));
    if let Some(found) = first(Work::GaugeAgain).or_else(|| first(Work::Press)) {
        return chosen(found);
    }
    // What nobody can tell is no reason to cut a bore of which nothing is shown wrong.
    if let Some(for_good) = open_for_good(options, judged, misaligned) {
        return (options.len() - 1, for_good.to_owned());
    }
    let loose = options
        .iter()
        .any(|option| option.work == Work::Press && sits_loose(option));
    if (loose || judged.not_oversize.decision == Decision::DoesNotConform)
        && let Some(found) = first(Work::Bond)
    {
        return chosen(found);
    }
    if let Some(found) = first(Work::OtherInsert) {
        return chosen(found);
    }
    let reamers = || open(Work::Ream).filter(|(_, option)| mends(option));
    let fits = |option: &Choice| {
        let fit = option.predicted.as_ref().and_then(|p| p.fit.as_ref());
        fit.is_none_or(|fit| fit.unfit().is_none())
    };
    if let Some(found) = surest(reamers().filter(|(_, option)| fits(option))) {
        return chosen(found);
    }
    // A seat that a reamer would bring to size, owned or not, is not cut beyond it.
    let mendable = options
        .iter()
        .any(|option| wants_a_reamer(option) || mends(option));
    let beyond = |option: &Choice| option.work == Work::ReamAndBond && !mends(option);
    for work in [Work::Bond, Work::ReamAndBond] {
        let found = open(work).find(|(_, option)| !(mendable && beyond(option)));
        if let Some(found) = found {
            return chosen(found);
        }
    }
    // The seat is mended, and then takes a larger insert.
    if let Some(found) = surest(reamers().filter(|(_, option)| sits_loose(option))) {
        return chosen(found);
    }
    if let Some(found) = first(Work::Sleeve).filter(|_| !mendable) {
        return chosen(found);
    }
    let wrong = judged.all().into_iter();
    let wrong = wrong.filter(|judged| judged.decision == Decision::DoesNotConform);
    let faults: Vec<&str> = misaligned
        .into_iter()
        .chain(wrong.map(|judged| judged.why.as_str()))
        .collect();
    let last = options.len() - 1;
    let why = if faults.is_empty() {
        "nothing else is left that the numbers allow".to_owned()
    } else {
        format!(
            "nothing else is left that the numbers allow: {}",
            faults.join("; ")
        )
    };
    (last, why)
}

/// What is open of a seat of which nothing is shown wrong, where no gauging settles it, as a sentence.
pub(super) fn open_for_good<'a>(
    options: &'a [Choice],
    judged: &JudgedBore,
    misaligned: Option<&str>,
) -> Option<&'a str> {
    let open = misaligned.is_none() && !judged.fails() && !judged.conforms();
    let again = options
        .iter()
        .find(|option| option.work == Work::GaugeAgain);
    again.filter(|_| open)?.refused.as_deref()
}

/// The reamer whose outcome is surest.
fn surest<'a>(options: impl Iterator<Item = (usize, &'a Choice)>) -> Option<(usize, &'a Choice)> {
    let rank = |option: &Choice| {
        let predicted = option.predicted.as_ref()?;
        let seat = predicted.size.max(predicted.form);
        let cut = predicted.reamed.as_ref()?.deepest_cut_mm;
        Some((open_of(predicted).max(seat), seat, least_um(predicted), cut))
    };
    options
        .filter_map(|found| Some((found, rank(found.1)?)))
        .min_by(|(_, a), (_, b)| {
            let known = (a.0, a.1).cmp(&(b.0, b.1));
            known.then(b.2.total_cmp(&a.2)).then(a.3.total_cmp(&b.3))
        })
        .map(|(found, _)| found)
}

/// Whether the insert is shown to hold, to keep its clearance and to leave the housing whole.
fn open_of(predicted: &Predicted) -> Decision {
    let Some(fit) = &predicted.fit else {
        return Decision::Conforms;
    };
    let holds = if fit.meets == Meets::Interference {
        Decision::Conforms
    } else {
        Decision::CantTell
    };
    let left = fit.clearance.map(|clearance| clearance.left);
    let asked = [Some(holds), left, fit.below_yield];
    asked
        .into_iter()
        .flatten()
        .fold(Decision::Conforms, Decision::max)
}

/// Least internal clearance left, whole µm: less than that changes no choice.
fn least_um(predicted: &Predicted) -> f64 {
    let clearance = predicted.fit.as_ref().and_then(|fit| fit.clearance);
    clearance.map_or(f64::NEG_INFINITY, |clearance| {
        let least = clearance.tight_axis_um.unwrap_or(clearance.mean_um);
        least.whole().0
    })
}

fn sits_loose(option: &Choice) -> bool {
    let fit = option.predicted.as_ref().and_then(|p| p.fit.as_ref());
    fit.is_some_and(|fit| fit.meets == Meets::Clearance)
}

/// Whether a reamer leaves a seat of which nothing is shown wrong, whatever goes into it.
pub(super) fn mends(option: &Choice) -> bool {
    option.predicted.as_ref().is_some_and(|predicted| {
        predicted.reamed.is_some() && predicted.size.max(predicted.form) != Decision::DoesNotConform
    })
}

/// Whether this is the reamer that the shop lacks.
pub(super) fn wants_a_reamer(option: &Choice) -> bool {
    option.work == Work::Ream && option.with.is_none()
}

fn reason(option: &Choice) -> String {
    option.reasons.first().cloned().unwrap_or_default()
}
