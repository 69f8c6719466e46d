//! The geometry of a bore beside numpy and scipy, in one run.
//!
//! `PYTHON=path/to/python cargo bench --bench geometry`; without a Python that has numpy and scipy
//! the yardstick is left out.

use borewright::bore::{Basis, Contact, Growing, Live, Observation, Order, section};
use borewright::uncertainty::Random;
use divan::{Bencher, black_box};

fn main() {
    let python = std::env::var("PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/reference/yardstick.py");
    match std::process::Command::new(&python).arg(script).output() {
        Ok(output) if output.status.success() => {
            println!("yardstick:\n{}", String::from_utf8_lossy(&output.stdout));
        }
        _ => println!("no yardstick: {python} has no numpy and scipy"),
    }
    divan::main();
}

/// A bore of lobes 2 and 3 with scatter, at `count` directions over a turn.
fn swept(count: u32, even: bool) -> Vec<Observation> {
    let mut random = Random::new(1);
    (0..count)
        .map(|place| {
            let jitter = if even { 0.0 } else { random.uniform() };
            let angle_deg = (f64::from(place) + jitter) * 360.0 / f64::from(count);
            let turn = angle_deg.to_radians();
            Observation {
                angle_deg,
                reading_mm: 21.0
                    + 0.004 * (2.0 * turn + 1.0).cos()
                    + 0.002 * (3.0 * turn).cos()
                    + 0.0005 * random.normal(),
            }
        })
        .collect()
}

/// The fit alone: the rows of 15 harmonics folded into R, and back substitution. The live section
/// solves after every reading, so that this is the pace of a section, not of a sum.
#[divan::bench(args = [4, 8, 30])]
fn one_more_reading_into_a_live_section(bencher: Bencher<'_, '_>, lobes: u32) {
    let readings = swept(3_600, false);
    let mut live = Live::new(Contact::TwoPoint, lobes);
    for reading in &readings {
        let _ = live.push(*reading);
    }
    let mut next = readings.iter().copied().cycle();
    bencher.bench_local(|| {
        let _ = live.push(next.next().unwrap_or(readings[0]));
        (live.mean_mm(), live.lobe(2))
    });
}

/// A section under way, planned at 3,600 directions of which `count` are gauged, as the daemon
/// keeps it. The direction 0° is still to do.
fn growing(count: u32) -> Growing {
    let plan: Vec<Observation> = swept(3_600, true)
        .into_iter()
        .map(|reading| Observation {
            // Half a turn is all that two points tell apart.
            angle_deg: reading.angle_deg / 2.0,
            ..reading
        })
        .collect();
    let mut growing = Growing::new(Contact::TwoPoint, plan.iter().map(|o| o.angle_deg));
    // Spread over the plan, however few.
    let every = (plan.len() - 1) / count as usize;
    for reading in plan[1..].iter().step_by(every) {
        let _ = growing.push(*reading);
    }
    growing
}

const FIRST: Observation = Observation {
    angle_deg: 0.0,
    reading_mm: 21.0,
};

/// A direction of the plan that was not gauged before, in front of all others.
#[divan::bench(args = [8, 360, 3_599])]
fn growing_by_a_new_direction(bencher: Bencher<'_, '_>, count: u32) {
    let growing = growing(count);
    bencher
        .with_inputs(|| growing.clone())
        .bench_local_refs(|growing| growing.push(FIRST));
}

/// A repeat, which moves the largest mean up and down.
#[divan::bench(args = [8, 360, 3_599])]
fn growing_by_a_repeat(bencher: Bencher<'_, '_>, count: u32) {
    let mut growing = growing(count);
    let mut up = false;
    bencher.bench_local(|| {
        up = !up;
        let reading_mm = if up { 22.0 } else { 20.0 };
        growing.push(Observation {
            reading_mm,
            ..FIRST
        })
    });
}

/// The numbers shown after each reading of a section under way.
#[divan::bench(args = [8, 360, 3_599])]
fn growing_numbers(bencher: Bencher<'_, '_>, count: u32) {
    let growing = growing(count);
    let basis = Basis::default();
    bencher.bench(|| growing.section(5.0, black_box(&basis)));
}

/// A whole section of 15 harmonics: stations, fit, uncertainties, out-of-round by simulation.
#[divan::bench]
fn section_of_15_harmonics_and_10_000_uneven_readings(bencher: Bencher<'_, '_>) {
    let readings = swept(10_000, false);
    let basis = Basis {
        order: Order::UpTo(30),
        ..Basis::default()
    };
    bencher.bench(|| section(Contact::TwoPoint, 5.0, black_box(&readings), &basis));
}

#[divan::bench]
fn fit_of_15_harmonics_to_10_000_uneven_points(bencher: Bencher<'_, '_>) {
    let readings = swept(10_000, false);
    let angles: Vec<f64> = readings.iter().map(|o| o.angle_deg.to_radians()).collect();
    let values: Vec<f64> = readings.iter().map(|o| o.reading_mm).collect();
    bencher.bench(|| borewright::bore::fourier(black_box(&angles), black_box(&values), 15));
}

#[divan::bench]
fn minimum_zone_of_36_000_points(bencher: Bencher<'_, '_>) {
    let points: Vec<[f64; 2]> = swept(36_000, true)
        .iter()
        .map(|o| {
            let (sine, cosine) = o.angle_deg.to_radians().sin_cos();
            [o.reading_mm * cosine, o.reading_mm * sine]
        })
        .collect();
    bencher.bench(|| borewright::bore::minimum_zone_mm(black_box(&points)));
}

/// What the bench computes after each send: a section of 8 directions, whole.
#[divan::bench]
fn section_of_8_readings(bencher: Bencher<'_, '_>) {
    let readings: Vec<Observation> = swept(16, true)
        .into_iter()
        .take(8)
        .map(|o| Observation {
            reading_mm: 2.0 * o.reading_mm,
            ..o
        })
        .collect();
    let basis = Basis::default();
    bencher.bench(|| section(Contact::TwoPoint, 5.0, black_box(&readings), &basis));
}
