//! Other programs: slow ones, dead ones, hostile ones; and schemas that hold.

use std::io::{BufRead as _, BufReader, Write as _};
use std::net::TcpStream;
use std::process::Command;

use serde_json::{Value, json};
use socket2::{Domain, Socket, Type};

use super::main_job::{open_job, rows};
use super::support::{Bench, PATIENCE, request};

#[test]
fn a_consumer_that_stops_reading_is_cut_and_never_slows_the_bench() {
    let bench = Bench::new("plain-mm-stream");
    let gauge = bench.plug_in();
    let mut daemon = bench.start();
    daemon.wait_for_kind("gauge_opened");
    // A consumer with a small buffer of its own that never reads.
    let socket = Socket::new(Domain::IPV4, Type::STREAM, None).unwrap();
    socket.set_recv_buffer_size(4096).unwrap();
    socket.connect(&daemon.tcp.into()).unwrap();
    let stalled = TcpStream::from(socket);
    stalled.set_read_timeout(Some(PATIENCE)).unwrap();
    // More than the other end's buffer and the queue hold, in commits of ten readings or fewer.
    let total = 30_000;
    for _ in 0..total / 10 {
        gauge.send_bytes(&b"+0012.5000 mm\r\n".repeat(10)).unwrap();
        for _ in 0..10 {
            daemon.wait_for_kind("reading");
        }
    }
    // It was cut: what it was sent before ends, with a `cut` line if it took one in time.
    let mut received = Vec::new();
    for line in BufReader::new(stalled).lines().map_while(Result::ok) {
        received.extend(serde_json::from_str::<Value>(&line));
    }
    assert!(
        received.len() < total,
        "{} lines is all of them",
        received.len()
    );
    let last = received.last().unwrap();
    let from = last["seq"].as_u64().unwrap();
    if last["kind"] == "cut" {
        assert_eq!(
            received[received.len() - 2]["seq"],
            from,
            "it says where to resume"
        );
    }

    let mut again = TcpStream::connect(daemon.tcp).unwrap();
    again.set_read_timeout(Some(PATIENCE)).unwrap();
    writeln!(again, "{{\"from\":{from}}}").unwrap();
    let mut next = from + 1;
    for line in BufReader::new(again).lines() {
        let event: Value = serde_json::from_str(&line.unwrap()).unwrap();
        assert_eq!(event["seq"], next, "a resume leaves nothing out");
        next += 1;
        if next > from + 1000 {
            break;
        }
    }
}

#[test]
fn server_sent_events_resume_behind_the_last_one_seen() {
    let bench = Bench::new("plain-mm");
    let daemon = bench.start();
    daemon.must(open_job());
    for reading in ["45.930", "45.940", "45.950"] {
        daemon.must(json!({"command": "type_reading", "text": reading}));
    }
    let newest = daemon.state()["seq"].as_u64().unwrap();
    let from = newest - 2;
    let mut stream = TcpStream::connect(daemon.page).unwrap();
    stream.set_read_timeout(Some(PATIENCE)).unwrap();
    let host = daemon.page;
    write!(
        stream,
        "GET /feed?from={from} HTTP/1.1\r\nHost: {host}\r\nLast-Event-ID: 1\r\n\r\n"
    )
    .unwrap();
    let mut kinds = Vec::new();
    for line in BufReader::new(stream).lines() {
        let line = line.unwrap();
        if let Some(json) = line.strip_prefix("data:") {
            let object: Value = serde_json::from_str(json).unwrap();
            kinds.push((
                object["kind"].as_str().unwrap().to_owned(),
                object["seq"].clone(),
            ));
            if object["kind"] == "job" {
                break;
            }
        }
    }
    let readings: Vec<_> = kinds.iter().filter(|(kind, _)| kind == "reading").collect();
    assert_eq!(readings.len(), 2, "two readings lie behind it: {kinds:?}");
    assert!(
        kinds
            .iter()
            .any(|(kind, seq)| kind == "section" && *seq == newest),
        "{kinds:?}"
    );
}

#[test]
fn another_page_in_the_same_browser_cannot_touch_the_job() {
    let bench = Bench::new("plain-mm");
    let daemon = bench.start();
    let open = open_job();
    let post = |headers: &[(&str, &str)]| {
        request(daemon.page, "POST", "/commands", headers, Some(&open)).0
    };
    assert_eq!(post(&[("Origin", "http://elsewhere.example")]), 403);
    assert_eq!(post(&[("Host", "rebound.example:4770")]), 403);
    assert_eq!(post(&[("Content-Type", "text/plain")]), 415);
    assert_eq!(
        request(
            daemon.page,
            "POST",
            "/commands",
            &[],
            Some(&json!({"command": "?"}))
        )
        .0,
        422
    );
    for path in ["/", "/state", "/feed", "/commands", "/bench"] {
        let host = [("Host", "rebound.example")];
        assert_eq!(
            request(daemon.page, "GET", path, &host, None).0,
            403,
            "{path}"
        );
    }
    assert_eq!(request(daemon.page, "GET", "/commands", &[], None).0, 405);
    assert_eq!(
        daemon.state()["on_bench"],
        Value::Null,
        "no job was opened by any of it"
    );
    let own = format!("http://{}", daemon.page);
    assert_eq!(post(&[("Origin", &own)]), 200, "the page itself may");
}

pub(crate) fn schema(of: &str) -> jsonschema::Validator {
    let output = Command::new(env!("CARGO_BIN_EXE_borewright"))
        .args(["schema", of])
        .output()
        .unwrap();
    let schema: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(
        schema["$schema"],
        "https://json-schema.org/draft/2020-12/schema"
    );
    jsonschema::validator_for(&schema).unwrap()
}

pub(crate) fn holds(schema: &jsonschema::Validator, value: &Value, what: &str) {
    let errors: Vec<String> = schema
        .iter_errors(value)
        .map(|error| error.to_string())
        .collect();
    assert!(errors.is_empty(), "{what}: {errors:?}\n{value:#}");
}

#[test]
fn the_schemas_hold_for_what_is_really_written() {
    let bench = Bench::new("plain-mm-stream");
    let gauge = bench.plug_in();
    let mut daemon = bench.start();
    daemon.wait_for_kind("gauge_opened");
    let ring = json!({"command": "set_ring", "gauge": "bore-gauge", "ring_mm": 46.0,
        "shown_mm": 46.001, "ring_uncertainty_mm": 0.001});
    let commands = [
        ring,
        open_job(),
        json!({"command": "note", "text": "tight on one side"}),
        json!({"command": "set_evidence", "evidence": {"free_once_out": true}}),
        json!({"command": "set_insert", "insert": {"bearing": "30x42x7", "cup": "aluminium",
            "outside_mm": 46.003}}),
        json!({"command": "set_temperature", "part_c": 21.5}),
        json!({"command": "set_housing", "material": "steel", "wall_mm": 2.5, "yield_mpa": 460.0,
            "finish": "turned", "service_c": [-10.0, 40.0]}),
        json!({"command": "hang_test", "fitted": true, "test": {"stays_deg": [2.0],
            "masses": [{"mass_kg": 0.25, "centre_mm": 120.0}]}}),
    ];
    let gauge_only = |command: &str| json!({"command": command, "gauge": "bore-gauge"});
    holds(&schema("command"), &gauge_only("begin_ring"), "a command");
    daemon.must(gauge_only("begin_ring"));
    gauge.send_bytes(b"+0046.0010 mm\r\n").unwrap();
    daemon.wait_for_kind("ring_reading");
    holds(&schema("state"), &daemon.state(), "the state");
    daemon.must(gauge_only("cancel_ring"));
    for command in &commands {
        holds(&schema("command"), command, "a command");
        daemon.must(command.clone());
    }
    gauge.send_bytes(b"~~~~\r\n+0001.8100 mm\r\n").unwrap();
    for (.., reading) in rows() {
        gauge
            .send_bytes(format!("{reading:+010.4} mm\r\n").as_bytes())
            .unwrap();
        daemon.wait_for_kind("section");
    }
    for command in [
        json!({"command": "choose", "bore": "left", "work": "refer"}),
        json!({"command": "tick", "step": "nothing-fitted"}),
        json!({"command": "undo"}),
        json!({"command": "undo"}),
        json!({"command": "skip"}),
        json!({"command": "second_turn"}),
        json!({"command": "check_ring", "gauge": "bore-gauge", "shown_mm": 46.002}),
        json!({"command": "put_aside"}),
    ] {
        holds(&schema("command"), &command, "a command");
        daemon.must(command);
    }
    let state = daemon.state();
    let job = &state["open_jobs"][0]["job"];
    daemon.must(json!({"command": "take_up", "job": job}));
    holds(&schema("state"), &daemon.state(), "the state");
    daemon.must(json!({"command": "close_job"}));
    let news = daemon.wait_for("the record", |object| object["about"] == "record");
    let amend = json!({"command": "amend_job", "job": job, "note": "it came back"});
    holds(&schema("command"), &amend, "a command");
    daemon.must(amend);
    let amended = daemon.wait_for("its revision", |object| object["about"] == "record");
    let take = json!({"command": "take_bench", "who": "tablet"});
    holds(&schema("command"), &take, "a command");
    daemon.must(take);
    holds(&schema("state"), &daemon.state(), "the state");
    gauge.close();
    daemon.wait_for_kind("gauge_lost");

    let feed = schema("feed");
    let mut kinds = std::collections::BTreeSet::new();
    for object in daemon.seen() {
        holds(&feed, object, "an object of the feed");
        kinds.insert(object["kind"].as_str().unwrap().to_owned());
    }
    let expected = [
        "bore",
        "diagnosis",
        "evidence_noted",
        "fit",
        "gauge_lost",
        "gauge_opened",
        "hang_tested",
        "housing_noted",
        "insert_chosen",
        "job",
        "job_amended",
        "job_closed",
        "job_opened",
        "job_put_aside",
        "job_taken_up",
        "noise",
        "noted",
        "plan",
        "reading",
        "reading_refused",
        "ring_begun",
        "ring_cancelled",
        "ring_checked",
        "ring_reading",
        "ring_set",
        "second_turn",
        "section",
        "skipped",
        "status",
        "temperature_noted",
        "ticked",
        "undone",
        "work_chosen",
    ];
    assert_eq!(
        kinds.iter().map(String::as_str).collect::<Vec<_>>(),
        expected
    );
    assert!(
        !feed.is_valid(&json!({"kind": "reading", "seq": "twelve"})),
        "it can refuse"
    );

    for news in [news, amended] {
        let record = std::fs::read_to_string(news["file"].as_str().unwrap()).unwrap();
        let record = serde_json::from_str(&record).unwrap();
        holds(&schema("record"), &record, "the record");
    }
    let profile = Command::new(env!("CARGO_BIN_EXE_borewright"))
        .args(["profile", "--json", "fixtures/job-2x3x8/readings.csv"])
        .output()
        .unwrap();
    holds(
        &schema("profile"),
        &serde_json::from_slice(&profile.stdout).unwrap(),
        "a profile",
    );
}
