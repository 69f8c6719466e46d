//! The hang test's friction against swings that scipy integrated: `tests/reference/pendulum.py`.

#![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]

use borewright::fit::pendulum::{Arm, HangKnown, Mass};
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
