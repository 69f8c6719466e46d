//! Which reamer is advised, and which one is missing, by invented bores.

#![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]

use borewright::bore::{Basis, Bore, Contact, Observation, Setting, bore, section};
use borewright::display::Language;
use borewright::fit::plan::{Choice, Compound, Plan, Reamer, Shop, Work};
use borewright::fit::{Bearing, Finish, Insert, Known, Material, Meets, examine};
use borewright::job::Seats;
use borewright::uncertainty::Decision;

/// Two depths of sixteen stations with an oval, as a gauge of 1 µm reads them.
fn gauged(mean_mm: f64, oval_mm: f64) -> Bore {
    let basis = Basis {
        resolution_mm: Some(0.001),
        setting: Some(Setting {
            standard_mm: 0.000_5,
            degrees_of_freedom: f64::INFINITY,
            by_ring: true,
            ..Setting::default()
        }),
        ..Basis::default()
    };
    let sections = [4.0, 10.0].map(|depth| {
        let readings: Vec<Observation> = (0..16)
            .map(|at| f64::from(at) * 22.5)
            .map(|angle_deg| {
                let mm = mean_mm + oval_mm / 2.0 * (2.0 * angle_deg.to_radians()).cos();
                Observation {
                    angle_deg,
                    reading_mm: (mm * 1e3).round() / 1e3,
                }
            })
            .collect();
        section(Contact::TwoPoint, depth, &readings, &basis).unwrap()
    });
    bore("drive side", sections.to_vec())
}

fn reamer(name: &str, diameter_mm: f64, past_cuts_mm: &[f64]) -> Reamer {
    Reamer {
        name: name.into(),
        diameter_mm,
        greatest_stock_mm: 0.2,
        past_cuts_mm: past_cuts_mm.to_vec(),
    }
}

fn known(wall_mm: f64, reamers: Vec<Reamer>) -> Known {
    Known {
        material: Some(Material::Aluminium),
        wall_mm: Some(wall_mm),
        shop: Shop {
            sleeve_wall_mm: Some(1.0),
            reamers,
            ..Shop::default()
        },
        ..Known::default()
    }
}

fn cup(mm: f64) -> Option<Insert> {
    let bearing = Bearing::normal("30x42x7".parse().unwrap());
    let mut cup = Insert::of_bearing(bearing).unwrap().measured(mm, 0.001);
    cup.cup = Some(Material::Aluminium);
    Some(cup)
}

/// The plan for a bore of `pressfit-46` (45.950 to 46.000 mm, form 0.025 mm), every sentence of which
/// has its German.
fn plan(bore: &Bore, known: &Known) -> Plan {
    let seats = Seats::built_in();
    let seat = seats.get("pressfit-46").unwrap();
    let found = examine(seat, Contact::TwoPoint, std::slice::from_ref(bore), known);
    let plan = found.bores[0].plan.clone();
    let options = plan.options.iter();
    let said = options.flat_map(|option| option.reasons.iter().chain(&option.refused));
    for english in said.chain([&plan.why]) {
        assert!(Language::De.told(english).is_some(), "no German: {english}");
    }
    plan
}

fn of<'a>(plan: &'a Plan, with: &str) -> &'a Choice {
    let mut options = plan.options.iter();
    let option = options.find(|option| option.with.as_deref() == Some(with));
    option.unwrap()
}

fn missing(plan: &Plan) -> Option<&str> {
    let mut options = plan.options.iter();
    let row = options.find(|option| option.work == Work::Ream && option.with.is_none())?;
    row.refused.as_deref()
}

/// A seat 30 µm too small is reamed, not bored out by 2 mm for a sleeve, whether the shop owns the
/// reamer or not.
#[test]
fn a_seat_that_a_reamer_would_mend_is_not_sleeved() {
    for reamers in [vec![], vec![reamer("big", 46.1, &[])]] {
        let plan = plan(&gauged(45.92, 0.004), &known(4.0, reamers));
        let sleeve = plan.options.iter().find(|o| o.work == Work::Sleeve);
        assert_eq!(sleeve.unwrap().refused, None);
        assert_eq!(plan.advice, Work::Refer, "{}", plan.why);
        assert!(plan.why.contains("describe a reamer"), "{}", plan.why);
    }
    // An insert too large for the seat that a reamer leaves is changed, and the bore is no more sleeved.
    let mut tight = known(4.0, vec![reamer("R", 45.975, &[])]);
    tight.insert = cup(46.10);
    let plan = plan(&gauged(45.92, 0.004), &tight);
    assert_eq!(plan.advice, Work::Refer, "{}", plan.why);
    assert!(plan.why.contains("name an insert"), "{}", plan.why);
}

/// The ends are so that a reamer new to the shop, ±0.010 mm, is shown to bring the bore to size: 1.645
/// standard uncertainties of 5 µm inside 45.950 and 46.000 mm are 45.9582 and 45.9918.
#[test]
fn the_reamer_that_is_asked_for_brings_the_seat_to_size() {
    let told = |bore: &Bore| {
        let plan = plan(bore, &known(4.0, vec![]));
        let row = missing(&plan).unwrap().to_owned();
        let (_, ends) = row.split_once("one that cuts ").unwrap();
        let (from, rest) = ends.split_once(" to ").unwrap();
        let to = rest.split_once(" mm").unwrap().0;
        (from.parse::<f64>().unwrap(), to.parse::<f64>().unwrap())
    };
    assert_eq!(told(&gauged(45.92, 0.004)), (45.959, 45.991));
    for bore in [gauged(45.92, 0.004), gauged(45.965, 0.060)] {
        let (from, to) = told(&bore);
        let both = vec![reamer("from", from, &[]), reamer("to", to, &[])];
        let plan = plan(&bore, &known(4.0, both));
        assert_eq!(missing(&plan), None);
        assert_eq!(plan.advice, Work::Ream);
        for with in ["from", "to"] {
            let predicted = of(&plan, with).predicted.as_ref().unwrap();
            assert_eq!(predicted.size, Decision::Conforms, "{with} {from} {to}");
            assert_eq!(predicted.form, Decision::Conforms, "{with} {from} {to}");
        }
    }
}

/// 45.925 mm is loose in any seat of 45.950 to 46.000 mm: the reamer is right and the insert is not.
#[test]
fn a_reamer_is_not_missing_where_only_the_insert_is_loose() {
    let mut known = known(4.0, vec![reamer("R", 45.975, &[])]);
    known.insert = cup(45.925);
    let found = plan(&gauged(45.92, 0.004), &known);
    assert_eq!(missing(&found), None);
    assert_eq!(
        (found.advice, found.with.as_deref()),
        (Work::Ream, Some("R"))
    );
    assert!(found.why.contains("take a larger insert"), "{}", found.why);
    // With a compound that fills the gap it is bonded, and no other reamer is asked for either.
    known.shop.compounds.push(Compound {
        name: "C".into(),
        least_gap_mm: 0.0,
        greatest_gap_mm: 0.15,
    });
    let found = plan(&gauged(45.92, 0.004), &known);
    assert_eq!(missing(&found), None);
    assert_eq!(found.advice, Work::ReamAndBond, "{}", found.why);
}

/// The least cut leaves a seat that may squeeze the bearing; a worn reamer whose cut is learned leaves
/// one that does not.
#[test]
fn the_surest_reamer_comes_before_the_least_cut() {
    let mut known = known(
        2.5,
        vec![
            reamer("980", 45.98, &[]),
            reamer("985 worn", 45.985, &[0.001, 0.002, 0.001_5, 0.001]),
            reamer("960", 45.96, &[]),
        ],
    );
    known.finish = Some(Finish::Turned);
    known.insert = cup(46.0);
    let plan = plan(&gauged(45.92, 0.004), &known);
    let fit = |with| {
        of(&plan, with)
            .predicted
            .as_ref()
            .unwrap()
            .fit
            .clone()
            .unwrap()
    };
    let left = |with| fit(with).clearance.unwrap().left;
    assert_eq!(left("960"), Decision::CantTell);
    assert_eq!(left("985 worn"), Decision::Conforms);
    assert_eq!(fit("985 worn").meets, Meets::Interference);
    assert_eq!(plan.with.as_deref(), Some("985 worn"), "{}", plan.why);
}
