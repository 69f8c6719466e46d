//! Gauges rocked, held still and laid aside, simulated: once for each rocking, and how far off.

use proptest::prelude::*;

use super::*;
use crate::gauge::simulate::{Hand, Rocking};

const TRUE_MM: f64 = 45.963_7;
const NONE: [f64; 0] = [];
const EVERY: Duration = Duration::from_millis(20);

/// A gauge and the time until which it has been followed.
struct Followed {
    turning: Turning<f64>,
    now: Duration,
}

impl Followed {
    fn new(step_mm: f64) -> Self {
        Self {
            turning: Turning::new(step_mm, true),
            now: Duration::ZERO,
        }
    }

    /// The readings in `values`, which come one each `every`.
    fn follow(&mut self, every: Duration, values: impl IntoIterator<Item = f64>) -> Vec<f64> {
        let mut readings = Vec::new();
        for value in values {
            self.now += every;
            readings.extend(self.turning.next(self.now, value, value));
        }
        readings
    }

    fn rock(&mut self, rocking: Rocking, seen_mm: f64, hand: &mut Hand) -> Vec<f64> {
        let values = rocking.values_mm(seen_mm, hand);
        let step = self.turning.step_mm;
        self.follow(rocking.every(), rounded(values, step))
    }

    /// A value that is held for `ms`, as if put there at once.
    fn still(&mut self, mm: f64, ms: u32) -> Vec<f64> {
        self.follow(EVERY, std::iter::repeat_n(mm, (ms / 20) as usize))
    }

    /// On the bench: out of any bore, long enough to be known for it.
    fn laid_aside(mut self) -> Self {
        assert_eq!(self.still(46.9, 2_000), NONE);
        self
    }
}

fn rounded(values: Vec<f64>, step: f64) -> impl Iterator<Item = f64> {
    values
        .into_iter()
        .map(move |value| (value / step).round() * step)
}

/// D / cos φ − D, from the geometry of a chord.
fn height_mm(tilt_deg: f64) -> f64 {
    TRUE_MM / tilt_deg.to_radians().cos() - TRUE_MM
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// Ten values a pass or more: one rocking is one reading, off by no more than four standard
    /// deviations of the noise, two steps and 2 % of the rocking's height.
    #[test]
    fn one_rocking_is_one_reading_within_its_bound(
        seed in any::<u64>(),
        values_per_s in 20.0..100.0_f64,
        share in 0.3..1.0_f64,
        tilt_deg in 2.5..6.0_f64,
        sd in 0.0..0.003_f64,
        step in prop::sample::select(vec![0.001, 0.0005, 0.0001]),
        lingers in any::<bool>(),
    ) {
        let mut hand = Hand::new(seed, sd);
        let swings_per_s = (share * values_per_s / 20.0).min(1.5);
        let rocking = Rocking {
            tilt_deg, swings_per_s, values_per_s, lingers, swings: 6, ..Rocking::default()
        };
        let readings = Followed::new(step).rock(rocking, TRUE_MM, &mut hand);
        prop_assert_eq!(readings.len(), 1);
        let bound = 4.0 * sd + 2.0 * step + 0.02 * height_mm(tilt_deg);
        let error = readings[0] - TRUE_MM;
        prop_assert!(error.abs() <= bound, "{error} beyond {bound}");
    }

    /// Five to ten values a pass, down to five a second: never twice, and off by no more than four
    /// standard deviations, two steps and 8 % of the height.
    #[test]
    fn a_slow_gauge_gives_one_reading_or_none(
        seed in any::<u64>(),
        values_per_s in 5.0..20.0_f64,
        share in 0.5..1.0_f64,
        tilt_deg in 2.5..5.0_f64,
        sd in 0.0..0.002_f64,
    ) {
        let mut hand = Hand::new(seed, sd);
        let rocking = Rocking {
            tilt_deg, values_per_s, swings_per_s: share * values_per_s / 10.0, swings: 6,
            ..Rocking::default()
        };
        let readings = Followed::new(0.001).rock(rocking, TRUE_MM, &mut hand);
        prop_assert!(readings.len() <= 1, "{readings:?}");
        let bound = 4.0 * sd + 0.002 + 0.08 * height_mm(tilt_deg);
        for reading in readings {
            prop_assert!((reading - TRUE_MM).abs() <= bound, "{reading} beyond {bound}");
        }
    }

    /// Whatever is sent, the reading is one of the values that were.
    #[test]
    fn a_reading_is_a_value_that_was_sent(
        values in prop::collection::vec(45.9..46.2_f64, 0..400), millis in 1_u64..400,
    ) {
        let every = Duration::from_millis(millis);
        let readings = Followed::new(0.001).follow(every, values.clone());
        prop_assert!(readings.iter().all(|reading| values.contains(reading)));
    }
}

/// The plain minimum of n normal values is too low by 1.87 standard deviations for n = 20 and by
/// 2.51 for n = 100 (tables of normal order statistics), so of a rocking with 3 µm of noise it is
/// several micrometres off, always to one side. What is captured is not.
#[test]
fn the_plain_minimum_is_too_low_and_the_reading_is_not() {
    let sd = 0.003;
    let (mut plain, mut captured, rockings) = (0.0, 0.0, 200_u32);
    for seed in 0..u64::from(rockings) {
        let mut hand = Hand::new(seed, sd);
        let values = Rocking::default().values_mm(TRUE_MM, &mut hand);
        plain += values.iter().copied().fold(f64::INFINITY, f64::min) - TRUE_MM;
        let step = 0.0005;
        let readings = Followed::new(step).follow(EVERY, rounded(values, step));
        assert_eq!(readings.len(), 1, "seed {seed}");
        captured += readings[0] - TRUE_MM;
    }
    let (plain, captured) = (plain / f64::from(rockings), captured / f64::from(rockings));
    assert!(plain < -1.5 * sd, "{plain}");
    assert!(captured.abs() < 0.3 * sd, "{captured}");
}

#[test]
fn station_after_station_each_rocking_counts_once() {
    let mut hand = Hand::new(46, 0.001);
    let mut gauge = Followed::new(0.001).laid_aside();
    for station in 0..24_u32 {
        let seen = 45.95 + 0.05 * (f64::from(station) * 0.8).sin();
        let readings = gauge.rock(Rocking::default(), seen, &mut hand);
        assert_eq!(readings.len(), 1, "station {station}");
        assert!((readings[0] - seen).abs() < 0.004, "station {station}");
    }
}

#[test]
fn rocking_on_and_on_stays_one_reading() {
    let mut hand = Hand::new(3, 0.002);
    let long = Rocking {
        swings: 60,
        uneven: 0.4,
        ..Rocking::default()
    };
    assert_eq!(Followed::new(0.001).rock(long, TRUE_MM, &mut hand).len(), 1);
}

#[test]
fn the_gauge_lying_on_the_bench_is_no_reading() {
    let mut gauge = Followed::new(0.001).laid_aside();
    assert_eq!(gauge.still(46.9, 60_000), NONE);
    let mut hand = Hand::new(5, 0.001);
    assert_eq!(gauge.rock(Rocking::default(), TRUE_MM, &mut hand).len(), 1);
    assert_eq!(gauge.still(46.9, 10_000), NONE, "and laid there again");
    assert_eq!(gauge.still(46.91, 10_000), NONE, "or nearly so");
}

#[test]
fn held_still_is_one_reading_until_it_has_left() {
    let mut gauge = Followed::new(0.001).laid_aside();
    assert_eq!(gauge.still(TRUE_MM, 1_400), NONE, "not yet");
    assert_eq!(gauge.still(TRUE_MM, 10_000), [TRUE_MM]);
    let mut hand = Hand::new(8, 0.0);
    let rocked = Rocking::default().values_mm(TRUE_MM, &mut hand);
    let in_the_bore = rocked.into_iter().filter(|mm| *mm < TRUE_MM + 0.2);
    assert_eq!(gauge.follow(EVERY, in_the_bore), NONE, "the same place");
    assert_eq!(gauge.still(46.9, 1_000), NONE);
    assert_eq!(gauge.still(TRUE_MM, 2_000), [TRUE_MM], "put in again");
}

#[test]
fn a_silence_ends_what_was_before() {
    let mut gauge = Followed::new(0.001).laid_aside();
    assert_eq!(gauge.still(TRUE_MM, 2_000), [TRUE_MM]);
    gauge.now += SILENCE;
    assert_eq!(gauge.still(TRUE_MM, 2_000), [TRUE_MM]);
}

#[test]
fn what_a_person_took_is_not_taken_again() {
    let mut hand = Hand::new(9, 0.001);
    let values = Rocking::default().values_mm(TRUE_MM, &mut hand);
    let (before, after) = values.split_at(values.len() / 4);
    let mut gauge = Followed::new(0.001);
    assert_eq!(gauge.follow(EVERY, before.to_vec()), NONE);
    gauge.turning.hold(TRUE_MM);
    assert_eq!(gauge.follow(EVERY, after.to_vec()), NONE);
    let again = gauge.rock(Rocking::default(), TRUE_MM, &mut hand);
    assert_eq!(again.len(), 1);
}

/// A shaken frame: one value far below all others.
#[test]
fn one_wild_value_is_not_the_turning_point() {
    for seed in 0..50 {
        let mut hand = Hand::new(seed, 0.001);
        let mut values = Rocking::default().values_mm(TRUE_MM, &mut hand);
        let wild = 60 + 2 * usize::try_from(seed).unwrap();
        values[wild] -= 0.08;
        let readings = Followed::new(0.001).follow(EVERY, rounded(values, 0.001));
        assert_eq!(readings.len(), 1, "seed {seed}");
        assert!(
            (readings[0] - TRUE_MM).abs() < 0.006,
            "seed {seed}: {readings:?}"
        );
    }
}
