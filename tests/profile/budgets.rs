//! Every uncertainty, and the budget that it comes from.

use std::process::Command;

use serde_json::Value;

use crate::{json, profile};

/// Readings that agree to their last digit are known no better than that: by hand, a step of 0.01
/// mm is 0.01/√12 for one direction, and for the mean of four that all round the same way.
#[test]
fn readings_that_all_agree_are_as_uncertain_as_their_last_digit() {
    let rows = "bore,depth_mm,angle_deg,reading_mm\na,3,0,46.01\na,3,45,46.01\na,3,90,46.01\na,3,135,46.01\n";
    // An exponent moves the point, and the step with it.
    for rows in [
        rows.to_owned(),
        rows.replace("46.01", "4.601e1"),
        rows.replace("46.01", "4601E-2"),
    ] {
        let profile = json(&rows, &[]);
        let mean = &profile["bores"][0]["sections"][0]["uncertainty"]["mean_diameter_mm"];
        let expected = 0.01 / 12.0_f64.sqrt();
        assert!((mean["standard"].as_f64().unwrap() - expected).abs() < 1e-12);
        assert_eq!(
            mean["degrees_of_freedom"],
            Value::Null,
            "the step is certain"
        );
    }
}

/// Three sections of an egged bore, the deepest off the line through the others.
fn egged(contact: &str) -> String {
    let (turn, size) = match contact {
        "two-point" => (180.0, 42.0),
        "three-point" => (120.0, 42.0),
        _ => (360.0, 21.0),
    };
    let mut rows = "bore,depth_mm,angle_deg,reading_mm\n".to_owned();
    for (depth, wider) in [("3", 0.0), ("8", 0.01), ("13", 0.05), ("18", 0.03)] {
        let scatter = [0.001, -0.002, 0.0, 0.002, -0.001, 0.001, -0.001, 0.0];
        for (place, scatter) in (0..).zip(scatter) {
            let angle = turn / 8.0 * f64::from(place);
            let oval = 0.02 * (2.0 * angle.to_radians()).cos();
            rows += &format!("a,{depth},{angle},{:.4}\n", size + wider + oval + scatter);
        }
    }
    rows
}

const BUDGET: [&str; 5] = ["--ring", "42", "--ring-uncertainty", "0.001", "--budget"];

/// Whatever has an uncertainty has one budget that says what it comes to and which input dominates,
/// its contributions adding up as JCGM 100:2008, equation 10, has it; and nothing else has.
#[test]
fn every_number_with_an_uncertainty_has_its_budget() {
    for contact in ["two-point", "three-point", "radius"] {
        let arguments = [&BUDGET[..], &["--contact", contact]].concat();
        let profile = json(&egged(contact), &arguments);
        let bore = &profile["bores"][0];
        let mut stated: Vec<(Value, String, &Value)> = Vec::new();
        let of_bore = (&Value::Null, bore);
        let sections = bore["sections"].as_array().unwrap();
        let of_sections = sections
            .iter()
            .map(|section| (&section["depth_mm"], section));
        for (depth, held) in of_sections.chain([of_bore]) {
            for (field, estimate) in held["uncertainty"].as_object().unwrap() {
                stated.push((depth.clone(), field.clone(), estimate));
            }
        }
        let budgets = profile["budgets"].as_array().unwrap();
        assert_eq!(budgets.len(), stated.len(), "{contact}");
        for field in [
            "mean_diameter_mm",
            "taper_mm_per_mm",
            "barrel_mm",
            "waist.diameter_mm",
        ] {
            assert!(
                stated
                    .iter()
                    .any(|(depth, known, _)| depth.is_null() && known == field)
            );
        }
        for (depth, field, estimate) in stated {
            let of = |budget: &&Value| budget["depth_mm"] == depth && budget["field"] == *field;
            let budget = budgets.iter().find(of).unwrap();
            assert_eq!(budget["combined"], *estimate, "{contact}, {field}");
            adds_up(budget);
            assert!(
                !budget["quantity"].as_str().unwrap().contains('_'),
                "{budget}"
            );
        }
        let of_size = |field: &str| {
            let budget = budgets.iter().find(|budget| budget["field"] == field);
            budget.map(|budget| budget["inputs"].as_array().unwrap().len())
        };
        // Scatter, ring, and the gauge's digit and scatter in it; what is common to all cancels in a difference.
        assert!(of_size("mean_diameter_mm").unwrap() >= 4);
        assert_eq!(of_size("lobes[0].amplitude_mm"), Some(1));
        if contact == "radius" {
            assert_eq!(of_size("roundness.max_inscribed.radius_mm"), Some(4));
            assert_eq!(of_size("roundness.max_inscribed.x_mm"), Some(1));
        } else {
            assert_eq!(of_size("largest_mm"), Some(4));
        }
    }
    let output = self::profile(&egged("two-point"), &BUDGET);
    let text = String::from_utf8(output.stdout).unwrap();
    for part in [
        "largest diameter, a at 8 mm: ",
        "amplitude of 2 lobes, a at 13 mm: 0.0",
        "taper, a: 0.00",
        "section off the line through the others, a: ",
        "effective degrees of freedom, k =",
    ] {
        assert!(text.contains(part), "{text}\nlacks {part}");
    }
}

fn adds_up(budget: &Value) {
    let number = |of: &Value| of.as_f64().unwrap();
    let inputs = budget["inputs"].as_array().unwrap();
    let part = |input: &Value| number(&input["standard"]) * number(&input["sensitivity"]);
    let parts: Vec<f64> = inputs.iter().map(|input| part(input).powi(2)).collect();
    let whole: f64 = parts.iter().sum();
    let combined = number(&budget["combined"]["standard"]);
    assert!(
        (whole.sqrt() - combined).abs() <= 1e-9 * combined,
        "{budget}"
    );
    let shares = budget["shares"].as_array().unwrap();
    assert_eq!(shares.len(), parts.len());
    let largest = parts.iter().copied().fold(0.0, f64::max);
    for ((share, part), input) in shares.iter().zip(&parts).zip(inputs) {
        assert!(whole == 0.0 || (number(share) - part / whole).abs() < 1e-9);
        // Where two contribute alike either may be named.
        assert!(budget["dominant"] != input["name"] || *part >= largest * (1.0 - 1e-9));
    }
    assert!(
        inputs
            .iter()
            .any(|input| input["name"] == budget["dominant"])
    );
}

/// JSON Schema 2020-12, by a validator of its own.
#[test]
fn the_output_keeps_to_its_schema() {
    let out = Command::new(env!("CARGO_BIN_EXE_borewright"))
        .args(["schema", "profile"])
        .output()
        .unwrap();
    let schema: Value = serde_json::from_slice(&out.stdout).unwrap();
    assert_eq!(
        schema["$schema"],
        "https://json-schema.org/draft/2020-12/schema"
    );
    let schema = jsonschema::validator_for(&schema).unwrap();
    for contact in ["two-point", "three-point", "radius"] {
        for more in [
            &[][..],
            &["--budget"],
            &BUDGET,
            &["--budget", "--seat", "pressfit-41"],
        ] {
            let profile = json(&egged(contact), &[&["--contact", contact], more].concat());
            let errors: Vec<String> = schema
                .iter_errors(&profile)
                .map(|e| e.to_string())
                .collect();
            assert!(errors.is_empty(), "{contact} {more:?}: {errors:?}");
        }
    }
    let mut profile = json(&egged("two-point"), &BUDGET);
    profile["budgets"][0]["combined"]["standard"] = Value::Null;
    assert!(!schema.is_valid(&profile), "a budget comes to something");
}

/// A ring and temperatures known to far more degrees of freedom than the readings: k is the normal
/// distribution's 1.960 from 1e4 on (scipy 1.17, `t.ppf(0.975, 1e5)` = 1.95999).
#[test]
fn the_coverage_factor_holds_at_a_million_degrees_of_freedom() {
    let rows: String = (0..24)
        .map(|n| format!("a,3,{},46.000{}\n", n * 15, [0, 2, 1][n % 3]))
        .collect();
    let input = format!("bore,depth_mm,angle_deg,reading_mm\n{rows}");
    let setting = [
        "--ring",
        "46",
        "--ring-uncertainty",
        "0.0006",
        "--resolution",
        "0.0001",
    ];
    let found = json(&input, &setting);
    let known = &found["bores"][0]["sections"][0]["uncertainty"]["mean_diameter_mm"];
    let degrees = known["degrees_of_freedom"].as_f64().unwrap();
    assert!((1e5..1e9).contains(&degrees), "{degrees}");
    assert!(
        (known["coverage_factor"].as_f64().unwrap() - 1.960).abs() < 1e-3,
        "{known}"
    );
    let text = String::from_utf8(profile(&input, &setting).stdout).unwrap();
    assert!(text.contains("± 0.0006"), "{text}");
}
