//! The truth of a bore: numbers against those that others computed.
#![allow(clippy::unwrap_used, reason = "a test says what failed by failing")]

use borewright::bore::{Basis, Bore, Contact, Observation, bore, section};
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

fn job() -> Vec<Bore> {
    let rows = rows("job-2x3x8/readings.csv");
    rows.chunk_by(|a, b| a[0] == b[0])
        .map(|of_bore| {
            let sections = of_bore
                .chunk_by(|a, b| a[1] == b[1])
                .map(|of_section| {
                    let readings: Vec<Observation> = of_section
                        .iter()
                        .map(|row| Observation {
                            angle_deg: row[2].parse().unwrap(),
                            reading_mm: row[3].parse().unwrap(),
                        })
                        .collect();
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
