//! `borewright jobs` and `export`, of a folder that a bench works in.

use std::path::Path;
use std::process::Command as Process;

use borewright::fit::plan::Work;
use borewright::job::Command;
use borewright::memory::find;
use serde_json::Value;

use super::support::{Invented, SEAT};

/// Runs the built program; gives its exit code, its standard output and its standard error.
fn run(arguments: &[&str], data: &Path) -> (Option<i32>, String, String) {
    let output = Process::new(env!("CARGO_BIN_EXE_borewright"))
        .args(arguments)
        .arg("--data")
        .arg(data)
        .output()
        .unwrap();
    (
        output.status.code(),
        String::from_utf8(output.stdout).unwrap(),
        String::from_utf8(output.stderr).unwrap(),
    )
}

#[test]
fn the_list_shows_each_job_on_a_line_and_takes_filters() {
    let bench = Invented::new();
    bench.set_ring();
    let blue = bench.job("steel frame, blue", SEAT, 45.98, 0.004);
    bench.reamed_job("steel frame, red", 0.004);
    bench.open_job("hub shell", "pressfit-41-92");
    let (code, out, err) = run(&["jobs"], bench.path());
    assert_eq!((code, &*err), (Some(0), ""));
    let lines: Vec<&str> = out.lines().collect();
    assert_eq!(lines.len(), 4, "{out}");
    assert!(
        lines[1].contains("hub shell") && lines[1].contains("open"),
        "{out}"
    );
    assert!(
        lines[2].contains("does not conform") && lines[2].contains("Ream (the 46)"),
        "{out}"
    );
    let end = &blue.to_string()[28..];
    assert!(
        lines[3].starts_with(end) && lines[3].contains("conforms"),
        "{out}"
    );

    let (_, out, _) = run(
        &["jobs", "blue", "--verdict", "conforms", "--json"],
        bench.path(),
    );
    let listed: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(listed.as_array().unwrap().len(), 1);
    assert_eq!(listed[0]["job"], blue.to_string());
    assert_eq!(listed[0]["as_left"], Value::Null);
    let (code, out, _) = run(&["jobs", "--until", "2001-01-01"], bench.path());
    assert_eq!((code, &*out), (Some(0), "no job answers to that\n"));
    let (code, _, err) = run(&["jobs", "--since", "yesterday"], bench.path());
    assert_eq!(code, Some(2));
    assert!(err.contains("2026-03-31"), "{err}");
    let (code, _, err) = run(&["jobs"], &bench.path().join("none"));
    assert_eq!(code, Some(2), "{err}");
}

#[test]
fn a_damaged_record_is_said_on_standard_error_and_the_list_goes_on() {
    let bench = Invented::new();
    let blue = bench.job("blue", SEAT, 45.98, 0.004);
    bench.job("red", SEAT, 45.98, 0.004);
    let folder = bench.path().join("jobs").join(blue.to_string());
    std::fs::write(folder.join("record.json"), "{").unwrap();
    let (code, out, err) = run(&["jobs"], bench.path());
    assert_eq!(code, Some(0));
    assert!(out.contains("red") && !out.contains("blue"), "{out}");
    assert!(
        err.contains("record.json") && err.contains("passed over"),
        "{err}"
    );
}

/// As the page has it: the job is opened, then the gauge goes into its ring, and at the end once more.
/// A gauge that reads 0.010 mm more by then read more all along: what is told of the readings is what
/// their mean is of.
#[test]
fn a_story_tells_the_setting_at_its_time_and_readings_without_the_drift() {
    let bench = Invented::new();
    bench.open_job("frame, set late", SEAT);
    bench.set_ring();
    bench.gauge_all(45.98, 0.0);
    bench.check_ring(46.012);
    bench.ask(Command::CloseJob {});
    bench.state();
    let (_, out, _) = run(&["jobs", "show", "set late"], bench.path());
    let at = |said: &str| out.find(said).unwrap_or_else(|| panic!("{said} in {out}"));
    assert!(at("Opened for") < at("set in the 46.000 mm ring; it showed 46.002 mm."));
    assert!(at("set in the 46.000 mm ring") < at("Drive side, 2.5 mm deep"));
    assert!(!out.contains("before this job"), "{out}");
    assert_eq!(out.matches("set in the 46.000").count(), 1, "{out}");
    let told: Vec<&str> = out.lines().filter(|line| line.contains("Mean")).collect();
    assert!(told.len() > 3, "{out}");
    for line in told {
        let mm = |after: &str| -> f64 {
            let rest = line
                .split_once(after)
                .unwrap_or_else(|| panic!("{after} in {line}"))
                .1;
            let number = rest.trim_start_matches([' ', ',']).split(' ').next();
            number.unwrap().parse().unwrap()
        };
        let (least, most, mean) = (mm("readings"), mm(" to"), mm("Mean"));
        assert!((least - 0.001..=most + 0.001).contains(&mean), "{line}");
    }
}

/// The gauge is set again in the middle of a section, and a reading is taken back: what is told beside
/// the section's mean is all that the mean is of, and both settings are told.
#[test]
fn a_story_tells_every_setting_and_all_readings_of_a_section() {
    let bench = Invented::new();
    bench.set_ring();
    bench.open_job("frame, set twice", SEAT);
    bench.send(45.98);
    bench.send(45.99);
    bench.send(46.01);
    bench.ask(Command::Undo {});
    bench.set_ring();
    bench.gauge_all(45.98, 0.004);
    bench.ask(Command::CloseJob {});
    bench.state();
    let (_, out, _) = run(&["jobs", "show", "set twice"], bench.path());
    assert_eq!(
        out.matches("was set in the 46.000 mm ring").count(),
        2,
        "{out}"
    );
    let first = out.lines().find(|line| line.contains("Mean")).unwrap();
    assert!(
        first.contains(
            "4 readings, 45.976 to 45.979 mm. All 6 that count: 45.976 to 45.988 mm. Mean"
        ),
        "{first}"
    );
    let single = "Drive side, 6 mm deep, as found: 6 readings, 45.976 to 45.980 mm. Mean";
    assert!(out.contains(single), "{out}");
}

#[test]
fn a_jobs_story_tells_its_events_in_order() {
    let bench = Invented::new();
    bench.set_ring();
    bench.open_job("frame, told", SEAT);
    bench.send(45.98);
    bench.send(12.0);
    bench.ask(Command::Undo {});
    bench.ask(Command::Note {
        text: "washed twice".into(),
    });
    bench.gauge_all(45.98, 0.004);
    bench.ask(Command::Choose {
        bore: "drive side".into(),
        work: Work::Sleeve,
        with: None,
    });
    bench.ask(Command::CloseJob {});
    bench.state();
    let (code, out, err) = run(&["jobs", "show", "told"], bench.path());
    assert_eq!((code, &*err), (Some(0), ""));
    let mut rest = &*out;
    for said in [
        "frame, told",
        "as found: conforms",
        "set in the 46.000 mm ring",
        "Opened for",
        "one reading, 45.978 mm",
        "Refused: 12.0000 from bore-gauge",
        "Taken back: drive side, 2.5 mm deep, 0°",
        "Note: washed twice",
        "Drive side, 2.5 mm deep, as found: 6 readings",
        "Mean 45.978 mm, out of round 0.004 mm: conforms",
        "Non-drive side, 9.5 mm deep",
        "The plan advised against it: The shop fits no sleeves",
        "Closed.",
    ] {
        let at = rest.find(said);
        rest = &rest[at.unwrap_or_else(|| panic!("{said} in {rest}, of {out}"))..];
    }
    let (_, json, _) = run(&["jobs", "show", "told", "--json"], bench.path());
    let kinds: Vec<Value> = json
        .lines()
        .map(|line| serde_json::from_str::<Value>(line).unwrap()["kind"].clone())
        .collect();
    assert_eq!(kinds.first(), Some(&"job_opened".into()));
    assert_eq!(kinds.last(), Some(&"job_closed".into()));

    let (code, _, err) = run(&["jobs", "show", "never heard of"], bench.path());
    assert_eq!(code, Some(2));
    assert!(err.contains("no job answers"), "{err}");
    bench.job("frame, the other", SEAT, 45.98, 0.004);
    let (code, _, err) = run(&["jobs", "show", "frame"], bench.path());
    assert_eq!(code, Some(2));
    assert!(err.contains("the other") && err.contains("told"), "{err}");
}

#[test]
fn an_exported_table_read_back_by_profile_gives_the_records_numbers() {
    let bench = Invented::new();
    bench.set_ring();
    bench.reamed_job("reamed frame", 0.004);
    bench.job("another", SEAT, 45.98, 0.004);
    let file = bench.path().join("readings.csv");
    let file = file.to_str().unwrap();
    for (phase, place) in [("as-found", 0), ("as-left", 1)] {
        let export = ["export", "reamed", "--phase", phase, "--csv", file];
        assert_eq!(run(&export, bench.path()).0, Some(0));
        let table = std::fs::read_to_string(file).unwrap();
        assert!(table.starts_with(
            "bore,depth_mm,angle_deg,reading_mm,phase,job,part,seat,gauge,at,value_mm,seq\n"
        ));
        assert_eq!(table.lines().count(), 1 + 36);
        let profile = std::process::Command::new(env!("CARGO_BIN_EXE_borewright"))
            .args(["profile", file, "--json"])
            .output()
            .unwrap();
        let profile: Value = serde_json::from_slice(&profile.stdout).unwrap();
        let record = find(bench.path(), "reamed").unwrap();
        let mut compared = 0;
        for bore in profile["bores"].as_array().unwrap() {
            for section in bore["sections"].as_array().unwrap() {
                let recorded = record.phases[place].sections.iter().find(|recorded| {
                    bore["bore"] == *recorded.bore
                        && section["depth_mm"] == recorded.numbers.depth_mm
                });
                let recorded = serde_json::to_value(recorded.unwrap()).unwrap();
                for number in [
                    "mean_diameter_mm",
                    "out_of_round_mm",
                    "largest_mm",
                    "smallest_mm",
                ] {
                    let (a, b) = (section[number].as_f64(), recorded[number].as_f64());
                    assert!(
                        (a.unwrap() - b.unwrap()).abs() < 1e-9,
                        "{number}: {a:?}, {b:?}"
                    );
                    compared += 1;
                }
                let oval = |of: &Value| of["oval"]["size_mm"].as_f64().unwrap();
                assert!((oval(section) - oval(&recorded)).abs() < 1e-9);
            }
        }
        assert_eq!(compared, 2 * 3 * 4);
    }
}

#[test]
fn records_are_exported_as_an_array_and_as_lines_the_open_job_included() {
    let bench = Invented::new();
    bench.job("closed", SEAT, 45.98, 0.004);
    bench.open_job("open", SEAT);
    bench.send(45.98);
    bench.state();
    let (code, out, _) = run(&["export", "--json", "-"], bench.path());
    assert_eq!(code, Some(0));
    let array: Value = serde_json::from_str(&out).unwrap();
    let (_, out, _) = run(&["export", "--ndjson", "-"], bench.path());
    let lines: Vec<Value> = out
        .lines()
        .map(|l| serde_json::from_str(l).unwrap())
        .collect();
    assert_eq!(array, Value::Array(lines));
    assert_eq!(array[0]["closed_at"], Value::Null);
    assert_eq!(
        array[1],
        serde_json::to_value(find(bench.path(), "closed").unwrap()).unwrap()
    );
    let (_, none, _) = run(&["export", "nothing like it", "--json", "-"], bench.path());
    assert_eq!(none, "[]\n");
    let (code, _, _) = run(&["export"], bench.path());
    assert_eq!(code, Some(2), "it is to be said where to");
    let nowhere = bench.path().join("no/such/folder.csv");
    let (code, _, err) = run(
        &["export", "--csv", nowhere.to_str().unwrap()],
        bench.path(),
    );
    assert_eq!(code, Some(3), "{err}");
}

#[test]
fn what_the_jobs_teach_is_a_table_or_json() {
    let bench = Invented::new();
    bench.set_ring();
    bench.job("first", SEAT, 45.98, 0.02);
    let (_, few, _) = run(&["jobs", "learned"], bench.path());
    assert!(few.contains("too few"), "{few}");
    bench.reamed_job("second", 0.004);
    let (_, out, _) = run(&["jobs", "learned"], bench.path());
    assert!(
        !out.lines()
            .any(|line| line.starts_with(SEAT) && line.contains("too few")),
        "{out}"
    );
    assert!(out.contains("the 46"), "{out}");
    let (_, json, _) = run(&["jobs", "learned", "--json"], bench.path());
    let lessons: Value = serde_json::from_str(&json).unwrap();
    assert_eq!(lessons["schema"], "borewright.learned/1");
    assert_eq!(lessons["seats"][0]["bores"].as_array().unwrap().len(), 4);
    assert_eq!(
        lessons["reamers"][0]["together"],
        Value::Null,
        "two bores say too little"
    );
}
