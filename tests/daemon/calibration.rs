//! A gauge's calibration, from the configuration to the record.

use std::process::Command;

use serde_json::{Value, json};

use super::support::{Bench, Daemon};

/// Says of the bench's gauge when it was calibrated and until when that holds.
fn calibrated(bench: &Bench, days: &str) {
    let config = std::fs::read_to_string(bench.config()).unwrap();
    let config = config.split("serial").next().unwrap();
    let said = format!("{config}serial = \"4711-B\"\n{days}");
    std::fs::write(bench.config(), said).unwrap();
}

fn check(bench: &Bench) -> String {
    let output = Command::new(env!("CARGO_BIN_EXE_borewright"))
        .arg("check")
        .arg(bench.config())
        .env("HOME", bench.folder.path())
        .output()
        .unwrap();
    let errors = String::from_utf8(output.stderr).unwrap();
    let said = String::from_utf8(output.stdout).unwrap() + &errors;
    assert_eq!(output.status.code(), Some(0), "{said}");
    said
}

fn gauge(daemon: &Daemon) -> Value {
    daemon.state()["gauges"][0].clone()
}

#[test]
fn a_gauge_past_due_is_named_by_check_on_the_bench_and_in_the_record() {
    let bench = Bench::new("plain-mm-stream");
    calibrated(&bench, "calibrated = 2024-03-31\ndue = 2025-03-31\n");
    assert!(check(&bench).contains("bore-gauge: its calibration ran out on 2025-03-31"));
    let link = bench.plug_in();
    let mut daemon = bench.start();
    let opened = daemon.wait_for_kind("gauge_opened");
    let old = json!({"serial": "4711-B", "calibrated": "2024-03-31", "due": "2025-03-31"});
    assert_eq!(opened["calibration"], old);
    assert_eq!(gauge(&daemon)["calibration"], old);
    assert_eq!(gauge(&daemon)["calibration_out_of_date"], true);
    daemon.must(json!({"command": "open_job", "part": "a frame", "seat": "two-by-three"}));
    link.send_bytes(b"+0045.9610 mm\r\n").unwrap();
    daemon.wait_for_kind("section");
    let said = daemon.stop_and_read_errors();
    assert!(said.contains("ran out on 2025-03-31"), "{said}");

    // Calibrated meanwhile: the readings before that keep what they were taken under.
    calibrated(&bench, "calibrated = 2026-01-02\ndue = 9999-01-02\n");
    assert!(check(&bench).contains("nothing wrong"));
    let mut daemon = bench.start();
    daemon.wait_for_kind("gauge_opened");
    assert_eq!(gauge(&daemon)["calibration_out_of_date"], false);
    assert_eq!(
        close(&mut daemon)["calibrations"],
        json!({"bore-gauge": old})
    );
}

/// Closing a job takes its events out of the journal; the calibration that a reading of the next
/// one was taken under stays.
#[test]
fn a_calibration_outlives_the_job_before_and_a_restart() {
    let bench = Bench::new("plain-mm-stream");
    calibrated(&bench, "calibrated = 2024-03-31\ndue = 2025-03-31\n");
    let link = bench.plug_in();
    let mut daemon = bench.start();
    daemon.wait_for_kind("gauge_opened");
    daemon.must(json!({"command": "open_job", "part": "the first", "seat": "two-by-three"}));
    close(&mut daemon);
    daemon.must(json!({"command": "open_job", "part": "the second", "seat": "two-by-three"}));
    link.send_bytes(b"+0045.9610 mm\r\n").unwrap();
    daemon.wait_for_kind("section");
    daemon.stop_and_read_errors();

    calibrated(&bench, "calibrated = 2026-01-02\ndue = 9999-01-02\n");
    let mut daemon = bench.start();
    daemon.wait_for_kind("gauge_opened");
    let known = &close(&mut daemon)["calibrations"]["bore-gauge"];
    assert_eq!(known["due"], "2025-03-31", "{known}");
}

/// The record of the job on the bench, which is closed.
fn close(daemon: &mut Daemon) -> Value {
    daemon.must(json!({"command": "close_job"}));
    let news = daemon.wait_for("the record", |object| object["about"] == "record");
    let record = std::fs::read_to_string(news["file"].as_str().unwrap()).unwrap();
    serde_json::from_str(&record).unwrap()
}

#[test]
fn nonsense_is_refused_with_file_and_line() {
    let bench = Bench::new("plain-mm-stream");
    calibrated(&bench, "calibrated = 2026-03-31\ndue = 2025-03-31\n");
    for subcommand in ["check", "run"] {
        let mut program = Command::new(env!("CARGO_BIN_EXE_borewright"));
        match subcommand {
            "run" => program.args(["run", "--config"]),
            _ => program.arg("check"),
        };
        let output = program.arg(bench.config()).output().unwrap();
        let said = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(2), "{said}");
        assert!(said.contains("bench.toml:11:7:"), "{said}");
    }
}
