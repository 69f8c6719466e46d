//! The demo, as a newcomer runs it where standard output is no terminal.

use std::process::Command;

use serde_json::Value;

#[test]
fn the_demo_runs_the_whole_job_and_writes_its_record() {
    let folder = tempfile::tempdir().unwrap();
    let output = Command::new(env!("CARGO_BIN_EXE_borewright"))
        .arg("demo")
        .env("TMPDIR", folder.path())
        .output()
        .unwrap();
    let said = String::from_utf8(output.stdout).unwrap();
    assert!(
        output.status.success(),
        "{said}{}",
        String::from_utf8_lossy(&output.stderr)
    );
    let file = said
        .lines()
        .find_map(|line| line.strip_prefix("The record is in "))
        .unwrap();
    let record: Value = serde_json::from_str(&std::fs::read_to_string(file).unwrap()).unwrap();
    let phases = record["phases"].as_array().unwrap();
    let verdicts: Vec<&Value> = phases.iter().map(|phase| &phase["verdict"]).collect();
    assert_eq!(verdicts, ["does_not_conform", "conforms"]);
    // The simulated shell is 0.098 mm oval on the drive side; the reamer takes that away.
    let worst = |phase: usize| {
        let sections = phases[phase]["sections"].as_array().unwrap().iter();
        sections
            .map(|section| section["out_of_round_mm"].as_f64().unwrap())
            .fold(0.0, f64::max)
    };
    assert!((worst(0) - 0.098).abs() < 0.01, "as found {}", worst(0));
    assert!(worst(1) < 0.02, "as left {}", worst(1));
}

/// The simulated reamer cuts the simulated bore as a circle cuts, 3 µm over its name and a little
/// off the axis: what was foreseen from the gauged bore must come out within what both numbers say
/// of themselves.
#[test]
fn what_the_demo_gauges_as_left_is_what_its_plan_foresaw() {
    let folder = tempfile::tempdir().unwrap();
    let output = Command::new(env!("CARGO_BIN_EXE_borewright"))
        .args(["demo", "--once"])
        .env("TMPDIR", folder.path())
        .output()
        .unwrap();
    let said = String::from_utf8(output.stdout).unwrap();
    assert!(said.contains("the preview held: mean 45.984"), "{said}");
    let file = said
        .lines()
        .find_map(|line| line.strip_prefix("The record is in "))
        .unwrap();
    let record: Value = serde_json::from_str(&std::fs::read_to_string(file).unwrap()).unwrap();
    let number = |value: &Value| value.as_f64().unwrap_or_else(|| panic!("{value}"));
    let drive = |list: &Value| {
        let all = list.as_array().unwrap().iter();
        let mut of = all.filter(|object| object["bore"] == "drive side");
        of.next().unwrap().clone()
    };

    let plan = &drive(&record["findings"]["bores"])["plan"];
    assert_eq!(plan["advice"], "ream");
    let mut options = plan["options"].as_array().unwrap().iter();
    let chosen = options.find(|option| option["work"] == "ream").unwrap();
    let foreseen = &chosen["predicted"];
    let left = drive(&record["phases"][1]["bores"]);
    let apart = number(&left["mean_diameter_mm"]) - number(&foreseen["mean_diameter_mm"]);
    let reach = |object: &Value| number(&object["uncertainty"]["mean_diameter_mm"]["expanded"]);
    let within = reach(&left).hypot(reach(foreseen));
    assert!(apart.abs() <= within, "{apart} mm apart, within {within}");
    // It is a cut, not a script: the reamer's real size comes out, not its name.
    assert!((apart - 0.003).abs() < 0.002, "{apart}");

    let outcome = drive(&record["findings"]["outcomes"]);
    assert_eq!(outcome["preview"]["held"], true, "{outcome}");
    assert_eq!(outcome["accepted"], "conforms");
    let form = &outcome["preview"]["out_of_round"];
    assert!(
        number(&form["measured_mm"]) < number(&form["predicted_mm"]) + number(&form["within_mm"])
    );

    let learned = &record["learned_cuts"][0];
    assert!(
        (number(&learned["cut_mm"]) - 0.003).abs() < 0.0015,
        "{learned}"
    );
}
