//! What boring out for a sleeve comes to, by hand-computed numbers.

#![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]

use borewright::bore::{Basis, Bore, Contact, Observation, Setting, bore, section};
use borewright::fit::plan::{Choice, Shop, Work};
use borewright::fit::{Bearing, Insert, Known, Material, examine};
use borewright::job::Seats;
use borewright::uncertainty::Decision;

/// A bore 0.12 mm over its seat and oval by 20 µm, from 46.110 to 46.130 mm.
fn worn() -> Bore {
    let basis = Basis {
        resolution_mm: Some(0.000_1),
        setting: Some(Setting {
            standard_mm: 0.000_5,
            degrees_of_freedom: f64::INFINITY,
            by_ring: true,
            ..Setting::default()
        }),
        ..Basis::default()
    };
    let sections = [2.5, 6.0, 9.5].map(|depth| {
        let readings: Vec<Observation> = (0..6)
            .map(|at| f64::from(at) * 30.0)
            .map(|angle_deg| Observation {
                angle_deg,
                reading_mm: 46.120 + 0.010 * (2.0 * angle_deg.to_radians()).cos(),
            })
            .collect();
        section(Contact::TwoPoint, depth, &readings, &basis).unwrap()
    });
    bore("drive side", sections.to_vec())
}

fn steel() -> Known {
    Known {
        material: Some(Material::Steel),
        wall_mm: Some(2.5),
        shop: Shop {
            sleeve_wall_mm: Some(0.8),
            ..Shop::default()
        },
        ..Known::default()
    }
}

fn sleeve(known: &Known) -> Choice {
    let seats = Seats::built_in();
    let seat = seats.get("pressfit-46").unwrap();
    let found = examine(seat, Contact::TwoPoint, &[worn()], known);
    let mut options = found.bores[0].plan.options.iter();
    let option = options.find(|option| option.work == Work::Sleeve);
    option.unwrap().clone()
}

/// Target 45.975 and two walls of 0.8 make 47.575. Where the bore is smallest (46.110) the cut goes
/// (47.575 − 46.110)/2 = 0.7325 deep, 0.02 more where it runs off the axis: of 2.5 mm 1.7475 is left.
/// IT7 over 30 to 50 mm is 25 µm (ISO 286-1), so 45.975 ± 0.0125, of standard uncertainty
/// 0.0125/√3 (JCGM 100:2008, 4.3.7); within 45.95 to 46.00 by more than 1.65 of them.
#[test]
fn a_sleeve_comes_to_the_seats_target_within_its_grade() {
    let option = sleeve(&steel());
    assert_eq!(option.refused, None);
    let predicted = option.predicted.unwrap();
    assert!((predicted.bored_mm.unwrap() - 47.575).abs() < 1e-9);
    assert!((predicted.wall_left_mm.unwrap() - 1.7475).abs() < 1e-3);
    assert_eq!(predicted.mean_diameter_mm, 45.975);
    let u = predicted.uncertainty["mean_diameter_mm"];
    assert!((u.expanded - 0.0125).abs() < 1e-12);
    assert!((u.standard - 0.007_216_878).abs() < 1e-9);
    assert_eq!(predicted.size, Decision::Conforms);
    // Nobody knows its form before it is gauged.
    assert_eq!(predicted.out_of_round_mm, None);
    assert_eq!(predicted.form, Decision::CantTell);
    assert!(predicted.fit.is_none() && predicted.reamed.is_none());
    let text = option.reasons.join("; ");
    assert!(
        text.contains("bored out to 47.575 mm for a sleeve of 0.80 mm, 1.75 mm of wall is left"),
        "{text}"
    );
    assert!(text.contains("45.975 ± 0.0125 mm, grade IT7"), "{text}");
}

/// IT9 is 62 µm: ± 0.031 does not lie within 45.95 to 46.00, nor surely outside.
#[test]
fn a_coarse_grade_leaves_the_size_open() {
    let mut known = steel();
    known.shop.sleeve_grade = 9;
    assert_eq!(sleeve(&known).predicted.unwrap().size, Decision::CantTell);
}

#[test]
fn the_insert_is_fitted_in_the_sleeve_and_not_in_the_worn_bore() {
    let mut known = steel();
    let bearing = Bearing::normal("30x42x7".parse().unwrap());
    let cup = Insert::of_bearing(bearing).unwrap();
    known.insert = Some(cup.measured(46.010, 0.001));
    let option = sleeve(&known);
    let fit = option.predicted.unwrap().fit.unwrap();
    assert!((fit.interference_mm - 0.035).abs() < 1e-9);
    let text = option.reasons.join("; ");
    assert!(
        text.contains("takes sleeve and housing as one wall"),
        "{text}"
    );
}

/// An insert 0.125 mm larger than the sleeve's bore loses all clearance there, as it would anywhere.
#[test]
fn a_sleeve_is_refused_for_an_insert_that_does_not_go_into_it() {
    let mut known = steel();
    let bearing = Bearing::normal("30x42x7".parse().unwrap());
    known.insert = Some(Insert::of_bearing(bearing).unwrap().measured(46.1, 0.001));
    let option = sleeve(&known);
    let why = option.refused.unwrap();
    assert!(why.contains("take a smaller insert"), "{why}");
    let fit = option.predicted.unwrap().fit.unwrap();
    assert!((fit.interference_mm - 0.125).abs() < 1e-9);
}

#[test]
fn a_sleeve_is_refused_with_the_reason() {
    let why = |change: &dyn Fn(&mut Known)| {
        let mut known = steel();
        change(&mut known);
        let option = sleeve(&known);
        assert!(option.predicted.is_none());
        option.refused.unwrap()
    };
    assert!(why(&|known| known.wall_mm = None).contains("the wall is not known"));
    assert!(why(&|known| known.material = None).contains("state the material"));
    assert!(why(&|known| known.material = Some(Material::Laminate)).contains("never cut"));
    assert!(why(&|known| known.shop.sleeve_wall_mm = None).contains("fits no sleeves"));
    // 2.2 − 0.7525 = 1.4475 mm.
    assert!(why(&|known| known.wall_mm = Some(2.2)).contains("1.45 mm of wall, less than 1.50 mm"));
    // A foil of 0.05 mm is bored to 46.075, less than the bore has already.
    let thin = why(&|known| known.shop.sleeve_wall_mm = Some(0.05));
    assert!(
        thin.contains("46.075") && thin.contains("would not clean up"),
        "{thin}"
    );
    let mut shop = steel().shop;
    assert_eq!(shop.mistake(), None);
    shop.sleeve_grade = 12;
    assert!(shop.mistake().unwrap().contains("sleeve_grade"));
}
