//! One more reading into a live section allocates nothing, however many there are. A test of its
//! own, since the counting allocator is the whole program's.
#![allow(clippy::unwrap_used, reason = "a test says what failed by failing")]

use std::alloc::System;

use borewright::bore::{Basis, Contact, Growing, Live, Observation};
use stats_alloc::{INSTRUMENTED_SYSTEM, Region, StatsAlloc};

#[global_allocator]
static COUNTING: &StatsAlloc<System> = &INSTRUMENTED_SYSTEM;

/// Allocations while a section of 3,600 readings grows.
fn allocations(contact: Contact, lobes: u32) -> usize {
    let mut live = Live::new(contact, lobes);
    let before = Region::new(COUNTING);
    let mut sum = 0.0;
    for step in 0..3_600_u32 {
        let angle_deg = f64::from(step) * 0.1;
        let reading_mm = 46.0 + 0.04 * (2.0 * angle_deg.to_radians()).cos();
        live.push(Observation {
            angle_deg,
            reading_mm,
        })
        .unwrap();
        sum += live.mean_mm().unwrap_or(0.0) + live.lobe(6).map_or(0.0, |l| l.amplitude_mm);
    }
    let change = before.change();
    assert!(sum > 46.0 && live.readings() == 3_600);
    change.allocations + change.reallocations
}

/// The same of the section under way that the bench keeps, with its stations: all directions of a
/// plan, and then as many from their twins.
fn allocations_of_growing(contact: Contact) -> usize {
    let step = contact.period_deg() / 1_800.0;
    let angles = |turn: f64| (0..1_800_u32).map(move |at| (f64::from(at) + turn) * step);
    let mut growing = Growing::new(contact, angles(0.0));
    let before = Region::new(COUNTING);
    for angle_deg in angles(0.0).chain(angles(1_800.0)) {
        let reading_mm = 46.0 + 0.04 * (2.0 * angle_deg.to_radians()).cos();
        growing
            .push(Observation {
                angle_deg,
                reading_mm,
            })
            .unwrap();
    }
    let change = before.change();
    let section = growing.section(8.0, &Basis::default()).unwrap();
    assert_eq!((section.readings, section.stations), (3_600, 1_800));
    change.allocations + change.reallocations
}

#[test]
fn a_reading_into_a_section_of_thousands_allocates_nothing() {
    for (contact, lobes) in [
        (Contact::TwoPoint, 8),
        (Contact::ThreePoint, 15),
        (Contact::Radius, 15),
    ] {
        // The test's own runner may allocate beside it; it does not do so every time.
        let least = (0..5).map(|_| allocations(contact, lobes)).min();
        assert_eq!(least, Some(0), "{contact}");
        let least = (0..5).map(|_| allocations_of_growing(contact)).min();
        assert_eq!(least, Some(0), "{contact}, under way");
    }
    // The counting itself: a vector is seen.
    let before = Region::new(COUNTING);
    let held = std::hint::black_box(vec![1.0_f64; 100]);
    assert!(before.change().allocations >= 1, "{}", held.len());
}
