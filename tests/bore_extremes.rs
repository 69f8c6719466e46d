//! What is said at the edges: of an arc, of directions gauged unequally often, of the largest and
//! smallest of many, of a digit coarser than the scatter. Bores are simulated with normal scatter
//! of a fixed seed; what an interval is to hold is known, as the bore was made so.
#![allow(clippy::unwrap_used, reason = "a test says what failed by failing")]

use borewright::bore::{Basis, Contact, Observation, Section, Setting, bore, section, straight};
use borewright::job::{SeatBore, Seats, Verdict};
use borewright::uncertainty::{Decision, Estimate, Random};

const RING: Setting = Setting {
    by_ring: true,
    standard_mm: 0.0005,
    degrees_of_freedom: f64::INFINITY,
    assumed: false,
    in_ring: None,
};

fn seat() -> SeatBore {
    Seats::built_in().get("pressfit-46").unwrap().bores[0].clone()
}

/// Directions from 0° to `end` by `step`.
fn arc(end: u32, step: u32) -> Vec<f64> {
    (0..=end / step).map(|at| f64::from(at * step)).collect()
}

/// A section at 5 mm whose wall is `wall` at an angle in degrees, read with scatter of so many mm.
fn gauged(
    ring: Option<Setting>,
    contact: Contact,
    angles: &[f64],
    scatter: f64,
    random: &mut Random,
    wall: impl Fn(f64) -> f64,
) -> Section {
    let readings: Vec<Observation> = angles
        .iter()
        .map(|&angle_deg| Observation {
            angle_deg,
            reading_mm: wall(angle_deg) + scatter * random.normal(),
        })
        .collect();
    let basis = Basis {
        resolution_mm: Some(0.0001),
        setting: ring,
        ..Basis::default()
    };
    section(contact, 5.0, &readings, &basis).unwrap()
}

/// Whether an interval holds the truth.
fn holds(value: f64, truth: f64, known: &Estimate) -> bool {
    (value - truth).abs() <= known.expanded
}

/// At least 93 % of them, within two standard deviations of a binomial share.
fn assert_held(what: &str, held: u32, asked: u32) {
    let share = f64::from(held) / f64::from(asked);
    println!("{what}: {:.1} % of {asked}", 100.0 * share);
    let chance = 2.0 * (0.93 * 0.07 / f64::from(asked)).sqrt();
    assert!(share >= 0.93 - chance, "{what}: {share}");
}

/// 4 µm over the upper limit with an oval and lobes of twice its count, gauged on an arc: no size
/// conforms, and where a mean is stated its interval holds the bore's own.
#[test]
fn of_an_arc_no_size_conforms() {
    let seat = seat();
    let truth = seat.upper_mm + 0.004;
    for (contact, angles, oval, lobes) in [
        (Contact::TwoPoint, arc(45, 5), 0.020, 0.004),
        (Contact::TwoPoint, arc(60, 6), 0.020, 0.004),
        (Contact::TwoPoint, arc(70, 7), 0.020, 0.004),
        (Contact::TwoPoint, arc(90, 9), 0.020, 0.004),
        (Contact::TwoPoint, arc(100, 10), 0.020, 0.004),
        (Contact::TwoPoint, arc(120, 12), 0.020, 0.004),
        (Contact::ThreePoint, arc(30, 3), 0.010, 0.003),
        (Contact::ThreePoint, arc(60, 6), 0.010, 0.003),
        (Contact::ThreePoint, arc(72, 6), 0.010, 0.003),
    ] {
        let first = if contact == Contact::TwoPoint {
            2.0
        } else {
            3.0
        };
        let (mut held, mut asked, mut conform) = (0, 0, 0);
        for seed in 0..150 {
            let mut random = Random::new(seed);
            let turns = [0, 1].map(|_| std::f64::consts::TAU * random.uniform());
            let off = RING.standard_mm * random.normal();
            let section = gauged(Some(RING), contact, &angles, 0.0005, &mut random, |angle| {
                let t = first * angle.to_radians();
                truth + off + oval * (t - turns[0]).cos() + lobes * (2.0 * t - turns[1]).cos()
            });
            let size = Verdict::of(&section, &seat).size;
            conform += u32::from(size.decision == Decision::Conforms);
            if let Some(mean) = section.mean_diameter_mm {
                asked += 1;
                let known = &section.uncertainty["mean_diameter_mm"];
                held += u32::from(holds(mean, truth, known));
            } else {
                let why = section.why_withheld("mean_diameter_mm").unwrap();
                assert!(why.contains("was not gauged"), "{why}");
            }
        }
        let what = format!("{contact}, {angles:?}");
        assert_eq!(conform, 0, "{what}: sizes beyond the limit conform");
        let short = angles.last().unwrap() * 2.0 <= contact.period_deg();
        assert_eq!(asked == 0, short, "{what}: {asked} means");
        if asked > 0 {
            assert_held(&what, held, asked);
        }
    }
}

/// A dent of 60 µm at 120°, gauged from 0° to 60° and from 0° to 100°: what wasn't gauged isn't
/// claimed, neither by the size nor by the straight length, and what would tell is said.
#[test]
fn a_dent_beside_the_arc_is_not_passed_over() {
    let seat = seat();
    let mut random = Random::new(1);
    let dent = |angle: f64| {
        let off = (angle - 120.0) / 20.0;
        45.975 + 0.060 * (-off * off).exp()
    };
    let mut of = |angles: &[f64], depth_mm: f64| {
        let mut section = gauged(
            Some(RING),
            Contact::TwoPoint,
            angles,
            0.0005,
            &mut random,
            dent,
        );
        section.depth_mm = depth_mm;
        section
    };
    let (short, long, whole) = (arc(60, 6), arc(80, 8), arc(170, 10));
    let narrow = of(&short, 5.0);
    let size = Verdict::of(&narrow, &seat).size;
    assert_eq!(size.decision, Decision::CantTell);
    assert_eq!(
        size.why,
        "an arc of 120° was not gauged, and the mean hangs on it; gauge all round"
    );
    let wide = of(&arc(100, 10), 5.0);
    assert_eq!(wide.ungauged_arc_deg, Some(80.0));
    let size = Verdict::of(&wide, &seat).size;
    assert_eq!(size.decision, Decision::CantTell);
    assert!(
        size.why
            .ends_with("where it was gauged, but an arc of 80° was not gauged: gauge all round"),
        "{}",
        size.why
    );
    for gap in [&short, &long, &arc(100, 10)] {
        let sections = [
            of(&whole, 2.0),
            of(&whole, 4.0),
            of(gap, 6.0),
            of(&whole, 9.0),
        ];
        let found = straight(&sections, 45.9, 46.1).unwrap();
        assert!((found.length_mm - 2.0).abs() < 1e-9, "{gap:?}: {found:?}");
    }
    let arcs = [of(&short, 2.0), of(&short, 6.0)];
    assert!(straight(&arcs, 45.9, 46.1).is_err());
    let numbers = bore("a", arcs.to_vec()).numbers;
    assert_eq!((numbers.mean_diameter_mm, numbers.waist), (None, None));
    assert_eq!(numbers.taper_mm_per_mm, None);
}

/// Swept over 240° of an oval the circle is not the oval's own, by as much as the section says: so is
/// the mean of a bore of one such section, of two alike, and not one digit more.
#[test]
fn a_bore_of_one_section_is_as_well_known_as_the_section() {
    let mut random = Random::new(3);
    let mut swept = |depth_mm: f64, turn: f64| {
        let mut section = gauged(
            Some(RING),
            Contact::Radius,
            &arc(240, 15),
            0.0005,
            &mut random,
            |angle| {
                let t = angle.to_radians();
                22.995 + 0.030 * (t - 0.7).cos() + 0.010 * (2.0 * t - turn).cos()
            },
        );
        section.depth_mm = depth_mm;
        section
    };
    let one = swept(5.0, 0.7);
    let of = |section: &Section| section.uncertainty["mean_diameter_mm"];
    let alone = bore("a", vec![one.clone()]).numbers.uncertainty["mean_diameter_mm"];
    assert!(of(&one).coverage_factor < 1.3, "{:?}", of(&one));
    assert!((alone.expanded / of(&one).expanded - 1.0).abs() < 1e-9);
    assert!((alone.standard / of(&one).standard - 1.0).abs() < 1e-9);
    let other = swept(8.0, 0.7);
    let two = bore("a", vec![one.clone(), other.clone()])
        .numbers
        .uncertainty["mean_diameter_mm"];
    let worse = of(&one).expanded.max(of(&other).expanded);
    assert!(two.expanded <= worse && two.expanded > 0.8 * worse);
    // Two ovals a quarter turn apart are off to either side: what is known to be wrong cancels.
    let across = swept(8.0, 0.7 + std::f64::consts::PI);
    let both = bore("a", vec![one, across]).numbers;
    let known = both.uncertainty["mean_diameter_mm"];
    assert!(known.expanded < worse / 3.0, "{known:?}");
    assert!(holds(both.mean_diameter_mm.unwrap(), 45.99, &known));
}

/// The same sweep, its circle 1 µm from the upper limit and 10 µm from the bore's own: no ring helps.
#[test]
fn what_settles_a_circle_on_uneven_directions_is_even_ones() {
    let seat = seat();
    let mut random = Random::new(3);
    let section = gauged(
        Some(RING),
        Contact::Radius,
        &arc(240, 15),
        0.0005,
        &mut random,
        |angle| {
            let t = angle.to_radians();
            22.995 + 0.030 * (t - 0.7).cos() + 0.010 * (2.0 * t - 0.7).cos()
        },
    );
    let known = &section.uncertainty["mean_diameter_mm"];
    let mean = section.mean_diameter_mm.unwrap();
    let near = SeatBore {
        upper_mm: mean + 0.001,
        ..seat
    };
    let size = Verdict::of(&section, &near).size;
    assert_eq!(size.decision, Decision::CantTell, "{}", size.why);
    assert!(
        size.why
            .ends_with("too close to tell: gauge all round, evenly"),
        "{}",
        size.why
    );
    let guard = size.why.split("guard band ").nth(1).unwrap();
    let guard: f64 = guard.split(' ').next().unwrap().parse().unwrap();
    assert!(guard <= known.expanded + 5e-5, "{guard} {known:?}");
}

/// Five directions gauged `many` times and one, the widest, once: an oval of 40 µm, scatter of 2 µm.
#[test]
fn a_direction_gauged_once_among_many_is_known_as_once() {
    for many in [2, 3, 5, 10] {
        let mut angles = vec![0.0];
        for angle in [30.0, 60.0, 90.0, 120.0, 150.0] {
            angles.extend(std::iter::repeat_n(angle, many));
        }
        let mut held = [0; 3];
        let asked = 200;
        for seed in 0..asked {
            let mut random = Random::new(u64::from(seed));
            let section = gauged(
                None,
                Contact::TwoPoint,
                &angles,
                0.002,
                &mut random,
                |angle| 46.0 + 0.020 * (2.0 * angle.to_radians()).cos(),
            );
            let of = |field: &str, value: Option<f64>, truth: f64| {
                u32::from(holds(value.unwrap(), truth, &section.uncertainty[field]))
            };
            held[0] += of("largest_mm", section.largest_mm, 46.020);
            held[1] += of("smallest_mm", section.smallest_mm, 45.980);
            held[2] += of("out_of_round_mm", section.out_of_round_mm, 0.040);
        }
        for (what, held) in ["largest", "smallest", "out-of-round"].iter().zip(held) {
            assert_held(&format!("{what}, one of 1 among {many}"), held, asked);
        }
    }
}

/// The largest of many directions lies above the truth, and the smallest depth of many below it; where
/// depths are equal none of them is the narrowest, but in one bore of twenty by chance.
#[test]
fn the_extremes_of_many_hold_the_truth() {
    for directions in [6_u32, 12, 24] {
        let angles: Vec<f64> = (0..directions)
            .map(|at| f64::from(at) * 180.0 / f64::from(directions))
            .collect();
        for oval in [0.0, 0.003, 0.020] {
            let (mut largest, mut smallest) = (0, 0);
            let asked = 150;
            for seed in 0..asked {
                let mut random = Random::new(u64::from(seed));
                let wall = |angle: f64| 46.0 + oval / 2.0 * (2.0 * angle.to_radians()).cos();
                let section = gauged(None, Contact::TwoPoint, &angles, 0.001, &mut random, wall);
                let known = |field: &str| &section.uncertainty[field];
                let most = wall(0.0);
                let least = wall(90.0);
                largest += u32::from(holds(
                    section.largest_mm.unwrap(),
                    most,
                    known("largest_mm"),
                ));
                smallest += u32::from(holds(
                    section.smallest_mm.unwrap(),
                    least,
                    known("smallest_mm"),
                ));
            }
            let what = format!("{directions} directions, oval {oval}");
            assert_held(&format!("{what}, largest"), largest, asked);
            assert_held(&format!("{what}, smallest"), smallest, asked);
        }
    }
}

/// Eight depths of six directions: equal ones, a cone of 8 µm, and one narrower than the others by
/// 4 µm, whose depth is the waist.
#[test]
fn a_waist_is_named_where_one_shows() {
    let angles = arc(150, 30);
    let asked = 120;
    for shape in ["equal", "cone", "waist"] {
        let (mut named, mut held, mut right) = (0, 0, 0);
        for seed in 0..asked {
            let mut random = Random::new(u64::from(seed));
            let diameter = |depth: u32| match shape {
                "cone" => 46.0 + 0.001 * f64::from(depth),
                "waist" if depth == 5 => 46.0,
                "waist" => 46.004,
                _ => 46.0,
            };
            let sections = (1..=8).map(|depth| {
                let wall = |_| diameter(depth);
                let mut section =
                    gauged(None, Contact::TwoPoint, &angles, 0.001, &mut random, wall);
                section.depth_mm = f64::from(depth);
                section
            });
            let numbers = bore("a", sections.collect()).numbers;
            let Some(waist) = numbers.waist else {
                let why = numbers.withheld.iter().find(|w| w.field == "waist");
                assert!(why.unwrap().why.starts_with("no narrowest depth shows"));
                continue;
            };
            named += 1;
            let truth = if shape == "cone" { 46.001 } else { 46.0 };
            let known = &numbers.uncertainty["waist.diameter_mm"];
            held += u32::from(holds(waist.diameter_mm, truth, known));
            right += u32::from(waist.depth_mm == 5.0);
        }
        println!("{shape}: named {named} of {asked}, held {held}, right {right}");
        if shape == "equal" {
            assert!(named <= asked * 9 / 100, "{named}");
        } else {
            assert!(named >= asked * 95 / 100, "{named}");
            assert_held(&format!("{shape}, waist"), held, named);
        }
        if shape == "waist" {
            assert!(right * 100 >= named * 99, "{right}");
        }
    }
}

/// A digit step of 10 µm over scatter of 1 µm, and of 1 µm over 0.2 µm: all readings of a section, and
/// of a bore, round the same way, so no number of them averages that out.
#[test]
fn a_digit_coarser_than_the_scatter_does_not_average_out() {
    for (step, scatter, count) in [
        (0.010, 0.001, 12_u32),
        (0.010, 0.002, 24),
        (0.001, 0.0002, 24),
        (0.001, 0.0006, 24),
    ] {
        let asked = 150;
        let mut held = [0; 3];
        let mut bent = 0;
        for seed in 0..asked {
            let mut random = Random::new(u64::from(seed));
            let mean = 46.0 + step * random.uniform();
            let taper = step / 10.0 * (2.0 * random.uniform() - 1.0);
            let basis = Basis {
                resolution_mm: Some(step),
                ..Basis::default()
            };
            let sections: Vec<Section> = [2.0, 8.0, 14.0]
                .iter()
                .map(|&depth| {
                    let readings: Vec<Observation> = (0..count)
                        .map(|at| {
                            let true_mm = mean + taper * (depth - 8.0) + scatter * random.normal();
                            Observation {
                                angle_deg: f64::from(at) * 15.0,
                                reading_mm: (true_mm / step).round() * step,
                            }
                        })
                        .collect();
                    section(Contact::TwoPoint, depth, &readings, &basis).unwrap()
                })
                .collect();
            let middle = &sections[1];
            let known = &middle.uncertainty["mean_diameter_mm"];
            held[0] += u32::from(holds(middle.mean_diameter_mm.unwrap(), mean, known));
            let numbers = bore("a", sections).numbers;
            let known = |field: &str| &numbers.uncertainty[field];
            let found = numbers.mean_diameter_mm.unwrap();
            held[1] += u32::from(holds(found, mean, known("mean_diameter_mm")));
            let Some(found) = numbers.taper_mm_per_mm else {
                let why = numbers.why_withheld("taper_mm_per_mm").unwrap();
                assert!(why.starts_with("the three depths don't lie on a line"));
                bent += 1;
                continue;
            };
            held[2] += u32::from(holds(found, taper, known("taper_mm_per_mm")));
        }
        println!("step {step}, scatter {scatter}: {bent} of {asked} off a line");
        let asked = [asked, asked, asked - bent];
        for ((what, held), asked) in ["section", "bore", "taper"].iter().zip(held).zip(asked) {
            assert_held(
                &format!("{what}, step {step}, scatter {scatter}"),
                held,
                asked,
            );
        }
    }
}

/// Any finite numbers, as large and as small as doubles are, give numbers or say why not.
#[test]
fn no_finite_reading_is_too_much() {
    let numbers = [
        0.0,
        1.0,
        -45.9,
        5e-324,
        1e-9,
        9_999.0,
        -1e4,
        1e9,
        1e154,
        -1e200,
        f64::MAX,
        f64::MIN,
    ];
    let mut random = Random::new(5);
    let mut any = || {
        let at = (random.uniform() * numbers.len() as f64) as usize;
        numbers[at.min(numbers.len() - 1)]
    };
    let (mut refused, mut computed) = (0, 0);
    for round in 0..600 {
        let contact = [Contact::TwoPoint, Contact::ThreePoint, Contact::Radius][round % 3];
        let mut sections = Vec::new();
        for _ in 0..3 {
            let readings: Vec<Observation> = (0..8)
                .map(|at| Observation {
                    angle_deg: if round % 2 == 0 {
                        any()
                    } else {
                        f64::from(at) * 44.0
                    },
                    reading_mm: if round % 5 == 0 {
                        any()
                    } else {
                        46.0 + any() % 1e-2
                    },
                })
                .collect();
            match section(contact, any(), &readings, &Basis::default()) {
                Ok(mut section) => {
                    computed += 1;
                    // As a depth may stand in a record.
                    if round % 7 == 0 {
                        section.depth_mm = any();
                    }
                    sections.push(section);
                }
                Err(_) => refused += 1,
            }
        }
        let bore = bore("a", sections);
        assert!(bore.numbers.taper_mm_per_mm.is_none_or(f64::is_finite));
        let _ = straight(&bore.sections, 45.9, 46.1);
    }
    assert!(refused > 100 && computed > 100, "{refused} {computed}");
}
