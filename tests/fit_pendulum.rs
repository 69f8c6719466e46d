//! The hang test's friction against swings that scipy integrated: `tests/reference/pendulum.py`.

#![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]

use borewright::fit::pendulum::{Arm, HangKnown, Mass};
use borewright::gauge::simulate::{Hand, Swinging};
use borewright::job::Swings;
use serde::Deserialize;

#[derive(Deserialize)]
struct Swing {
    mass_kg: f64,
    centre_mm: f64,
    inertia_kgm2: f64,
    friction_nm: f64,
    viscous_nms: f64,
    turning_deg: Vec<f64>,
}

fn swings() -> Vec<Swing> {
    serde_json::from_str(include_str!("../fixtures/fit/pendulum.json")).unwrap()
}

fn arm(swing: &Swing) -> (Arm, Mass) {
    let mass = Mass {
        mass_kg: swing.mass_kg,
        centre_mm: swing.centre_mm,
    };
    (Arm::of(&[mass]).unwrap(), mass)
}

/// Turning points are held to 1e-9°: a torque to 1e-9 N·m.
#[test]
fn every_half_swing_gives_back_the_friction_that_was_integrated() {
    let mut seen = 0;
    let mut inertias = Vec::new();
    for swing in swings().iter().filter(|swing| swing.viscous_nms == 0.0) {
        let decay = arm(swing).0.decay(&swing.turning_deg).unwrap();
        for torque in &decay.torques_nm {
            assert!((torque - swing.friction_nm).abs() < 1e-9, "{torque}");
            seen += 1;
        }
        inertias.push(swing.inertia_kgm2);
    }
    assert!(seen > 25, "{seen} half swings");
    assert!(inertias[0] != inertias[1], "whatever the inertia");
}

/// Drag that grows with speed is told apart from what is left at rest.
#[test]
fn friction_at_rest_is_found_under_viscous_drag() {
    for swing in swings().iter().filter(|swing| swing.viscous_nms > 0.0) {
        let decay = arm(swing).0.decay(&swing.turning_deg).unwrap();
        let at_rest = decay.at_rest_nm.unwrap();
        assert!(
            (at_rest - swing.friction_nm).abs() < 0.2 * swing.friction_nm,
            "{at_rest}"
        );
        assert!(decay.growing_share.unwrap() > 0.5);
    }
}

/// Angles misread by up to half a degree stay within the expanded uncertainty that is stated.
#[test]
fn misread_angles_stay_within_what_is_stated() {
    let known = HangKnown::default();
    let misread = [0.3, -0.45, 0.1, 0.5, -0.2, -0.5, 0.4, 0.0, -0.3, 0.2];
    for swing in swings().iter().filter(|swing| swing.viscous_nms == 0.0) {
        let (arm, mass) = arm(swing);
        let read: Vec<f64> = swing
            .turning_deg
            .iter()
            .zip(misread)
            .map(|(angle, off)| angle + off)
            .collect();
        let Ok(decay) = arm.decay(&read) else {
            continue;
        };
        let torque = decay.at_rest_nm.unwrap_or(decay.torque_nm);
        let share = known.moment_share(&[mass]);
        let u = arm
            .decay_uncertainty(&read, &known, share)
            .unwrap()
            .unwrap();
        assert!(
            (torque - swing.friction_nm).abs() <= u.expanded,
            "{torque} {u:?}"
        );
        assert!(u.expanded < 2.0 * swing.friction_nm, "{u:?}");
    }
}

/// The turning points as a gauge shows them whose zero is off, sides alternating.
fn shown(turning_deg: &[f64], zero_deg: f64) -> Vec<f64> {
    let sides = [1.0, -1.0].into_iter().cycle();
    let shown = turning_deg.iter().zip(sides);
    shown.map(|(deg, side)| zero_deg + side * deg).collect()
}

/// However the gauge sits on the arm.
#[test]
fn straight_down_is_found_from_the_swing_itself() {
    for swing in swings().iter().filter(|swing| swing.viscous_nms == 0.0) {
        for zero_deg in [0.0, -1.2, 37.0, 90.0, 175.0] {
            let shown: Vec<f64> = shown(&swing.turning_deg, zero_deg)
                .into_iter()
                .map(|deg| (deg + 180.0).rem_euclid(360.0) - 180.0)
                .collect();
            let decay = arm(swing).0.shown_decay(&shown).unwrap();
            let torque = decay.at_rest_nm.unwrap_or(decay.torque_nm);
            let off = torque - swing.friction_nm;
            assert!(off.abs() < 1e-8, "{off} with the zero at {zero_deg}°");
        }
    }
}

fn swinging(swing: &Swing, zero_deg: f64, values_per_s: f64) -> Swinging {
    Swinging {
        moment_nm: arm(swing).0.moment_nm,
        inertia_kgm2: swing.inertia_kgm2,
        friction_nm: swing.friction_nm,
        release_deg: swing.turning_deg[0],
        zero_deg,
        values_per_s,
    }
}

/// The simulated arm turns where scipy's does.
#[test]
fn the_simulated_arm_swings_as_scipy_says() {
    for swing in swings().iter().filter(|swing| swing.viscous_nms == 0.0) {
        let turning = swinging(swing, 0.0, 50.0).turning_deg();
        for (own, scipy) in turning.iter().zip(shown(&swing.turning_deg, 0.0)) {
            assert!((own - scipy).abs() < 1e-4, "{own} {scipy}");
        }
    }
}

/// A gauge on the arm, its zero off, its values rounded to 0.05° and scattered by as much: the
/// turning points in its stream give the friction within the expanded uncertainty that is stated.
#[test]
fn the_stream_of_an_angle_gauge_gives_the_friction_back() {
    let known = HangKnown {
        angle_deg: 0.1,
        mass_kg: 0.0,
        centre_mm: 0.0,
    };
    for (seed, swing) in (1_u64..).zip(swings()) {
        let long = swing.turning_deg.len() > 4 && swing.viscous_nms == 0.0;
        for values_per_s in [30.0, 50.0, 100.0].into_iter().filter(|_| long) {
            let mut hand = Hand::new(seed, 0.05);
            let stream = swinging(&swing, 2.3, values_per_s).values_deg(&mut hand);
            let mut turns = Swings::new(0.05, true);
            let found: Vec<f64> = stream
                .iter()
                .filter_map(|deg| turns.next((deg / 0.05).round() * 0.05, ()))
                .map(|(deg, ())| deg)
                .collect();
            // The first is where it was let go: the second of scipy's is the first found.
            for (found, scipy) in found.iter().zip(&shown(&swing.turning_deg, 2.3)[1..]) {
                assert!((found - scipy).abs() < 0.2, "{found} {scipy}");
            }
            let (arm, mass) = arm(&swing);
            let decay = arm.shown_decay(&found).unwrap();
            let torque = decay.at_rest_nm.unwrap_or(decay.torque_nm);
            let share = known.moment_share(&[mass]);
            let u = arm
                .shown_uncertainty(&found, &known, share)
                .unwrap()
                .unwrap();
            let off = torque - swing.friction_nm;
            assert!(off.abs() <= u.expanded, "{torque} {u:?}");
            assert!(u.expanded < 0.25 * swing.friction_nm, "{u:?}");
        }
    }
}
