//! The README's examples, run as they stand.

use std::io::{BufRead as _, BufReader, Write as _};
use std::process::{Command, Stdio};

use serde_json::json;

use super::main_job::open_job;
use super::support::Bench;

const README: &str = include_str!("../../README.md");

/// The fenced blocks of `language` that contain `mark`.
fn block<'a>(language: &str, mark: &str) -> &'a str {
    let fence = format!("```{language}\n");
    let mut blocks = README
        .split(&fence as &str)
        .skip(1)
        .map(|rest| rest.split("```").next());
    blocks
        .find_map(|block| block.filter(|block| block.contains(mark)))
        .unwrap()
}

/// Whether `program` is there. Where every part is required, a missing one fails.
fn have(program: &str) -> bool {
    let found = Command::new(program).arg("--version").output().is_ok();
    if !found {
        assert!(
            std::env::var_os("BOREWRIGHT_REQUIRE_ALL").is_none(),
            "{program} is missing"
        );
        eprintln!("skipped: {program} is not installed");
    }
    found
}

/// What the jq program of `block`, between single quotes, makes of `input`.
fn jq(block: &str, input: &str) -> String {
    let program = block.split('\'').nth(1).unwrap();
    let mut child = Command::new("jq")
        .args(["-r", program])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    child
        .stdin
        .take()
        .unwrap()
        .write_all(input.as_bytes())
        .unwrap();
    String::from_utf8(child.wait_with_output().unwrap().stdout).unwrap()
}

fn three_readings(daemon: &super::support::Daemon) {
    daemon.must(open_job());
    for reading in ["45.930", "45.940", "45.950"] {
        daemon.must(json!({"command": "type_reading", "text": reading}));
    }
}

#[test]
fn the_jq_examples_print_sections() {
    if !have("jq") {
        return;
    }
    let bench = Bench::new("plain-mm");
    let mut daemon = bench.start();
    three_readings(&daemon);
    daemon.must(json!({"command": "close_job"}));
    let news = daemon.wait_for("the record", |object| object["about"] == "record");
    let printed: Vec<String> = daemon.seen().iter().map(ToString::to_string).collect();
    let sections = jq(block("sh", "select(.kind"), &printed.join("\n"));
    let last: Vec<&str> = sections.lines().last().unwrap().split('\t').collect();
    assert_eq!(&last[..2], ["left", "3"], "{sections}");
    assert!(
        (last[3].parse::<f64>().unwrap() - 0.02).abs() < 1e-9,
        "{sections}"
    );

    let record = std::fs::read_to_string(news["file"].as_str().unwrap()).unwrap();
    let sections = jq(block("sh", "record.json"), &record);
    assert!(sections.starts_with("as-found\tleft\t3\t0.0"), "{sections}");
}

#[test]
fn the_python_example_prints_readings() {
    if !have("python3") {
        return;
    }
    let bench = Bench::new("plain-mm");
    let daemon = bench.start();
    three_readings(&daemon);
    let example = block("python", "socket").replace("4771", &daemon.tcp.port().to_string());
    let mut child = Command::new("python3")
        .args(["-u", "-c", &example])
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let lines = BufReader::new(child.stdout.take().unwrap()).lines();
    let printed: Vec<String> = lines.map_while(Result::ok).take(3).collect();
    child.kill().unwrap();
    child.wait().unwrap();
    assert_eq!(
        printed,
        [
            "left 3.0 0.0 45.93",
            "left 3.0 22.5 45.94",
            "left 3.0 45.0 45.95"
        ]
    );
}

#[test]
fn the_smallest_configuration_is_one() {
    let config = block("toml", "[[gauge]]");
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("bench.toml");
    std::fs::write(&file, config).unwrap();
    let output = Command::new(env!("CARGO_BIN_EXE_borewright"))
        .arg("check")
        .arg(&file)
        .env("HOME", folder.path())
        .output()
        .unwrap();
    let said = String::from_utf8(output.stdout).unwrap();
    assert!(
        said.contains("bore-gauge on /dev/ttyUSB0 speaks plain-mm"),
        "{said}"
    );
}
