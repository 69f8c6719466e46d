//! Do the stated 95 % intervals hold the truth? 10,000 simulated bores of two sections, gauged at
//! two points with normal scatter, round ones and egged ones, on even and uneven directions.
#![allow(clippy::unwrap_used, reason = "a test says what failed by failing")]

use std::collections::BTreeMap;

use borewright::bore::{
    Basis, Contact, Observation, Place, Repeatability, Section, bore, misalignment, section,
};
use borewright::uncertainty::study::deviation;
use borewright::uncertainty::{Estimate, Random};

const BORES: u64 = 10_000;
const DEPTHS: [f64; 2] = [3.0, 13.0];

/// How often each interval held the truth, and how often it was asked.
type Tally = BTreeMap<String, (u32, u32)>;

fn count(tally: &mut Tally, what: impl Into<String>, value: f64, truth: f64, estimate: &Estimate) {
    let entry = tally.entry(what.into()).or_default();
    entry.0 += u32::from((value - truth).abs() <= estimate.expanded);
    entry.1 += 1;
}

struct Truth {
    mean: f64,
    taper: f64,
    /// Of the diameter, mm.
    cosine: f64,
    sine: f64,
    scatter: f64,
}

impl Truth {
    fn diameter(&self, depth: f64, angle_deg: f64) -> f64 {
        let (sine, cosine) = (2.0 * angle_deg.to_radians()).sin_cos();
        self.mean + self.taper * (depth - 8.0) + self.cosine * cosine + self.sine * sine
    }
}

/// Readings of the gauge's study, where there is one.
const STUDY: usize = 25;

/// `studied`: four directions, so that a study of the gauge stands behind the section.
fn one(seed: u64, studied: bool, tally: &mut Tally) {
    let mut random = Random::new(seed);
    let round = seed.is_multiple_of(4);
    let uneven = seed.is_multiple_of(3);
    let oval = if round { 0.0 } else { 0.010 * random.uniform() };
    let (sine, cosine) = (std::f64::consts::TAU * random.uniform()).sin_cos();
    let truth = Truth {
        mean: 46.0,
        taper: 0.002 * (random.uniform() - 0.5),
        cosine: oval * cosine,
        sine: oval * sine,
        scatter: 0.001 + 0.001 * random.uniform(),
    };
    let stations = if studied {
        4
    } else {
        6 + u32::try_from(seed % 5).unwrap()
    };
    let repeats: Vec<f64> = (0..STUDY)
        .map(|_| truth.scatter * random.normal())
        .collect();
    let basis = Basis {
        repeatability: studied.then(|| Repeatability {
            standard_mm: deviation(&repeats).1,
            degrees_of_freedom: (STUDY - 1) as f64,
        }),
        ..Basis::default()
    };
    let sections: Vec<Section> = DEPTHS
        .iter()
        .map(|&depth| {
            let readings: Vec<Observation> = (0..stations)
                .map(|place| {
                    let shift = if uneven { 0.8 * random.uniform() } else { 0.0 };
                    let angle_deg = (f64::from(place) + shift) * 180.0 / f64::from(stations);
                    Observation {
                        angle_deg,
                        reading_mm: truth.diameter(depth, angle_deg)
                            + truth.scatter * random.normal(),
                    }
                })
                .collect();
            let section = section(Contact::TwoPoint, depth, &readings, &basis).unwrap();
            of_section(&truth, &readings, &section, round, tally);
            section
        })
        .collect();
    let bore = bore("a", sections);
    let numbers = bore.numbers;
    for (what, value, truth) in [
        ("bore mean", numbers.mean_diameter_mm.unwrap(), truth.mean),
        ("taper", numbers.taper_mm_per_mm.unwrap(), truth.taper),
    ] {
        let field = if what == "taper" {
            "taper_mm_per_mm"
        } else {
            "mean_diameter_mm"
        };
        count(tally, what, value, truth, &numbers.uncertainty[field]);
    }
}

fn of_section(
    truth: &Truth,
    readings: &[Observation],
    section: &Section,
    round: bool,
    tally: &mut Tally,
) {
    let mean = truth.mean + truth.taper * (section.depth_mm - 8.0);
    count(
        tally,
        "section mean",
        section.mean_diameter_mm.unwrap(),
        mean,
        &section.uncertainty["mean_diameter_mm"],
    );
    // The wall towards 0° is the cosine of the oval, towards 45° its sine.
    let shape = section.shape.as_ref().unwrap();
    if shape.counts() == [2] {
        for (what, angle, part) in [
            ("cosine of the oval", 0.0, truth.cosine),
            ("sine of the oval", 45.0, truth.sine),
        ] {
            let standard = shape.standard_error_mm(angle).unwrap();
            let estimate = Estimate {
                standard,
                expanded: standard * shape.coverage_factor(),
                coverage_factor: shape.coverage_factor(),
                degrees_of_freedom: None,
            };
            count(
                tally,
                what,
                shape.deviation_mm(angle),
                part / 2.0,
                &estimate,
            );
        }
    }
    let held = shape
        .region_holds(2, truth.cosine / 2.0, truth.sine / 2.0)
        .unwrap();
    let entry = tally
        .entry(
            if round {
                "oval as a vector, round"
            } else {
                "oval as a vector, egged"
            }
            .to_owned(),
        )
        .or_default();
    entry.0 += u32::from(held);
    entry.1 += 1;
    // Of a round bore the interval holds zero exactly where the joint region of both does.
    let size = 2.0 * truth.cosine.hypot(truth.sine);
    // The standard error of the size is about this, so the ratio says how near zero it is.
    let near_zero = size / truth.scatter;
    let what = match near_zero {
        _ if round => "oval size, round",
        ..1.0 => "oval size, below the scatter",
        1.0..4.0 => "oval size, up to 4 times the scatter",
        _ => "oval size, beyond",
    };
    let oval = section.oval.unwrap();
    count(
        tally,
        what,
        oval.size_mm,
        size,
        &section.uncertainty["oval.size_mm"],
    );

    let true_diameters = readings
        .iter()
        .map(|reading| truth.diameter(section.depth_mm, reading.angle_deg));
    let (least, most) =
        true_diameters.fold((f64::INFINITY, 0.0_f64), |(a, b), d| (a.min(d), b.max(d)));
    let what = if round {
        "out-of-round, round"
    } else {
        "out-of-round, egged"
    };
    count(
        tally,
        what,
        section.out_of_round_mm.unwrap(),
        most - least,
        &section.uncertainty["out_of_round_mm"],
    );
}

/// Bores of the cases that follow: each share is then known to ±0.7 %.
const FEWER: u64 = 1_000;

/// Swept from an axis beside the centre on uneven directions, the bore egged: the circle of the
/// readings is not the bore's own, and what is stated is, by definition, the circle; its interval
/// holds what the circle takes up of the oval.
fn swept(seed: u64, tally: &mut Tally) {
    let mut random = Random::new(seed);
    let directions = [8, 12, 24][usize::try_from(seed % 3).unwrap()];
    let oval = 0.010 + 0.020 * random.uniform();
    let turn = std::f64::consts::TAU * random.uniform();
    let (radius, beside) = (23.0_f64, 0.020);
    let sections: Vec<Section> = DEPTHS
        .iter()
        .map(|&depth| {
            let readings: Vec<Observation> = (0..directions)
                .map(|place| {
                    let shift = 0.8 * random.uniform();
                    let angle_deg = (f64::from(place) + shift) * 360.0 / f64::from(directions);
                    let t = angle_deg.to_radians();
                    Observation {
                        angle_deg,
                        reading_mm: (radius.powi(2) - (beside * t.sin()).powi(2)).sqrt()
                            + beside * t.cos()
                            + oval * (2.0 * t - turn).cos()
                            + 0.001 * random.normal(),
                    }
                })
                .collect();
            section(Contact::Radius, depth, &readings, &Basis::default()).unwrap()
        })
        .collect();
    for section in &sections {
        let circle = section.roundness.unwrap().least_squares;
        for (what, field, value, truth) in [
            (
                "swept mean",
                "mean_diameter_mm",
                section.mean_diameter_mm.unwrap(),
                2.0 * radius,
            ),
            (
                "swept x",
                "roundness.least_squares.x_mm",
                circle.x_mm,
                beside,
            ),
            ("swept y", "roundness.least_squares.y_mm", circle.y_mm, 0.0),
        ] {
            count(tally, what, value, truth, &section.uncertainty[field]);
        }
    }
    let numbers = bore("a", sections).numbers;
    let mean = numbers.mean_diameter_mm.unwrap();
    let known = &numbers.uncertainty["mean_diameter_mm"];
    count(tally, "swept mean of a bore", mean, 2.0 * radius, known);
    let taper = numbers.taper_mm_per_mm.unwrap();
    let known = &numbers.uncertainty["taper_mm_per_mm"];
    count(tally, "swept taper", taper, 0.0, known);
}

/// A bore of a few lobes, every fourth round, swept from an axis beside its centre on uneven
/// directions.
struct Swept {
    centre: (f64, f64),
    lobes: Vec<(f64, f64, f64)>,
    angles: Vec<f64>,
}

impl Swept {
    fn drawn(random: &mut Random, round: bool, directions: u32, centre: (f64, f64)) -> Self {
        let lobes = [2.0, 3.0].map(|count| {
            let amplitude = if round { 0.0 } else { 0.008 * random.uniform() };
            (count, amplitude, std::f64::consts::TAU * random.uniform())
        });
        let angle = |place: u32| {
            (f64::from(place) + 0.5 * random.uniform()) * 360.0 / f64::from(directions)
        };
        Self {
            centre,
            lobes: lobes.to_vec(),
            angles: (0..directions).map(angle).collect(),
        }
    }

    /// Read with scatter of so many mm.
    fn section(&self, depth_mm: f64, scatter: f64, random: &mut Random) -> Section {
        let radius = 23.0_f64;
        let readings: Vec<Observation> = self
            .angles
            .iter()
            .map(|&angle_deg| {
                let t = angle_deg.to_radians();
                let (x, y) = self.centre;
                let (along, across) = (x * t.cos() + y * t.sin(), x * t.sin() - y * t.cos());
                let lobe = |&(count, size, turn): &(f64, f64, f64)| size * (count * t - turn).cos();
                Observation {
                    angle_deg,
                    reading_mm: (radius.powi(2) - across.powi(2)).sqrt()
                        + along
                        + self.lobes.iter().map(lobe).sum::<f64>()
                        + scatter * random.normal(),
                }
            })
            .collect();
        section(Contact::Radius, depth_mm, &readings, &Basis::default()).unwrap()
    }
}

/// The reference circles through the wall at the directions gauged, against those without scatter.
fn circles(seed: u64, tally: &mut Tally) {
    let mut random = Random::new(seed);
    let directions = [9, 16, 30][usize::try_from(seed % 3).unwrap()];
    let made = Swept::drawn(
        &mut random,
        seed.is_multiple_of(4),
        directions,
        (0.02, 0.01),
    );
    let truth = made.section(3.0, 0.0, &mut random).roundness.unwrap();
    let section = made.section(3.0, 0.001, &mut random);
    let found = section.roundness.unwrap();
    for (name, circle, truth) in [
        ("least_squares", found.least_squares, truth.least_squares),
        ("minimum_zone", found.minimum_zone, truth.minimum_zone),
        ("max_inscribed", found.max_inscribed, truth.max_inscribed),
        (
            "min_circumscribed",
            found.min_circumscribed,
            truth.min_circumscribed,
        ),
    ] {
        let radius = |of: borewright::bore::Circle| of.radius_mm.unwrap();
        let x = (circle.x_mm, truth.x_mm);
        let y = (circle.y_mm, truth.y_mm);
        for (number, (value, truth)) in [
            ("x_mm", x),
            ("y_mm", y),
            ("radius_mm", (radius(circle), radius(truth))),
            ("zone_mm", (circle.zone_mm, truth.zone_mm)),
            ("peak_mm", (circle.peak_mm, truth.peak_mm)),
            ("valley_mm", (circle.valley_mm, truth.valley_mm)),
        ] {
            let known = &section.uncertainty[&format!("roundness.{name}.{number}")];
            let what = match number {
                "x_mm" | "y_mm" => format!("centre, {name}"),
                number => format!("{number}, {name}"),
            };
            // Zero by definition of the circle.
            if known.standard > 1e-12 {
                count(tally, what, value, truth, known);
            }
        }
    }
}

/// Two bores of two sections each, the second beside the first's axis and leaning.
fn axes(seed: u64, tally: &mut Tally) {
    let mut random = Random::new(seed);
    let aligned = seed.is_multiple_of(4);
    let mut line = || {
        let part = |reach: f64| if aligned { 0.0 } else { reach };
        let mut any = |reach: f64| part(reach) * (2.0 * random.uniform() - 1.0);
        ((any(0.02), any(0.02)), (any(0.001), any(0.001)))
    };
    let lines = [line(), line()];
    // Faces at 0 and -60 mm, looking out; depth runs inwards, and the second's view is mirrored.
    let places = [(0.0, true), (-60.0, false)];
    let at = |bore: usize, position: f64| {
        let ((x, y), (lean_x, lean_y)) = lines[bore];
        (
            x + lean_x * (position + 30.0),
            y + lean_y * (position + 30.0),
        )
    };
    let sections = |bore: usize, random: &mut Random| -> Vec<Section> {
        let (face, plus) = places[bore];
        DEPTHS
            .iter()
            .map(|depth| {
                let (x, y) = at(bore, if plus { face - depth } else { face + depth });
                let centre = (x, if plus { y } else { -y });
                Swept::drawn(random, true, 12, centre).section(*depth, 0.001, random)
            })
            .collect()
    };
    let (first, second) = (sections(0, &mut random), sections(1, &mut random));
    let place = |bore: usize| Place {
        face_mm: places[bore].0,
        faces_plus: places[bore].1,
    };
    let found = misalignment((&first, place(0)), (&second, place(1))).unwrap();
    let apart = |position: f64| {
        let ((x0, y0), (x1, y1)) = (at(0, position), at(1, position));
        (x1 - x0).hypot(y1 - y0)
    };
    let ((_, one), (_, other)) = (lines[0], lines[1]);
    let tilt = (one.0 - other.0).hypot(one.1 - other.1).to_degrees();
    let [near, far] = DEPTHS.map(|depth| apart(depth - 60.0));
    let middle = apart(-52.0);
    let what = |number: &str| format!("axes, {number}");
    count(
        tally,
        what("offset"),
        found.offset_mm,
        middle,
        &found.offset_uncertainty.unwrap(),
    );
    count(
        tally,
        what("tilt"),
        found.tilt_deg,
        tilt,
        &found.tilt_uncertainty.unwrap(),
    );
    let coaxiality = 2.0 * near.max(far);
    let known = &found.coaxiality_uncertainty.unwrap();
    count(
        tally,
        what("coaxiality"),
        found.coaxiality_mm,
        coaxiality,
        known,
    );
}

/// Three points, three lobes, uneven directions over the third of a turn.
fn three_points(seed: u64, tally: &mut Tally) {
    let mut random = Random::new(seed);
    let lobes = 0.010 * random.uniform();
    let turn = std::f64::consts::TAU * random.uniform();
    let readings: Vec<Observation> = (0..8)
        .map(|place| {
            let angle_deg = (f64::from(place) + 0.8 * random.uniform()) * 120.0 / 8.0;
            Observation {
                angle_deg,
                reading_mm: 46.0
                    + lobes * (3.0 * angle_deg.to_radians() - turn).cos()
                    + 0.0015 * random.normal(),
            }
        })
        .collect();
    let section = section(Contact::ThreePoint, 3.0, &readings, &Basis::default()).unwrap();
    let mean = section.mean_diameter_mm.unwrap();
    let known = &section.uncertainty["mean_diameter_mm"];
    count(tally, "three-point mean", mean, 46.0, known);
}

#[test]
fn stated_intervals_hold_the_truth_as_often_as_they_say() {
    simulate(BORES, |seed, tally| one(seed, false, tally));
}

#[test]
fn so_they_do_with_a_study_of_the_gauge_behind_four_directions() {
    simulate(BORES, |seed, tally| one(seed, true, tally));
}

/// Few directions, each number of them by itself, round bores and egged ones: the wall of a bore, so
/// many directions evenly or unevenly spread, read with scatter of 1 µm.
fn few(contact: Contact, directions: u32, seed: u64, tally: &mut Tally) {
    let mut random = Random::new(seed ^ u64::from(directions) << 32);
    let egg = [0.0, 0.002, 0.010][usize::try_from(seed % 3).unwrap()];
    let turn = std::f64::consts::TAU * random.uniform();
    let uneven = 0.5 * f64::from(u8::from(seed.is_multiple_of(2)));
    let period = if contact == Contact::Radius {
        360.0
    } else {
        180.0
    };
    let angles: Vec<f64> = (0..directions)
        .map(|place| {
            (f64::from(place) + uneven * random.uniform()) * period / f64::from(directions)
        })
        .collect();
    let mut gauged = |scatter: f64| {
        let readings: Vec<Observation> = angles
            .iter()
            .map(|&angle_deg| Observation {
                angle_deg,
                reading_mm: 46.0
                    + egg / 2.0 * (2.0 * angle_deg.to_radians() - turn).cos()
                    + scatter * random.normal(),
            })
            .collect();
        section(contact, 3.0, &readings, &Basis::default()).unwrap()
    };
    let (truth, found) = (gauged(0.0), gauged(0.001));
    let mut ask = |field: &str, value: f64, truth: f64| {
        let known = &found.uncertainty[field];
        let number = field.trim_start_matches("roundness.");
        let number = number
            .replace(".x_mm", ".centre")
            .replace(".y_mm", ".centre");
        if known.standard > 1e-12 {
            let egg = egg * 1e3;
            let what = format!("few, {contact}, {directions} directions, egg {egg} µm, {number}");
            count(tally, what, value, truth, known);
        }
    };
    if contact == Contact::TwoPoint {
        let out = |section: &Section| section.out_of_round_mm.unwrap();
        ask("out_of_round_mm", out(&found), out(&truth));
        return;
    }
    let circles = |section: &Section| {
        let all = section.roundness.unwrap();
        [
            all.least_squares,
            all.minimum_zone,
            all.max_inscribed,
            all.min_circumscribed,
        ]
    };
    let names = [
        "least_squares",
        "minimum_zone",
        "max_inscribed",
        "min_circumscribed",
    ];
    for ((name, found), truth) in names.iter().zip(circles(&found)).zip(circles(&truth)) {
        for (number, value, truth) in [
            ("x_mm", found.x_mm, truth.x_mm),
            ("y_mm", found.y_mm, truth.y_mm),
            ("zone_mm", found.zone_mm, truth.zone_mm),
            ("peak_mm", found.peak_mm, truth.peak_mm),
            ("valley_mm", found.valley_mm, truth.valley_mm),
        ] {
            ask(&format!("roundness.{name}.{number}"), value, truth);
        }
    }
}

#[test]
fn so_they_do_of_each_small_number_of_directions() {
    for directions in 4..=7 {
        simulate(1_500, |seed, tally| {
            few(Contact::TwoPoint, directions, seed, tally)
        });
    }
}

#[test]
fn so_they_do_of_the_circles_of_each_small_number_of_directions() {
    for directions in 6..=8 {
        simulate(450, |seed, tally| {
            few(Contact::Radius, directions, seed, tally)
        });
    }
}

#[test]
fn so_they_do_of_a_swept_radius_on_uneven_directions() {
    simulate(FEWER, swept);
}

#[test]
fn so_they_do_of_the_reference_circles() {
    simulate(FEWER / 3, circles);
}

#[test]
fn so_they_do_of_the_axes_of_two_bores() {
    simulate(FEWER / 4, axes);
}

#[test]
fn so_they_do_of_three_points_on_uneven_directions() {
    simulate(FEWER, three_points);
}

fn simulate(bores: u64, one: impl Fn(u64, &mut Tally) + Sync) {
    let one = &one;
    let workers = std::thread::available_parallelism().map_or(1, |n| n.get() as u64);
    let tallies: Vec<Tally> = std::thread::scope(|scope| {
        let running: Vec<_> = (0..workers)
            .map(|worker| {
                scope.spawn(move || {
                    let mut tally = Tally::new();
                    for seed in (0..bores).filter(|seed| seed % workers == worker) {
                        one(seed, &mut tally);
                    }
                    tally
                })
            })
            .collect();
        running.into_iter().map(|r| r.join().unwrap()).collect()
    });
    let mut whole = Tally::new();
    for (what, (held, asked)) in tallies.into_iter().flatten() {
        let entry = whole.entry(what).or_default();
        entry.0 += held;
        entry.1 += asked;
    }
    for (what, (held, asked)) in whole {
        let share = f64::from(held) / f64::from(asked);
        println!("{what}: {:.2} % of {asked}", 100.0 * share);
        // Sizes and ranges are bounded at zero, so that theirs hold more often near it, and so are
        // distances between axes; a circle that touches the wall is off to one side.
        let bounded = [
            "few",
            "oval size",
            "out-of-round",
            "axes",
            "zone_mm",
            "radius_mm",
            "peak_mm",
            "valley_mm",
            "centre",
        ]
        .iter()
        .any(|kind| what.starts_with(kind));
        // Within two standard deviations of a binomial share.
        let chance = 2.0 * (0.93 * 0.07 / f64::from(asked)).sqrt();
        let least = 0.93 - if what.starts_with("few") { chance } else { 0.0 };
        assert!(share >= least, "{what}: {share}");
        assert!(bounded || share <= 0.97, "{what}: {share}");
    }
}
