//! Two gauges at once, each on its own pseudo-terminal: what the second measures is in the answer.
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use borewright::gauge::Description;
use borewright::gauge::simulate::{Hand, Simulator, Swinging};
use borewright::units::{Angle, Length};
use serde_json::{Value, json};

use super::consumers::{holds, schema};
use super::main_job::{open_job, rows};
use super::support::{Bench, Daemon};

/// A bench with `bore-gauge` and another gauge, plugged in at the path given.
fn bench(name: &str, role: &str, form: &str) -> (Bench, PathBuf) {
    let bench = Bench::new("plain-mm-stream");
    let port = bench.folder.path().join(name);
    let mut config = std::fs::OpenOptions::new()
        .append(true)
        .open(bench.config())
        .unwrap();
    writeln!(
        config,
        "\n[[gauge]]\nname = \"{name}\"\nrole = \"{role}\"\nport = \"{}\"\nform = \"{form}\"",
        port.display()
    )
    .unwrap();
    (bench, port)
}

fn plug_in(form: &str, port: &Path) -> Simulator {
    let form = Arc::new(Description::named(form, None).unwrap());
    Simulator::open_at(form, port).unwrap()
}

fn both_open(daemon: &mut Daemon) {
    daemon.wait_for_kind("gauge_opened");
    daemon.wait_for_kind("gauge_opened");
}

fn send(gauge: &Simulator, mm: f64) {
    gauge.send_value(Length::from_mm(mm).unwrap()).unwrap();
}

/// The bore's mean is numpy's (`fixtures/job-2x3x8`, made by `tests/reference/job_2x3x8.py`); the
/// insert's is by hand.
#[test]
fn a_caliper_on_the_second_port_gives_the_insert_of_the_fit() {
    let (bench, port) = bench("caliper", "insert", "plain-mm");
    let (gauge, caliper) = (bench.plug_in(), plug_in("plain-mm", &port));
    let mut daemon = bench.start();
    both_open(&mut daemon);
    daemon.must(
        json!({"command": "set_ring", "gauge": "bore-gauge", "ring_mm": 46.0,
        "ring_uncertainty_mm": 0.001}),
    );
    daemon.must(open_job());
    // Named first, measured while the bore is gauged.
    daemon.must(
        json!({"command": "set_insert", "insert": {"bearing": "30x42x7", "cup": "aluminium"}}),
    );
    let mut caliper_next = [46.021, 46.023, 46.025].into_iter();
    for (at, (.., reading)) in rows().enumerate() {
        send(&gauge, reading);
        daemon.wait_for("a reading", |object| {
            object["kind"] == "reading" && object["gauge"] == "bore-gauge"
        });
        // While the bore is gauged.
        if at % 8 == 3
            && let Some(mm) = caliper_next.next()
        {
            send(&caliper, mm);
            let reading = daemon.wait_for("the caliper's", |object| {
                object["kind"] == "reading" && object["gauge"] == "caliper"
            });
            assert_eq!(reading["station"], Value::Null);
        }
    }
    let state = daemon.state();
    let job = &state["on_bench"];
    assert_eq!(job["next"], Value::Null, "the caliper filled no station");
    assert_eq!(job["insert_readings_mm"], json!([46.021, 46.023, 46.025]));
    let fit = &job["findings"]["bores"][0]["fit"];
    let near = |value: &Value, wanted: f64| (value.as_f64().unwrap() - wanted).abs() < 1e-9;
    assert!(near(&fit["insert_mm"], 46.023), "{fit}");
    assert_eq!(fit["insert_from"], "measured");
    let mean = job["bores"][0]["mean_diameter_mm"].as_f64().unwrap();
    assert!(near(&fit["interference_mm"], 46.023 - mean), "{fit}");
    // What is typed once the cup is measured again counts, until the caliper sends more.
    let typed = json!({"command": "set_insert", "insert": {"bearing": "30x42x7",
        "cup": "aluminium", "outside_mm": 46.003}});
    daemon.must(typed);
    let state = daemon.state();
    let job = &state["on_bench"];
    assert_eq!(
        job["insert_readings_mm"],
        json!([]),
        "they were of the cup before"
    );
    let fit = &job["findings"]["bores"][0]["fit"];
    assert!(near(&fit["insert_mm"], 46.003), "{fit}");
    send(&caliper, 1.8118);
    let refused = daemon.wait_for_kind("reading_refused");
    assert!(
        refused["why"].as_str().unwrap().contains("inches"),
        "{refused}"
    );
    send(&caliper, 46.012);
    daemon.wait_for("the caliper's", |object| {
        object["kind"] == "reading" && object["gauge"] == "caliper"
    });
    let fit = &daemon.state()["on_bench"]["findings"]["bores"][0]["fit"];
    assert!(near(&fit["insert_mm"], 46.012), "{fit}");
    let schema = schema("state");
    holds(&schema, &daemon.state(), "the state");
    gauge.close();
    caliper.close();
}

/// Friction and turning points are those that scipy integrated (`fixtures/fit/pendulum.json`, the
/// first swing); the gauge's zero is off, as its clamp is.
#[test]
fn an_angle_gauge_on_the_second_port_gives_the_friction_of_the_hang_test() {
    let (bench, port) = bench("angle-gauge", "angle", "plain-degrees");
    let (_gauge, angle) = (bench.plug_in(), plug_in("plain-degrees", &port));
    let mut daemon = bench.start();
    both_open(&mut daemon);
    daemon.must(open_job());
    let begin = json!({"command": "begin_hang", "fitted": true,
        "masses": [{"mass_kg": 0.25, "centre_mm": 120.0}]});
    holds(&schema("command"), &begin, "a command");
    daemon.must(begin);
    let swing = Swinging {
        moment_nm: 0.25 * 9.806_65 * 0.12,
        inertia_kgm2: 0.0045,
        friction_nm: 0.006,
        release_deg: 60.0,
        zero_deg: 1.7,
        values_per_s: 100.0,
    };
    for deg in swing.values_deg(&mut Hand::new(3, 0.05)) {
        angle.send_angle(Angle::from_deg(deg).unwrap()).unwrap();
    }
    let turned = [57.199_407, 54.446_900, 51.738_348, 49.070_023];
    for (at, deg) in turned.into_iter().enumerate() {
        let reading = daemon.wait_for_kind("angle_reading");
        let side = if at % 2 == 0 { -1.0 } else { 1.0 };
        let off = reading["turning_deg"].as_f64().unwrap() - (1.7 + side * deg);
        assert!(off.abs() < 0.2, "{reading}");
    }
    assert!(angle.wait_until_read(super::support::PATIENCE));
    let state = daemon.state();
    holds(&schema("state"), &state, "the state");
    assert!(state["on_bench"]["hang"]["turns"].as_array().unwrap().len() > 10);
    daemon.must(json!({"command": "end_hang"}));
    let tested = daemon.wait_for_kind("hang_tested");
    let torque = tested["friction"]["torque_nm"].as_f64().unwrap();
    let u = tested["friction"]["uncertainty"]["expanded"]
        .as_f64()
        .unwrap();
    assert!((torque - 0.006).abs() <= u && u < 0.001, "{torque} ± {u}");
    let evidence = daemon.state();
    assert_eq!(evidence["on_bench"]["hang_tests"][0]["torque_nm"], torque);
    let feed = schema("feed");
    for object in daemon.seen() {
        holds(&feed, object, "an object of the feed");
    }
    angle.close();
}
