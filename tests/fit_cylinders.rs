//! Press-fit mechanics against textbooks, closed forms and independent solutions.

#![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]

use borewright::fit::cylinders::{
    FRICTION, Stack, axial_force_n, conforming_pressure_mpa, interference_at_mm,
    lobe_stiffness_mpa_per_mm, shape_share,
};
use borewright::fit::{Elastic, Material};
use proptest::prelude::*;

fn elastic(young_mpa: f64, poisson: f64) -> Elastic {
    Elastic {
        young_mpa,
        young_spread: 0.0,
        poisson,
        expansion_per_k: 0.0,
    }
}

fn close(got: f64, want: f64, relative: f64) -> bool {
    (got - want).abs() <= relative * want.abs().max(f64::MIN_POSITIVE)
}

/// Shigley 8e and Norton 4e, printed results to 0.1 % (two printed with 3 digits: 0.2 %),
/// recomputed ones to 1e-8 (the file holds 9 digits).
#[test]
fn textbook_press_fits_come_out_as_printed() {
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/fixtures/fit/press_fit_cases.csv"
    );
    let text = std::fs::read_to_string(path).unwrap();
    let mut seen = 0;
    for line in text.lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let n = |at: usize| cells[at].parse::<f64>().unwrap();
        let stack = Stack {
            diameters_mm: vec![n(3), n(2), n(4)],
            layers: vec![elastic(n(5), n(6)), elastic(n(7), n(8))],
        };
        let pressed = stack.press(&[n(1)]).unwrap();
        let pressure = pressed.pressures_mpa[0];
        assert!(close(pressure, n(9), 1e-3), "{line}: {pressure}");
        assert!(close(pressure, n(10), 1e-8), "{line}: {pressure}");
        assert!(
            close(pressed.layers[1].hoop_inner_mpa, n(11), 1e-8),
            "{line}"
        );
        assert!(
            close(pressed.layers[0].hoop_outer_mpa, n(12), 1e-8),
            "{line}"
        );
        assert!(
            close(pressed.layers[1].von_mises_mpa, n(13), 1e-8),
            "{line}"
        );
        seen += 1;
    }
    assert_eq!(seen, 12);
}

/// A bearing ring in a thin shell, computed apart with numpy to 9 digits (formulas of Shigley 9e 7-39 ff.).
#[test]
fn a_bearing_in_a_thin_shell() {
    struct Case {
        d: [f64; 3],
        shell: (f64, f64),
        um: f64,
        length: f64,
        p: f64,
        contraction_um: f64,
        hoop: f64,
        bore_um: f64,
        outside_um: f64,
        force: f64,
    }
    let ring_6806 = [39.6, 42.0];
    let ring_6805 = [34.6, 37.0];
    #[rustfmt::skip]
    let cases = [
        Case { d: [ring_6806[0], ring_6806[1], 46.0], shell: (68.9e3, 0.33), um: 20.0, length: 7.0, p: 1.942_601_92, contraction_um: 6.662_586_19, hoop: 21.412_771_1, bore_um: 13.443_553_8, outside_um: 12.998_951_9, force: 215.309_039 },
        Case { d: [ring_6806[0], ring_6806[1], 46.0], shell: (205e3, 0.29), um: 20.0, length: 7.0, p: 3.513_200_82, contraction_um: 12.049_305_1, hoop: 38.725_054_5, bore_um: 8.142_649_15, outside_um: 7.901_196_44, force: 389.386_979 },
        Case { d: [ring_6806[0], ring_6806[1], 46.0], shell: (100e3, 0.30), um: 20.0, length: 7.0, p: 2.459_833_90, contraction_um: 8.436_548_52, hoop: 27.114_078_2, bore_um: 11.697_851_9, outside_um: 11.340_952_4, force: 272.636_646 },
        Case { d: [ring_6805[0], ring_6805[1], 41.0], shell: (68.9e3, 0.33), um: 15.0, length: 6.0, p: 1.868_019_83, contraction_um: 4.951_119_70, hoop: 18.261_091_3, bore_um: 10.137_429_6, outside_um: 9.754_948_19, force: 156.338_369 },
        Case { d: [ring_6806[0], ring_6806[1], 60.0], shell: (208e3, 0.30), um: 20.0, length: 7.0, p: 4.968_211_04, contraction_um: 17.039_586_9, hoop: 14.514_969_5, bore_um: 3.231_866_24, outside_um: 2.753_872_63, force: 550.653_602 },
    ];
    for case in cases {
        let stack = Stack {
            diameters_mm: case.d.to_vec(),
            layers: vec![elastic(208e3, 0.30), elastic(case.shell.0, case.shell.1)],
        };
        let pressed = stack.press(&[case.um / 1e3]).unwrap();
        let p = pressed.pressures_mpa[0];
        assert!(close(p, case.p, 1e-8), "{p}");
        let [ring, shell] = [pressed.layers[0], pressed.layers[1]];
        assert!(close(
            -ring.inner_growth_mm * 1e3,
            case.contraction_um,
            1e-8
        ));
        assert!(close(shell.hoop_inner_mpa, case.hoop, 1e-8));
        assert!(close(shell.inner_growth_mm * 1e3, case.bore_um, 1e-8));
        assert!(close(shell.outer_growth_mm * 1e3, case.outside_um, 1e-8));
        assert!(close(
            axial_force_n(0.12, case.d[1], case.length, p),
            case.force,
            1e-8
        ));
    }
    // One steel throughout: contraction = δ k (1 − h²) / (1 − k² h²), derived by hand.
    let (k, h) = (39.6 / 42.0, 42.0 / 60.0);
    let closed: f64 = k * (1.0 - h * h) / (1.0 - k * k * h * h);
    assert!(close(closed, 17.039_586_9 / 20.0, 1e-8));
}

proptest! {
    /// What any elastic answer must satisfy, for up to five layers: what each interface overlaps
    /// is taken up by both neighbours (continuity), and each layer's hoop force balances its
    /// pressures: ∫σ dr = p_i a − p_o b over the wall. Lamé's σ = A + B/r² integrates to
    /// (b − a)(A + B/ab), which is (b − a)(a σ_a + b σ_b)/(a + b): no small difference of the two
    /// hoop stresses is taken, so that rounding stays small in thin walls too.
    #[test]
    fn layers_are_continuous_and_in_equilibrium(
        inner in 0.0_f64..60.0,
        walls in prop::collection::vec(0.8_f64..12.0, 2..6),
        moduli in prop::collection::vec((40e3_f64..220e3, 0.2_f64..0.4), 5),
        um in prop::collection::vec(1.0_f64..80.0, 4),
    ) {
        let mut diameters = vec![inner];
        for wall in &walls {
            diameters.push(diameters.last().unwrap() + 2.0 * wall);
        }
        let stack = Stack {
            diameters_mm: diameters.clone(),
            layers: moduli[..walls.len()].iter().map(|&(e, nu)| elastic(e, nu)).collect(),
        };
        let delta: Vec<f64> = um[..walls.len() - 1].iter().map(|um| um / 1e3).collect();
        let pressed = stack.press(&delta).unwrap();
        for (at, &overlap) in delta.iter().enumerate() {
            prop_assert!(pressed.pressures_mpa[at] >= 0.0);
            let taken = pressed.layers[at + 1].inner_growth_mm - pressed.layers[at].outer_growth_mm;
            if pressed.pressures_mpa[at] > 0.0 {
                prop_assert!((taken - overlap).abs() <= 1e-12 * overlap);
            } else {
                prop_assert!(taken >= overlap - 1e-15);
            }
        }
        for (at, layer) in pressed.layers.iter().enumerate() {
            let inside = if at == 0 { 0.0 } else { pressed.pressures_mpa[at - 1] };
            let outside = pressed.pressures_mpa.get(at).copied().unwrap_or(0.0);
            let (a, b) = (diameters[at] / 2.0, diameters[at + 1] / 2.0);
            let (at_a, at_b) = (layer.hoop_inner_mpa, layer.hoop_outer_mpa);
            let force = (b - a) * (a * at_a + b * at_b) / (a + b);
            let scale = (inside * a).max(outside * b);
            prop_assert!((force - (inside * a - outside * b)).abs() <= 1e-12 * scale);
            // At each surface radial and hoop stress add up to the same 2A, so that the radial
            // stress meets the pressure of the neighbour.
            if a > 0.0 {
                let sum = (at_a - inside, at_b - outside);
                let scale = at_a.abs().max(at_b.abs()).max(inside).max(outside);
                prop_assert!((sum.0 - sum.1).abs() <= 1e-12 * scale);
            }
        }
    }

    /// Two layers against Shigley 9e eq. 7-39 written out.
    #[test]
    fn two_layers_are_the_closed_form(
        di in 0.0_f64..38.0, wall in 1.0_f64..10.0, shell in 1.0_f64..20.0,
        ei in 50e3_f64..210e3, eo in 50e3_f64..210e3, nui in 0.2_f64..0.4, nuo in 0.2_f64..0.4,
        um in 0.5_f64..100.0,
    ) {
        let d = di + 2.0 * wall;
        let outside = d + 2.0 * shell;
        let delta = um / 1e3;
        let closed = delta / (d * (((outside * outside + d * d) / (outside * outside - d * d) + nuo) / eo
            + ((d * d + di * di) / (d * d - di * di) - nui) / ei));
        let stack = Stack {
            diameters_mm: vec![di, d, outside],
            layers: vec![elastic(ei, nui), elastic(eo, nuo)],
        };
        let p = stack.press(&[delta]).unwrap().pressures_mpa[0];
        prop_assert!(close(p, closed, 1e-12), "{} {}", p, closed);
    }
}

/// A layer cut in two at any radius, bonded without interference, changes nothing.
#[test]
fn a_layer_may_be_split_without_changing_anything() {
    let (ring, shell) = (elastic(208e3, 0.30), elastic(68.9e3, 0.33));
    let two = Stack {
        diameters_mm: vec![39.6, 42.0, 46.0],
        layers: vec![ring, shell],
    };
    let three = Stack {
        diameters_mm: vec![39.6, 42.0, 44.1, 46.0],
        layers: vec![ring, shell, shell],
    };
    let two = two.press(&[0.020]).unwrap();
    let three = three.press(&[0.020, 0.0]).unwrap();
    assert!(close(three.pressures_mpa[0], two.pressures_mpa[0], 1e-12));
    assert!(close(
        three.layers[0].inner_growth_mm,
        two.layers[0].inner_growth_mm,
        1e-12
    ));
    assert!(close(
        three.layers[2].outer_growth_mm,
        two.layers[1].outer_growth_mm,
        1e-12
    ));
}

#[test]
fn play_gives_no_pressure_and_a_closing_cup_does() {
    let stack = Stack {
        diameters_mm: vec![39.6, 42.0, 46.0, 50.0],
        layers: vec![
            elastic(208e3, 0.30),
            elastic(68.9e3, 0.33),
            elastic(68.9e3, 0.33),
        ],
    };
    let loose = stack.press(&[-0.010, -0.020]).unwrap();
    assert_eq!(loose.pressures_mpa, [0.0, 0.0]);
    assert!(
        loose
            .layers
            .iter()
            .all(|layer| layer.inner_growth_mm == 0.0)
    );
    // The cup alone, pressed in with 100 µm, closes on a bearing that had 5 µm of play in it.
    let closing = stack.press(&[-0.005, 0.100]).unwrap();
    assert!(closing.pressures_mpa[0] > 0.0);
    // With 200 µm of play it does not reach the bearing, and the seat is the two-layer one.
    let far = stack.press(&[-0.200, 0.100]).unwrap();
    assert_eq!(far.pressures_mpa[0], 0.0);
    let pair = Stack {
        diameters_mm: vec![42.0, 46.0, 50.0],
        layers: vec![elastic(68.9e3, 0.33); 2],
    };
    assert!(close(
        far.pressures_mpa[1],
        pair.press(&[0.100]).unwrap().pressures_mpa[0],
        1e-12
    ));
}

#[test]
fn numbers_that_describe_no_cylinders_are_refused() {
    let e = elastic(208e3, 0.3);
    let stack = |d: &[f64]| Stack {
        diameters_mm: d.to_vec(),
        layers: vec![e; 2],
    };
    assert!(stack(&[39.6, 42.0]).press(&[0.02]).is_err());
    assert!(stack(&[39.6, 39.6, 46.0]).press(&[0.02]).is_err());
    assert!(stack(&[39.6, 42.0, f64::INFINITY]).press(&[0.02]).is_err());
    assert!(stack(&[39.6, 42.0, 46.0]).press(&[f64::NAN]).is_err());
    assert!(stack(&[-1.0, 42.0, 46.0]).press(&[0.02]).is_err());
}

/// Two opposite point loads on a thin ring: the diameter under the load changes by −0.149 P R³/EI
/// (Timoshenko; Roark: π/4 − 2/π), the one across by +0.137 (2/π − 1/2). A pair of point loads is
/// the sum of the even lobes, each of amplitude 2 P/(π R).
#[test]
fn thin_ring_bending_sums_to_the_textbook_deflection() {
    let (inner, outer, young, load) = (39.6_f64, 42.0_f64, 208e3_f64, 10.0_f64);
    let radius = (inner + outer) / 4.0;
    let inertia = ((outer - inner) / 2.0).powi(3) / 12.0;
    let unit = load * radius.powi(3) / (young * inertia);
    let mut under = 0.0;
    let mut across = 0.0;
    for lobes in (2..4000).step_by(2) {
        let amplitude = 2.0 * load
            / (std::f64::consts::PI * radius)
            / lobe_stiffness_mpa_per_mm(lobes, inner, outer, young);
        under += 2.0 * amplitude;
        across += 2.0 * amplitude * if lobes % 4 == 0 { 1.0 } else { -1.0 };
    }
    let pi = std::f64::consts::PI;
    assert!(
        close(under / unit, pi / 4.0 - 2.0 / pi, 1e-9),
        "{}",
        under / unit
    );
    assert!(
        close(-across / unit, 2.0 / pi - 0.5, 1e-9),
        "{}",
        across / unit
    );
}

/// Exact plane-stress annulus under p cos nθ by Michell's stress function (Barber, Elasticity,
/// 3rd ed., tables 8.1 and 9.1): thin-ring bending must lie within the error its docs state.
#[test]
fn thin_ring_bending_is_near_the_exact_annulus() {
    let exact = |inner: f64, outer: f64, young: f64, nu: f64, outside: bool| -> f64 {
        let n = 2.0_f64;
        let (a, b) = (inner / 2.0, outer / 2.0);
        let rows = |r: f64| {
            (
                [
                    -n * (n - 1.0) * r.powf(n - 2.0),
                    -(n + 1.0) * (n - 2.0) * r.powf(n),
                    -n * (n + 1.0) * r.powf(-n - 2.0),
                    -(n + 2.0) * (n - 1.0) * r.powf(-n),
                ],
                [
                    n * (n - 1.0) * r.powf(n - 2.0),
                    n * (n + 1.0) * r.powf(n),
                    -n * (n + 1.0) * r.powf(-n - 2.0),
                    -n * (n - 1.0) * r.powf(-n),
                ],
            )
        };
        let (ra, ta) = rows(a);
        let (rb, tb) = rows(b);
        let system = nalgebra::Matrix4::from_fn(|i, j| [ra, ta, rb, tb][i][j]);
        let load = if outside {
            nalgebra::Vector4::new(0.0, 0.0, -1.0, 0.0)
        } else {
            nalgebra::Vector4::new(-1.0, 0.0, 0.0, 0.0)
        };
        let c = system.lu().solve(&load).unwrap();
        let shear = young / (2.0 * (1.0 + nu));
        let kappa = (3.0 - nu) / (1.0 + nu);
        let r = if outside { b } else { a };
        let moves = [
            -n * r.powf(n - 1.0),
            (kappa - n - 1.0) * r.powf(n + 1.0),
            n * r.powf(-n - 1.0),
            (kappa + n - 1.0) * r.powf(-n + 1.0),
        ];
        (0..4).map(|i| c[i] * moves[i]).sum::<f64>().abs() / (2.0 * shear)
    };
    let thin = |inner, outer, young| 1.0 / lobe_stiffness_mpa_per_mm(2, inner, outer, young);
    let ring = exact(39.6, 42.0, 208e3, 0.30, true) / thin(39.6, 42.0, 208e3);
    let shell = exact(42.0, 46.0, 68.9e3, 0.33, false) / thin(42.0, 46.0, 68.9e3);
    assert!((ring - 1.0321).abs() < 1e-3, "{ring}");
    assert!((shell - 0.9605).abs() < 1e-3, "{shell}");
}

/// Values computed apart with numpy.
#[test]
fn a_ring_shares_the_housings_shape_by_stiffness() {
    let ring = lobe_stiffness_mpa_per_mm(2, 39.6, 42.0, 208e3);
    let aluminium = lobe_stiffness_mpa_per_mm(2, 42.0, 46.0, 68.9e3);
    let steel = lobe_stiffness_mpa_per_mm(2, 42.0, 46.0, 205e3);
    assert!(close(ring, 1.556_494_774, 1e-9));
    assert!(close(aluminium, 1.764_736_015, 1e-9));
    assert!(close(steel, 5.250_665_938, 1e-9));
    assert!((shape_share(aluminium, ring) - 0.531_350).abs() < 5e-7);
    assert!((shape_share(steel, ring) - 0.771_344).abs() < 5e-7);
    let p = conforming_pressure_mpa(0.005, aluminium, ring);
    assert!((p - 0.00414).abs() < 5e-6, "{p}");
}

/// A bearing catalogue prints µ = 0.12 for pressing a ring on and 0.18 for pulling it off. Second
/// route: handbooks give 0.10 to 0.20 for dry force fits of steel (from memory). The force is
/// µ p π d B: 0.12 × 2 MPa × π × 42 mm × 7 mm = 221.67 N, computed by hand.
#[test]
fn friction_is_a_range_of_the_catalogue_within_that_of_handbooks() {
    assert_eq!(FRICTION, (0.12, 0.18));
    assert!((0.10..=0.20).contains(&FRICTION.0) && (0.10..=0.20).contains(&FRICTION.1));
    let force = axial_force_n(FRICTION.0, 42.0, 7.0, 2.0);
    assert!((force - 221.67).abs() < 0.005, "{force}");
}

/// (α_housing − α_ring) D ΔT, computed apart.
#[test]
fn a_warm_aluminium_shell_lets_go() {
    let ring = Material::BearingSteel.elastic().unwrap();
    let at = |material: Material, celsius| {
        let shell = material.elastic().unwrap();
        1e3 * (interference_at_mm(0.020, 42.0, &ring, &shell, celsius) - 0.020)
    };
    assert!((at(Material::Aluminium, 50.0) + 13.986).abs() < 1e-9);
    assert!((at(Material::Aluminium, -5.0) - 11.655).abs() < 1e-9);
    assert!((at(Material::Steel, 50.0) - 0.378).abs() < 1e-9);
    assert!((at(Material::Titanium, 50.0) - 3.654).abs() < 1e-9);
}
