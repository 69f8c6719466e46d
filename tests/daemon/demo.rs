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
