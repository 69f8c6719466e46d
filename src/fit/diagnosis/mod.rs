//! Which causes remain for a bearing that runs tight, with the reasons for and against each.
//!
//! Every rule is in `rules.rs`, one function a cause, in the order in which a mechanic suspects them. A rule shows a cause only where the decision rule does; what the mechanic feels makes a
//! cause likely or unlikely, never shown. Facts of the trade (common practice, no source): a
//! bearing's ring is ground closer than a welded shell is bored, so the seat is suspected first; a
//! bearing that is tight when pressed in and free when out has a bad seat.

mod press;
mod rules;
mod summary;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use self::rules::{Known, RULES, drags_more_fitted};
use self::summary::{summary, unnamed};
use super::alignment::Alignment;
use super::expected::Fit;
use super::judged::JudgedBore;
use super::pendulum::MOST_NM;
use crate::bore::Withheld;
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
    /// Standard uncertainty of the torque fitted, N·m.
    pub hang_fitted_u_nm: Option<f64>,
    /// Standard uncertainty of the torque once out, N·m.
    pub hang_free_u_nm: Option<f64>,
    /// The torque fitted is a least value: the arm was never seen to slip.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub hang_fitted_least: bool,
    /// The torque once out is a least value.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub hang_free_least: bool,
}

impl Evidence {
    /// Whether evidence can be so.
    ///
    /// # Errors
    /// A sentence that says what can't be.
    pub fn plausible(&self) -> Result<(), &'static str> {
        let towards = self.tight_towards_deg;
        if towards.is_some_and(|angle| !(0.0..360.0).contains(&angle)) {
            return Err("an angle lies in [0, 360) degrees");
        }
        let torques = [
            self.hang_fitted_nm,
            self.hang_free_nm,
            self.hang_fitted_u_nm,
            self.hang_free_u_nm,
        ];
        let possible = |torque: f64| (0.0..=MOST_NM).contains(&torque);
        if !torques.into_iter().flatten().all(possible) {
            return Err(
                "a friction torque by a hang test and its uncertainty are 0 to 100 N·m, without a sign",
            );
        }
        Ok(())
    }
}

/// A bore with its fit, where an insert is known.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    /// The bore judged by its seat.
    pub seat: JudgedBore,
    /// The insert in it.
    pub fit: Option<Fit>,
    /// Why the insert named can't belong to this bore, as a sentence; `None` where it can.
    pub foreign: Option<String>,
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
    /// The press fit leaves the bearing no internal clearance, though the seat is as it should be.
    TightFit,
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
    /// Neither by itself: the seats conform, and what goes in is not for this fit.
    Insert,
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
    /// How the bores lie to each other; null where that wasn't measured.
    #[serde(default)]
    pub alignment: Option<Alignment>,
    /// The fields that are null, and why.
    #[serde(default)]
    pub withheld: Vec<Withheld>,
}

impl Diagnosis {
    /// What is likely besides what is at fault, as words: whoever says the one says the other. `None`
    /// where nothing is, and while it can't be told what is at fault.
    pub fn also_likely(&self) -> Option<String> {
        let causes = unnamed(self.at_fault, &self.causes)?;
        Some(format!("also likely: {causes}"))
    }

    /// What is to be done about the bearing besides the work on the bore, as words; `None` where nothing
    /// is.
    pub fn of_the_bearing(&self) -> Option<&'static str> {
        if !matches!(self.at_fault, AtFault::Bearing | AtFault::Both) {
            return None;
        }
        Some(match standing(&self.causes, CauseKind::Contamination) {
            Standing::Likely => {
                "it feels gritty: clean the bearing first, and fit another if it still runs tight"
            }
            _ => "the bearing itself is likely bad: fit another",
        })
    }
}

/// The causes that remain for what was measured and felt; `alignment` says how the bores lie to
/// each other, or why that isn't known.
pub fn diagnose(
    cases: &[Case],
    evidence: &Evidence,
    alignment: Result<Alignment, String>,
) -> Diagnosis {
    let known = Known {
        cases,
        evidence,
        alignment: alignment.as_ref().map_err(String::as_str),
    };
    let mut causes: Vec<Cause> = RULES.iter().map(|rule| rule(&known)).collect();
    // Stable: among equals the order of suspicion stays.
    causes.sort_by_key(|cause| cause.standing);
    let drags = drags_more_fitted(evidence);
    let felt = drags.is_some() || evidence.runs_tight == Some(true);
    let at_fault = at_fault(cases, &causes, drags.is_some(), felt);
    let withheld = alignment.as_ref().err().map(|why| Withheld {
        field: "alignment".to_owned(),
        why: why.clone(),
    });
    Diagnosis {
        at_fault,
        summary: summary(at_fault, cases, &causes, drags.as_deref(), felt),
        causes,
        alignment: alignment.ok(),
        withheld: withheld.into_iter().collect(),
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

/// The seats, and how they lie to each other.
const fn is_of_housing(kind: CauseKind) -> bool {
    is_of_seat(kind) || matches!(kind, CauseKind::Misaligned)
}

/// `drags`: pressing is shown to make the friction greater. Then something is wrong, and it is not the
/// bearing alone. `felt`: it does, or it runs tight; only then is it asked whether the press fit does it.
fn at_fault(cases: &[Case], causes: &[Cause], drags: bool, felt: bool) -> AtFault {
    let bad = cases.iter().any(|case| case.seat.fails());
    let seat = |standing| {
        causes
            .iter()
            .any(|cause| is_of_seat(cause.cause) && cause.standing == standing)
    };
    let of = |kind| standing(causes, kind);
    let bearing = of(CauseKind::Bearing);
    // Bores beside each other are the housing's fault, as a bad seat is.
    let bad = bad || of(CauseKind::Misaligned) == Standing::Shown;
    let open = [of(CauseKind::Misaligned), of(CauseKind::Contamination)]
        .iter()
        .any(|standing| *standing <= Standing::Possible);
    let open = open || felt && of(CauseKind::TightFit) <= Standing::Possible;
    // A good seat is not blamed for what is put into it.
    if !bad && unfit(cases).is_some() {
        return AtFault::Insert;
    }
    match (bad || seat(Standing::Shown), bearing) {
        (true, Standing::Likely) => AtFault::Both,
        (true, _) => AtFault::Seat,
        (false, _) if seat(Standing::Possible) || seat(Standing::NotKnown) => AtFault::CantTell,
        (false, Standing::Likely) => AtFault::Bearing,
        (false, _) if open || drags => AtFault::CantTell,
        (false, _) => AtFault::Neither,
    }
}

fn standing(causes: &[Cause], kind: CauseKind) -> Standing {
    let mut causes = causes.iter();
    let cause = causes.find(|cause| cause.cause == kind);
    cause.map_or(Standing::NotKnown, |cause| cause.standing)
}

fn all_conform(cases: &[Case]) -> bool {
    !cases.is_empty() && cases.iter().all(|case| case.seat.conforms())
}

/// What is wrong with the insert, where every seat conforms: the first of what is shown.
fn unfit(cases: &[Case]) -> Option<String> {
    if !all_conform(cases) {
        return None;
    }
    let mut shown = cases.iter().filter_map(|case| {
        let unfit = || case.fit.as_ref()?.unfit();
        let why = case.foreign.clone().or_else(unfit)?;
        Some(format!("{}: {why}", case.seat.name))
    });
    shown.next()
}

/// What of the seats is decided so, every sentence once.
fn judged(cases: &[Case], decision: Decision, at_most: usize) -> String {
    let mut sentences: Vec<&str> = Vec::new();
    for one in cases.iter().flat_map(|case| case.seat.all()) {
        if one.decision == decision && !sentences.contains(&one.why.as_str()) {
            sentences.push(&one.why);
        }
    }
    sentences.truncate(at_most);
    sentences.join("; ")
}

/// The first reason of each cause for each bore, every sentence once.
fn reasons(cases: &[Case], causes: &[&Cause], at_most: usize) -> String {
    let mut sentences: Vec<&str> = Vec::new();
    for cause in causes {
        let of_bore = cases.iter().filter_map(|case| {
            let of = |reason: &&String| {
                let rest = reason.strip_prefix(case.seat.name.as_str());
                rest.is_some_and(|rest| rest.starts_with([' ', ':']))
            };
            cause.reasons_for.iter().find(of)
        });
        let mut found: Vec<&str> = of_bore.map(String::as_str).collect();
        if found.is_empty() {
            found.extend(cause.reasons_for.first().map(String::as_str));
        }
        for sentence in found {
            if !sentences.contains(&sentence) {
                sentences.push(sentence);
            }
        }
    }
    sentences.truncate(at_most);
    sentences.join("; ")
}
