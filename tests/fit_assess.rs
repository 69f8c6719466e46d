//! The fit of an insert in a measured bore.

#![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]

use borewright::bore::{Basis, Bore, Contact, Observation, Setting, bore, section};
use borewright::fit::{
    Bearing, Finish, Fit, Housing, Insert, Material, Meets, NoSeat, SeatForm, assess,
};
use borewright::uncertainty::Decision;

/// Four lobes of 40 µm between diameters and no oval: the smallest diameter lies 20 µm below the
/// mean and pinches all the same (geometry: mean + 20 µm cos 4θ, gauged every 15°).
#[test]
fn four_lobes_pinch_as_an_oval_does() {
    let basis = Basis {
        resolution_mm: Some(0.000_1),
        setting: Some(Setting {
            by_ring: true,
            standard_mm: 0.000_5,
            degrees_of_freedom: f64::INFINITY,
            ..Setting::default()
        }),
        ..Basis::default()
    };
    let readings: Vec<Observation> = (0..12)
        .map(|at| f64::from(at) * 15.0)
        .map(|angle_deg| Observation {
            angle_deg,
            reading_mm: 41.980 + 0.020 * (4.0 * angle_deg.to_radians()).cos(),
        })
        .collect();
    let section = section(Contact::TwoPoint, 2.0, &readings, &basis).unwrap();
    let bore = bore("drive side", vec![section]);
    let seat = SeatForm::measured(Contact::TwoPoint, &bore).unwrap();
    assert!(seat.oval_mm().unwrap() < 1e-6);
    let clearance = assess(&seat, &bearing(), &shell(Material::Aluminium))
        .clearance
        .unwrap();
    let tight = clearance.tight_axis_um.unwrap();
    // With half of what is not known of the range of diameters.
    let taken = clearance.mean_um.least - tight.least;
    let reach = 1e3 * seat.form_reach_mm.unwrap();
    assert!(reach < 1.0, "{reach}");
    assert!((taken - 20.0 - reach / 2.0).abs() < 0.01, "{taken}");
}

/// A bore of two depths with a mean and an oval, gauged without scatter and set to 0.5 µm.
fn measured(means: &[(f64, f64)], oval_mm: f64, set: bool) -> Bore {
    let basis = Basis {
        resolution_mm: Some(0.000_1),
        setting: set.then_some(Setting {
            by_ring: true,
            standard_mm: 0.000_5,
            degrees_of_freedom: f64::INFINITY,
            ..Setting::default()
        }),
        ..Basis::default()
    };
    let sections = means
        .iter()
        .map(|&(depth, mean)| {
            let readings: Vec<Observation> = (0..6)
                .map(|at| f64::from(at) * 30.0)
                .map(|angle_deg| Observation {
                    angle_deg,
                    reading_mm: mean + oval_mm / 2.0 * (2.0 * angle_deg.to_radians()).cos(),
                })
                .collect();
            section(Contact::TwoPoint, depth, &readings, &basis).unwrap()
        })
        .collect();
    bore("drive side", sections)
}

fn fit(means: &[(f64, f64)], oval_mm: f64, insert: &Insert, housing: &Housing) -> Fit {
    let bore = measured(means, oval_mm, true);
    let seat = SeatForm::measured(Contact::TwoPoint, &bore).unwrap();
    assess(&seat, insert, housing)
}

/// Bearing 30x42x7, measured at 42.000 mm.
fn bearing() -> Insert {
    Insert::of_bearing(Bearing::normal("30x42x7".parse().unwrap()))
        .unwrap()
        .measured(42.000, 0.0)
}

fn shell(material: Material) -> Housing {
    Housing {
        material: Some(material),
        wall_mm: Some(2.0),
        length_mm: Some(10.0),
        ..Housing::default()
    }
}

fn holds(range: borewright::fit::Range, value: f64) -> bool {
    range.least < value && value < range.greatest
}

/// 20 µm of interference of a 30x42x7 ring in an aluminium shell 42/46, computed apart with numpy:
/// p 1.9426 MPa, hoop 21.41 MPa, contraction 6.66 µm, 215 N at µ = 0.12; T = 0.5314. CN clearance
/// of bore 30 is 5 to 20 µm (ISO 5753-1).
#[test]
fn a_bearing_pressed_into_an_aluminium_shell() {
    let fit = fit(
        &[(2.0, 41.980), (5.0, 41.980)],
        0.020,
        &bearing(),
        &shell(Material::Aluminium),
    );
    assert_eq!(fit.meets, Meets::Interference);
    assert!((fit.interference_mm - 0.020).abs() < 1e-9);
    assert!(holds(fit.pressure_mpa.unwrap(), 1.942_601_92));
    assert!(holds(fit.hoop_stress_mpa.unwrap(), 21.412_771_1));
    assert!(holds(fit.press_force_n.unwrap(), 215.309_039));
    let contraction = fit.raceway_contraction_mm.unwrap();
    assert!(holds(contraction, 0.006_662_586));
    let share = fit.oval_share.unwrap();
    assert!((share.least - 0.531_35).abs() < 1e-5, "{share:?}");
    assert_eq!(share.greatest, 1.0);
    let clearance = fit.clearance.unwrap();
    assert_eq!(
        (clearance.initial_um.least, clearance.initial_um.greatest),
        (5.0, 20.0)
    );
    let tight = clearance.tight_axis_um.unwrap();
    // The ruling: initial - mean contraction - T x oval / 2, at both ends.
    let bore = measured(&[(2.0, 41.980), (5.0, 41.980)], 0.020, true);
    let seat = SeatForm::measured(Contact::TwoPoint, &bore).unwrap();
    let reach = 1e3 * seat.form_reach_mm.unwrap();
    assert!((0.01..1.0).contains(&reach), "{reach}");
    let (deepest, least) = (10.0 + reach / 2.0, 10.0 - reach / 2.0);
    assert!((tight.least - (5.0 - 1e3 * contraction.greatest - deepest)).abs() < 1e-6);
    assert!((tight.greatest - (20.0 - 1e3 * contraction.least - share.least * least)).abs() < 1e-6);
    assert_eq!(clearance.left, Decision::CantTell);
    // Across the smallest diameter 30 µm, across the largest 10 µm.
    let section = fit.sections[0];
    assert!((section.greatest_mm.unwrap() - 0.030).abs() < 1e-6);
    assert!((section.least_mm.unwrap() - 0.010).abs() < 1e-6);
    assert!((fit.spread_round_mm.unwrap() - 0.020).abs() < 1e-6);
    // Aluminium lets go when warm: (12.5 - 23.6)e-6 x 42 mm for each kelvin.
    assert!((fit.interference_per_k_mm.unwrap() + 0.000_466_2).abs() < 1e-9);
    assert_eq!(fit.below_yield, None);
    assert!(fit.withheld.iter().any(|w| w.field == "below_yield"));
}

/// An oval of 2 µm that is known to 20 is at most 22: half of that is taken from the least clearance, and
/// nothing from the greatest.
#[test]
fn what_is_not_known_of_the_oval_is_not_left_as_clearance() {
    let bore = measured(&[(2.0, 41.995), (5.0, 41.995)], 0.002, true);
    let mut seat = SeatForm::measured(Contact::TwoPoint, &bore).unwrap();
    let left = |seat: &SeatForm| {
        assess(seat, &bearing(), &shell(Material::Aluminium))
            .clearance
            .unwrap()
    };
    assert_eq!(left(&seat).left, Decision::Conforms);
    seat.form_reach_mm = Some(0.020);
    let clearance = left(&seat);
    let tight = clearance.tight_axis_um.unwrap();
    let pinch = 1e3 * (42.000 + seat.uncertainty.expanded - (41.994 - 0.010));
    let taken = clearance.mean_um.least - tight.least;
    assert!((taken - pinch.min(11.0)).abs() < 0.1, "{taken} {pinch}");
    assert_eq!(tight.greatest, clearance.mean_um.greatest);
    assert_eq!(clearance.left, Decision::CantTell);
    seat.form_reach_mm = None;
    assert_eq!(left(&seat).tight_axis_um, None);
}

#[test]
fn a_stiffer_shell_takes_more_clearance() {
    let left = |material| {
        fit(
            &[(2.0, 41.980), (5.0, 41.980)],
            0.020,
            &bearing(),
            &shell(material),
        )
        .clearance
        .unwrap()
        .mean_um
        .least
    };
    assert!(left(Material::Steel) < left(Material::Titanium));
    assert!(left(Material::Titanium) < left(Material::Aluminium));
}

/// Common practice, no source: a bearing that runs tight when pressed in sits in a bad seat.
/// 60 µm over and 60 µm of oval leave no clearance in a CN bearing in any case.
#[test]
fn an_undersize_oval_seat_leaves_no_clearance() {
    let fit = fit(
        &[(2.0, 41.940), (5.0, 41.940)],
        0.060,
        &bearing(),
        &shell(Material::Steel),
    );
    assert_eq!(fit.clearance.unwrap().left, Decision::DoesNotConform);
    let strong = Housing {
        yield_mpa: Some(435.0),
        ..shell(Material::Steel)
    };
    let judged = self::fit(&[(2.0, 41.980)], 0.0, &bearing(), &strong);
    assert_eq!(judged.below_yield, Some(Decision::Conforms));
}

#[test]
fn a_loose_seat_pinches_at_most_what_its_smallest_diameter_takes() {
    let round = fit(
        &[(2.0, 42.020), (5.0, 42.020)],
        0.0,
        &bearing(),
        &shell(Material::Steel),
    );
    assert_eq!(round.meets, Meets::Clearance);
    let pressure = round.pressure_mpa.unwrap();
    assert_eq!((pressure.least, pressure.greatest), (0.0, 0.0));
    let clearance = round.clearance.unwrap();
    assert_eq!(clearance.left, Decision::Conforms);
    assert_eq!(clearance.tight_axis_um.unwrap().least, 5.0);
    // 60 µm of oval about 42.020: the smallest diameter is 41.990, 10 µm under the ring.
    let oval = fit(
        &[(2.0, 42.020), (5.0, 42.020)],
        0.060,
        &bearing(),
        &shell(Material::Steel),
    );
    let tight = oval.clearance.unwrap().tight_axis_um.unwrap();
    assert!((tight.least - (5.0 - 10.0)).abs() < 1.5, "{tight:?}");
    assert_eq!(tight.greatest, 20.0);
}

/// Outside the model the interference stands, the pressure does not, and the clearance is bounded
/// by a ring that gives nothing and one in a housing that gives nothing.
#[test]
fn a_laminate_shell_gets_geometry_only() {
    let fit = fit(
        &[(2.0, 41.980), (5.0, 41.980)],
        0.0,
        &bearing(),
        &shell(Material::Laminate),
    );
    assert!((fit.interference_mm - 0.020).abs() < 1e-9);
    assert_eq!(fit.pressure_mpa, None);
    let why = &fit
        .withheld
        .iter()
        .find(|w| w.field == "pressure_mpa")
        .unwrap()
        .why;
    assert!(why.contains("laminate housing has no one modulus"), "{why}");
    let contraction = fit.raceway_contraction_mm.unwrap();
    assert_eq!(contraction.least, 0.0);
    assert!(contraction.greatest > 0.018 && contraction.greatest < 0.022);
    assert_eq!(fit.oval_share.unwrap().least, 0.0);
    let unknown = self::fit(&[(2.0, 41.980)], 0.0, &bearing(), &Housing::default());
    assert!(
        unknown
            .withheld
            .iter()
            .any(|w| w.why.contains("material is not known"))
    );
    let thin = Housing {
        wall_mm: None,
        ..shell(Material::Steel)
    };
    let thin = self::fit(&[(2.0, 41.980)], 0.0, &bearing(), &thin);
    assert!(
        thin.withheld
            .iter()
            .any(|w| w.why.contains("the wall round the bore is not known"))
    );
}

/// A cup passes on less than a bare ring, and the stack of three agrees with the two-layer limit
/// when the cup is of the ring's own steel and thin.
#[test]
fn a_cup_stands_between_bearing_and_shell() {
    let cup = |material, outside| Insert {
        cup: Some(material),
        length_mm: 12.0,
        ..bearing().measured(outside, 0.000_5)
    };
    let housing = Housing {
        wall_mm: Some(2.0),
        ..shell(Material::Aluminium)
    };
    let aluminium = fit(
        &[(2.0, 45.980)],
        0.0,
        &cup(Material::Aluminium, 46.0),
        &housing,
    );
    let contraction = aluminium.raceway_contraction_mm.unwrap();
    assert!(contraction.least > 0.0 && contraction.greatest < 0.020);
    let polymer = fit(
        &[(2.0, 45.980)],
        0.0,
        &cup(Material::Polymer, 46.0),
        &housing,
    );
    assert_eq!(polymer.pressure_mpa, None);
    assert!(polymer.withheld.iter().any(|w| w.why.contains("creeps")));
    assert_eq!(polymer.raceway_contraction_mm.unwrap().least, 0.0);
}

#[test]
fn an_unmeasured_ring_is_less_certain_than_a_measured_one() {
    let by_class = Insert::of_bearing(Bearing::normal("30x42x7".parse().unwrap())).unwrap();
    let wide = fit(&[(2.0, 41.980)], 0.0, &by_class, &shell(Material::Steel));
    let narrow = fit(&[(2.0, 41.980)], 0.0, &bearing(), &shell(Material::Steel));
    assert!((wide.interference_mm - 0.0145).abs() < 1e-9);
    let u = |fit: &Fit| fit.uncertainty["interference_mm"].expanded;
    // 11/√12 µm and the bore's 0.5 µm, k = 1.96.
    assert!(
        (u(&wide) - 1.96 * 0.003_175_426_f64.hypot(0.000_5)).abs() < 2e-5,
        "{}",
        u(&wide)
    );
    assert!(u(&narrow) < 0.001_5);
}

#[test]
fn without_a_ring_set_there_is_no_fit() {
    let unset = measured(&[(2.0, 41.980)], 0.0, false);
    assert_eq!(
        SeatForm::measured(Contact::TwoPoint, &unset),
        Err(NoSeat::NotSet)
    );
}

/// Every number of a fit is finite, whatever the seat: JSON has no word for others.
#[test]
fn no_number_of_a_fit_is_infinite() {
    for mean in [40.0, 41.98, 42.0, 44.0] {
        for oval in [0.0, 0.5] {
            for material in [Material::Aluminium, Material::Laminate, Material::Polymer] {
                let fit = fit(&[(2.0, mean)], oval, &bearing(), &shell(material));
                let json = serde_json::to_value(&fit).unwrap();
                let back: Fit = serde_json::from_value(json).unwrap();
                assert_eq!(back, fit);
            }
        }
    }
}

/// (α_ring − α_shell) D ΔT of a 42 mm ring in aluminium, computed apart: +30 K 13.986 µm lost, −25 K
/// 11.655 µm gained. Pressure goes with the interference: 1.94260192 MPa at 20 µm (numpy).
#[test]
fn a_warm_shell_lets_go_and_a_cold_one_grips() {
    let housing = Housing {
        service_c: Some((50.0, -5.0)),
        ..shell(Material::Aluminium)
    };
    let found = fit(&[(2.0, 41.980)], 0.0, &bearing(), &housing);
    let [cold, warm] = found.service[..] else {
        panic!("{:?}", found.service)
    };
    assert_eq!((cold.celsius, warm.celsius), (-5.0, 50.0));
    assert!((cold.interference_mm - 0.031_655).abs() < 1e-8);
    assert!((warm.interference_mm - 0.006_014).abs() < 1e-8);
    for at in [cold, warm] {
        assert!(holds(
            at.pressure_mpa,
            1.942_601_92 * at.interference_mm / 0.020
        ));
        assert_eq!(at.meets, Meets::Interference);
    }
    assert!(cold.clearance_um.unwrap().least < warm.clearance_um.unwrap().least);
    // At 80 °C the shell has let go, and no pressure is left.
    let hot = Housing {
        service_c: Some((20.0, 80.0)),
        ..housing
    };
    let hot = fit(&[(2.0, 41.980)], 0.0, &bearing(), &hot).service[1];
    assert_eq!(hot.meets, Meets::Clearance);
    assert_eq!(hot.pressure_mpa.greatest, 0.0);
    assert_eq!(hot.clearance_um.unwrap().greatest, 20.0, "CN, bore 30");
}

/// A housing of the ring's own steel grows as the ring does: nothing changes. A cup of aluminium
/// between them tightens in it by (23.6 − 12.5)e-6 x 46 mm for each kelvin.
#[test]
fn each_layer_grows_by_its_own_expansion() {
    let housing = Housing {
        service_c: Some((20.0, 50.0)),
        ..shell(Material::BearingSteel)
    };
    let same = fit(&[(2.0, 41.980)], 0.0, &bearing(), &housing);
    let [cool, warm] = same.service[..] else {
        panic!()
    };
    assert!((cool.pressure_mpa.greatest - same.pressure_mpa.unwrap().greatest).abs() < 1e-12);
    assert!((warm.pressure_mpa.greatest - cool.pressure_mpa.greatest).abs() < 1e-9);
    let cup = Insert {
        cup: Some(Material::Aluminium),
        length_mm: 12.0,
        ..bearing().measured(46.0, 0.000_5)
    };
    let cup = fit(&[(2.0, 45.980)], 0.0, &cup, &housing);
    let gained = cup.service[1].interference_mm - cup.service[0].interference_mm;
    assert!((gained - 11.1e-6 * 46.0 * 30.0).abs() < 1e-9, "{gained}");
    assert!(cup.service[1].pressure_mpa.least > cup.service[0].pressure_mpa.least);
}

/// A turned seat loses 5 to 7 µm, a ground one 1.0 to 2.5 µm (bearing catalogue); by roughness
/// 0.8 (Rz + Rz) (DIN 7190-1, from memory): Rz 6.3 and 1.6 lose 6.32 µm, within the turned range.
#[test]
fn what_is_pressed_smooth_no_longer_presses() {
    let with = |finish, rz_um| {
        let housing = Housing {
            finish,
            rz_um,
            ..shell(Material::Aluminium)
        };
        fit(&[(2.0, 41.980)], 0.0, &bearing(), &housing)
    };
    let plain = with(None, None);
    assert_eq!(plain.smoothing_mm, None);
    assert!(plain.withheld.iter().any(|w| w.field == "smoothing_mm"));
    let pressure = |fit: &Fit| fit.pressure_mpa.unwrap().least;
    let reach = plain.uncertainty["interference_mm"].expanded;
    for (finish, rz_um, least, greatest) in [
        (Some(Finish::Turned), None, 0.005, 0.007),
        (Some(Finish::Ground), None, 0.001, 0.0025),
        (None, Some(7.9), 0.00632, 0.00632),
    ] {
        let found = with(finish, rz_um);
        let lost = found.smoothing_mm.unwrap();
        assert!((lost.least - least).abs() < 1e-12 && (lost.greatest - greatest).abs() < 1e-12);
        // The least pressure is that of the least interference less the most that is lost.
        let share = (0.020 - reach - greatest) / (0.020 - reach);
        assert!((pressure(&found) - share * pressure(&plain)).abs() < 1e-9);
        assert!(
            (found.interference_mm - 0.020).abs() < 1e-9,
            "geometry stands"
        );
    }
    let lost = with(None, Some(7.9)).smoothing_mm.unwrap().least;
    assert!((0.005..=0.007).contains(&lost));
}
