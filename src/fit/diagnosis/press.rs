//! Whether the press fit itself squeezes the bearing.

use super::rules::{blank, felt};
use super::{Case, Cause, CauseKind, Known, Standing};
use crate::uncertainty::Decision;

/// What a good seat leaves of the bearing's internal clearance, and the sentence that says so. A bad
/// seat is blamed itself.
pub(super) fn squeezed(case: &Case) -> (Standing, String) {
    let name = &case.seat.name;
    let open = |why: &str| {
        let sentence =
            format!("{name}: whether the press fit squeezes the bearing can't be told, {why}");
        (Standing::Possible, sentence)
    };
    let Some(fit) = &case.fit else {
        let unknown = "what is pressed in is not known: name the insert, or measure it";
        return open(case.foreign.as_deref().unwrap_or(unknown));
    };
    if let Some(why) = fit.too_tight() {
        return (Standing::Shown, format!("{name}: {why}"));
    }
    let Some((clearance, left)) = fit.clearance.zip(fit.clearance_left()) else {
        let mut withheld = fit.withheld.iter();
        let why = withheld.find(|withheld| withheld.field == "clearance");
        return open(why.map_or("the bearing is not known", |withheld| &withheld.why));
    };
    match clearance.left {
        Decision::DoesNotConform => (Standing::Shown, format!("{name}: it leaves {left}")),
        Decision::CantTell => (
            Standing::Possible,
            format!("{name}: the press fit may squeeze the bearing, it leaves {left}"),
        ),
        Decision::Conforms => (Standing::RuledOut, format!("{name}: it leaves {left}")),
    }
}

/// The press fit: where a good seat and this insert leave no clearance, or may leave none.
pub(super) fn tight_fit(known: &Known<'_>) -> Cause {
    let mut cause = blank(CauseKind::TightFit);
    for case in known.cases.iter().filter(|case| case.seat.conforms()) {
        let (standing, sentence) = squeezed(case);
        match standing {
            Standing::RuledOut => cause.against.push(sentence),
            _ => cause.reasons_for.push(sentence),
        }
        cause.standing = if cause.standing == Standing::NotKnown {
            standing
        } else {
            cause.standing.min(standing)
        };
    }
    felt(&mut cause, known.evidence);
    cause
}
