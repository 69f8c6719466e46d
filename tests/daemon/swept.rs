//! An indicator swept from an axis, on a real pseudo-terminal: the bench and `profile` say the same
//! of the same readings, since each is the other's check.
use std::process::Command;

use borewright::bore::Contact;
use borewright::gauge::simulate::Bore;
use borewright::units::Length;
use serde_json::{Value, json};

use super::main_job::open_job;
use super::support::Bench;

/// A dial that reads less where the bore is larger, zeroed in the ring.
const DEVIATIONS: &str = r#"
name = "swept"
summary = "deviation of the radius, sign reversed (invented)"
contact = "radius"
sends = "deviation"
bigger_bore_reads = "less"
resolution = 0.0001
capture = "each"
layout = [ { sign = "always" }, { digits = [1, 3], decimals = [4, 4] } ]
"#;

/// The same, sending radii.
const RADII: &str = r#"
name = "swept"
summary = "radius (invented)"
contact = "radius"
resolution = 0.0001
capture = "each"
layout = [ { sign = "always" }, { digits = [1, 3], decimals = [4, 4] } ]
"#;

const RING_MM: f64 = 46.0;

/// An oval, a little taper, a little too large.
fn wall() -> Bore {
    Bore {
        mean_mm: 46.0137,
        oval_mm: 0.031,
        long_axis_deg: 35.0,
        taper_mm_per_mm: 0.0004,
        ..Bore::default()
    }
}

fn profile(file: &std::path::Path, arguments: &[&str]) -> Value {
    let run = Command::new(env!("CARGO_BIN_EXE_borewright"))
        .args(["profile", "--json", "--contact", "radius"])
        .args(arguments)
        .arg(file)
        .output()
        .unwrap();
    assert!(
        run.status.success(),
        "{}",
        String::from_utf8_lossy(&run.stderr)
    );
    serde_json::from_slice(&run.stdout).unwrap()
}

/// The numbers at `paths` of both are equal to within `mm`.
fn agree(bench: &Value, file: &Value, mm: f64, paths: &[&str]) {
    for path in paths {
        let number = |of: &Value| of.pointer(path).and_then(Value::as_f64);
        let (Some(a), Some(b)) = (number(bench), number(file)) else {
            panic!("{path}: {bench:#} {file:#}")
        };
        assert!(
            (a - b).abs() < mm,
            "{path}: {a} at the bench, {b} of the file"
        );
    }
}

/// With the temperatures of part and ring, °C, where they are noted.
fn swept_job_agrees_with_its_file(
    description: &str,
    shown_mm: f64,
    temperatures: Option<(f64, f64)>,
    of_file: &[&str],
) {
    let bench = Bench::with_gauge("swept", description);
    let gauge = bench.plug_in();
    let mut daemon = bench.start();
    daemon.wait_for_kind("gauge_opened");
    daemon.must(json!({
        "command": "set_ring", "gauge": "bore-gauge", "ring_mm": RING_MM, "shown_mm": shown_mm,
        "ring_uncertainty_mm": 0.0016,
    }));
    let mut job = open_job();
    job["material"] = "aluminium".into();
    daemon.must(job);
    if let Some((part_c, ring_c)) = temperatures {
        daemon.must(json!({
            "command": "set_temperature", "part_c": part_c, "ring_c": ring_c, "within_k": 0.5,
        }));
    }
    let mut csv = "bore,depth_mm,angle_deg,reading_mm\n".to_owned();
    let mut next = daemon.state()["on_bench"]["next"].clone();
    while next.is_object() {
        let place = |field: &str| next[field].as_f64().unwrap();
        let (depth, angle) = (place("depth_mm"), place("angle_deg"));
        let seen = wall().seen_mm(Contact::Radius, depth, angle);
        let ring = Length::from_mm(RING_MM).unwrap();
        let shown = gauge.form().shown(Length::from_mm(seen).unwrap(), ring);
        gauge.send_value(shown.unwrap()).unwrap();
        let event = daemon.wait_for_kind("reading");
        assert_eq!(event["contact"], "radius");
        // To the second digit: the ring's temperature and its offset are not in it yet.
        let corrected = event["corrected_mm"].as_f64().unwrap();
        assert!((corrected - 2.0 * seen).abs() < 0.02, "{corrected}");
        let bore = next["bore"].as_str().unwrap();
        // A file has no sign of its own.
        let stated = event["deviation_mm"]
            .as_f64()
            .or(event["value_mm"].as_f64());
        csv += &format!("{bore},{depth},{angle},{}\n", stated.unwrap());
        next = daemon.wait_for("progress", |object| object["kind"] == "job")["next"].clone();
    }
    daemon.must(json!({"command": "close_job"}));
    let news = daemon.wait_for("the record", |object| object["about"] == "record");
    let record = std::fs::read_to_string(news["file"].as_str().unwrap()).unwrap();
    let record: Value = serde_json::from_str(&record).unwrap();
    assert!(daemon.stop().success());

    let file = bench.folder.path().join("readings.csv");
    std::fs::write(&file, csv).unwrap();
    let shown = format!("{shown_mm}");
    let mut arguments = vec![
        "--ring",
        "46",
        "--ring-uncertainty",
        "0.0016",
        "--resolution",
    ];
    arguments.extend(["0.0001", "--ring-shown", &shown]);
    let temperature;
    if let Some((part_c, ring_c)) = temperatures {
        temperature = format!("--temperature={part_c},{ring_c}");
        arguments.extend([&temperature, "--temperature-uncertainty=0.5"]);
        arguments.extend(["--material", "aluminium"]);
    }
    arguments.extend(of_file);
    let profiled = profile(&file, &arguments);

    // What was exported is radii by the ring, at 20 °C: the same bore, without a ring of its own.
    let table = bench.folder.path().join("exported.csv");
    let exported = Command::new(env!("CARGO_BIN_EXE_borewright"))
        .arg("export")
        .arg("--csv")
        .arg(&table)
        .arg("--data")
        .arg(bench.data())
        .status();
    assert!(exported.unwrap().success());
    let exported = profile(&table, &[]);

    for (at, bore) in profiled["bores"].as_array().unwrap().iter().enumerate() {
        for (depth, section) in bore["sections"].as_array().unwrap().iter().enumerate() {
            let recorded = &record["phases"][0]["sections"][3 * at + depth];
            assert_eq!(recorded["depth_mm"], section["depth_mm"]);
            assert_eq!(recorded["size_set"], true);
            let form = [
                "/mean_diameter_mm",
                "/oval/size_mm",
                "/oval/long_axis_deg",
                "/lobes/0/amplitude_mm",
                "/roundness/least_squares/radius_mm",
                "/roundness/minimum_zone/zone_mm",
            ];
            agree(recorded, section, 1e-9, &form);
            let known = [
                "/uncertainty/mean_diameter_mm/standard",
                "/uncertainty/mean_diameter_mm/expanded",
                "/uncertainty/oval.size_mm/standard",
            ];
            // A temperature's share is taken at the bore by the one, at the ring by the other.
            let to = if temperatures.is_some() { 1e-6 } else { 1e-9 };
            agree(recorded, section, to, &known);
            let again = &exported["bores"][at]["sections"][depth];
            // The table rounds to a picometre.
            agree(
                recorded,
                again,
                1e-8,
                &["/mean_diameter_mm", "/oval/size_mm"],
            );
            // The wall itself, by ISO 1 to the micrometre of the digit step.
            let depth_mm = section["depth_mm"].as_f64().unwrap();
            let offset = if shown_mm > 1.0 {
                shown_mm - 23.0
            } else {
                -shown_mm
            };
            let warm = 46.0137 + 0.0004 * depth_mm - 46.0 - 2.0 * offset;
            let (part_c, ring_c) = temperatures.unwrap_or((20.0, 20.0));
            let ring_warm = 46.0 * (1.0 + 11.5e-6 * (ring_c - 20.0));
            let expected = (ring_warm + warm) / (1.0 + 23.6e-6 * (part_c - 20.0));
            let mean = recorded["mean_diameter_mm"].as_f64().unwrap();
            assert!((mean - expected).abs() < 1e-4, "{mean}, {expected}");
        }
    }
}

#[test]
fn a_swept_dial_gives_the_diameters_that_profile_gives() {
    swept_job_agrees_with_its_file(DEVIATIONS, 0.0, None, &["--deviations-from", "23"]);
}

#[test]
fn a_swept_gauge_that_sends_radii_gives_the_diameters_that_profile_gives() {
    swept_job_agrees_with_its_file(RADII, 23.0012, Some((24.0, 22.0)), &[]);
}
