//! Invented cases with the verdict that a careful mechanic would give, through the command line.

#![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]

use std::path::{Path, PathBuf};
use std::process::Command;

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
