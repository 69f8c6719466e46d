//! The main job: a gauge on a serial line, a job of two bores, three depths and eight directions,
//! and numbers that numpy computed from the same readings.
use std::io::Read as _;

use super::support::{Bench, Daemon};
use serde_json::{Value, json};

/// The readings that `tests/reference` made, as `bore,depth_mm,angle_deg,reading_mm`.
const READINGS: &str = include_str!("../../fixtures/job-2x3x8/readings.csv");
/// What numpy makes of them; `tests/reference` says how.
pub(crate) const EXPECTED: &str = include_str!("../../fixtures/job-2x3x8/expected.json");

pub(crate) fn rows() -> impl Iterator<Item = (String, f64, f64, f64)> {
    READINGS.lines().skip(1).map(|line| {
        let mut fields = line.split(',');
        let bore = fields.next().unwrap().to_owned();
        let mut number = || fields.next().unwrap().parse::<f64>().unwrap();
        (bore, number(), number(), number())
    })
}

pub(crate) fn open_job() -> Value {
    json!({"command": "open_job", "part": "a tandem frame (invented)", "seat": "two-by-three"})
}

fn close(actual: &Value, expected: &Value, what: &str) {
    let (Some(actual), Some(expected)) = (actual.as_f64(), expected.as_f64()) else {
        panic!("{what}: {actual} where {expected} is expected");
    };
    // Numpy and this program may round the last bits of a double differently.
    let tolerance = 1e-9 * expected.abs().max(1.0);
    assert!(
        (actual - expected).abs() <= tolerance,
        "{what}: {actual}, expected {expected}"
    );
}

/// Every number of `expected` stands in `record` too, equal to 1e-9.
pub(crate) fn matches(record: &Value, expected: &Value, path: &str) {
    match expected {
        Value::Object(members) => {
            for (key, value) in members {
                matches(&record[key], value, &format!("{path}.{key}"));
            }
        }
        Value::Number(_) => close(record, expected, path),
        _ => assert_eq!(record, expected, "{path}"),
    }
}

/// The entry of `list` in the as-found phase of `record` for a bore and a depth.
pub(crate) fn find(record: &Value, list: &str, bore: &Value, depth: Option<&Value>) -> Value {
    let all = record["phases"][0][list].as_array().unwrap().iter();
    let mut wanted = all.filter(|object| {
        object["bore"] == *bore && depth.is_none_or(|depth| object["depth_mm"] == *depth)
    });
    wanted
        .next()
        .unwrap_or_else(|| panic!("{list} of {bore}"))
        .clone()
}

#[test]
fn a_whole_job_byte_by_byte_with_noise_between_gives_the_numbers_of_numpy() {
    let bench = Bench::new("plain-mm-stream");
    let gauge = bench.plug_in();
    let mut daemon = bench.start();
    daemon.wait_for_kind("gauge_opened");
    daemon.must(open_job());
    let mut noise = 0;
    for (index, (bore, depth, angle, reading)) in rows().enumerate() {
        if index % 5 == 2 {
            gauge.send_bytes(b"\x00\xffboot v2\r\n").unwrap();
            noise += 1;
        }
        for byte in format!("{reading:+010.4} mm\r\n").into_bytes() {
            gauge.send_bytes(&[byte]).unwrap();
        }
        let event = daemon.wait_for_kind("reading");
        let station = json!({"bore": bore, "depth_mm": depth, "angle_deg": angle});
        assert_eq!(event["station"], station);
        assert_eq!(event["value_mm"], json!(reading));
        assert_eq!(event["phase"], "as-found");
    }
    let seen: Vec<Value> = daemon.seen().to_vec();
    let of_kind = |kind: &str| seen.iter().filter(|object| object["kind"] == kind).count();
    assert_eq!(of_kind("noise"), noise, "what is no reading is shown");
    assert_eq!(of_kind("reading_refused"), 0);
    let raw = &seen
        .iter()
        .find(|object| object["kind"] == "noise")
        .unwrap()["raw"];
    assert_eq!(raw, "\\x00\\xffboot v2");

    daemon.must(json!({"command": "close_job"}));
    let news = daemon.wait_for("the record", |object| object["about"] == "record");
    let record = std::fs::read_to_string(news["file"].as_str().unwrap()).unwrap();
    let record: Value = serde_json::from_str(&record).unwrap();
    let expected: Value = serde_json::from_str(EXPECTED).unwrap();
    for bore in expected["bores"].as_array().unwrap() {
        let name = &bore["bore"];
        let mut of_bore = bore.clone();
        let sections = of_bore.as_object_mut().unwrap().remove("sections").unwrap();
        matches(
            &find(&record, "bores", name, None),
            &of_bore,
            &format!("{name}"),
        );
        for section in sections.as_array().unwrap() {
            let depth = &section["depth_mm"];
            let found = find(&record, "sections", name, Some(depth));
            matches(&found, section, &format!("{name} at {depth}"));
        }
    }
    assert_eq!(
        record["phases"][0]["verdict"], "does_not_conform",
        "0.09 mm out of round"
    );
    assert!(daemon.stop().success());
}

#[test]
fn a_file_of_the_same_readings_gives_the_same_numbers_as_the_live_job() {
    let bench = Bench::new("plain-mm-stream");
    let gauge = bench.plug_in();
    let mut daemon = bench.start();
    daemon.wait_for_kind("gauge_opened");
    daemon.must(open_job());
    for (.., reading) in rows() {
        gauge
            .send_bytes(format!("{reading:+010.4} mm\r\n").as_bytes())
            .unwrap();
        daemon.wait_for_kind("section");
    }
    let state = daemon.state();
    let output = std::process::Command::new(env!("CARGO_BIN_EXE_borewright"))
        .args(["profile", "--json", "fixtures/job-2x3x8/readings.csv"])
        .output()
        .unwrap();
    assert!(output.status.success());
    let profile: Value = serde_json::from_slice(&output.stdout).unwrap();
    let mut compared = 0;
    for bore in profile["bores"].as_array().unwrap() {
        for section in bore["sections"].as_array().unwrap() {
            let live = state["on_bench"]["sections"].as_array().unwrap().iter();
            let mut live = live.filter(|live| {
                live["bore"] == bore["bore"] && live["depth_mm"] == section["depth_mm"]
            });
            let live = live.next().unwrap();
            for field in [
                "mean_diameter_mm",
                "largest_mm",
                "smallest_mm",
                "out_of_round_mm",
                "oval",
            ] {
                assert_eq!(live[field], section[field], "{field}");
                compared += 1;
            }
        }
    }
    assert_eq!(compared, 30);
}

#[test]
fn undo_skip_go_to_and_a_second_phase_over_http() {
    let bench = Bench::new("plain-mm");
    let gauge = bench.plug_in();
    let mut daemon = bench.start();
    daemon.wait_for_kind("gauge_opened");
    let (status, refused) = daemon.ask(&json!({"command": "undo"}));
    assert_eq!(status, 409, "{refused}");
    assert!(refused["refused"].as_str().unwrap().contains("no job"));
    daemon.must(open_job());
    gauge.send_bytes(b"+0045.9300 mm\r\n").unwrap();
    daemon.wait_for_kind("reading");
    let undone = daemon.must(json!({"command": "undo"}));
    assert_eq!(undone[0]["kind"], "undone");
    let next = |daemon: &Daemon| daemon.state()["on_bench"]["next"]["angle_deg"].clone();
    assert_eq!(next(&daemon), 0.0);
    daemon.must(json!({"command": "skip"}));
    assert_eq!(next(&daemon), 22.5);
    daemon.must(json!({"command": "go_to", "bore": "right", "depth_mm": 8.0, "angle_deg": 45.0}));
    gauge.send_bytes(b"+0045.9710 mm\r\n").unwrap();
    let reading = daemon.wait_for_kind("reading");
    assert_eq!(reading["station"]["bore"], "right");
    daemon.must(json!({"command": "set_phase", "phase": "as-left"}));
    gauge.send_bytes(b"+0045.9720 mm\r\n").unwrap();
    let reading = daemon.wait_for_kind("reading");
    assert_eq!(
        (&reading["phase"], &reading["station"]["bore"]),
        (&json!("as-left"), &json!("left"))
    );
    let (status, answer) = daemon.ask(&json!({"command": "skip", "if_seq": 1}));
    assert_eq!(status, 409, "the job has moved on: {answer}");
}

#[test]
fn a_reading_that_cannot_belong_is_refused_recorded_and_leaves_its_station() {
    let bench = Bench::new("plain-mm");
    let gauge = bench.plug_in();
    let mut daemon = bench.start();
    daemon.wait_for_kind("gauge_opened");
    daemon.must(open_job());
    gauge.send_bytes(b"+0001.8110 mm\r\n").unwrap();
    let refused = daemon.wait_for_kind("reading_refused");
    assert!(
        refused["why"]
            .as_str()
            .unwrap()
            .contains("looks like inches"),
        "{refused}"
    );
    gauge
        .send_bytes(b"+0045.9300 mm\r\n+0045.9300 mm\r\n")
        .unwrap();
    let reading = daemon.wait_for_kind("reading");
    assert_eq!(reading["station"]["angle_deg"], 0.0);
    let bounce = daemon.wait_for_kind("bounce");
    assert_eq!(bounce["raw"], reading["raw"], "a button bounces");
    let state = daemon.state();
    assert_eq!(state["on_bench"]["stations"][0]["readings"], 1);
}

#[test]
fn a_gauge_that_is_unplugged_is_said_and_comes_back_by_itself() {
    let bench = Bench::new("plain-mm");
    let gauge = bench.plug_in();
    let mut daemon = bench.start();
    daemon.wait_for_kind("gauge_opened");
    daemon.must(open_job());
    gauge.send_bytes(b"+0045.9300 mm\r\n").unwrap();
    daemon.wait_for_kind("reading");
    gauge.close();
    let lost = daemon.wait_for_kind("gauge_lost");
    assert_eq!(lost["gauge"], "bore-gauge");
    assert_eq!(daemon.state()["gauges"][0]["connected"], false);
    let gauge = bench.plug_in();
    daemon.wait_for_kind("gauge_opened");
    gauge.send_bytes(b"+0045.9400 mm\r\n").unwrap();
    let reading = daemon.wait_for_kind("reading");
    assert_eq!(
        reading["station"]["angle_deg"], 22.5,
        "nothing was lost by it"
    );
}

#[test]
fn without_a_job_a_reading_is_recorded_and_shown() {
    let bench = Bench::new("plain-mm");
    let gauge = bench.plug_in();
    let mut daemon = bench.start();
    daemon.wait_for_kind("gauge_opened");
    gauge.send_bytes(b"+0012.5000 mm\r\n").unwrap();
    let reading = daemon.wait_for_kind("reading");
    for null in ["job", "phase", "station"] {
        assert_eq!(reading[null], Value::Null, "{null}");
    }
    assert_eq!(daemon.state()["last_reading"]["value_mm"], 12.5);
    let mut journal = String::new();
    let mut file = std::fs::File::open(bench.data().join("journal.jsonl")).unwrap();
    file.read_to_string(&mut journal).unwrap();
    assert!(journal.contains("+0012.5000 mm"), "{journal}");
}
