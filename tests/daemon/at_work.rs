//! Two people looking: one is at work, the other watches.

use std::io::Read as _;

use serde_json::{Value, json};

use super::main_job::open_job;
use super::support::{Bench, Daemon, request};

fn ask(daemon: &Daemon, token: Option<&str>, command: &Value) -> (u16, Value) {
    let headers: Vec<_> = token
        .map(|token| ("Bench-Token", token))
        .into_iter()
        .collect();
    let (status, body) = request(daemon.page, "POST", "/commands", &headers, Some(command));
    (status, serde_json::from_str(&body).unwrap())
}

fn take(daemon: &Daemon, who: &str) -> String {
    let (status, answer) = ask(daemon, None, &json!({"command": "take_bench", "who": who}));
    assert_eq!((status, &answer["at_work"]["who"]), (200, &json!(who)));
    answer["token"].as_str().unwrap().to_owned()
}

#[test]
fn one_is_at_work_and_the_other_watches_until_he_takes_over() {
    let bench = Bench::new("plain-mm");
    let gauge = bench.plug_in();
    let mut daemon = bench.start();
    daemon.wait_for_kind("gauge_opened");
    assert_eq!(daemon.state()["at_work"], Value::Null);
    assert_eq!(daemon.state()["disk"], json!({"well": true, "why": null}));
    daemon.must(open_job());

    let tablet = take(&daemon, "tablet at the press");
    let news = daemon.wait_for("who is at work", |object| object["about"] == "bench");
    assert_eq!(news["seq"], Value::Null);
    assert_eq!(news["at_work"], daemon.state()["at_work"]);
    let skip = json!({"command": "skip"});
    for watcher in [
        None,
        Some("00000000-0000-4000-8000-000000000000"),
        Some("é"),
    ] {
        let (status, answer) = ask(&daemon, watcher, &skip);
        assert_eq!(status, 409, "{answer}");
    }
    let (_, answer) = ask(&daemon, None, &skip);
    let why = answer["refused"].as_str().unwrap();
    assert!(
        why.starts_with("tablet at the press is at work on this bench since"),
        "{why}"
    );
    assert_eq!(ask(&daemon, Some(&tablet), &skip).0, 200);

    // A gauge is nobody's page.
    gauge.send_bytes(b"+0045.9300 mm\r\n").unwrap();
    daemon.wait_for_kind("reading");

    let laptop = take(&daemon, "laptop");
    let news = daemon.wait_for("the change", |object| object["about"] == "bench");
    assert_eq!(news["was"]["who"], "tablet at the press");
    assert_eq!(news["at_work"]["who"], "laptop");
    assert_eq!(ask(&daemon, Some(&tablet), &skip).0, 409);
    assert_eq!(ask(&daemon, Some(&laptop), &skip).0, 200);
    let leave = json!({"command": "leave_bench"});
    assert_eq!(ask(&daemon, Some(&tablet), &leave).0, 409);
    assert_eq!(ask(&daemon, Some(&laptop), &leave).0, 200);
    daemon.must(json!({"command": "undo"}));

    let third = take(&daemon, "third");
    // A token is told to the one who took the bench, and to nobody else.
    let state = daemon.state();
    let everything = format!("{:?} {state}", daemon.seen());
    let mut journal = String::new();
    let file = std::fs::File::open(bench.data().join("journal.jsonl"));
    file.unwrap().read_to_string(&mut journal).unwrap();
    let said = daemon.stop_and_read_errors();
    for token in [&tablet, &laptop, &third] {
        for text in [&everything, &journal, &said] {
            assert!(!text.contains(token.as_str()));
        }
    }
    let daemon = bench.start();
    assert_eq!(daemon.state()["at_work"], Value::Null, "a restart forgets");
    assert_eq!(
        ask(&daemon, Some(&third), &skip).0,
        200,
        "nobody holds the bench"
    );
}
