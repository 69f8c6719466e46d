//! The rules of the diagnosis, as a table.
//!
//! Facts of the trade (common practice, no source): a bearing that is tight when pressed in and
//! free when out has a bad seat; a bearing's ring is ground closer than a welded shell is bored,
//! so the seat is suspected first.

#![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]

use borewright::display::Language;
use borewright::fit::{
    Alignment, AtFault, Case, CauseKind, Diagnosis, Evidence, Fit, Judged, JudgedBore, Standing,
    diagnose,
};
use borewright::job::Decision::{self, CantTell, Conforms, DoesNotConform};

fn judged(decision: Decision, what: &str) -> Judged {
    Judged {
        decision,
        why: format!("{what} 0.123 mm"),
        measured: true,
    }
}

/// A press fit that leaves the bearing `um` of clearance across its tight axis.
fn fit(left: Decision, um: [f64; 2]) -> Fit {
    let range = serde_json::json!({ "least": um[0], "greatest": um[1] });
    serde_json::from_value(serde_json::json!({
        "insert": "bearing 30x42x7",
        "insert_mm": 42.0,
        "insert_from": "measured",
        "meets": "interference",
        "interference_mm": 0.02,
        "sections": [],
        "clearance": {
            "initial_um": { "least": 5.0, "greatest": 20.0 },
            "mean_um": range,
            "tight_axis_um": range,
            "left": left,
        },
        "uncertainty": {},
        "withheld": [],
    }))
    .unwrap()
}

/// Decisions on: not undersize, not oversize, round, straight, no spot.
fn case(decisions: [Decision; 5], oval_share: f64) -> Case {
    let [under, over, round, straight, spot] = decisions;
    Case {
        seat: JudgedBore {
            name: "drive side".into(),
            not_undersize: judged(under, "undersize"),
            not_oversize: judged(over, "oversize"),
            round: judged(round, "round"),
            oval_share: Some(oval_share),
            tight_axis_deg: Some(40.0),
            straight: judged(straight, "straight"),
            no_spot: judged(spot, "spot"),
        },
        fit: Some(fit(Conforms, [2.0, 18.0])),
        foreign: None,
    }
}

fn not_swept() -> Result<Alignment, String> {
    Err("a two-point gauge finds diameters".to_owned())
}

const GOOD: [Decision; 5] = [Conforms; 5];

fn with(at: usize, decision: Decision) -> [Decision; 5] {
    let mut decisions = GOOD;
    decisions[at] = decision;
    decisions
}

fn standing(diagnosis: &Diagnosis, kind: CauseKind) -> Standing {
    let cause = diagnosis.causes.iter().find(|cause| cause.cause == kind);
    cause.unwrap().standing
}

fn felt(tight: Option<bool>, free_out: Option<bool>) -> Evidence {
    Evidence {
        runs_tight: tight,
        free_once_out: free_out,
        ..Evidence::default()
    }
}

#[test]
fn a_table_of_cases() {
    use AtFault as F;
    use CauseKind as C;
    use Standing as S;
    let (yes, no) = (Some(true), Some(false));
    #[rustfmt::skip]
    let table: [([Decision; 5], f64, Evidence, F, C, S); 17] = [
        // Nothing wrong, nothing felt.
        (GOOD, 1.0, felt(None, None), F::Neither, C::Bearing, S::NotKnown),
        // A good seat that runs tight leaves the bearing.
        (GOOD, 1.0, felt(yes, None), F::Bearing, C::Bearing, S::Likely),
        (GOOD, 1.0, felt(yes, no), F::Bearing, C::SeatOval, S::RuledOut),
        // One bore alone: free once out, tight fitted, seat good: nothing is shown.
        (GOOD, 1.0, felt(yes, yes), F::Neither, C::Bearing, S::Unlikely),
        // Each fault of the seat is shown by its own decision, whatever is felt.
        (with(0, DoesNotConform), 1.0, felt(None, None), F::Seat, C::SeatUndersize, S::Shown),
        (with(1, DoesNotConform), 1.0, felt(None, None), F::Seat, C::SeatOversize, S::Shown),
        (with(2, DoesNotConform), 0.9, felt(yes, yes), F::Seat, C::SeatOval, S::Shown),
        (with(3, DoesNotConform), 1.0, felt(None, None), F::Seat, C::SeatTaper, S::Shown),
        ([Conforms, Conforms, DoesNotConform, Conforms, DoesNotConform], 0.2, felt(yes, yes), F::Seat, C::RaisedSpot, S::Shown),
        // Lobed: the seat is at fault, but no one place of it.
        ([Conforms, Conforms, DoesNotConform, Conforms, CantTell], 0.1, felt(yes, yes), F::Seat, C::RaisedSpot, S::Possible),
        // Out of round, but not an oval: the seat is at fault all the same.
        (with(2, DoesNotConform), 0.2, felt(None, None), F::Seat, C::SeatOval, S::Possible),
        // A bad seat and a bearing that is bad in the hand.
        (with(2, DoesNotConform), 0.9, felt(yes, no), F::Both, C::Bearing, S::Likely),
        // A bad seat: the bearing is possible, not likely.
        (with(2, DoesNotConform), 0.9, felt(yes, None), F::Seat, C::Bearing, S::Possible),
        // What can't be told is never shown, however strongly it is felt.
        (with(0, CantTell), 1.0, felt(yes, yes), F::CantTell, C::SeatUndersize, S::Possible),
        (with(2, CantTell), 1.0, felt(yes, yes), F::CantTell, C::SeatOval, S::Possible),
        ([CantTell; 5], 1.0, felt(yes, no), F::CantTell, C::SeatTaper, S::Possible),
        (with(3, CantTell), 1.0, felt(yes, no), F::CantTell, C::Bearing, S::Likely),
    ];
    for (row, (decisions, share, evidence, at_fault, kind, want)) in table.into_iter().enumerate() {
        let diagnosis = diagnose(&[case(decisions, share)], &evidence, not_swept());
        assert_eq!(
            diagnosis.at_fault, at_fault,
            "row {row}: {}",
            diagnosis.summary
        );
        assert_eq!(standing(&diagnosis, kind), want, "row {row}");
    }
}

/// Never more certain than the decision rule: a cause of the seat is shown only where a decision
/// is `does not conform`, whatever is felt.
#[test]
fn nothing_felt_ever_shows_a_cause() {
    for tight in [None, Some(true), Some(false)] {
        for free in [None, Some(true), Some(false)] {
            for gritty in [None, Some(true), Some(false)] {
                let evidence = Evidence {
                    gritty,
                    only_with_axle: free,
                    hang_fitted_nm: Some(0.02),
                    hang_free_nm: Some(0.001),
                    tight_towards_deg: Some(40.0),
                    ..felt(tight, free)
                };
                for decisions in [GOOD, [CantTell; 5]] {
                    let diagnosis = diagnose(&[case(decisions, 1.0)], &evidence, not_swept());
                    assert!(
                        diagnosis
                            .causes
                            .iter()
                            .all(|c| c.standing != Standing::Shown)
                    );
                }
            }
        }
    }
}

/// Arms that were never seen to slip give least values: of those only fitted against a known free one
/// shows more drag, only free against a known fitted one shows no more.
#[test]
fn a_least_friction_decides_from_its_own_side_only() {
    let bearing = |[fitted, free]: [(f64, bool); 2]| {
        let evidence = Evidence {
            hang_fitted_nm: Some(fitted.0),
            hang_free_nm: Some(free.0),
            hang_fitted_least: fitted.1,
            hang_free_least: free.1,
            ..felt(None, None)
        };
        let diagnosis = diagnose(&[case(GOOD, 1.0)], &evidence, not_swept());
        let kind = |cause: &borewright::fit::Cause| cause.cause == CauseKind::Bearing;
        let cause = diagnosis.causes.into_iter().find(kind).unwrap();
        let drag = |reasons: Vec<String>| reasons.into_iter().find(|why| why.contains("friction"));
        (drag(cause.reasons_for), drag(cause.against))
    };
    let least = "the friction torque is at least 0.0500 N·m fitted and 0.0100 N·m free";
    let greater = bearing([(0.05, true), (0.01, false)]);
    assert_eq!(greater, (None, Some(least.to_owned())));
    let least = "the friction torque is 0.0100 N·m fitted and at least 0.0500 N·m free";
    let no_greater = bearing([(0.01, false), (0.05, true)]);
    assert_eq!(no_greater, (Some(least.to_owned()), None));
    for open in [
        [(0.05, true), (0.01, true)],
        [(0.01, true), (0.05, true)],
        [(0.05, false), (0.01, true)],
        [(0.01, true), (0.05, false)],
    ] {
        assert_eq!(bearing(open), (None, None), "{open:?}");
    }
}

/// Good seats, and five times the friction once pressed: something is wrong, and nothing measured says
/// that it is the bearing.
#[test]
fn more_drag_fitted_than_free_in_good_seats_is_not_put_down_to_the_bearing() {
    for tight in [None, Some(true)] {
        for bores in [1, 2] {
            let evidence = Evidence {
                hang_fitted_nm: Some(0.05),
                hang_free_nm: Some(0.01),
                ..felt(tight, None)
            };
            let cases = vec![case(GOOD, 1.0); bores];
            let diagnosis = diagnose(&cases, &evidence, not_swept());
            assert_eq!(
                diagnosis.at_fault,
                AtFault::CantTell,
                "{}",
                diagnosis.summary
            );
            assert!(standing(&diagnosis, CauseKind::Bearing) >= Standing::Possible);
            assert!(
                diagnosis.summary.contains("0.0500 N·m fitted"),
                "{}",
                diagnosis.summary
            );
            // No greater fitted than free, what is felt decides again.
            let even = Evidence {
                hang_fitted_nm: Some(0.01),
                ..evidence
            };
            let felt = diagnose(&cases, &even, not_swept()).at_fault;
            let wanted = if tight.is_some() {
                AtFault::Bearing
            } else {
                AtFault::Neither
            };
            assert_eq!(felt, wanted);
        }
    }
}

/// A fit that may leave no clearance runs tight in the best of seats with the best of bearings.
#[test]
fn a_bearing_is_not_blamed_while_the_press_fit_may_squeeze_it() {
    let diagnosis = |fit: Option<Fit>, evidence| {
        let case = Case {
            fit,
            ..case(GOOD, 1.0)
        };
        let diagnosis = diagnose(&[case.clone(), case], &evidence, not_swept());
        let told = Language::De.told(&diagnosis.summary);
        assert!(told.is_some(), "no German: {}", diagnosis.summary);
        let causes = diagnosis.causes.iter();
        for why in causes.flat_map(|cause| cause.reasons_for.iter().chain(&cause.against)) {
            assert!(
                why.ends_with("0.123 mm")
                    || why.starts_with("not measured")
                    || Language::De.told(why).is_some(),
                "no German: {why}"
            );
        }
        diagnosis
    };
    let open = || Some(fit(CantTell, [-12.0, 8.0]));
    let interval = "it leaves -12 to 8 µm of internal clearance where it is tightest";
    for free in [None, Some(true)] {
        let tight = felt(Some(true), free);
        for (fit, says) in [
            (open(), interval),
            (None, "what is pressed in is not known: name the insert"),
        ] {
            let found = diagnosis(fit, tight);
            assert_eq!(found.at_fault, AtFault::CantTell, "{}", found.summary);
            assert!(found.summary.contains(says), "{}", found.summary);
            assert!(standing(&found, CauseKind::Bearing) >= Standing::Possible);
            assert_eq!(standing(&found, CauseKind::TightFit), Standing::Possible);
        }
    }
    // Two bores by themselves good may still lie beside each other.
    let both = diagnosis(open(), felt(Some(true), Some(true))).summary;
    assert!(both.contains("both bores conform"), "{both}");
    // With clearance left the bearing remains; with none left the insert is at fault.
    let conforms = fit(Conforms, [2.0, 18.0]);
    let left = diagnosis(Some(conforms), felt(Some(true), None));
    assert_eq!(left.at_fault, AtFault::Bearing);
    assert_eq!(standing(&left, CauseKind::TightFit), Standing::RuledOut);
    let lost = diagnosis(Some(fit(DoesNotConform, [-30.0, -10.0])), felt(None, None));
    assert_eq!(lost.at_fault, AtFault::Insert);
    assert_eq!(standing(&lost, CauseKind::TightFit), Standing::Shown);
    // Nobody complains: nothing is wrong.
    let quiet = diagnosis(open(), felt(None, None));
    assert_eq!(quiet.at_fault, AtFault::Neither, "{}", quiet.summary);
}

/// What feels gritty is cleaned before another bearing is bought.
#[test]
fn dirt_is_named_beside_the_bearing() {
    for free in [None, Some(false)] {
        let evidence = Evidence {
            gritty: Some(true),
            ..felt(Some(true), free)
        };
        let of = |decisions| diagnose(&[case(decisions, 1.0)], &evidence, not_swept());
        let good = of(GOOD);
        assert_eq!(good.at_fault, AtFault::Bearing);
        assert!(
            good.summary
                .ends_with("Also likely: dirt. Clean it first and try again."),
            "{}",
            good.summary
        );
        assert!(Language::De.told(&good.summary).is_some());
        assert!(
            good.of_the_bearing()
                .unwrap()
                .contains("clean the bearing first")
        );
    }
    let clean = diagnose(&[case(GOOD, 1.0)], &felt(Some(true), None), not_swept());
    assert!(clean.of_the_bearing().unwrap().contains("fit another"));
}

/// A seat that is shown to be wrong is not all: what is felt beside it stands in the headline too, in
/// either language, and nothing that is only possible.
#[test]
fn the_headline_names_what_is_likely_beside_the_seat() {
    let yes = Some(true);
    for (gritty, only_with_axle, also) in [
        (None, None, None),
        (yes, None, Some("dirt")),
        (None, yes, Some("bores not on one axis")),
        (yes, yes, Some("bores not on one axis and dirt")),
    ] {
        for free in [None, Some(false)] {
            let evidence = Evidence {
                gritty,
                only_with_axle,
                ..felt(yes, free)
            };
            let of = |decisions| diagnose(&[case(decisions, 1.0)], &evidence, not_swept());
            let bad = of(with(0, DoesNotConform));
            let summary = &bad.summary;
            let words = also.map(|also| format!("also likely: {also}"));
            assert_eq!(bad.also_likely(), words);
            let said = also.map(|also| format!(" 0.123 mm. Also likely: {also}."));
            let said = said.as_deref().unwrap_or(" 0.123 mm.");
            assert!(summary.starts_with("The seat is at fault"), "{summary}");
            assert!(summary.ends_with(said), "{summary}");
            assert_eq!(summary.contains("the bearing is likely"), free.is_some());
            assert!(Language::De.told(&words.unwrap_or_default()).is_some() || also.is_none());
            let open = of(with(0, CantTell));
            assert_eq!(open.also_likely(), None, "{}", open.summary);
        }
    }
}

#[test]
fn reasons_quote_the_numbers_and_the_side() {
    let evidence = Evidence {
        tight_towards_deg: Some(225.0),
        ..felt(Some(true), Some(true))
    };
    let diagnosis = diagnose(
        &[case(with(2, DoesNotConform), 0.9)],
        &evidence,
        not_swept(),
    );
    let oval = &diagnosis.causes[0];
    assert_eq!(oval.cause, CauseKind::SeatOval);
    let text = oval.reasons_for.join("\n");
    assert!(text.contains("round 0.123 mm"), "{text}");
    assert!(text.contains("tight across 40°-220°"), "{text}");
    assert!(
        text.contains("felt tight towards 225°, 5° from the tight axis"),
        "{text}"
    );
    assert!(
        text.contains("tight when pressed in, free in the hand once out"),
        "{text}"
    );
    let across = Evidence {
        tight_towards_deg: Some(130.0),
        ..Evidence::default()
    };
    let diagnosis = diagnose(&[case(with(2, DoesNotConform), 0.9)], &across, not_swept());
    assert!(
        diagnosis.causes[0]
            .against
            .iter()
            .any(|why| why.contains("90° from the tight axis"))
    );
}

/// Two good bores with free bearings that bind only with the axle: misaligned bores are likely,
/// and not measured.
#[test]
fn misaligned_bores_are_never_shown_by_a_bore_gauge() {
    let evidence = Evidence {
        only_with_axle: Some(true),
        ..felt(Some(true), Some(true))
    };
    let cases = [case(GOOD, 1.0), case(GOOD, 1.0)];
    let diagnosis = diagnose(&cases, &evidence, not_swept());
    assert_eq!(diagnosis.at_fault, AtFault::CantTell);
    assert_eq!(
        standing(&diagnosis, CauseKind::Misaligned),
        Standing::Likely
    );
    let cause = &diagnosis.causes[0];
    assert!(cause.against[0].starts_with("not measured"));
    assert_eq!(diagnosis.withheld[0].field, "alignment");
}

/// A good seat with an insert that can't be its own: the insert is at fault, and nothing of the seat
/// is shown. A bad seat is bad whatever is to go in.
#[test]
fn an_insert_of_another_seat_is_at_fault_where_the_seats_are_good() {
    let why = "bearing 30x42x7 (42 mm outside) is not for a 46 mm bore: name the cup";
    let of = |decisions| {
        let case = Case {
            foreign: Some(why.to_owned()),
            ..case(decisions, 1.0)
        };
        diagnose(&[case], &felt(None, None), not_swept())
    };
    let good = of(GOOD);
    assert_eq!(good.at_fault, AtFault::Insert);
    assert!(good.summary.contains(why), "{}", good.summary);
    assert!(good.causes.iter().all(|c| c.standing != Standing::Shown));
    assert_eq!(of(with(0, DoesNotConform)).at_fault, AtFault::Seat);
    assert_eq!(of(with(0, CantTell)).at_fault, AtFault::CantTell);
}
