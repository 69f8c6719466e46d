//! Which causes remain for a bearing that runs tight, with the reasons for and against each.
//!
//! Every rule is in [`RULES`], one function a cause, in the order in which a mechanic suspects
//! them. A rule shows a cause only where the decision rule does; what the mechanic feels makes a
//! cause likely or unlikely, never shown. Facts of the trade (common practice, no source): a
//! bearing's ring is ground closer than a welded shell is bored, so the seat is suspected first; a
//! bearing that is tight when pressed in and free when out has a bad seat.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::assess::{Fit, Meets};
use super::judged::{Judged, JudgedBore};
use crate::uncertainty::Decision;

/// What the mechanic saw and felt; null where not tried.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Evidence {
    /// It runs tight when fitted.
    pub runs_tight: Option<bool>,
    /// Taken out, it is free in the hand.
    pub free_once_out: Option<bool>,
    /// Where it is tight, degrees from the seat's landmark.
    pub tight_towards_deg: Option<f64>,
    /// It feels gritty.
    pub gritty: Option<bool>,
    /// Each bearing runs free by itself; it binds only with the axle through both.
    pub only_with_axle: Option<bool>,
    /// Friction torque by the hang test, fitted, N·m.
    pub hang_fitted_nm: Option<f64>,
    /// Friction torque by the hang test, once out or before pressing, N·m.
    pub hang_free_nm: Option<f64>,
}

/// A bore with its fit, where an insert is known.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    /// The bore judged by its seat.
    pub seat: JudgedBore,
    /// The insert in it.
    pub fit: Option<Fit>,
}

/// What can be the cause.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum CauseKind {
    /// The seat's mean diameter is too small.
    SeatUndersize,
    /// The seat is oval.
    SeatOval,
    /// The seat tapers, or is wider or narrower in the middle.
    SeatTaper,
    /// The seat has a raised spot.
    RaisedSpot,
    /// The seat is too large, or the insert loose in it.
    SeatOversize,
    /// The bearing itself.
    Bearing,
    /// The bores don't lie on one axis.
    Misaligned,
    /// Dirt in the bearing or the seat.
    Contamination,
}

/// How a cause stands.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Standing {
    /// Proven by measurement.
    Shown,
    /// The evidence points to it.
    Likely,
    /// Neither shown nor excluded.
    Possible,
    /// Nothing is known of it.
    NotKnown,
    /// The evidence points away from it.
    Unlikely,
    /// Excluded by measurement.
    RuledOut,
}

/// One cause with its reasons.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Cause {
    /// Which.
    pub cause: CauseKind,
    /// How it stands.
    pub standing: Standing,
    /// Reasons for it, as sentences.
    #[serde(rename = "for")]
    pub reasons_for: Vec<String>,
    /// Reasons against it.
    pub against: Vec<String>,
}

/// Is it the bearing or the seat?
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum AtFault {
    /// The seat.
    Seat,
    /// The bearing.
    Bearing,
    /// Both.
    Both,
    /// Neither; nothing is wrong that was looked at.
    Neither,
    /// It can't be told from what is known.
    CantTell,
}

/// The causes that remain.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Diagnosis {
    /// Is it the bearing or the seat?
    pub at_fault: AtFault,
    /// The same in one sentence.
    pub summary: String,
    /// All causes, those that stand strongest first.
    pub causes: Vec<Cause>,
}

type Rule = fn(&[Case], &Evidence) -> Cause;

/// The rules, in the order in which a mechanic suspects.
const RULES: [Rule; 8] = [
    undersize,
    oval,
    taper,
    raised_spot,
    oversize,
    bearing,
    misaligned,
    contamination,
];

/// The causes that remain for what was measured and felt.
pub fn diagnose(cases: &[Case], evidence: &Evidence) -> Diagnosis {
    let mut causes: Vec<Cause> = RULES.iter().map(|rule| rule(cases, evidence)).collect();
    // Stable: among equals the order of suspicion stays.
    causes.sort_by_key(|cause| cause.standing);
    let at_fault = at_fault(cases, &causes);
    Diagnosis {
        at_fault,
        summary: summary(at_fault, &causes),
        causes,
    }
}

/// Undersize: the mean diameter lies under the lower limit.
fn undersize(cases: &[Case], evidence: &Evidence) -> Cause {
    let mut cause = of_seat(CauseKind::SeatUndersize, cases, |seat| &seat.not_undersize);
    for fit in cases.iter().filter_map(|case| case.fit.as_ref()) {
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
fn oval(cases: &[Case], evidence: &Evidence) -> Cause {
    let mut cause = of_seat(CauseKind::SeatOval, cases, |seat| &seat.round);
    let share = |case: &Case| case.seat.oval_share.unwrap_or(1.0);
    let failing: Vec<&Case> = cases
        .iter()
        .filter(|case| case.seat.round.decision == Decision::DoesNotConform)
        .collect();
    if cause.standing == Standing::Shown && failing.iter().all(|case| share(case) < 0.5) {
        cause.standing = Standing::Possible;
        for case in &failing {
            cause.against.push(format!(
                "{}: the oval is only {:.0} % of what is out of round",
                case.seat.name,
                100.0 * share(case)
            ));
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
fn taper(cases: &[Case], evidence: &Evidence) -> Cause {
    let mut cause = of_seat(CauseKind::SeatTaper, cases, |seat| &seat.straight);
    felt(&mut cause, evidence);
    cause
}

/// A raised spot: one diameter smaller than mean and oval explain.
fn raised_spot(cases: &[Case], evidence: &Evidence) -> Cause {
    let mut cause = of_seat(CauseKind::RaisedSpot, cases, |seat| &seat.no_spot);
    felt(&mut cause, evidence);
    cause
}

/// Oversize: the mean lies over the upper limit, or the insert is shown to be loose.
fn oversize(cases: &[Case], _: &Evidence) -> Cause {
    let mut cause = of_seat(CauseKind::SeatOversize, cases, |seat| &seat.not_oversize);
    for case in cases {
        let Some(fit) = &case.fit else { continue };
        let by = -fit.interference_mm;
        match fit.meets {
            Meets::Clearance => {
                cause.standing = Standing::Shown;
                cause.reasons_for.push(format!(
                    "{}: {} is {by:.3} mm smaller than the bore's mean and sits loose",
                    case.seat.name, fit.insert
                ));
            }
            Meets::CantTell => {
                cause.standing = cause.standing.min(Standing::Possible);
                cause.reasons_for.push(format!(
                    "{}: whether {} has interference can't be told ({:+.3} mm)",
                    case.seat.name, fit.insert, fit.interference_mm
                ));
            }
            Meets::Interference => cause.against.push(format!(
                "{}: {} has {:.3} mm of interference",
                case.seat.name, fit.insert, fit.interference_mm
            )),
        }
    }
    cause
}

/// The bearing itself: only what is felt once it is out can point to it.
fn bearing(cases: &[Case], evidence: &Evidence) -> Cause {
    let mut cause = blank(CauseKind::Bearing);
    let sound = !cases.is_empty() && cases.iter().all(|case| case.seat.conforms());
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
        None if sound && evidence.runs_tight == Some(true) => Standing::Likely,
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
    hang(&mut cause, evidence);
    cause
}

/// Misaligned bores: a gauge that touches one bore at a time can't show it.
fn misaligned(cases: &[Case], evidence: &Evidence) -> Cause {
    let mut cause = blank(CauseKind::Misaligned);
    let sound = !cases.is_empty() && cases.iter().all(|case| case.seat.conforms());
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
        None if cases.len() < 2 => Standing::NotKnown,
        None if sound
            && evidence.free_once_out == Some(true)
            && evidence.runs_tight == Some(true) =>
        {
            cause.reasons_for.push(
                "both bores conform by themselves and the bearings are free once out".to_owned(),
            );
            Standing::Possible
        }
        None => Standing::NotKnown,
    };
    if cause.standing != Standing::Unlikely {
        cause
            .against
            .push("not measured: a bore gauge sees one bore at a time".to_owned());
    }
    cause
}

/// Dirt: only what is felt points to it.
fn contamination(_: &[Case], evidence: &Evidence) -> Cause {
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

const fn blank(cause: CauseKind) -> Cause {
    Cause {
        cause,
        standing: Standing::NotKnown,
        reasons_for: Vec::new(),
        against: Vec::new(),
    }
}

/// A cause of the seat by what was judged of every bore: shown where one shows it, ruled out only
/// where all do.
fn of_seat(kind: CauseKind, cases: &[Case], judged: fn(&JudgedBore) -> &Judged) -> Cause {
    let mut cause = blank(kind);
    for case in cases {
        let Judged { decision, why } = judged(&case.seat);
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

/// What is felt speaks for a bad seat in general; it shows nothing by itself.
fn felt(cause: &mut Cause, evidence: &Evidence) {
    if !matches!(cause.standing, Standing::Shown | Standing::Possible) {
        return;
    }
    if evidence.runs_tight == Some(true) && evidence.free_once_out == Some(true) {
        cause
            .reasons_for
            .push("tight when pressed in, free in the hand once out".to_owned());
    }
    if let (Some(fitted), Some(free)) = (evidence.hang_fitted_nm, evidence.hang_free_nm)
        && fitted > 1.5 * free
    {
        cause.reasons_for.push(format!(
            "the friction torque is {fitted:.4} N·m fitted and {free:.4} N·m free"
        ));
    }
}

fn hang(cause: &mut Cause, evidence: &Evidence) {
    if let (Some(fitted), Some(free)) = (evidence.hang_fitted_nm, evidence.hang_free_nm) {
        let sentence =
            format!("the friction torque is {free:.4} N·m free and {fitted:.4} N·m fitted");
        if fitted > 1.5 * free {
            cause.against.push(sentence);
        } else {
            cause.reasons_for.push(sentence);
        }
    }
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

const fn is_of_seat(kind: CauseKind) -> bool {
    matches!(
        kind,
        CauseKind::SeatUndersize
            | CauseKind::SeatOval
            | CauseKind::SeatTaper
            | CauseKind::RaisedSpot
            | CauseKind::SeatOversize
    )
}

fn at_fault(cases: &[Case], causes: &[Cause]) -> AtFault {
    let bad = cases.iter().any(|case| case.seat.fails());
    let seat = |standing| {
        causes
            .iter()
            .any(|cause| is_of_seat(cause.cause) && cause.standing == standing)
    };
    let of = |kind| {
        causes
            .iter()
            .find(|cause| cause.cause == kind)
            .map_or(Standing::NotKnown, |cause| cause.standing)
    };
    let bearing = of(CauseKind::Bearing);
    let open = [of(CauseKind::Misaligned), of(CauseKind::Contamination)]
        .iter()
        .any(|standing| *standing <= Standing::Possible);
    match (bad || seat(Standing::Shown), bearing) {
        (true, Standing::Likely) => AtFault::Both,
        (true, _) => AtFault::Seat,
        (false, _) if seat(Standing::Possible) || seat(Standing::NotKnown) => AtFault::CantTell,
        (false, Standing::Likely) => AtFault::Bearing,
        (false, _) if open => AtFault::CantTell,
        (false, _) => AtFault::Neither,
    }
}

fn summary(at_fault: AtFault, causes: &[Cause]) -> String {
    let first = |causes: &[&Cause]| {
        causes
            .iter()
            .filter_map(|cause| cause.reasons_for.first())
            .cloned()
            .collect::<Vec<_>>()
            .join("; ")
    };
    let of_seat = |standing| -> Vec<&Cause> {
        causes
            .iter()
            .filter(|cause| is_of_seat(cause.cause) && cause.standing == standing)
            .collect()
    };
    match at_fault {
        AtFault::Seat => format!(
            "The seat is at fault. {}.",
            first(&of_seat(Standing::Shown))
        ),
        AtFault::Both => format!(
            "The seat is at fault, and the bearing is likely bad too. {}.",
            first(&of_seat(Standing::Shown))
        ),
        AtFault::Bearing => {
            "The seat is good in size and form: the bearing is likely at fault.".to_owned()
        }
        AtFault::Neither => {
            "The seat is good in size and form, and nothing points to the bearing.".to_owned()
        }
        AtFault::CantTell => {
            let open = of_seat(Standing::Possible);
            if open.is_empty() {
                "The seat is good where it was gauged; what remains was not measured.".to_owned()
            } else {
                format!("It can't be told yet. {}.", first(&open))
            }
        }
    }
}
