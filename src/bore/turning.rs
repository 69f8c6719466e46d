//! The turning point: what a gauge reads where the rocking hand turns round.
//!
//! A gauge that stands askew in a bore reads too much. So the mechanic rocks it along the axis, and
//! the smallest value shown is the diameter. Where the gauge sends a stream, this finds that value
//! without a button: it waits for several minima in a row that agree, each smoothed by a parabola
//! (the smallest sample would be too small by its own noise), and gives their mean.

use std::collections::VecDeque;

use nalgebra::{DMatrix, DVector};

/// Samples kept; at 100 Hz forty seconds of one slow swing.
const MOST_SAMPLES: usize = 4096;

/// When minima count, and when they agree.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rocking {
    /// How far the value must rise above a minimum before it counts as one, mm: more than noise.
    pub swing_mm: f64,
    /// How far the minima may differ, mm.
    pub agree_mm: f64,
    /// How many minima in a row must agree.
    pub turns: usize,
    /// After a capture the value must rise this far above it before the next can begin, mm: the
    /// gauge is tilted far over or taken out. So one station gives one reading.
    pub rearm_mm: f64,
}

impl Rocking {
    /// For a gauge of this digit step, mm: minima five steps deep, three that agree within two and
    /// a half steps; far over is half a millimetre.
    pub fn of_resolution(step_mm: f64) -> Self {
        Self {
            swing_mm: (5.0 * step_mm).max(0.005),
            agree_mm: (2.5 * step_mm).max(0.0025),
            turns: 3,
            rearm_mm: 0.5,
        }
    }
}

/// A reading that rocking gave.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Captured {
    /// The mean of the minima, mm.
    pub reading_mm: f64,
    /// Largest minus smallest of them, mm.
    pub spread_mm: f64,
    /// When the last of them was passed, seconds on the caller's clock.
    pub at_s: f64,
}

/// Follows a stream of values; see the module.
#[derive(Debug, Clone)]
pub struct TurningPoint {
    rocking: Rocking,
    /// Samples since the last maximum: time and value.
    swing: VecDeque<(f64, f64)>,
    /// The least value of the swing.
    least: f64,
    /// The greatest value since the last minimum was counted; `None` while falling.
    rising: Option<f64>,
    minima: VecDeque<f64>,
    /// The value captured last, until the gauge was tilted far over.
    held: Option<f64>,
}

impl TurningPoint {
    /// Begins to follow.
    pub const fn new(rocking: Rocking) -> Self {
        Self {
            rocking,
            swing: VecDeque::new(),
            least: f64::INFINITY,
            rising: None,
            minima: VecDeque::new(),
            held: None,
        }
    }

    /// Takes one value at its time, seconds on any clock that only runs forwards. What is not
    /// finite is passed over.
    pub fn push(&mut self, at_s: f64, value_mm: f64) -> Option<Captured> {
        if !(at_s.is_finite() && value_mm.is_finite()) {
            return None;
        }
        if let Some(held) = self.held {
            if value_mm - held < self.rocking.rearm_mm {
                return None;
            }
            *self = Self::new(self.rocking);
        }
        if let Some(most) = self.rising {
            // Up from a minimum that was counted: wait for the next way down.
            self.rising = Some(most.max(value_mm));
            if most - value_mm < self.rocking.swing_mm {
                return None;
            }
            self.rising = None;
            self.swing.clear();
            self.least = f64::INFINITY;
        }
        if self.swing.len() == MOST_SAMPLES {
            self.swing.pop_front();
        }
        self.swing.push_back((at_s, value_mm));
        self.least = self.least.min(value_mm);
        if value_mm - self.least < self.rocking.swing_mm {
            return None;
        }
        self.rising = Some(value_mm);
        let first = self.swing.front().map_or(value_mm, |first| first.1);
        // A minimum has both its sides: began high, fell, and rose again.
        if first - self.least < self.rocking.swing_mm {
            return None;
        }
        let (minimum, when) = self.vertex()?;
        self.count(minimum, when)
    }

    fn count(&mut self, minimum: f64, at_s: f64) -> Option<Captured> {
        self.minima.push_back(minimum);
        if self.minima.len() > self.rocking.turns {
            self.minima.pop_front();
        }
        let least = self.minima.iter().copied().fold(f64::INFINITY, f64::min);
        let most = self
            .minima
            .iter()
            .copied()
            .fold(f64::NEG_INFINITY, f64::max);
        let spread_mm = most - least;
        if self.minima.len() < self.rocking.turns || spread_mm > self.rocking.agree_mm {
            return None;
        }
        let reading_mm = super::stations::mean(self.minima.iter().copied());
        self.held = Some(reading_mm);
        Some(Captured {
            reading_mm,
            spread_mm,
            at_s,
        })
    }

    /// The bottom of a least-squares parabola through the samples of this swing's lower half, or
    /// the lowest three where a slow stream gives fewer.
    fn vertex(&self) -> Option<(f64, f64)> {
        let deepest = self
            .swing
            .iter()
            .map(|sample| sample.1)
            .fold(f64::NEG_INFINITY, f64::max)
            - self.least;
        let place = self
            .swing
            .iter()
            .position(|sample| sample.1 <= self.least)?;
        let near = |index: usize| self.swing[index].1 - self.least <= deepest / 2.0;
        let (mut from, mut to) = (place, place);
        while from > 0 && near(from - 1) {
            from -= 1;
        }
        while to + 1 < self.swing.len() && near(to + 1) {
            to += 1;
        }
        while to - from < 2 && (from > 0 || to + 1 < self.swing.len()) {
            from = from.saturating_sub(1);
            to = (to + 1).min(self.swing.len() - 1);
        }
        let count = to - from + 1;
        let origin = self.swing[place].0;
        let design = DMatrix::from_fn(count, 3, |row, power| {
            let time = self.swing[from + row].0 - origin;
            match power {
                0 => 1.0,
                1 => time,
                _ => time * time,
            }
        });
        let mut values = DVector::from_fn(count, |row, _| self.swing[from + row].1 - self.least);
        if count < 3 {
            return None;
        }
        let qr = design.qr();
        qr.q_tr_mul(&mut values);
        let mut parabola = values.rows(0, 3).into_owned();
        if !qr.unpack_r().solve_upper_triangular_mut(&mut parabola) || parabola[2] <= 0.0 {
            return None;
        }
        let turn = -parabola[1] / (2.0 * parabola[2]);
        let depth = parabola[1] * turn / 2.0;
        Some((self.least + parabola[0] + depth, origin + turn))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::uncertainty::Random;

    /// A 46 mm bore, the gauge rocked by 3° about twice in three seconds: a gauge at a tilt φ spans
    /// D / cos φ.
    fn rocked(hertz: f64, seconds: f64, noise_mm: f64, step_mm: f64, seed: u64) -> Vec<(f64, f64)> {
        let mut random = Random::new(seed);
        let start = random.uniform();
        (0..)
            .map(|sample| f64::from(sample) / hertz)
            .take_while(|time| *time < seconds)
            .map(|time| {
                let tilt = 3.0_f64.to_radians() * (4.2 * (time + start)).sin();
                let value = 46.0 / tilt.cos() + noise_mm * random.normal();
                (time, (value / step_mm).round() * step_mm)
            })
            .collect()
    }

    #[test]
    fn rocking_gives_the_diameter_without_a_button() {
        for (hertz, within) in [(5.0, 0.006), (10.0, 0.003), (30.0, 0.0015), (100.0, 0.0015)] {
            for seed in 0..20 {
                let mut capture = TurningPoint::new(Rocking::of_resolution(0.001));
                let found: Vec<Captured> = rocked(hertz, 20.0, 0.001, 0.001, seed)
                    .into_iter()
                    .filter_map(|(at, value)| capture.push(at, value))
                    .collect();
                let [one] = found.as_slice() else {
                    panic!("{} captures at {hertz} Hz, seed {seed}", found.len());
                };
                assert!(
                    (one.reading_mm - 46.0).abs() < within,
                    "{} at {hertz} Hz",
                    one.reading_mm
                );
            }
        }
    }

    /// One station, one reading, until the gauge is tilted far over; then the next.
    #[test]
    fn the_next_reading_waits_for_the_gauge_to_be_moved() {
        let mut capture = TurningPoint::new(Rocking::of_resolution(0.001));
        let mut found = Vec::new();
        for turn in 0..3 {
            for (at, value) in rocked(50.0, 15.0, 0.0005, 0.001, turn) {
                found.extend(capture.push(at, value));
            }
            assert_eq!(found.len() as u64, turn + 1);
            assert_eq!(capture.push(100.0, 47.0), None);
        }
    }

    #[test]
    fn a_gauge_at_rest_or_one_that_only_drifts_gives_no_reading() {
        let mut random = Random::new(3);
        let mut capture = TurningPoint::new(Rocking::of_resolution(0.001));
        for sample in 0..5000 {
            let drift = f64::from(sample) * 1e-6;
            let value = 46.0 + drift + 0.0005 * random.normal();
            assert_eq!(capture.push(f64::from(sample) / 50.0, value), None);
        }
    }

    /// A garbled value far too low spoils the minimum that it falls into, and none of it is taken
    /// into the reading.
    #[test]
    fn a_wild_value_is_no_turning_point() {
        let mut stream = rocked(50.0, 20.0, 0.0005, 0.001, 9);
        stream[60].1 = 45.2;
        stream[61].1 = f64::NAN;
        let mut capture = TurningPoint::new(Rocking::of_resolution(0.001));
        let found: Vec<Captured> = stream
            .into_iter()
            .filter_map(|(at, value)| capture.push(at, value))
            .collect();
        assert_eq!(found.len(), 1);
        assert!((found[0].reading_mm - 46.0).abs() < 0.0015);
    }
}
