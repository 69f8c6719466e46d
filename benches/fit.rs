//! How long a whole fit with diagnosis and plan takes: 2 bores x 3 sections x 72 stations must be
//! answered in under 2 ms to be shown live.

use borewright::bore::{Basis, Bore, Contact, Observation, Setting, bore, section};
use borewright::fit::plan::{Compound, Reamer, Shop};
use borewright::fit::{Bearing, Insert, Known, Material, examine};
use borewright::job::{Seat, Seats};

fn main() {
    divan::main();
}

fn bores() -> Vec<Bore> {
    let basis = Basis {
        resolution_mm: Some(0.001),
        setting: Some(Setting {
            by_ring: true,
            standard_mm: 0.001,
            degrees_of_freedom: f64::INFINITY,
            ..Setting::default()
        }),
        ..Basis::default()
    };
    ["drive side", "non-drive side"]
        .into_iter()
        .map(|name| {
            let sections = [1.5, 3.5, 5.5]
                .into_iter()
                .filter_map(|depth| {
                    let readings: Vec<Observation> = (0..72_u32)
                        .map(|at| f64::from(at) * 2.5)
                        .map(|angle_deg| Observation {
                            angle_deg,
                            reading_mm: 41.96
                                + 0.02 * (2.0 * angle_deg.to_radians()).cos()
                                + 0.001 * (97.0 * angle_deg.to_radians()).sin(),
                        })
                        .collect();
                    section(Contact::TwoPoint, depth, &readings, &basis).ok()
                })
                .collect();
            bore(name, sections)
        })
        .collect()
}

fn seat() -> Seat {
    match Seats::built_in().get("pressfit-42") {
        Some(seat) => seat.clone(),
        None => std::process::abort(),
    }
}

fn known() -> Known {
    let reamer = |diameter_mm: f64| Reamer {
        name: format!("{diameter_mm} reamer"),
        diameter_mm,
        greatest_stock_mm: 0.2,
        past_cuts_mm: vec![0.001, 0.003],
    };
    Known {
        insert: "30x42x7"
            .parse()
            .ok()
            .and_then(|size| Insert::of_bearing(Bearing::normal(size)).ok()),
        material: Some(Material::Aluminium),
        wall_mm: Some(2.5),
        yield_mpa: Some(276.0),
        shop: Shop {
            reamers: [41.97, 41.98, 41.99, 42.02].map(reamer).to_vec(),
            compounds: vec![Compound {
                name: "compound".to_owned(),
                least_gap_mm: 0.02,
                greatest_gap_mm: 0.15,
            }],
            ..Shop::default()
        },
        ..Known::default()
    }
}

/// Fit, diagnosis, plan with four reamers and checklist, of bores already computed.
#[divan::bench]
fn fit_and_plan(bencher: divan::Bencher) {
    let (bores, seat, known) = (bores(), seat(), known());
    bencher.bench(|| examine(&seat, Contact::TwoPoint, &bores, &known));
}

/// The sections themselves, for comparison: 432 readings.
#[divan::bench]
fn sections() -> Vec<Bore> {
    bores()
}
