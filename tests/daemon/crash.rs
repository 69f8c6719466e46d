//! After a kill at any moment the restart is at the same station with every acknowledged reading.

use std::collections::BTreeMap;
use std::hash::{BuildHasher as _, RandomState};
use std::time::Duration;

use serde_json::{Value, json};

use super::main_job::{EXPECTED, find, matches, open_job, rows};
use super::support::{Bench, Daemon};

/// Stations and what was acknowledged there, by their place in the plan.
type Acknowledged = BTreeMap<usize, f64>;

#[test]
fn killed_at_twenty_random_moments_nothing_acknowledged_is_lost() {
    let seed = RandomState::new().hash_one("moments");
    println!("seed {seed}");
    let moments = (0..20_u64).map(|round| {
        let random = RandomState::new().hash_one((seed, round));
        Duration::from_micros(random % 2_000)
    });
    let readings: Vec<f64> = rows().map(|(.., reading)| reading).collect();
    let frame = |index: usize| format!("{:+010.4} mm\r\n", readings[index]).into_bytes();
    let bench = Bench::new("plain-mm-stream");
    let mut acknowledged = Acknowledged::new();

    let gauge = bench.plug_in();
    let mut daemon = bench.start();
    daemon.wait_for_kind("gauge_opened");
    daemon.must(open_job());
    drop(gauge);
    daemon.kill();
    for moment in moments {
        let gauge = bench.plug_in();
        daemon = bench.start();
        daemon.wait_for_kind("gauge_opened");
        let (next, measured) = progress(&daemon);
        assert_eq!(
            next,
            measured.len(),
            "the restart is at the station behind the last reading"
        );
        for (place, value) in &acknowledged {
            assert_eq!(
                measured.get(place),
                Some(value),
                "reading {place} was acknowledged"
            );
        }
        // One reading that is waited for, then one that the kill may meet anywhere on its way.
        gauge.send_bytes(&frame(next)).unwrap();
        daemon.wait_for_kind("reading");
        acknowledged.insert(next, readings[next]);
        gauge.send_bytes(&frame(next + 1)).unwrap();
        std::thread::sleep(moment);
        for object in daemon.kill_and_read() {
            if object["kind"] == "reading" {
                acknowledged.insert(next + 1, object["value_mm"].as_f64().unwrap());
            }
        }
    }
    println!("{} readings acknowledged", acknowledged.len());

    let gauge = bench.plug_in();
    daemon = bench.start();
    daemon.wait_for_kind("gauge_opened");
    for index in progress(&daemon).0..readings.len() {
        gauge.send_bytes(&frame(index)).unwrap();
        daemon.wait_for_kind("reading");
    }
    daemon.must(json!({"command": "close_job"}));
    let news = daemon.wait_for("the record", |object| object["about"] == "record");
    let record = std::fs::read_to_string(news["file"].as_str().unwrap()).unwrap();
    let record: Value = serde_json::from_str(&record).unwrap();
    let expected: Value = serde_json::from_str(EXPECTED).unwrap();
    for bore in expected["bores"].as_array().unwrap() {
        for section in bore["sections"].as_array().unwrap() {
            let found = find(
                &record,
                "sections",
                &bore["bore"],
                Some(&section["depth_mm"]),
            );
            matches(&found, section, "after twenty restarts");
        }
    }
}

/// The place of the next station in the plan, and the value at each that is measured.
fn progress(daemon: &Daemon) -> (usize, Acknowledged) {
    let state = daemon.state();
    let stations = state["on_bench"]["stations"].as_array().unwrap();
    let next = &state["on_bench"]["next"];
    let place = stations.iter().position(|station| {
        ["bore", "depth_mm", "angle_deg"]
            .iter()
            .all(|field| station[field] == next[field])
    });
    let measured = stations.iter().enumerate().filter_map(|(place, station)| {
        assert!(
            station["readings"].as_u64().unwrap() <= 1,
            "no reading counts twice"
        );
        Some((place, station["value_mm"].as_f64()?))
    });
    (place.unwrap_or(stations.len()), measured.collect())
}

#[test]
fn a_torn_last_line_is_cut_off_and_kept_aside_with_a_warning() {
    let bench = Bench::new("plain-mm");
    let daemon = bench.start();
    daemon.must(open_job());
    daemon.must(json!({"command": "type_reading", "text": "45.930"}));
    daemon.kill();
    let journal = bench.data().join("journal.jsonl");
    let whole = std::fs::read(&journal).unwrap();
    let torn = [
        &whole[..],
        br#"{"schema":"borewright.feed/1","seq":99,"at":"20"#,
    ]
    .concat();
    std::fs::write(&journal, torn).unwrap();
    let daemon = bench.start();
    assert_eq!(progress(&daemon).0, 1);
    let said = daemon.stop_and_read_errors();
    assert!(said.contains("cut off and kept in"), "{said}");
    let kept = std::fs::read_dir(bench.data().join("set-aside")).unwrap();
    let kept: Vec<_> = kept
        .map(|entry| std::fs::read(entry.unwrap().path()).unwrap())
        .collect();
    assert_eq!(kept.len(), 1);
    assert!(kept[0].ends_with(br#""at":"20"#));
}

#[test]
fn a_second_daemon_on_the_same_folder_refuses() {
    let bench = Bench::new("plain-mm");
    let daemon = bench.start();
    let second = super::support::command(&bench.config(), &bench.data())
        .output()
        .unwrap();
    assert_eq!(second.status.code(), Some(3));
    let said = String::from_utf8(second.stderr).unwrap();
    assert!(said.contains("in use by another borewright"), "{said}");
    assert!(
        said.contains(&daemon.id().to_string()),
        "it names the process: {said}"
    );
    assert!(daemon.state()["seats"].is_array(), "the first goes on");
}
