//! Invented cases with the verdict that a careful mechanic would give, through the command line.

#![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]

use std::path::{Path, PathBuf};
use std::process::Command;

use borewright::display::Language;
use serde::Deserialize;
use serde_json::Value;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Golden {
    args: Vec<String>,
    expected: Expected,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Expected {
    at_fault: String,
    shown: Vec<String>,
    likely: Vec<String>,
    advice: Vec<String>,
}

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn cases() -> Vec<(String, Golden)> {
    let folder = root().join("fixtures/fit/golden");
    let mut cases: Vec<PathBuf> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "csv"))
        .collect();
    cases.sort();
    cases
        .into_iter()
        .map(|csv| {
            let text = std::fs::read_to_string(csv.with_extension("toml")).unwrap();
            let golden = toml::from_str(&text).unwrap();
            (csv.display().to_string(), golden)
        })
        .collect()
}

fn run(csv: &str, args: &[String], more: &[&str]) -> (Option<i32>, String) {
    let out = Command::new(env!("CARGO_BIN_EXE_borewright"))
        .current_dir(root())
        .args(["fit", csv])
        .args(args)
        .args(more)
        .output()
        .unwrap();
    let text = String::from_utf8(out.stdout).unwrap() + &String::from_utf8(out.stderr).unwrap();
    (out.status.code(), text)
}

fn causes(json: &Value, standing: &str) -> Vec<String> {
    json["diagnosis"]["causes"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|cause| cause["standing"] == standing)
        .map(|cause| cause["cause"].as_str().unwrap().to_owned())
        .collect()
}

#[test]
fn every_case_gets_the_verdict_of_a_careful_mechanic() {
    let cases = cases();
    assert!(cases.len() >= 10);
    let mut wrong = Vec::new();
    for (csv, golden) in cases {
        let (code, text) = run(&csv, &golden.args, &["--json"]);
        assert_eq!(code, Some(0), "{csv}: {text}");
        let json: Value = serde_json::from_str(&text).unwrap();
        let advice: Vec<&str> = json["bores"]
            .as_array()
            .unwrap()
            .iter()
            .map(|bore| bore["plan"]["advice"].as_str().unwrap())
            .collect();
        let expected = golden.expected;
        let got = (
            json["diagnosis"]["at_fault"].as_str().unwrap(),
            causes(&json, "shown"),
            causes(&json, "likely"),
            advice,
        );
        let want = (
            expected.at_fault.as_str(),
            expected.shown,
            expected.likely,
            expected.advice.iter().map(String::as_str).collect(),
        );
        if got != want {
            wrong.push(format!("{csv}\n  got  {got:?}\n  want {want:?}"));
        }
        // In words as well, and the cautions come with it.
        let (code, words) = run(&csv, &golden.args, &[]);
        assert_eq!(code, Some(0));
        let summary = json["diagnosis"]["summary"].as_str().unwrap();
        assert!(words.starts_with(summary), "{words}");
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// What is said of every case has its line in the phrase book.
#[test]
fn every_sentence_of_a_case_has_its_german() {
    fn look(value: &Value, name: &str, see: &mut impl FnMut(&str)) {
        const NAMES: [&str; 8] = [
            "why", "summary", "reasons", "refused", "for", "against", "no_fit", "assumes",
        ];
        match value {
            Value::String(text) if NAMES.contains(&name) => see(text),
            Value::Array(values) => values.iter().for_each(|value| look(value, name, see)),
            Value::Object(fields) => {
                for (name, value) in fields {
                    look(value, name, see);
                }
            }
            _ => {}
        }
    }
    let (mut seen, mut left) = (0, Vec::new());
    for (csv, golden) in cases() {
        let (_, text) = run(&csv, &golden.args, &["--json"]);
        let json: Value = serde_json::from_str(&text).unwrap();
        look(&json, "", &mut |english| {
            seen += 1;
            if Language::De.told(english).is_none() {
                left.push(format!("{csv}: {english}"));
            }
        });
    }
    assert!(seen > 500, "{seen}");
    assert!(left.is_empty(), "{}", left.join("\n"));
}

/// As-left readings were made apart: max(r, R) of an invented reamer, and scatter
/// of 0.8 µm. The preview must hold within what it says of itself, and the bores be accepted.
#[test]
fn what_comes_out_is_what_was_foreseen() {
    let case = |name: &str| {
        let csv = format!("fixtures/fit/golden/{name}.csv");
        let text = std::fs::read_to_string(root().join(&csv).with_extension("toml")).unwrap();
        let golden: Golden = toml::from_str(&text).unwrap();
        (csv, golden)
    };
    for name in ["oval-one-side", "undersize-both"] {
        let (csv, golden) = case(name);
        let left = format!("fixtures/fit/golden/{name}.as-left");
        let (code, text) = run(
            &csv,
            &golden.args,
            &["--json", "--strict", "--as-left", &left],
        );
        assert_eq!(code, Some(0), "{text}");
        let json: Value = serde_json::from_str(&text).unwrap();
        for outcome in json["as_left"].as_array().unwrap() {
            assert_eq!(outcome["accepted"], "conforms", "{outcome}");
        }
        let drive = &json["as_left"][0];
        assert_eq!(drive["preview"]["held"], true, "{}", drive["preview"]);
        let change = drive["changes"][0]["mean_change_mm"].as_f64().unwrap();
        assert!(change > 0.01, "{change}");
    }
    // Left as it was, the preview did not hold and the bore is not accepted.
    let (csv, golden) = case("undersize-both");
    let (code, text) = run(
        &csv,
        &golden.args,
        &["--json", "--strict", "--as-left", &csv],
    );
    assert_eq!(code, Some(1), "{text}");
    let json: Value = serde_json::from_str(&text).unwrap();
    assert_eq!(json["as_left"][0]["accepted"], "does_not_conform");
    assert_eq!(json["as_left"][0]["preview"]["held"], false);
}

#[test]
fn the_output_keeps_to_its_schema() {
    let schema = |of: &str| {
        let out = Command::new(env!("CARGO_BIN_EXE_borewright"))
            .args(["schema", of])
            .output()
            .unwrap();
        let schema: Value = serde_json::from_slice(&out.stdout).unwrap();
        jsonschema::validator_for(&schema).unwrap()
    };
    let fit = schema("fit");
    for (csv, golden) in cases() {
        let (_, text) = run(&csv, &golden.args, &["--json"]);
        let json: Value = serde_json::from_str(&text).unwrap();
        let errors: Vec<String> = fit.iter_errors(&json).map(|e| e.to_string()).collect();
        assert!(errors.is_empty(), "{csv}: {errors:?}");
    }
    assert!(!fit.is_valid(&Value::Null));
    let out = Command::new(env!("CARGO_BIN_EXE_borewright"))
        .args(["limits", "42", "K7", "--json"])
        .output()
        .unwrap();
    let json: Value = serde_json::from_slice(&out.stdout).unwrap();
    assert!(schema("limits").is_valid(&json), "{json}");
}

/// A good seat is not blamed for what is put into it, and what is said has its numbers.
#[test]
fn an_insert_that_does_not_fit_is_said_with_its_numbers() {
    let words = |name: &str| {
        let csv = format!("fixtures/fit/golden/{name}.csv");
        let text = std::fs::read_to_string(root().join(&csv).with_extension("toml")).unwrap();
        let golden: Golden = toml::from_str(&text).unwrap();
        run(&csv, &golden.args, &[]).1
    };
    let table: [(&str, &[&str], &[&str]); 6] = [
        (
            "cup-too-large",
            &[
                "The seats conform; the insert does not fit them: drive side: aluminium cup with \
                 bearing 30x42x7 has 0.085 mm of interference",
                "advice: take another insert: size and form conform",
                "raceway contraction",
            ],
            &["keeps at most", "nothing else is left"],
        ),
        (
            "cup-yields",
            &[
                "MPa, above the yield strength of 50 MPa",
                "press as it is: no, it would bring a hoop stress of",
            ],
            &[],
        ),
        (
            "cup-loose",
            &["none: it sits loose", "advice: bond with compound"],
            &["press-in force", "hoop stress", "pressed smooth"],
        ),
        (
            "cup-forgotten",
            &[
                "no fit: bearing 30x42x7 (42 mm outside) is not for a 46 mm bore: name the cup, or \
               the right bearing",
            ],
            &["The seat is at fault"],
        ),
        (
            "no-ring-oval",
            &[
                "advice: gauge again: the size of the bore is not known: set the gauge in a setting \
                 ring and gauge again",
            ],
            &["nothing else is left"],
        ),
        (
            "no-ring-set",
            &["advice: gauge again: "],
            &["set it and gauge again; drive side at"],
        ),
    ];
    for (name, said, unsaid) in table {
        let words = words(name);
        for said in said {
            assert!(words.contains(said), "{name}: {said}\n{words}");
        }
        for unsaid in unsaid {
            assert!(!words.contains(unsaid), "{name}: {unsaid}\n{words}");
        }
    }
}

/// The slip limit of 0.0060 N·m for 0.25 kg at 120 mm is 1.168589724°; 60° to 57.199407192° is one
/// half swing of the same friction (scipy, as in the tests of the pendulum).
#[test]
fn hang_tests_enter_the_diagnosis() {
    let csv = "fixtures/fit/golden/both-bad.csv";
    let text = std::fs::read_to_string(root().join("fixtures/fit/golden/both-bad.toml")).unwrap();
    let golden: Golden = toml::from_str(&text).unwrap();
    #[rustfmt::skip]
    let hang = ["--json", "--arm-mass", "0.25", "--arm-centre", "120",
        "--hang-fitted", "60,57.199407192,54.446900349", "--hang-free", "0.5"];
    let (code, text) = run(csv, &golden.args, &hang);
    assert_eq!(code, Some(0), "{text}");
    let json: Value = serde_json::from_str(&text).unwrap();
    let fitted = &json["hang"]["fitted"];
    assert!((fitted["torque_nm"].as_f64().unwrap() - 0.006).abs() < 1e-9);
    let u = fitted["uncertainty"]["standard"].as_f64().unwrap();
    // Half a degree of three turning points in a loss of 5.6°: about an eighth of the torque.
    assert!((0.0005..0.0015).contains(&u), "{u}");
    assert_eq!(
        json["hang"]["free"]["uncertainty"],
        Value::Null,
        "never seen to slip"
    );
    let (_, words) = run(csv, &golden.args, &hang[1..]);
    assert!(words.contains("fitted  0.0060 ± 0.00"), "{words}");
    assert!(words.contains("free    at least 0.0026 N·m"), "{words}");
    assert!(
        !text.contains("the friction torque is"),
        "a least value free may be as great: {text}"
    );
    let slips = [
        &hang[..],
        &["--slips-free", "0.6", "--angle-uncertainty", "0.1"],
    ]
    .concat();
    let (_, text) = run(csv, &golden.args, &slips);
    assert!(text.contains("N·m fitted and 0.0028 ± 0.00"), "{text}");
    let (code, text) = run(csv, &golden.args, &["--arm-mass", "0.25"]);
    assert_eq!(code, Some(2), "{text}");
}

#[test]
fn what_cannot_be_used_is_said() {
    let csv = "fixtures/fit/golden/clean-press.csv";
    let plain = |args: &[&str]| {
        let args: Vec<String> = args.iter().map(|&a| a.to_owned()).collect();
        run(csv, &args, &[])
    };
    let (code, text) = plain(&["--seat", "pressfit-42", "--insert", "30x42"]);
    assert_eq!(code, Some(2));
    assert!(text.contains("no bearing size"), "{text}");
    let (code, text) = plain(&["--seat", "housing-42-N7"]);
    assert_eq!(code, Some(2));
    assert!(
        text.contains("has no bore `drive side`; it has A"),
        "{text}"
    );
    let folder = tempfile::tempdir().unwrap();
    let shop = folder.path().join("shop.toml");
    for (content, says) in [
        (
            "[[reamer]]\nname = \"a\"\ndiameter_mm = 0.0\n",
            "must be greater than 0 mm",
        ),
        (
            "[[reamer]]\nname = \"a\"\ndiameter_mm = 46.0\npast_cuts_mm = [46.004]\n",
            "such as 0.004",
        ),
        (
            "[[compound]]\nname = \"c\"\nleast_gap_mm = 0.2\ngreatest_gap_mm = 0.1\n",
            "greater than least_gap_mm",
        ),
    ] {
        std::fs::write(&shop, content).unwrap();
        let path = shop.to_str().unwrap();
        let (code, text) = plain(&["--seat", "pressfit-42", "--shop", path]);
        assert_eq!(code, Some(2), "{text}");
        assert!(text.contains(says), "{text}");
    }
    let (code, text) = plain(&["--seat", "nothing"]);
    assert_eq!(code, Some(2));
    assert!(text.contains("housing-42-K7"), "{text}");
    let (code, text) = plain(&["--seat", "pressfit-42", "--shop", "Cargo.toml"]);
    assert_eq!(code, Some(2));
    assert!(
        text.contains("Cargo.toml:") && text.contains("unknown field"),
        "{text}"
    );
}

/// What a frame maker asks first: what was found, what is required, and what the housing is.
#[test]
fn the_maker_is_told_what_was_found_and_what_is_required() {
    let case = |name: &str| {
        let csv = format!("fixtures/fit/golden/{name}.csv");
        let text = std::fs::read_to_string(root().join(&csv).with_extension("toml")).unwrap();
        let golden: Golden = toml::from_str(&text).unwrap();
        let (_, text) = run(&csv, &golden.args, &["--json"]);
        let json: Value = serde_json::from_str(&text).unwrap();
        let options = json["bores"][0]["plan"]["options"].as_array().unwrap();
        let refer = options.iter().find(|option| option["work"] == "refer");
        let reasons = refer.unwrap()["reasons"].as_array().unwrap();
        let said: Vec<&str> = reasons.iter().map(|one| one.as_str().unwrap()).collect();
        said.join("\n")
    };
    let unknown = case("wall-unknown");
    for said in [
        "found: mean diameter 45.9",
        "out of round 0.00",
        "required: mean diameter 45.950 to 46.000 mm, out of round 0.025 mm at most",
        "housing: steel, wall not measured",
    ] {
        assert!(unknown.contains(said), "{said}\n{unknown}");
    }
    let no_size = case("no-ring-oval");
    assert!(no_size.contains("found: out of round 0.0"), "{no_size}");
    assert!(no_size.contains("steel, wall 2.50 mm"), "{no_size}");
}

/// A cup whose drawing says p6: 46 p6 is +42/+26 µm (ISO 286-2), so 46.034 mm.
#[test]
fn a_cup_is_taken_by_its_tolerance_class() {
    let csv = "fixtures/fit/golden/cup-loose.csv";
    let text = std::fs::read_to_string(root().join("fixtures/fit/golden/cup-loose.toml")).unwrap();
    let golden: Golden = toml::from_str(&text).unwrap();
    let at = golden
        .args
        .iter()
        .position(|arg| arg == "--insert-diameter");
    let mut args = golden.args.clone();
    args.drain(at.unwrap()..at.unwrap() + 2);
    let (code, text) = run(csv, &args, &[]);
    assert_eq!(code, Some(2));
    assert!(text.contains("tolerance class by its drawing"), "{text}");
    let (code, text) = run(csv, &args, &["--insert-class", "p6", "--json"]);
    assert_eq!(code, Some(0), "{text}");
    let json: Value = serde_json::from_str(&text).unwrap();
    let fit = &json["bores"][0]["fit"];
    assert!((fit["insert_mm"].as_f64().unwrap() - 46.034).abs() < 1e-9);
    assert_eq!(fit["insert_from"], "ISO 286-2 p6 on 46 mm");
    let u = fit["uncertainty"]["interference_mm"]["standard"].as_f64();
    assert!(u.unwrap() > 0.016 / 12.0_f64.sqrt());
    let (_, text) = run(csv, &args, &["--insert-class", "H7"]);
    assert!(text.contains("small letter"), "{text}");
}
