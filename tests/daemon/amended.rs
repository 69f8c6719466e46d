//! What is known of a job after it left the bench: a record amended, and the setting of each job.

use serde_json::{Value, json};
use sha2::{Digest as _, Sha256};

use super::main_job::{open_job, rows};
use super::support::{Bench, Daemon};

fn record(daemon: &mut Daemon) -> (String, Value) {
    let news = daemon.wait_for("the record", |object| object["about"] == "record");
    let file = news["file"].as_str().unwrap().to_owned();
    let text = std::fs::read_to_string(&file).unwrap();
    (file, serde_json::from_str(&text).unwrap())
}

fn hash(file: &str) -> String {
    let digest = Sha256::digest(std::fs::read(file).unwrap());
    digest.iter().map(|byte| format!("{byte:02x}")).collect()
}

#[test]
fn a_closed_job_is_amended_by_another_revision_and_the_first_stays() {
    let bench = Bench::new("plain-mm-stream");
    let gauge = bench.plug_in();
    let mut daemon = bench.start();
    daemon.wait_for_kind("gauge_opened");
    let opened = daemon.must(open_job());
    let job = &opened[0]["job"];
    daemon.must(json!({"command": "set_evidence", "evidence": {"runs_tight": false}}));
    for (.., reading) in rows().take(8) {
        gauge
            .send_bytes(format!("{reading:+010.4} mm\r\n").as_bytes())
            .unwrap();
        daemon.wait_for_kind("reading");
    }
    let amend = json!({"command": "amend_job", "job": job, "note": " it came back ",
        "part": "a tandem frame, the red one",
        "evidence": {"runs_tight": true, "free_once_out": true}});
    let (status, answer) = daemon.ask(&amend);
    assert_eq!(status, 409, "still open: {answer}");
    daemon.must(json!({"command": "close_job"}));
    let (first_file, first) = record(&mut daemon);
    assert_eq!(
        (&first["revision"], &first["amends"]),
        (&json!(1), &Value::Null)
    );
    let first_hash = hash(&first_file);

    for nothing in [
        json!({"command": "amend_job", "job": job}),
        json!({"command": "amend_job", "job": job, "note": " "}),
        json!({"command": "amend_job", "job": "019ab0c0-0000-7000-8000-000000000000", "note": "x"}),
        json!({"command": "amend_job", "job": job, "evidence": {"tight_towards_deg": 400.0}}),
    ] {
        assert_eq!(daemon.ask(&nothing).0, 409, "{nothing}");
    }
    daemon.must(amend);
    let (second_file, second) = record(&mut daemon);
    assert_ne!(second_file, first_file);
    assert_eq!(hash(&first_file), first_hash, "the first stays");
    assert_eq!(second["revision"], 2);
    assert_eq!(second["amends"], json!(first_hash));
    assert_eq!(second["part"], "a tandem frame, the red one");
    assert_eq!(second["notes"][0]["text"], "it came back");
    assert_eq!(second["evidence"]["runs_tight"], true);
    for same in ["job", "phases", "gauges", "opened_at", "closed_at"] {
        assert_eq!(second[same], first[same], "{same}");
    }
    // Common practice, no source: tight when pressed in and free when out is a bad seat.
    let diagnosis = |record: &Value| record["findings"]["diagnosis"].clone();
    assert_eq!(diagnosis(&second)["at_fault"], "seat");
    assert_ne!(
        diagnosis(&first),
        diagnosis(&second),
        "it heeds the evidence"
    );

    // A revision that a crash kept from being written is written by the next start.
    let text = std::fs::read_to_string(&second_file).unwrap();
    std::fs::remove_file(&second_file).unwrap();
    daemon.kill();
    let mut daemon = bench.start();
    assert_eq!(std::fs::read_to_string(&second_file).unwrap(), text);
    daemon.must(json!({"command": "amend_job", "job": job, "note": "again"}));
    let (_, third) = record(&mut daemon);
    assert_eq!(third["revision"], 3);
    assert_eq!(third["amends"], json!(hash(&second_file)));
    assert_eq!(third["notes"].as_array().unwrap().len(), 2);
}

#[test]
fn a_job_put_aside_keeps_the_setting_that_its_readings_were_corrected_by() {
    let bench = Bench::new("plain-mm-stream");
    let gauge = bench.plug_in();
    let mut daemon = bench.start();
    daemon.wait_for_kind("gauge_opened");
    let ring = |shown_mm: f64| {
        json!({"command": "set_ring", "gauge": "bore-gauge", "ring_mm": 46.0,
            "shown_mm": shown_mm})
    };
    daemon.must(ring(46.002));
    let opened = daemon.must(open_job());
    gauge.send_bytes(b"+0045.9300 mm\r\n").unwrap();
    daemon.wait_for_kind("reading");
    daemon.must(json!({"command": "put_aside"}));
    daemon.must(ring(46.010));
    daemon.must(open_job());
    gauge.send_bytes(b"+0045.9300 mm\r\n").unwrap();
    daemon.wait_for_kind("reading");
    // Sealing the second job moves what is done with out of the journal.
    daemon.must(json!({"command": "close_job"}));
    let (_, second) = record(&mut daemon);
    daemon.kill();
    let mut daemon = bench.start();
    daemon.must(json!({"command": "take_up", "job": opened[0]["job"]}));
    daemon.must(json!({"command": "close_job"}));
    let (_, first) = record(&mut daemon);
    let shown = |record: &Value| record["gauges"]["bore-gauge"]["shown_mm"].clone();
    assert_eq!(
        (shown(&first), shown(&second)),
        (json!(46.002), json!(46.010))
    );
}
