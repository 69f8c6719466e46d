//! The rules, one function a cause.

use super::press::{squeezed, tight_fit};
use super::{Case, Cause, CauseKind, Evidence, Standing, all_conform};
use crate::fit::alignment::Alignment;
use crate::fit::expected::Meets;
use crate::fit::judged::{Judged, JudgedBore};
use crate::uncertainty::{Decision, rounded_up};

/// What the rules look at.
#[derive(Clone, Copy)]
pub(super) struct Known<'a> {
    pub(super) cases: &'a [Case],
    pub(super) evidence: &'a Evidence,
    /// Whether the bores lie on one axis, or why that isn't known.
    pub(super) alignment: Result<&'a Alignment, &'a str>,
}

pub(super) type Rule = fn(&Known<'_>) -> Cause;

/// The rules, in the order in which a mechanic suspects.
pub(super) const RULES: [Rule; 9] = [
    undersize,
    oval,
    taper,
    raised_spot,
    oversize,
    tight_fit,
    bearing,
    misaligned,
    contamination,
];

/// Undersize: the mean diameter lies under the lower limit.
fn undersize(known: &Known<'_>) -> Cause {
    let Known {
        cases, evidence, ..
    } = *known;
    let mut cause = of_size(CauseKind::SeatUndersize, cases, |seat| {
        (&seat.not_undersize, &seat.not_oversize)
    });
    // Where the seat is not undersize, clearance is lost to the insert.
    let open = matches!(cause.standing, Standing::Shown | Standing::Possible);
    let fits = cases.iter().filter(|_| open);
    for fit in fits.filter_map(|case| case.fit.as_ref()) {
        if let Some(clearance) = fit.clearance.filter(|c| c.mean_um.greatest < 0.0) {
            cause.reasons_for.push(format!(
                "pressed in, {} keeps at most {:.0} µm of clearance all round",
                fit.insert, clearance.mean_um.greatest
            ));
        }
    }
    felt(&mut cause, evidence);
    cause
}

/// Oval: out of round beyond the limit, and at least half of it is two lobes.
fn oval(known: &Known<'_>) -> Cause {
    let Known {
        cases, evidence, ..
    } = *known;
    let mut cause = of_seat(CauseKind::SeatOval, cases, |seat| &seat.round);
    let share = |case: &Case| case.seat.oval_share.unwrap_or(1.0);
    let failing: Vec<&Case> = cases
        .iter()
        .filter(|case| case.seat.round.decision == Decision::DoesNotConform)
        .collect();
    if cause.standing == Standing::Shown && failing.iter().all(|case| share(case) < 0.5) {
        cause.standing = Standing::Possible;
        for case in &failing {
            let name = &case.seat.name;
            let percent = 100.0 * share(case);
            cause.against.push(if percent < 49.5 {
                format!("{name}: the oval is only {percent:.0} % of what is out of round")
            } else {
                format!("{name}: the oval is less than half of what is out of round")
            });
        }
    }
    if cause.standing == Standing::Shown {
        for case in &failing {
            if let Some(axis) = case.seat.tight_axis_deg {
                cause.reasons_for.push(format!(
                    "{}: tight across {axis:.0}°-{:.0}°",
                    case.seat.name,
                    axis + 180.0
                ));
                towards(&mut cause, axis, evidence);
            }
        }
    }
    felt(&mut cause, evidence);
    cause
}

/// Taper, bell-mouth or barrel: the mean diameter changes along the depth beyond the form limit.
fn taper(known: &Known<'_>) -> Cause {
    let Known {
        cases, evidence, ..
    } = *known;
    let mut cause = of_seat(CauseKind::SeatTaper, cases, |seat| &seat.straight);
    felt(&mut cause, evidence);
    cause
}

/// A raised spot: one diameter smaller than mean and oval explain.
fn raised_spot(known: &Known<'_>) -> Cause {
    let Known {
        cases, evidence, ..
    } = *known;
    let mut cause = of_seat(CauseKind::RaisedSpot, cases, |seat| &seat.no_spot);
    felt(&mut cause, evidence);
    cause
}

/// Oversize: the mean lies over the upper limit, or the insert is shown to be loose in a seat that is
/// not shown to be at size. Loose in a seat that is, the insert is too small.
fn oversize(known: &Known<'_>) -> Cause {
    let cases = known.cases;
    let mut cause = of_size(CauseKind::SeatOversize, cases, |seat| {
        (&seat.not_oversize, &seat.not_undersize)
    });
    for case in cases {
        let Some(fit) = &case.fit else { continue };
        let by = -fit.interference_mm;
        match fit.meets {
            Meets::Clearance if case.seat.not_oversize.decision == Decision::Conforms => {
                cause.against.push(format!(
                    "{}: {} sits loose by {by:.3} mm, but the bore is not too large for its seat",
                    case.seat.name, fit.insert
                ));
            }
            Meets::Clearance => {
                cause.standing = Standing::Shown;
                cause.reasons_for.push(format!(
                    "{}: {} is {by:.3} mm smaller than the bore's mean and sits loose",
                    case.seat.name, fit.insert
                ));
            }
            Meets::CantTell => {
                cause.standing = cause.standing.min(Standing::Possible);
                cause
                    .reasons_for
                    .push(format!("{}: {}", case.seat.name, fit.may_be_loose()));
            }
            Meets::Interference => cause.against.push(format!(
                "{}: {} has {:.3} mm of interference",
                case.seat.name, fit.insert, fit.interference_mm
            )),
        }
    }
    cause
}

/// The bearing itself: only what is felt once it is out can point to it. In good seats it is not likely
/// where pressing is shown to make the friction greater, nor where the press fit may squeeze it: that is
/// none of the bearing alone.
fn bearing(known: &Known<'_>) -> Cause {
    let Known {
        cases, evidence, ..
    } = *known;
    let mut cause = blank(CauseKind::Bearing);
    let sound = all_conform(cases);
    let bad = cases.iter().any(|case| case.seat.fails());
    cause.standing = match evidence.free_once_out {
        Some(false) => {
            cause
                .reasons_for
                .push("it is not free in the hand once out".to_owned());
            Standing::Likely
        }
        Some(true) => {
            cause
                .against
                .push("it is free in the hand once out".to_owned());
            Standing::Unlikely
        }
        None if sound && evidence.runs_tight == Some(true) => {
            let mut may_squeeze = cases
                .iter()
                .map(squeezed)
                .filter(|(standing, _)| *standing != Standing::RuledOut);
            match may_squeeze.next() {
                Some((_, why)) => {
                    cause.against.push(why);
                    Standing::Possible
                }
                None => Standing::Likely,
            }
        }
        None if bad => Standing::Possible,
        None => Standing::NotKnown,
    };
    if sound {
        cause
            .reasons_for
            .push("every bore conforms to its seat in size and form".to_owned());
    }
    if bad {
        cause.against.push(
            "a seat is shown to be wrong, and a ring is ground closer than a welded shell is bored"
                .to_owned(),
        );
    }
    match hung(evidence) {
        Some((Drag::Greater, sentence)) => {
            cause.against.push(sentence);
            if sound && cause.standing < Standing::Possible {
                cause.standing = Standing::Possible;
            }
        }
        Some((Drag::NoGreater, sentence)) => cause.reasons_for.push(sentence),
        Some((Drag::CantTell, _)) | None => {}
    }
    cause
}

/// Misaligned bores: shown only where both were swept from one axis; else what is felt makes them
/// likely or unlikely.
fn misaligned(known: &Known<'_>) -> Cause {
    let Known {
        cases, evidence, ..
    } = *known;
    let mut cause = blank(CauseKind::Misaligned);
    let sound = all_conform(cases);
    let drags = drags_more_fitted(evidence);
    cause.standing = match evidence.only_with_axle {
        Some(true) => {
            cause.reasons_for.push(
                "each bearing runs free by itself and it binds only with the axle".to_owned(),
            );
            Standing::Likely
        }
        Some(false) => {
            cause
                .against
                .push("it binds without the axle too".to_owned());
            Standing::Unlikely
        }
        None if sound
            && cases.len() > 1
            && evidence.free_once_out == Some(true)
            && evidence.runs_tight == Some(true) =>
        {
            cause.reasons_for.push(
                "both bores conform by themselves and the bearings are free once out".to_owned(),
            );
            Standing::Possible
        }
        None if sound && cases.len() > 1 && drags.is_some() => Standing::Possible,
        None => Standing::NotKnown,
    };
    if cause.standing <= Standing::Possible {
        cause.reasons_for.extend(drags);
    }
    match known.alignment {
        Ok(Alignment { decision, why, .. }) => {
            let (standing, reasons) = match decision {
                Decision::DoesNotConform => (Standing::Shown, &mut cause.reasons_for),
                Decision::Conforms => (Standing::RuledOut, &mut cause.against),
                Decision::CantTell => (
                    cause.standing.min(Standing::Possible),
                    &mut cause.reasons_for,
                ),
            };
            // What was measured comes before what was felt.
            reasons.insert(0, why.clone());
            cause.standing = standing;
        }
        Err(why) if cause.standing != Standing::Unlikely => {
            cause.against.push(format!("not measured: {why}"));
        }
        Err(_) => {}
    }
    cause
}

/// Dirt: only what is felt points to it.
fn contamination(known: &Known<'_>) -> Cause {
    let evidence = known.evidence;
    let mut cause = blank(CauseKind::Contamination);
    cause.standing = match evidence.gritty {
        Some(true) => {
            cause.reasons_for.push("it feels gritty".to_owned());
            Standing::Likely
        }
        Some(false) => {
            cause.against.push("it does not feel gritty".to_owned());
            Standing::Unlikely
        }
        None => Standing::NotKnown,
    };
    cause
}

pub(super) const fn blank(cause: CauseKind) -> Cause {
    Cause {
        cause,
        standing: Standing::NotKnown,
        reasons_for: Vec::new(),
        against: Vec::new(),
    }
}

/// A cause of the seat by what was judged of every bore: shown where one shows it, ruled out only
/// where all do.
fn of_seat(kind: CauseKind, cases: &[Case], judged: impl Fn(&JudgedBore) -> &Judged) -> Cause {
    let mut cause = blank(kind);
    for case in cases {
        let Judged { decision, why, .. } = judged(&case.seat);
        let standing = match decision {
            Decision::DoesNotConform => Standing::Shown,
            Decision::CantTell => Standing::Possible,
            Decision::Conforms => Standing::RuledOut,
        };
        match decision {
            Decision::DoesNotConform | Decision::CantTell => cause.reasons_for.push(why.clone()),
            Decision::Conforms => cause.against.push(why.clone()),
        }
        cause.standing = if cause.standing == Standing::NotKnown {
            standing
        } else {
            cause.standing.min(standing)
        };
    }
    cause
}

/// A cause of the size of the seat, and what is judged of the other limit: a bore shown to be too small
/// at one depth is hardly too large at another whose size is not known, and the other way round.
fn of_size(
    kind: CauseKind,
    cases: &[Case],
    judged: fn(&JudgedBore) -> (&Judged, &Judged),
) -> Cause {
    let mut cause = of_seat(kind, cases, |seat| judged(seat).0);
    let hardly = |case: &Case| {
        let (own, other) = judged(&case.seat);
        own.decision == Decision::Conforms
            || !own.measured && other.decision == Decision::DoesNotConform
    };
    if cause.standing == Standing::Possible && cases.iter().all(hardly) {
        cause.standing = Standing::Unlikely;
    }
    cause
}

/// What is felt speaks for a bad seat in general; it shows nothing by itself.
pub(super) fn felt(cause: &mut Cause, evidence: &Evidence) {
    if !matches!(cause.standing, Standing::Shown | Standing::Possible) {
        return;
    }
    if evidence.runs_tight == Some(true) && evidence.free_once_out == Some(true) {
        cause
            .reasons_for
            .push("tight when pressed in, free in the hand once out".to_owned());
    }
    if let Some((Drag::Greater, sentence)) = hung(evidence) {
        cause.reasons_for.push(sentence);
    }
}

/// What two hang tests say of the friction fitted, against that of the bearing alone.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Drag {
    /// Pressing makes it greater.
    Greater,
    /// It does not.
    NoGreater,
    /// They are too close to tell.
    CantTell,
}

/// Greater is half as much again (judgement), and more than what is not known of both: one-sided
/// 95 %, 1.65 standard uncertainties. A least value decides from its own side only: however great the
/// torque fitted may be, at least 0.02 N·m free may be as great.
fn hung(evidence: &Evidence) -> Option<(Drag, String)> {
    let (fitted, free) = (evidence.hang_fitted_nm?, evidence.hang_free_nm?);
    let (u_fitted, u_free) = (evidence.hang_fitted_u_nm, evidence.hang_free_u_nm);
    let guard = 1.65 * u_fitted.unwrap_or(0.0).hypot(1.5 * u_free.unwrap_or(0.0));
    let drag = match fitted - 1.5 * free {
        more if more > guard && !evidence.hang_free_least => Drag::Greater,
        more if more < -guard && !evidence.hang_fitted_least => Drag::NoGreater,
        _ => Drag::CantTell,
    };
    let torque = |nm: f64, u: Option<f64>, is_least: bool| {
        let reach = u.map_or_else(String::new, |u| {
            format!(" ± {:.4}", rounded_up(1.96 * u, 4))
        });
        let torque = format!("{nm:.4}{reach} N·m");
        if is_least {
            format!("at least {torque}")
        } else {
            torque
        }
    };
    let sentence = format!(
        "the friction torque is {} fitted and {} free",
        torque(fitted, u_fitted, evidence.hang_fitted_least),
        torque(free, u_free, evidence.hang_free_least)
    );
    Some((drag, sentence))
}

/// That pressing makes the friction greater, as a sentence, where two hang tests show it.
pub(super) fn drags_more_fitted(evidence: &Evidence) -> Option<String> {
    let (drag, sentence) = hung(evidence)?;
    (drag == Drag::Greater).then_some(sentence)
}

/// Whether the side that is tight agrees with the oval's tight axis, within 30° (judgement).
fn towards(cause: &mut Cause, axis_deg: f64, evidence: &Evidence) {
    let Some(felt) = evidence.tight_towards_deg else {
        return;
    };
    let off = (felt - axis_deg).rem_euclid(180.0);
    let off = off.min(180.0 - off);
    let sentence = format!("it is felt tight towards {felt:.0}°, {off:.0}° from the tight axis");
    if off <= 30.0 {
        cause.reasons_for.push(sentence);
    } else {
        cause.against.push(sentence);
    }
}
