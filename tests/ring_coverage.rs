//! Does the stated 95 % interval of a mean diameter hold the truth where the reading in the setting ring
//! scatters like every other, and how often does a bore beyond its limit conform?
#![allow(clippy::unwrap_used, reason = "a test says what failed by failing")]

use borewright::bore::{
    Basis, Contact, InRing, Observation, Repeatability, Section, Setting, bore, section,
};
use borewright::job::{Decision, SeatBore, Seats, Verdict};
use borewright::uncertainty::study::deviation;
use borewright::uncertainty::{Estimate, Random};

const BORES: u64 = 3_000;

/// What is known of the gauge beside the section's readings.
#[derive(Debug, Clone, Copy)]
struct Case {
    directions: u32,
    /// Readings in the ring.
    in_ring: u32,
    /// Readings of the gauge's study.
    study: Option<u32>,
}

/// A mean and its interval against the truth.
#[derive(Debug, Default)]
struct Tally {
    section: u32,
    bore: u32,
    conforms: u32,
}

const SCATTER_MM: f64 = 0.002;
/// Expanded, k = 2.
const RING_MM: f64 = 0.0005;
const DEPTHS: [f64; 2] = [3.0, 9.0];

fn one(seed: u64, case: Case, seat: &SeatBore, tally: &mut Tally) {
    let mut random = Random::new(seed);
    // On the limit, where the rule allows one wrong verdict in twenty.
    let truth = seat.upper_mm;
    let mut scattered =
        |count: u32| -> Vec<f64> { (0..count).map(|_| SCATTER_MM * random.normal()).collect() };
    let (shown_mm, spread) = deviation(&scattered(case.in_ring));
    let study = case.study.map(|count| Repeatability {
        standard_mm: deviation(&scattered(count)).1,
        degrees_of_freedom: f64::from(count - 1),
    });
    let degrees = f64::from(case.in_ring - 1);
    let basis = Basis {
        repeatability: study,
        setting: Some(Setting {
            by_ring: true,
            standard_mm: RING_MM / 2.0,
            in_ring: Some(InRing {
                share: 1.0 / f64::from(case.in_ring),
                squares_mm2: degrees * spread.powi(2),
                degrees_of_freedom: degrees,
            }),
            ..Setting::default()
        }),
        ..Basis::default()
    };
    // The ring is not what its certificate says, and the gauge is set by what it showed there.
    let off = RING_MM / 2.0 * random.normal() - shown_mm;
    let turn = std::f64::consts::TAU * random.uniform();
    let sections: Vec<Section> = DEPTHS
        .iter()
        .map(|&depth| {
            let readings: Vec<Observation> = (0..case.directions)
                .map(|place| {
                    let angle_deg = f64::from(place) * 120.0 / f64::from(case.directions);
                    let lobes = 0.003 * (3.0 * angle_deg.to_radians() - turn).cos();
                    Observation {
                        angle_deg,
                        reading_mm: truth + lobes + off + SCATTER_MM * random.normal(),
                    }
                })
                .collect();
            // No range is simulated for it, and means are alike for every contact.
            section(Contact::ThreePoint, depth, &readings, &basis).unwrap()
        })
        .collect();
    let holds = |mean_mm: f64, known: &Estimate| (mean_mm - truth).abs() <= known.expanded;
    let first = &sections[0];
    let mean_mm = first.mean_diameter_mm.unwrap();
    tally.section += u32::from(holds(mean_mm, &first.uncertainty["mean_diameter_mm"]));
    let verdict = Verdict::of(first, seat).size;
    tally.conforms += u32::from(verdict.decision == Decision::Conforms);
    let numbers = bore("a", sections).numbers;
    let mean_mm = numbers.mean_diameter_mm.unwrap();
    tally.bore += u32::from(holds(mean_mm, &numbers.uncertainty["mean_diameter_mm"]));
}

#[test]
fn the_scatter_of_the_reading_in_the_ring_is_in_every_size() {
    let seats = Seats::built_in();
    let seat = &seats.get("pressfit-46").unwrap().bores[0];
    for (directions, in_ring, study) in [
        (6, 1, None),
        (12, 1, None),
        (12, 3, None),
        (8, 12, None),
        (6, 1, Some(25)),
        (12, 2, Some(25)),
    ] {
        let case = Case {
            directions,
            in_ring,
            study,
        };
        let mut tally = Tally::default();
        for seed in 0..BORES {
            one(seed, case, seat, &mut tally);
        }
        let share = |count: u32| f64::from(count) / BORES as f64;
        let (section, bore) = (share(tally.section), share(tally.bore));
        let conforms = share(tally.conforms);
        println!(
            "{case:?}: section {:.1} %, bore {:.1} %, beyond the limit and conforms {:.1} %",
            100.0 * section,
            100.0 * bore,
            100.0 * conforms
        );
        assert!((0.93..=0.975).contains(&section), "{case:?}: {section}");
        // Of a bore's sections the one whose scatter is largest says what the ring brings.
        assert!(bore >= 0.93, "{case:?}: {bore}");
        assert!(conforms <= 0.06, "{case:?}: {conforms}");
    }
}
