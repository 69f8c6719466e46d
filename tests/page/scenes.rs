//! States of the bench as `GET /state` gives them, for looking at the page without a daemon: an
//! invented cargo tricycle whose drive side is egged.

use serde_json::{Value, json};

/// A bore as it truly is: mean diameter, oval size, direction of the long axis.
#[derive(Clone, Copy)]
struct Truth(f64, f64, f64);

impl Truth {
    fn diameter(self, deg: f64) -> f64 {
        let exact = self.0 + self.1 / 2.0 * (2.0 * (deg - self.2)).to_radians().cos();
        (exact * 1000.0).round() / 1000.0
    }
}

const DEPTHS: [f64; 3] = [3.0, 8.0, 13.0];
const ANGLES: u32 = 8;
fn now() -> String {
    jiff::Timestamp::now().to_string()
}

fn seat() -> Value {
    let bore = |name: &str| {
        json!({
            "name": name, "nominal_mm": 46.0, "lower_mm": 45.95, "upper_mm": 45.99,
            "target_mm": 45.97, "out_of_round_limit_mm": 0.03, "depths_mm": DEPTHS
        })
    };
    json!({
        "name": "pressfit-46", "title": "Press-fit shell, 46 mm", "source": "common practice",
        "landmark": "seat tube", "belongs_within_mm": 2.0, "angles": ANGLES,
        "bore": [bore("drive side"), bore("non-drive side")]
    })
}

fn angle(index: u32) -> f64 {
    180.0 / f64::from(ANGLES) * f64::from(index)
}

fn section(bore: &str, depth: f64, phase: &str, truth: Truth, done: u32) -> Value {
    let values: Vec<f64> = (0..done).map(|i| truth.diameter(angle(i))).collect();
    let largest = values.iter().copied().fold(f64::MIN, f64::max);
    let smallest = values.iter().copied().fold(f64::MAX, f64::min);
    let enough = done >= 3;
    let withheld = if enough {
        json!([])
    } else {
        json!([{"field": "oval", "why": format!("Needs 3 directions, has {done}.")}])
    };
    let uncertainty = if enough {
        json!({
            "mean_diameter_mm": {"standard": 0.0012, "expanded": 0.0024, "coverage_factor": 2.0, "degrees_of_freedom": 30.0},
            "out_of_round_mm": {"standard": 0.0015, "expanded": 0.003, "coverage_factor": 2.0, "degrees_of_freedom": 30.0}
        })
    } else {
        json!({})
    };
    json!({
        "schema": "borewright.feed/1", "kind": "section", "seq": 40, "at": now(),
        "bore": bore, "depth_mm": depth, "phase": phase, "size_set": true, "contact": "two-point",
        "readings": done, "stations": done,
        "mean_diameter_mm": if enough { truth.0 } else { values.iter().sum::<f64>() / f64::from(done) },
        "largest_mm": largest, "smallest_mm": smallest,
        "out_of_round_mm": if done > 1 { json!(largest - smallest) } else { Value::Null },
        "oval": if enough { json!({"size_mm": truth.1, "long_axis_deg": truth.2, "tight_axis_deg": (truth.2 + 90.0) % 180.0}) } else { Value::Null },
        "lobes": if enough { json!([{"count": 2, "amplitude_mm": truth.1 / 4.0, "peak_deg": truth.2}, {"count": 4, "amplitude_mm": 0.0005, "peak_deg": 20.0}]) } else { json!([]) },
        "unseen_lobes": "odd", "uncertainty": uncertainty, "withheld": withheld
    })
}

const EGGED: [Truth; 3] = [
    Truth(45.921, 0.112, 125.0),
    Truth(45.934, 0.088, 123.0),
    Truth(45.958, 0.041, 121.0),
];
const FAIR: [Truth; 3] = [
    Truth(45.966, 0.012, 40.0),
    Truth(45.968, 0.010, 44.0),
    Truth(45.971, 0.008, 47.0),
];

fn truth(bore: usize, depth: usize) -> Truth {
    if bore == 0 { EGGED[depth] } else { FAIR[depth] }
}

/// The job with its first `done` stations gauged.
pub(crate) fn gauging(done: usize, phase: &str) -> Value {
    let found = phase == "as-found";
    let of = |bore, depth| {
        if found {
            truth(bore, depth)
        } else {
            Truth(45.969, 0.009, 100.0)
        }
    };
    let (mut stations, mut sections) = (Vec::new(), Vec::new());
    let mut next = Value::Null;
    let mut last = Value::Null;
    for (b, bore) in ["drive side", "non-drive side"].iter().enumerate() {
        for (d, depth) in DEPTHS.iter().enumerate() {
            let mut here = 0;
            for i in 0..ANGLES {
                let index = stations.len();
                let place = json!({"bore": bore, "depth_mm": depth, "angle_deg": angle(i)});
                let mut station = place.clone();
                let value = of(b, d).diameter(angle(i));
                if index < done {
                    here += 1;
                    station["status"] = json!("measured");
                    station["readings"] = json!(1);
                    station["value_mm"] = json!(value);
                    last = reading(index, value, place);
                } else {
                    if index == done {
                        next = place;
                    }
                    station["status"] = json!("to_do");
                    station["readings"] = json!(0);
                    station["value_mm"] = Value::Null;
                }
                stations.push(station);
            }
            if !found {
                sections.push(section(bore, *depth, "as-found", truth(b, d), ANGLES));
            }
            if here > 0 {
                sections.push(section(bore, *depth, phase, of(b, d), here));
            }
        }
    }
    let mut state = empty();
    let job = "0195923d-7d15-7000-8000-000000000001";
    last["phase"] = json!(phase);
    last["job"] = json!(job);
    state["last_reading"] = if done > 0 { last } else { Value::Null };
    state["seq"] = json!(10 + done);
    state["on_bench"] = json!({
        "job": job, "part": "Cargo tricycle, shop 12",
        "phase": phase, "opened_at": now(), "seat": seat(), "plan": "seat", "next": next,
        "stations": stations, "sections": sections,
        "bores": [{"kind": "bore", "bore": "drive side", "phase": "as-found",
                   "mean_diameter_mm": 45.938, "taper_mm_per_mm": 0.0037, "withheld": []}]
    });
    state
}

fn reading(index: usize, value: f64, station: Value) -> Value {
    json!({
        "schema": "borewright.feed/1", "kind": "reading", "seq": 10 + index, "at": now(), "job": Value::Null,
        "phase": Value::Null, "gauge": "bore-gauge", "raw": format!("+{value:.3} mm"), "raw_hex": "2b",
        "value_mm": value, "corrected_mm": value, "size_set": true, "deviation_mm": Value::Null,
        "station": station
    })
}

/// A fresh bench: no job, a gauge that listens.
pub(crate) fn empty() -> Value {
    json!({
        "schema": "borewright.feed/1", "kind": "state", "seq": 3, "on_bench": null,
        "open_jobs": [],
        "gauges": [{"name": "bore-gauge", "role": "bore", "port": "/dev/ttyUSB0", "connected": true,
                    "why": null, "last_reading_at": now(), "size_set": true, "noise": 0}],
        "last_reading": null,
        "seats": [{"name": "pressfit-46", "title": "Press-fit shell, 46 mm"},
                  {"name": "headtube-ec34", "title": "Head tube EC34, cups outside"}],
        "version": "0.1.0"
    })
}

/// No job on the bench, two put aside, one reading taken outside any job.
pub(crate) fn start() -> Value {
    let mut state = empty();
    state["open_jobs"] = json!([
        {"job": "0195923d-7d15-7000-8000-000000000002", "part": "Blue tandem, rear shell", "phase": "as-left"},
        {"job": "0195923d-7d15-7000-8000-000000000003", "part": "Hub of the hire fleet 7", "phase": "as-found"}
    ]);
    state["last_reading"] = reading(0, 45.963, Value::Null);
    state
}

/// A reading that cannot belong.
pub(crate) fn refused() -> Value {
    let mut state = gauging(12, "as-found");
    state["last_reading"] = json!({
        "schema": "borewright.feed/1", "kind": "reading_refused", "seq": 60, "at": now(), "job": null,
        "phase": null, "gauge": "bore-gauge", "raw": "+12.305 mm", "raw_hex": "2b", "value_mm": 12.305,
        "station": null,
        "why": "12.305 mm is more than 2 mm from the nominal 46 mm: rock the gauge to the turning point and send again."
    });
    state
}

/// The gauge's cable is out.
pub(crate) fn unplugged() -> Value {
    let mut state = gauging(13, "as-found");
    state["gauges"][0]["connected"] = json!(false);
    state["gauges"][0]["noise"] = json!(4);
    state["gauges"][0]["why"] =
        json!("/dev/ttyUSB0 is gone: check the cable; it is opened again as soon as it is back.");
    state
}

/// A comparator that was never set in a ring: differences only.
pub(crate) fn not_set() -> Value {
    let mut state = gauging(7, "as-found");
    let bench = &mut state["on_bench"];
    for station in bench["stations"].as_array_mut().unwrap() {
        if let Some(value) = station["value_mm"].as_f64() {
            station["value_mm"] = json!(value - 46.0);
        }
    }
    let section = &mut bench["sections"][0];
    section["size_set"] = json!(false);
    for field in ["mean_diameter_mm", "largest_mm", "smallest_mm"] {
        section[field] = Value::Null;
    }
    section["withheld"] = json!([
        {"field": "mean_diameter_mm", "why": "The gauge was not set in a ring."},
        {"field": "largest_mm", "why": "The gauge was not set in a ring."},
        {"field": "smallest_mm", "why": "The gauge was not set in a ring."}
    ]);
    state["gauges"][0]["size_set"] = json!(false);
    let last = &mut state["last_reading"];
    last["deviation_mm"] = json!(-0.046);
    last["value_mm"] = json!(0.046);
    last["corrected_mm"] = Value::Null;
    last["size_set"] = json!(false);
    last["raw"] = json!("+0.046");
    state
}

/// Words as long as people make them.
pub(crate) fn long_words() -> Value {
    let mut state = gauging(20, "as-left");
    let part =
        "Grandmother’s Donaudampfschifffahrtstandem, second owner, frame number 00471199, green";
    state["on_bench"]["part"] = json!(part);
    state["on_bench"]["seat"]["landmark"] = json!("left chainstay bridge");
    state["gauges"] = json!([
        {"name": "bore-gauge-at-the-window", "role": "bore", "port": "x", "connected": true, "why": null,
         "last_reading_at": now(), "size_set": false, "noise": 17},
        {"name": "outside-micrometer", "role": "insert", "port": "y", "connected": false,
         "why": "permission denied on /dev/ttyACM0: add the user to group dialout, then log in again",
         "last_reading_at": null, "size_set": true, "noise": 0}
    ]);
    state
}
