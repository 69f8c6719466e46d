//! A full disk: the reading is refused aloud, the daemon lives, and nothing stored is lost.

use std::process::Command;

use borewright::gauge::simulate::Simulator;
use serde_json::{Value, json};

use super::main_job::open_job;
use super::support::{Bench, Daemon, command};

/// A limit on the size of files stands for the full disk: it works without being root, and can be
/// lifted from outside. The signal that it sends is ignored, so that the write itself fails.
fn on_a_small_disk(bench: &Bench) -> Daemon {
    let inner = command(&bench.config(), &bench.data());
    let mut limited = Command::new("sh");
    limited.args(["-c", "trap '' XFSZ; ulimit -S -f 24; exec \"$0\" \"$@\""]);
    limited.arg(inner.get_program()).args(inner.get_args());
    Daemon::spawn(limited)
}

fn make_room(daemon: &Daemon) {
    let room = ["--fsize=unlimited:", "--pid", &daemon.id().to_string()].map(str::to_owned);
    let done = Command::new("prlimit").args(room).status().unwrap();
    assert!(done.success());
}

/// Sends readings until one is refused; gives how many were stored, and the refusal.
fn fill(gauge: &Simulator, daemon: &mut Daemon) -> (usize, Value) {
    for stored in 0..48 {
        gauge.send_bytes(b"+0045.9300 mm\r\n").unwrap();
        let said = daemon.wait_for("a reading stored or refused", |object| {
            object["kind"] == "reading" || object["about"] == "unstored"
        });
        if said["about"] == "unstored" {
            return (stored, said);
        }
    }
    panic!("the limit was never reached");
}

fn measured(daemon: &Daemon) -> usize {
    let state = daemon.state();
    let stations = state["on_bench"]["stations"].as_array().unwrap().iter();
    stations
        .filter(|station| station["status"] == "measured")
        .count()
}

#[test]
fn on_a_full_disk_each_reading_is_refused_aloud_until_there_is_room_again() {
    let bench = Bench::new("plain-mm-stream");
    let gauge = bench.plug_in();
    let mut daemon = on_a_small_disk(&bench);
    daemon.wait_for_kind("gauge_opened");
    daemon.must(open_job());
    let (stored, refused) = fill(&gauge, &mut daemon);
    assert!(
        refused["why"].as_str().unwrap().contains("free some space"),
        "{refused}"
    );
    let disk = daemon.state()["disk"].clone();
    assert_eq!(disk["well"], false, "a page loaded now must know: {disk}");
    assert_eq!(disk["why"], refused["why"]);
    let (status, answer) = daemon.ask(&json!({"command": "note", "text": "tight ".repeat(200)}));
    assert_eq!(status, 409, "a command is refused too: {answer}");
    assert_eq!(measured(&daemon), stored, "what was refused does not count");

    make_room(&daemon);
    gauge.send_bytes(b"+0045.9310 mm\r\n").unwrap();
    let reading = daemon.wait_for_kind("reading");
    assert_eq!(reading["raw"], "+0045.9310 mm");
    daemon.wait_for("news of the disk", |object| {
        object["about"] == "disk" && object["well"] == true
    });
    assert_eq!(daemon.state()["disk"]["well"], true);
    daemon.kill();
    let daemon = bench.start();
    assert_eq!(measured(&daemon), stored + 1, "after a restart the same");
}

#[test]
fn what_is_stored_and_cannot_be_read_back_is_never_run_ahead_of() {
    let bench = Bench::new("plain-mm-stream");
    let gauge = bench.plug_in();
    let mut daemon = on_a_small_disk(&bench);
    daemon.wait_for_kind("gauge_opened");
    daemon.must(open_job());
    let (stored, _) = fill(&gauge, &mut daemon);
    let (journal, away) = (
        bench.data().join("journal.jsonl"),
        bench.data().join("elsewhere"),
    );
    std::fs::rename(&journal, &away).unwrap();
    let mut refused = || {
        gauge.send_bytes(b"+0045.9310 mm\r\n").unwrap();
        let said = daemon.wait_for("a reading refused or stored", |object| {
            object["kind"] == "reading" || object["about"] == "unstored"
        });
        assert_eq!(said["about"], "unstored", "{said}");
        said["why"].as_str().unwrap().to_owned()
    };
    refused();
    let why = refused();
    assert!(why.contains("can't be read back"), "{why}");
    let state = daemon.state();
    assert_eq!(
        state["on_bench"],
        Value::Null,
        "nothing that isn't stored is shown"
    );
    assert_eq!(state["disk"], json!({"well": false, "why": why}));
    assert_eq!(state["gauges"][0]["connected"], true);
    let (status, answer) = daemon.ask(&open_job());
    assert_eq!((status, &answer["refused"]), (409, &json!(why)));

    std::fs::rename(&away, &journal).unwrap();
    make_room(&daemon);
    gauge.send_bytes(b"+0045.9310 mm\r\n").unwrap();
    daemon.wait_for_kind("reading");
    assert_eq!(measured(&daemon), stored + 1);
}
