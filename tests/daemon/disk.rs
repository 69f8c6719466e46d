//! A full disk: the reading is refused aloud, the daemon lives, and nothing stored is lost.

use std::process::Command;

use serde_json::json;

use super::main_job::open_job;
use super::support::{Bench, Daemon, command};

#[test]
fn on_a_full_disk_each_reading_is_refused_aloud_until_there_is_room_again() {
    let bench = Bench::new("plain-mm-stream");
    let gauge = bench.plug_in();
    // A limit on the size of files stands for the full disk: it works without being root, and can
    // be lifted from outside. The signal that it sends is ignored, so that the write itself fails.
    let inner = command(&bench.config(), &bench.data());
    let mut limited = Command::new("sh");
    limited.args(["-c", "trap '' XFSZ; ulimit -S -f 24; exec \"$0\" \"$@\""]);
    limited.arg(inner.get_program()).args(inner.get_args());
    let mut daemon = Daemon::spawn(limited);
    daemon.wait_for_kind("gauge_opened");
    daemon.must(open_job());
    let mut stored = 0;
    let refused = loop {
        gauge.send_bytes(b"+0045.9300 mm\r\n").unwrap();
        let said = daemon.wait_for("a reading stored or refused", |object| {
            object["kind"] == "reading" || object["about"] == "unstored"
        });
        if said["about"] == "unstored" {
            break said;
        }
        stored += 1;
        assert!(stored < 48, "the limit was never reached");
    };
    assert!(
        refused["why"].as_str().unwrap().contains("free some space"),
        "{refused}"
    );
    let disk = daemon.state()["disk"].clone();
    assert_eq!(disk["well"], false, "a page loaded now must know: {disk}");
    assert_eq!(disk["why"], refused["why"]);
    let (status, answer) = daemon.ask(&json!({"command": "note", "text": "tight ".repeat(200)}));
    assert_eq!(status, 409, "a command is refused too: {answer}");
    let measured = |daemon: &Daemon| {
        let state = daemon.state();
        let stations = state["on_bench"]["stations"].as_array().unwrap().clone();
        stations
            .iter()
            .filter(|station| station["status"] == "measured")
            .count()
    };
    assert_eq!(measured(&daemon), stored, "what was refused does not count");

    let room = ["--fsize=unlimited:", "--pid", &daemon.id().to_string()].map(str::to_owned);
    assert!(
        Command::new("prlimit")
            .args(room)
            .status()
            .unwrap()
            .success()
    );
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
