//! What a reamer really cuts is learned from closed jobs, and told to the next plan.
use std::time::{Duration, Instant};

use borewright::gauge::simulate::Simulator;
use serde_json::{Value, json};

use super::support::{Bench, Daemon, PATIENCE};

const NOMINAL_MM: f64 = 45.985;

/// An egged bore, and what a reamer that cuts `cut_mm` leaves of it: max(r, R) of each radius, and
/// a two-point gauge adds two opposite ones.
fn egg(angle_deg: f64, cut_mm: Option<f64>) -> f64 {
    let diameter = 45.94 + 0.05 * (2.0 * (angle_deg - 125.0).to_radians()).cos();
    cut_mm.map_or(diameter, |cut| diameter.max(cut))
}

fn gauge_all(daemon: &mut Daemon, gauge: &Simulator, cut_mm: Option<f64>) {
    while let Some(angle) = daemon.state()["on_bench"]["next"]["angle_deg"].as_f64() {
        let reading = egg(angle, cut_mm);
        let sent = format!("{reading:+010.4} mm\r\n");
        gauge.send_bytes(sent.as_bytes()).unwrap();
        daemon.wait_for_kind("section");
    }
}

fn open(daemon: &mut Daemon, gauge: &Simulator, part: &str) {
    daemon.must(json!({
        "command": "open_job", "part": part, "seat": "two-by-three",
        "material": "steel", "wall_mm": 2.5,
    }));
    gauge_all(daemon, gauge, None);
}

/// A whole job, each bore reamed, the reamer cutting `cut_mm` in diameter.
fn reamed_job(daemon: &mut Daemon, gauge: &Simulator, cut_mm: f64) -> Value {
    open(daemon, gauge, "a reamed frame (invented)");
    for bore in ["left", "right"] {
        daemon.must(json!({
            "command": "choose", "bore": bore, "work": "ream", "with": "the 46",
        }));
    }
    daemon.must(json!({"command": "set_phase", "phase": "as-left"}));
    gauge_all(daemon, gauge, Some(cut_mm));
    daemon.must(json!({"command": "close_job"}));
    let news = daemon.wait_for("the record", |object| object["about"] == "record");
    let record = std::fs::read_to_string(news["file"].as_str().unwrap()).unwrap();
    serde_json::from_str(&record).unwrap()
}

fn ream_option(state: &Value) -> Value {
    let plan = &state["on_bench"]["findings"]["bores"][0]["plan"];
    let options = plan["options"].as_array().unwrap();
    let of = options.iter().find(|option| option["with"] == "the 46");
    of.unwrap_or_else(|| panic!("{plan}")).clone()
}

/// Two jobs of two bores: cuts of +4 and +8 µm. Mean +6 µm, s = √(16/3) = 2.309 µm, of the next
/// bore s √(1 + 1/4) = 2.582 µm, with t = 3.182 (3 degrees of freedom, table) ±8.2 µm.
#[test]
fn two_closed_jobs_teach_the_third_plan_also_after_a_restart() {
    let bench = Bench::new("plain-mm-stream");
    let config = std::fs::read_to_string(bench.config()).unwrap();
    let reamer = format!("\n[[workshop.reamer]]\nname = \"the 46\"\ndiameter_mm = {NOMINAL_MM}\n");
    std::fs::write(bench.config(), config + &reamer).unwrap();
    let gauge = bench.plug_in();
    let mut daemon = bench.start();
    daemon.wait_for_kind("gauge_opened");
    daemon.must(json!({
        "command": "set_ring", "gauge": "bore-gauge", "ring_mm": 46.0,
        "ring_uncertainty_mm": 0.001,
    }));
    for cut_um in [4.0, 8.0] {
        let cut_mm = cut_um / 1e3;
        let record = reamed_job(&mut daemon, &gauge, NOMINAL_MM + cut_mm);
        let learned = record["learned_cuts"].as_array().unwrap();
        assert_eq!(learned.len(), 2, "{learned:?}");
        for cut in learned {
            assert_eq!(cut["reamer"], "the 46");
            let learned = cut["cut_mm"].as_f64().unwrap();
            assert!((learned - cut_mm).abs() < 1e-4, "{cut}");
        }
    }
    open(&mut daemon, &gauge, "the third (invented)");
    let expect = |option: &Value| {
        let cut = &option["predicted"]["cut"];
        assert_eq!(cut["bores"], 4, "{option}");
        let number = |field: &Value| field.as_f64().unwrap();
        assert!((number(&cut["over_mm"]) - 0.006).abs() < 1e-4, "{cut}");
        let standard = number(&cut["uncertainty"]["standard"]);
        assert!((standard - 0.002_582).abs() < 1e-4, "{cut}");
        let said = option["reasons"].as_array().unwrap();
        // 3.182 (Student's t, 3 degrees) x 0.002 582 mm = 0.0082 mm, rounded up.
        let sentence = "it cut 0.006 mm over its name in 4 bores, ±0.009 mm in the next";
        assert!(said.iter().any(|reason| reason == sentence), "{said:?}");
    };
    expect(&ream_option(&daemon.state()));
    assert!(daemon.stop().success());

    // The records are read once the daemon is ready, so the plan follows a moment later.
    let daemon = bench.start();
    let deadline = Instant::now() + PATIENCE;
    loop {
        let option = ream_option(&daemon.state());
        if option["predicted"]["cut"]["bores"] != 0 || Instant::now() > deadline {
            expect(&option);
            break;
        }
        std::thread::sleep(Duration::from_millis(20));
    }
}
