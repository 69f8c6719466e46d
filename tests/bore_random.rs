//! 500 random bores, from 4 to 10,000 readings, against numpy and scipy
//! (`tests/reference/random_bores.py`).
#![allow(clippy::unwrap_used, reason = "a test says what failed by failing")]

use borewright::bore::{Basis, Circle, Contact, Observation, Order, Section, section};
use borewright::uncertainty::Random;
use serde::Deserialize;

#[derive(Deserialize)]
struct Case {
    seed: u64,
    contact: Contact,
    count: u32,
    least_squares: Option<[f64; 3]>,
    zone: Option<f64>,
    /// Centre, smallest and largest distance from it.
    minimum_zone: Option<[f64; 4]>,
    circumscribed: Option<[f64; 4]>,
    inscribed: Option<[f64; 4]>,
    lobes: Option<u32>,
    condition: Option<f64>,
    /// Mean, then cosine and sine of each lobe count, of the wall's radius.
    coefficients: Option<Vec<f64>>,
    mean_error: Option<f64>,
    residual: Option<f64>,
}

/// The lobe counts a contact sees are multiples of this, and how it shows them.
fn step_and_gain(contact: Contact) -> (u32, f64) {
    match contact {
        Contact::TwoPoint => (2, 2.0),
        Contact::ThreePoint => (3, 2.0),
        Contact::Radius => (1, 1.0),
    }
}

/// As `draw` in the script, number for number.
fn draw(case: &Case) -> Vec<Observation> {
    let mut random = Random::new(case.seed);
    let (step, gain) = step_and_gain(case.contact);
    let picometres = |value: f64| (value * 1e9).round() / 1e9;
    let mean = 5.0 + 60.0 * random.uniform();
    let lobes: Vec<(f64, f64, f64)> = (1..6)
        .map(|n| {
            let n = f64::from(n);
            let amplitude = 0.02 * random.uniform() / n;
            (n * f64::from(step), amplitude, 360.0 * random.uniform())
        })
        .collect();
    let rough = 0.002 * random.uniform();
    (0..case.count)
        .map(|place| {
            let turn = f64::from(place) + 0.5 * random.uniform();
            let angle_deg = picometres(360.0 * turn / f64::from(case.count));
            let mut wall: f64 = lobes
                .iter()
                .map(|(n, a, p)| a * (n * angle_deg - p).to_radians().cos())
                .sum();
            wall += rough * (2.0 * random.uniform() - 1.0);
            let size = if case.contact == Contact::Radius {
                mean
            } else {
                2.0 * mean
            };
            Observation {
                angle_deg,
                reading_mm: picometres(size + gain * wall),
            }
        })
        .collect()
}

fn near(actual: f64, expected: f64, tolerance: f64, case: &Case, what: &str) {
    assert!(
        (actual - expected).abs() <= tolerance,
        "seed {}, {} of {} readings, {what}: {actual} is not {expected}",
        case.seed,
        case.contact,
        case.count
    );
}

fn bounded(case: &Case, circle: &Circle, expected: Option<[f64; 4]>, what: &str) {
    let Some([x, y, least, most]) = expected else {
        return;
    };
    near(circle.x_mm, x, 1e-9, case, what);
    near(circle.y_mm, y, 1e-9, case, what);
    near(circle.zone_mm, most - least, 1e-9, case, what);
    let radius = circle.radius_mm.unwrap();
    near(radius - circle.valley_mm, least, 1e-9, case, what);
}

fn circles(case: &Case, section: &Section) {
    let Some([x, y, r]) = case.least_squares else {
        return;
    };
    let all = section.roundness.unwrap();
    let circle = all.least_squares;
    near(circle.x_mm, x, 1e-9, case, "x");
    near(circle.y_mm, y, 1e-9, case, "y");
    near(circle.radius_mm.unwrap(), r, 1e-9, case, "radius");
    near(circle.zone_mm, case.zone.unwrap(), 1e-9, case, "zone");
    bounded(case, &all.minimum_zone, case.minimum_zone, "minimum zone");
    bounded(
        case,
        &all.min_circumscribed,
        case.circumscribed,
        "circumscribed",
    );
    bounded(case, &all.max_inscribed, case.inscribed, "inscribed");
}

fn series(case: &Case, section: &Section) {
    let (Some(expected), Some(condition)) = (&case.coefficients, case.condition) else {
        return;
    };
    assert!(condition < 1e4);
    let (step, gain) = step_and_gain(case.contact);
    let largest = expected[1..].iter().fold(0.0_f64, |a, b| a.max(b.abs()));
    let shape = section.shape.as_ref().unwrap();
    for place in 0..16 {
        let angle = f64::from(place) * 22.7;
        let wall: f64 = expected[1..]
            .chunks(2)
            .zip(1..)
            .filter(|&(_, n)| n * step > 1)
            .map(|(pair, n)| {
                let (sine, cosine) = (f64::from(n * step) * angle.to_radians()).sin_cos();
                pair[0] * cosine + pair[1] * sine
            })
            .sum();
        near(
            shape.deviation_mm(angle),
            wall,
            1e-10 * largest.max(1e-3),
            case,
            "wall",
        );
    }
    if case.contact != Contact::Radius {
        let mean = gain * expected[0];
        near(
            section.mean_diameter_mm.unwrap(),
            mean,
            1e-12 * mean,
            case,
            "mean",
        );
    }
    // A radius counts twice in a diameter.
    let error = case.mean_error.unwrap()
        * if case.contact == Contact::Radius {
            2.0
        } else {
            1.0
        };
    let standard = section.mean_scatter().unwrap().standard;
    near(standard, error, 1e-9 * error, case, "standard error");
    let residual = case.residual.unwrap();
    near(
        section.residual_mm.unwrap(),
        residual,
        1e-9 * residual,
        case,
        "residual",
    );
}

#[test]
fn random_bores_as_numpy_and_scipy_have_them() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/fixtures/random-bores.json");
    let cases: Vec<Case> = serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    assert!(cases.len() >= 500);
    for case in &cases {
        let basis = Basis {
            order: Order::UpTo(case.lobes.unwrap_or(2)),
            ..Basis::default()
        };
        let section = section(case.contact, 0.0, &draw(case), &basis).unwrap();
        circles(case, &section);
        series(case, &section);
    }
}
