//! The truth of a bore: numbers against those that others computed.
#![allow(clippy::unwrap_used, reason = "a test says what failed by failing")]

use borewright::bore::{Basis, Bore, Contact, Observation, Order, bore, section};
use serde_json::Value;

fn fixture(path: &str) -> String {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures");
    std::fs::read_to_string(folder.join(path)).unwrap()
}

/// Rows of a CSV without its header.
fn rows(path: &str) -> Vec<Vec<String>> {
    fixture(path)
        .lines()
        .skip(1)
        .map(|line| line.split(',').map(str::to_owned).collect())
        .collect()
}

fn observation(row: &[String]) -> Observation {
    Observation {
        angle_deg: row[2].parse().unwrap(),
        reading_mm: row[3].parse().unwrap(),
    }
}

fn job() -> Vec<Bore> {
    let rows = rows("job-2x3x8/readings.csv");
    rows.chunk_by(|a, b| a[0] == b[0])
        .map(|of_bore| {
            let sections = of_bore
                .chunk_by(|a, b| a[1] == b[1])
                .map(|of_section| {
                    let readings: Vec<Observation> =
                        of_section.iter().map(|row| observation(row)).collect();
                    let depth = of_section[0][1].parse().unwrap();
                    section(Contact::TwoPoint, depth, &readings, &Basis::default()).unwrap()
                })
                .collect();
            bore(&of_bore[0][0], sections)
        })
        .collect()
}

/// Every number in `expected` must be in `actual` at the same place, within 1e-9 (mm, degrees).
fn same(expected: &Value, actual: &Value, path: &str) {
    match (expected, actual) {
        (Value::Object(expected), Value::Object(actual)) => {
            for (key, value) in expected {
                same(value, &actual[key], &format!("{path}.{key}"));
            }
        }
        (Value::Array(expected), Value::Array(actual)) => {
            assert_eq!(expected.len(), actual.len(), "{path}");
            for (index, (e, a)) in expected.iter().zip(actual).enumerate() {
                same(e, a, &format!("{path}[{index}]"));
            }
        }
        (Value::Number(expected), Value::Number(actual)) => {
            let (expected, actual) = (expected.as_f64().unwrap(), actual.as_f64().unwrap());
            assert!(
                (expected - actual).abs() < 1e-9,
                "{path}: {expected} is {actual}"
            );
        }
        _ => assert_eq!(expected, actual, "{path}"),
    }
}

/// numpy's lstsq and polyfit, `tests/reference/job_2x3x8.py`.
#[test]
fn a_whole_job_gives_the_numbers_that_numpy_gives() {
    let expected: Value = serde_json::from_str(&fixture("job-2x3x8/expected.json")).unwrap();
    let actual = serde_json::to_value(job()).unwrap();
    same(&expected["bores"], &actual, "bores");
}

/// A reading 30 µm off among eight that scatter by 1 µm is named, and the numbers without it are
/// those of the seven others; its studentised residual is the one of a fit without it, by hand:
/// the reading minus that fit's prediction, over the root of s² (1 + x (XᵀX)⁻¹ xᵀ).
#[test]
fn one_wild_reading_is_named_and_the_numbers_stand_with_and_without_it() {
    let mut readings: Vec<Observation> = rows("job-2x3x8/readings.csv")[..8]
        .iter()
        .map(|row| observation(row))
        .collect();
    let calm = section(Contact::TwoPoint, 3.0, &readings, &Basis::default()).unwrap();
    assert_eq!(calm.suspect, None);

    readings[5].reading_mm += 0.030;
    let wild = section(Contact::TwoPoint, 3.0, &readings, &Basis::default()).unwrap();
    let suspect = wild.suspect.unwrap();
    assert_eq!(suspect.angle_deg, 112.5);
    let others: Vec<Observation> = readings
        .iter()
        .copied()
        .filter(|reading| reading.angle_deg != 112.5)
        .collect();
    let without = section(Contact::TwoPoint, 3.0, &others, &Basis::default()).unwrap();
    assert_eq!(suspect.without.mean_diameter_mm, without.mean_diameter_mm);
    assert_eq!(suspect.without.oval, without.oval);
    assert!(wild.out_of_round_mm.unwrap() > without.out_of_round_mm.unwrap() + 0.02);

    let shape = without.shape.unwrap();
    let predicted = without.mean_diameter_mm.unwrap() + 2.0 * shape.deviation_mm(112.5);
    assert!((suspect.others_mm.unwrap() - predicted).abs() < 1e-9);
    // Of eight even directions and three unknowns each has leverage h = 3/8; without the point
    // x (XᵀX)⁻¹ xᵀ is h / (1 - h).
    let spread = without.residual_mm.unwrap() * (1.0_f64 + (3.0 / 8.0) / (5.0 / 8.0)).sqrt();
    let studentised = (readings[5].reading_mm - predicted) / spread;
    assert!((suspect.studentised - studentised).abs() < 1e-6 * studentised);
    assert!(suspect.studentised > suspect.threshold);
}

#[test]
fn below_four_degrees_of_freedom_no_reading_is_called_wild() {
    let readings: Vec<Observation> = [46.0, 46.5, 46.0, 46.01, 46.0, 46.01]
        .iter()
        .zip(0..)
        .map(|(&reading_mm, step)| Observation {
            angle_deg: f64::from(step) * 30.0,
            reading_mm,
        })
        .collect();
    let section = section(Contact::TwoPoint, 3.0, &readings, &Basis::default()).unwrap();
    assert_eq!(section.suspect, None);
    assert!(
        section
            .why_withheld("suspect")
            .unwrap()
            .contains("gauge it again")
    );
}

/// numpy 2.4.6: X of 1, cos 2a, sin 2a, cos 4a, sin 4a; `c, ss, _, _ = linalg.lstsq(X, v)`;
/// `c[1:] / 2` and `(linalg.inv(X.T @ X) * ss[0] / 3)[1:, 1:] / 4`. A diameter deviates by twice
/// what the wall does.
#[test]
fn the_covariance_of_the_lobes_is_that_of_least_squares() {
    let readings: Vec<Observation> = [
        (3.0, 46.012),
        (25.0, 46.031),
        (44.0, 46.019),
        (71.0, 45.987),
        (90.0, 45.978),
        (118.0, 45.969),
        (133.0, 45.981),
        (170.0, 46.003),
    ]
    .map(|(angle_deg, reading_mm)| Observation {
        angle_deg,
        reading_mm,
    })
    .to_vec();
    let basis = Basis {
        order: Order::UpTo(4),
        ..Basis::default()
    };
    let section = section(Contact::TwoPoint, 3.0, &readings, &basis).unwrap();
    let shape = section.shape.unwrap();
    assert_eq!(shape.counts(), [2, 4]);
    let expected = [
        9.432_198_164_9e-3,
        1.010_611_837_29e-2,
        -1.415_500_121_9e-3,
        1.978_195_017_2e-3,
    ];
    for (found, expected) in shape.coefficients().iter().zip(expected) {
        assert!((found - expected).abs() < 1e-12, "{found} {expected}");
    }
    let covariance = shape.covariance().unwrap();
    let expected = [
        [
            1.403_040_433_635_8e-6,
            -1.621_027_231_859_6e-7,
            -2.717_958_106_407_7e-7,
            -3.349_854_722_219_8e-7,
        ],
        [
            -1.621_027_231_859_6e-7,
            1.519_274_804_825_0e-6,
            4.904_217_939_187_8e-8,
            2.659_334_434_171_3e-7,
        ],
        [
            -2.717_958_106_407_7e-7,
            4.904_217_939_187_8e-8,
            1.371_993_424_948_3e-6,
            6.013_189_598_739_7e-7,
        ],
        [
            -3.349_854_722_219_8e-7,
            2.659_334_434_171_3e-7,
            6.013_189_598_739_7e-7,
            2.068_951_785_383_0e-6,
        ],
    ];
    for (found, expected) in covariance.iter().flatten().zip(expected.iter().flatten()) {
        assert!((found - expected).abs() < 1e-15, "{found:e} {expected:e}");
    }
}
