//! A seat that changes along its depth: the plan and the diagnosis judge it alike and name its shape.

#![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]

use borewright::bore::{Basis, Bore, Contact, Observation, Section, Setting, bore, section};
use borewright::display::Language;
use borewright::fit::plan::Work;
use borewright::fit::{CauseKind, Done, JudgedBore, Known, Standing, examine, outcomes};
use borewright::job::Seats;
use borewright::uncertainty::Decision;

/// A ring known to `ring_mm`.
fn ring(ring_mm: f64) -> Setting {
    Setting {
        standard_mm: ring_mm,
        degrees_of_freedom: f64::INFINITY,
        by_ring: true,
        ..Setting::default()
    }
}

/// A section gauged with 1 µm of scatter.
fn section_of(depth: f64, mean_mm: f64, setting: Option<Setting>) -> Section {
    let basis = Basis {
        resolution_mm: Some(0.000_1),
        setting,
        ..Basis::default()
    };
    let readings: Vec<Observation> = (0..12_u32)
        .map(|at| Observation {
            angle_deg: f64::from(at) * 30.0,
            reading_mm: mean_mm + 0.001 * f64::from(at * 7 % 5).mul_add(0.5, -1.0),
        })
        .collect();
    section(Contact::TwoPoint, depth, &readings, &basis).unwrap()
}

/// Sections of `means` at `depths`, set by a ring known to `ring_mm`.
fn gauged(depths: &[f64], ring_mm: f64, mean_mm: impl Fn(f64) -> f64) -> Bore {
    let sections = depths.iter();
    let sections = sections.map(|&depth| section_of(depth, mean_mm(depth), Some(ring(ring_mm))));
    bore("drive side", sections.collect())
}

/// The seat `pressfit-46`: form 0.025 mm. What is judged of the depth, and its sentence.
fn judged(bore: &Bore) -> (Decision, String) {
    let seats = Seats::built_in();
    let seat = seats.get("pressfit-46").unwrap();
    let judged = JudgedBore::of(bore, &seat.bores[0]);
    let other = Bore {
        bore: seat.bores[1].name.clone(),
        ..bore.clone()
    };
    let both = [bore.clone(), other];
    let found = examine(seat, Contact::TwoPoint, &both, &Known::default());
    let mut options = found.bores[0].plan.options.iter();
    let press = options.find(|option| option.work == Work::Press).unwrap();
    let form = press.predicted.as_ref().unwrap().form;
    assert_eq!(form, judged.round.decision.max(judged.straight.decision));
    let causes = &found.diagnosis.causes;
    let cause = causes
        .iter()
        .find(|c| c.cause == CauseKind::SeatTaper)
        .unwrap();
    let standing = match judged.straight.decision {
        Decision::Conforms => Standing::RuledOut,
        Decision::CantTell => Standing::Possible,
        Decision::DoesNotConform => Standing::Shown,
    };
    assert_eq!(cause.standing, standing);
    let why = judged.straight.why;
    assert!(Language::De.told(&why).is_some(), "no German: {why}");
    (judged.straight.decision, why)
}

/// Three and seven depths of a parabola, as wide at both ends: what is out of limit is the middle.
#[test]
fn a_barrel_is_named_wherever_it_stands_to_the_limit() {
    let depths: [&[f64]; 2] = [&[1.0, 5.5, 10.0], &[1.0, 2.5, 4.0, 5.5, 7.0, 8.5, 10.0]];
    for depths in depths {
        for (by, decision) in [
            (0.020, Decision::Conforms),
            (0.025, Decision::CantTell),
            (0.028, Decision::DoesNotConform),
        ] {
            let barrel = |depth: f64| 45.963 + by * (1.0 - ((depth - 5.5) / 4.5).powi(2));
            let (found, why) = judged(&gauged(depths, 0.000_5, barrel));
            assert_eq!(found, decision, "{why}");
            let named = format!("{by:.3} mm wider at 5.5 mm of depth than at ");
            assert!(why.contains(&named) && why.contains("(barrel)"), "{why}");
        }
    }
    let mouth = |depth: f64| 45.993 - 0.028 * (1.0 - ((depth - 5.5) / 4.5).powi(2));
    let (found, why) = judged(&gauged(depths[1], 0.000_5, mouth));
    assert_eq!(found, Decision::DoesNotConform);
    assert!(why.contains("than at 5.5 mm (bell-mouth)"), "{why}");
}

/// The ring is common to all sections: however badly it is known, it changes no difference of them.
#[test]
fn a_taper_is_judged_without_the_ring() {
    let cone = |by: f64| move |depth: f64| 45.960 + by * (depth - 1.0) / 9.0;
    for ring in [0.000_5, 0.005] {
        for (by, decision) in [
            (0.021, Decision::Conforms),
            (0.029, Decision::DoesNotConform),
        ] {
            let (found, why) = judged(&gauged(&[1.0, 5.5, 10.0], ring, cone(by)));
            assert_eq!(found, decision, "{why}");
            let named = format!("{by:.3} mm wider inside over 9 mm of depth");
            assert!(why.contains(&named), "{why}");
        }
    }
}

/// A line through three depths of a barrel is off by what nothing says: no taper is stated that its own
/// uncertainty makes nonsense of. Three depths of a cone have one, and so have seven of a barrel.
#[test]
fn three_depths_off_a_line_have_no_taper() {
    let three = [1.0, 5.5, 10.0];
    let barrel = |depth: f64| 45.963 + 0.020 * (1.0 - ((depth - 5.5) / 4.5).powi(2));
    let numbers = gauged(&three, 0.000_5, barrel).numbers;
    assert_eq!(numbers.taper_mm_per_mm, None);
    let why = numbers.why_withheld("taper_mm_per_mm").unwrap();
    assert!(why.contains("three depths don't lie on a line"), "{why}");
    assert!(Language::De.told(why).is_some(), "no German: {why}");
    assert!((numbers.barrel_mm.unwrap() - 0.020).abs() < 1e-3);

    let cone = gauged(&three, 0.000_5, |depth| 45.960 + 0.002 * depth).numbers;
    let known = cone.uncertainty["taper_mm_per_mm"].expanded;
    assert!((cone.taper_mm_per_mm.unwrap() - 0.002).abs() < known);
    let seven = [1.0, 2.5, 4.0, 5.5, 7.0, 8.5, 10.0];
    let numbers = gauged(&seven, 0.000_5, barrel).numbers;
    assert!(numbers.taper_mm_per_mm.is_some());
}

/// The gauge was not set yet at the first depth. What the others show stands, and what is missing is
/// said to be missing there.
#[test]
fn a_depth_without_its_size_hides_nothing_of_the_others() {
    let seats = Seats::built_in();
    let seat = seats.get("pressfit-46").unwrap();
    let set = |depth: f64| section_of(depth, 45.90, Some(ring(0.000_5)));
    let sections = vec![section_of(1.0, 45.90, None), set(5.5), set(10.0)];
    let found = bore(seat.bores[0].name.clone(), sections);
    let other = gauged(&[1.0, 5.5, 10.0], 0.000_5, |_| 45.975);
    let other = bore(seat.bores[1].name.clone(), other.sections);
    let examined = examine(seat, Contact::TwoPoint, &[found, other], &Known::default());
    let causes = &examined.diagnosis.causes;
    let standing = |of: CauseKind| causes.iter().find(|c| c.cause == of).unwrap().standing;
    assert_eq!(standing(CauseKind::SeatUndersize), Standing::Shown);
    assert_eq!(standing(CauseKind::SeatOversize), Standing::Unlikely);
    let plan = &examined.bores[0].plan;
    assert_eq!(plan.advice, Work::GaugeAgain);
    let named = "not known at 1 mm of depth: set the gauge in a setting ring and gauge there again";
    assert!(plan.why.contains(named), "{}", plan.why);
    assert!(
        Language::De.told(&plan.why).is_some(),
        "no German: {}",
        plan.why
    );
}

/// A good bore, its first depth gauged before the gauge was set, which then showed 0.35 mm too much: what
/// was read there is compared with no size, along the depth or as left.
#[test]
fn a_reading_without_a_ring_is_compared_with_no_size() {
    let seats = Seats::built_in();
    let seat = seats.get("pressfit-46").unwrap();
    let name = &seat.bores[0].name;
    let depths = [1.0, 5.5, 10.0];
    let set = |depth: f64| section_of(depth, 45.965, Some(ring(0.000_5)));
    let found = bore(
        name.clone(),
        vec![section_of(1.0, 46.315, None), set(5.5), set(10.0)],
    );
    let numbers = &found.numbers;
    assert_eq!(numbers.mean_diameter_mm, None);
    let why = numbers.why_withheld("mean_diameter_mm").unwrap();
    assert!(why.contains("not known at 1 mm of depth"), "{why}");
    let taper = numbers.taper_mm_per_mm.unwrap();
    assert!(taper.abs() < 0.000_5, "{taper}");
    assert_eq!((numbers.barrel_mm, numbers.bell_mouth_mm), (None, None));
    let examined = examine(
        seat,
        Contact::TwoPoint,
        std::slice::from_ref(&found),
        &Known::default(),
    );
    let mut causes = examined.diagnosis.causes.iter();
    let taper = causes.find(|c| c.cause == CauseKind::SeatTaper).unwrap();
    assert!(taper.standing > Standing::Shown, "{taper:?}");

    let left = bore(name.clone(), depths.map(set).to_vec());
    let both = [&[found][..], &[left][..]];
    let outcomes = outcomes(seat, both, |_| Done {
        left_alone: true,
        ..Done::default()
    });
    let changes = &outcomes[0].changes;
    let known: Vec<bool> = changes.iter().map(|c| c.mean_change_mm.is_some()).collect();
    assert_eq!(known, [false, true, true]);
    assert!(changes.iter().all(|c| c.out_of_round_before_mm.is_some()));
    assert_eq!(outcomes[0].unexplained, None);
    let why = outcomes[0].not_compared.as_deref().unwrap();
    assert!(why.contains("as found or as left only"), "{why}");
    assert!(Language::De.told(why).is_some(), "no German: {why}");
}
