//! The diagnosis in one sentence.

use std::fmt::Write as _;

use super::{
    AtFault, Case, Cause, CauseKind, Standing, all_conform, is_of_housing, is_of_seat, judged,
    reasons, standing, unfit,
};
use crate::uncertainty::Decision;

/// What is at fault, and what is likely besides. `drags` and `felt` as for what is at fault.
pub(super) fn summary(
    at_fault: AtFault,
    cases: &[Case],
    causes: &[Cause],
    drags: Option<&str>,
    felt: bool,
) -> String {
    let mut summary = of_fault(at_fault, cases, causes, drags, felt);
    if let Some(causes) = unnamed(at_fault, causes) {
        let _ = write!(summary, " Also likely: {causes}.");
    }
    // Before another bearing is bought.
    let dirty = standing(causes, CauseKind::Contamination) == Standing::Likely;
    if dirty && at_fault == AtFault::Bearing {
        summary.push_str(" Clean it first and try again.");
    }
    summary
}

/// What is likely and is not named with what is at fault; nothing while that can't be told. Measuring
/// settles every other cause but the bearing itself, and where that is likely it is named.
pub(super) fn unnamed(at_fault: AtFault, causes: &[Cause]) -> Option<String> {
    let told = !matches!(at_fault, AtFault::Neither | AtFault::CantTell);
    let likely = |kind| told && standing(causes, kind) == Standing::Likely;
    let words: Vec<&str> = [
        (CauseKind::Misaligned, "bores not on one axis"),
        (CauseKind::Contamination, "dirt"),
    ]
    .into_iter()
    .filter_map(|(kind, word)| likely(kind).then_some(word))
    .collect();
    (!words.is_empty()).then(|| words.join(" and "))
}

fn of_fault(
    at_fault: AtFault,
    cases: &[Case],
    causes: &[Cause],
    drags: Option<&str>,
    felt: bool,
) -> String {
    let shown = || {
        let of_housing =
            |cause: &&Cause| is_of_housing(cause.cause) && cause.standing == Standing::Shown;
        let of_housing: Vec<&Cause> = causes.iter().filter(of_housing).collect();
        let reasons = reasons(cases, &of_housing, usize::MAX);
        // A seat may be out of round by something that is no cause of its own.
        if reasons.is_empty() {
            judged(cases, Decision::DoesNotConform, usize::MAX)
        } else {
            reasons
        }
    };
    let likely = |kind| standing(causes, kind) == Standing::Likely;
    match at_fault {
        AtFault::Seat => format!("The seat is at fault: {}.", shown()),
        AtFault::Both => format!(
            "The seat is at fault, and the bearing is likely bad too: {}.",
            shown()
        ),
        AtFault::Bearing => {
            "The seat is good in size and form: the bearing is likely at fault.".to_owned()
        }
        AtFault::Insert => {
            let why = unfit(cases).unwrap_or_default();
            let bad = if likely(CauseKind::Bearing) {
                " The bearing is likely bad too."
            } else {
                ""
            };
            format!("The seats conform; the insert does not fit them: {why}.{bad}")
        }
        AtFault::Neither => {
            "The seat is good in size and form, and nothing points to the bearing.".to_owned()
        }
        AtFault::CantTell => cant_tell(cases, causes, drags, felt),
    }
}

/// What is open. What settles the first of it often settles the rest.
fn cant_tell(cases: &[Case], causes: &[Cause], drags: Option<&str>, felt: bool) -> String {
    let possible = |of: &dyn Fn(CauseKind) -> bool, at_most| {
        let open = |cause: &&Cause| of(cause.cause) && cause.standing == Standing::Possible;
        let open: Vec<&Cause> = causes.iter().filter(open).collect();
        match reasons(cases, &open, at_most) {
            none if none.is_empty() => None,
            open => Some(format!("It can't be told yet: {open}.")),
        }
    };
    let likely = |kind| standing(causes, kind) == Standing::Likely;
    if let Some(open) = possible(&is_of_seat, 2) {
        return open;
    }
    if likely(CauseKind::Misaligned) {
        return "Each bore is good by itself: likely they don't lie on one axis, which was not \
                measured."
            .to_owned();
    }
    if likely(CauseKind::Contamination) {
        return "The seat is good in size and form: likely it is dirt. Clean it and try again."
            .to_owned();
    }
    if let Some(drags) = drags.filter(|_| all_conform(cases)) {
        return format!(
            "Each seat is good in size and form, and yet {drags}: why can't be told yet."
        );
    }
    let of = |kind| is_of_housing(kind) || felt && kind == CauseKind::TightFit;
    possible(&of, 3).unwrap_or_else(|| {
        let open = match judged(cases, Decision::CantTell, 2) {
            none if none.is_empty() => "no bore was gauged whole".to_owned(),
            open => open,
        };
        format!("It can't be told yet: {open}.")
    })
}
