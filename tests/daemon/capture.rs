//! A gauge that sends by itself fills a station when it is rocked, and not otherwise.
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use borewright::gauge::simulate::{Hand, Rocking, Simulator};
use borewright::units::Length;
use serde_json::{Value, json};

use super::consumers::{holds, schema};
use super::main_job::open_job;
use super::support::{Bench, Daemon};

fn send(gauge: &Simulator, mm: f64) {
    gauge.send_value(Length::from_mm(mm).unwrap()).unwrap();
}

fn rock(gauge: &Simulator, seen_mm: f64, hand: &mut Hand) {
    let rocking = Rocking {
        swings_per_s: 1.25,
        ..Rocking::default()
    };
    for mm in rocking.values_mm(seen_mm, hand) {
        std::thread::sleep(rocking.every());
        send(gauge, (mm * 1e3).round() / 1e3);
    }
}

fn of_kind(daemon: &mut Daemon, kind: &str) -> Vec<Value> {
    let seen = daemon.seen().iter();
    seen.filter(|object| object["kind"] == kind)
        .cloned()
        .collect()
}

/// How many stations are measured.
fn measured(daemon: &Daemon) -> usize {
    let state = daemon.state();
    let stations = state["on_bench"]["stations"].as_array().unwrap();
    let done = |station: &&Value| station["status"] == "measured";
    stations.iter().filter(done).count()
}

#[test]
fn a_rocked_gauge_fills_one_station_for_each_rocking() {
    let bench = Bench::new("rocking-mm");
    let gauge = bench.plug_in();
    let mut daemon = bench.start();
    daemon.wait_for_kind("gauge_opened");
    daemon.must(open_job());
    let mut hand = Hand::new(46, 0.001);
    let sizes = [45.96, 45.93, 45.99];
    for (index, size) in sizes.into_iter().enumerate() {
        rock(&gauge, size, &mut hand);
        let reading = daemon.wait_for_kind("reading");
        let value = reading["value_mm"].as_f64().unwrap();
        // Four standard deviations of the noise, two steps and 2 % of the rocking's 0.11 mm.
        assert!((value - size).abs() <= 0.008, "{value} of {size}");
        assert_eq!(
            reading["raw"],
            format!("={value:07.3}"),
            "a frame that was sent"
        );
        assert_eq!(measured(&daemon), index + 1);
    }
    let live = of_kind(&mut daemon, "live");
    assert!(live.len() > 20, "{} values were shown", live.len());
    let feed = schema("feed");
    for object in &live {
        holds(&feed, object, "a live value");
        assert_eq!(
            (&object["seq"], &object["gauge"]),
            (&Value::Null, &json!("bore-gauge"))
        );
        assert!(
            object["value_mm"].is_f64() && object["raw"].is_string() && object["at"].is_string()
        );
    }
    assert_eq!(of_kind(&mut daemon, "reading").len(), sizes.len());

    // Taken by hand: the newest value, once.
    send(&gauge, 45.971);
    let shown = |object: &Value| object["kind"] == "live" && object["value_mm"] == 45.971;
    std::thread::sleep(Duration::from_millis(200));
    send(&gauge, 45.971);
    daemon.wait_for("the value", shown);
    let take = json!({"command": "take", "gauge": "bore-gauge"});
    holds(&schema("command"), &take, "a command");
    let answer = daemon.must(take.clone()).to_string();
    assert!(answer.contains("=045.971"), "{answer}");
    assert_eq!(measured(&daemon), sizes.len() + 1);
    let (status, answer) = daemon.ask(&take);
    assert_eq!(status, 409, "{answer}");

    // What was shown only is not stored.
    daemon.stop();
    let mut daemon = bench.start();
    assert_eq!(measured(&daemon), sizes.len() + 1);
    assert!(of_kind(&mut daemon, "live").is_empty());
}

#[test]
fn a_polled_gauge_fills_a_station_only_on_command() {
    let bench = Bench::new("polled-inch");
    let gauge = bench.plug_in();
    let mut daemon = bench.start();
    daemon.wait_for_kind("gauge_opened");
    let take = json!({"command": "take", "gauge": "bore-gauge"});
    let (status, answer) = daemon.ask(&take);
    assert_eq!(status, 409, "{answer}");
    daemon.must(open_job());
    let done = AtomicBool::new(false);
    std::thread::scope(|scope| {
        scope.spawn(|| {
            while !done.load(Ordering::Relaxed) {
                if gauge.asked(Duration::from_millis(100)).unwrap() {
                    send(&gauge, 45.961_3);
                }
            }
        });
        for _ in 0..5 {
            daemon.wait_for_kind("live");
        }
        assert_eq!(measured(&daemon), 0);
        daemon.must(take);
        assert_eq!(measured(&daemon), 1);
        done.store(true, Ordering::Relaxed);
    });
    let reading = daemon.wait_for_kind("reading");
    // 1.80950 in x 25.4.
    assert!((reading["value_mm"].as_f64().unwrap() - 45.9613).abs() < 1e-9);
}

/// A comparator whose plunger is pressed in by a smaller bore: the true size is its largest value.
#[test]
fn the_smallest_bore_is_the_largest_value_of_a_reversed_comparator() {
    let bench = Bench::with_gauge(
        "reversed",
        r#"
name = "reversed"
sends = "deviation"
bigger_bore_reads = "less"
resolution = 0.001
trigger = "stream"
layout = [{ text = "d" }, { sign = "always" }, { digits = [1, 1], decimals = [3, 3] }]
"#,
    );
    let gauge = bench.plug_in();
    let mut daemon = bench.start();
    daemon.wait_for_kind("gauge_opened");
    daemon.must(json!({"command": "set_ring", "gauge": "bore-gauge", "ring_mm": 46.0}));
    daemon.must(open_job());
    let rocking = Rocking {
        swings_per_s: 1.25,
        ..Rocking::default()
    };
    for mm in rocking.values_mm(45.963, &mut Hand::new(7, 0.0)) {
        std::thread::sleep(rocking.every());
        send(&gauge, ((46.0 - mm) * 1e3).round() / 1e3);
    }
    let reading = daemon.wait_for_kind("reading");
    let size = reading["corrected_mm"].as_f64().unwrap();
    assert!((size - 45.963).abs() <= 0.004, "{reading}");
    assert!(
        reading["raw"].as_str().unwrap().starts_with("d+0.03"),
        "{reading}"
    );
}
