//! `simulate`, `listen` and `ports` as their own processes.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a test may stop where it stands"
)]

use std::io::{BufRead as _, BufReader, Write as _};
use std::process::{Child, ChildStdout, Command, Output, Stdio};
use std::sync::Arc;

use borewright::gauge::Description;
use borewright::gauge::simulate::Simulator;
use serde_json::Value;

fn borewright(arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_borewright"));
    command.args(arguments).stdin(Stdio::null());
    command
}

fn output(arguments: &[&str]) -> Output {
    borewright(arguments).output().unwrap()
}

/// A simulated gauge in a process of its own, ended with the test.
struct Simulated {
    process: Child,
    out: BufReader<ChildStdout>,
    path: String,
}

impl Simulated {
    fn start(arguments: &[&str]) -> Self {
        let mut command = borewright(&["simulate"]);
        command
            .args(arguments)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped());
        let mut process = command.stderr(Stdio::null()).spawn().unwrap();
        let mut out = BufReader::new(process.stdout.take().unwrap());
        let mut path = String::new();
        out.read_line(&mut path).unwrap();
        Self {
            process,
            out,
            path: path.trim_end().to_owned(),
        }
    }
}

impl Drop for Simulated {
    fn drop(&mut self) {
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

fn json_lines(output: &Output) -> Vec<Value> {
    let text = std::str::from_utf8(&output.stdout).unwrap();
    text.lines()
        .map(|line| serde_json::from_str(line).unwrap())
        .collect()
}

/// The oval is 0.10 mm with its long axis at 0°, so the four angles over half a turn read
/// mean + 0.05, mean, mean - 0.05, mean.
#[test]
fn a_simulated_bore_is_heard_as_it_was_described() {
    let gauge = Simulated::start(&[
        "--mean", "45.96", "--oval", "0.10@0", "--taper", "0.001", "--depths", "0,10", "--angles",
        "4", "--pace", "0", "--leave",
    ]);
    let heard = output(&["listen", &gauge.path, "--form", "plain-mm", "--json"]);
    // The plug was pulled, so the outside failed.
    assert_eq!(heard.status.code(), Some(3));
    assert!(String::from_utf8_lossy(&heard.stderr).contains("is gone"));
    let values: Vec<f64> = json_lines(&heard)
        .iter()
        .filter_map(|line| line["value_mm"].as_f64())
        .collect();
    assert_eq!(
        values,
        [46.01, 45.96, 45.91, 45.96, 46.02, 45.97, 45.92, 45.97]
    );
}

#[test]
fn each_enter_sends_one_reading() {
    let mut gauge = Simulated::start(&["--enter", "--angles", "2", "--depths", "4"]);
    let mut listener = borewright(&["listen", &gauge.path, "--form", "plain-mm", "--json"]);
    let mut listener = listener
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let mut lines = BufReader::new(listener.stdout.take().unwrap()).lines();
    let mut next_reading = || {
        lines
            .by_ref()
            .map(|line| serde_json::from_str::<Value>(&line.unwrap()).unwrap())
            .find(|line| line["kind"] == "reading")
            .unwrap()
    };
    for _ in 0..2 {
        gauge
            .process
            .stdin
            .as_mut()
            .unwrap()
            .write_all(b"\n")
            .unwrap();
        assert_eq!(next_reading()["text"], "+0046.0000 mm");
    }
    listener.kill().unwrap();
    listener.wait().unwrap();
}

#[test]
fn the_same_seed_sends_the_same() {
    let heard = |seed: &str| {
        let gauge = Simulated::start(&[
            "--noise", "0.01", "--seed", seed, "--angles", "3", "--depths", "4", "--pace", "0",
            "--leave",
        ]);
        let heard = output(&["listen", &gauge.path, "--form", "plain-mm", "--json"]);
        json_lines(&heard)
            .iter()
            .filter_map(|l| l["value_mm"].as_f64())
            .collect::<Vec<_>>()
    };
    let first = heard("5");
    assert_eq!(first.len(), 3);
    assert_eq!(first, heard("5"));
    assert_ne!(first, heard("6"));
}

#[test]
fn a_gauge_that_must_be_asked_answers_listen() {
    let gauge = Simulated::start(&[
        "--form",
        "polled-inch",
        "--mean",
        "25.4",
        "--angles",
        "2",
        "--depths",
        "1",
        "--pace",
        "0",
        "--leave",
    ]);
    let heard = output(&["listen", &gauge.path, "--form", "polled-inch", "--json"]);
    let values: Vec<f64> = json_lines(&heard)
        .iter()
        .filter_map(|line| line["value_mm"].as_f64())
        .collect();
    assert_eq!(values, [25.4, 25.4]);
}

#[test]
fn listen_shows_bytes_as_they_come_with_escapes() {
    let form = Arc::new(Description::named("plain-mm", None).unwrap());
    let gauge = Simulator::open(form).unwrap();
    gauge.send_bytes(b"\x00ab\\\r\n").unwrap();
    let path = gauge.path().to_str().unwrap();
    let heard = output(&["listen", path, "--baud", "4800", "--seconds", "1", "--json"]);
    assert_eq!(heard.status.code(), Some(0), "{heard:?}");
    let lines = json_lines(&heard);
    assert_eq!(lines.len(), 1);
    assert_eq!(lines[0]["schema"], "borewright.listen/1");
    assert_eq!(lines[0]["kind"], "bytes");
    assert_eq!(lines[0]["text"], "\\x00ab\\\\\\r\\n");
    assert_eq!(lines[0]["hex"], "0061625c0d0a");
}

/// Not the gauge, which has its own end open too, but the program that took the port for itself.
#[test]
fn the_program_that_took_the_port_is_named_to_the_next() {
    let gauge = Simulated::start(&["--pace", "0", "--angles", "1", "--depths", "4"]);
    let mut first = borewright(&["listen", &gauge.path, "--json"]);
    let mut first = first
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let mut line = String::new();
    BufReader::new(first.stdout.as_mut().unwrap())
        .read_line(&mut line)
        .unwrap();
    let second = output(&["listen", &gauge.path]);
    first.kill().unwrap();
    first.wait().unwrap();
    assert_eq!(second.status.code(), Some(3));
    let text = String::from_utf8_lossy(&second.stderr).into_owned();
    assert!(
        text.contains(&format!("in use by borewright (process {})", first.id())),
        "{text}"
    );
}

#[test]
fn the_link_leads_to_the_gauge_and_goes_with_it() {
    let folder = tempfile::tempdir().unwrap();
    let link = folder.path().join("gauge");
    let link_text = link.to_str().unwrap();
    let mut gauge = Simulated::start(&["--link", link_text, "--pace", "0", "--depths", "4"]);
    assert_eq!(gauge.path, link_text);
    assert!(std::fs::read_link(&link).unwrap().starts_with("/dev/pts"));
    let id = gauge.process.id().to_string();
    assert!(
        Command::new("kill")
            .args(["-INT", &id])
            .status()
            .unwrap()
            .success()
    );
    assert_eq!(gauge.process.wait().unwrap().code(), Some(0));
    assert!(link.symlink_metadata().is_err(), "the link is still there");
    let mut rest = String::new();
    gauge.out.read_line(&mut rest).unwrap();
    assert_eq!(rest, "", "only the path goes to standard output");
}

#[test]
fn a_file_is_not_replaced_by_a_link() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("notes");
    std::fs::write(&file, "keep").unwrap();
    let refused = output(&["simulate", "--link", file.to_str().unwrap()]);
    assert_eq!(refused.status.code(), Some(3));
    assert_eq!(std::fs::read_to_string(file).unwrap(), "keep");
}

#[test]
fn wrong_arguments_exit_2_and_a_failed_port_exits_3() {
    for (arguments, code, part) in [
        (&["simulate", "--form", "no-such"][..], 2, "plain-mm"),
        (&["simulate", "--form", "comparator-mm"], 2, "--ring"),
        (&["simulate", "--oval", "wide"], 2, "0.10@35"),
        (&["simulate", "--mean", "-46"], 2, ""),
        (&["listen", "ttyUSB0"], 2, "/dev/ttyUSB0"),
        (&["listen", "/dev/null"], 3, "is no serial port"),
        (&["listen", "/dev/no-such-port"], 3, "borewright ports"),
        (&["listen", "tcp://127.0.0.1:9"], 3, "can't be reached"),
    ] {
        let output = output(arguments);
        let text = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(code), "{arguments:?}: {text}");
        assert!(text.contains(part), "{arguments:?}: {text}");
    }
}

#[test]
fn ports_gives_one_json_object() {
    let output = output(&["ports", "--json"]);
    assert_eq!(output.status.code(), Some(0));
    let value: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(value["schema"], "borewright.ports/1");
    assert!(value["ports"].is_array());
}

#[test]
fn the_output_keeps_to_its_schema() {
    let schema = |of: &str| {
        let schema: Value = serde_json::from_slice(&output(&["schema", of]).stdout).unwrap();
        jsonschema::validator_for(&schema).unwrap()
    };
    let ports: Value = serde_json::from_slice(&output(&["ports", "--json"]).stdout).unwrap();
    assert!(schema("ports").is_valid(&ports), "{ports}");
    assert!(!schema("ports").is_valid(&Value::Null));

    let gauge = Simulated::start(&["--pace", "0", "--angles", "1", "--depths", "4", "--leave"]);
    let heard = output(&["listen", &gauge.path, "--form", "comma-status", "--json"]);
    let kinds = json_lines(&heard);
    assert!(
        kinds.iter().any(|line| line["kind"] == "noise"),
        "{kinds:?}"
    );
    for line in kinds {
        assert!(schema("listen").is_valid(&line), "{line}");
    }
}
