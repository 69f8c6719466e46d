//! How a hand rocks a gauge, as the values that the gauge shows meanwhile.

use std::f64::consts::PI;
use std::time::Duration;

use super::Hand;

/// A gauge put into a bore, rocked through the turning point, and taken out again.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rocking {
    /// What the gauge shows in the air, at the end of its travel, mm.
    pub free_mm: f64,
    /// How far it is tilted to either side, degrees.
    pub tilt_deg: f64,
    /// How often it goes there and back, a second.
    pub swings_per_s: f64,
    /// How often it goes there and back in all; each passes the turning point twice.
    pub swings: u32,
    /// How many values the gauge sends, a second.
    pub values_per_s: f64,
    /// How much one swing differs from the next in width and time, as a fraction.
    pub uneven: f64,
    /// Whether the hand slows down to a stop when the gauge is upright.
    pub lingers: bool,
}

impl Default for Rocking {
    /// For a bore of 46 mm: ±4°, three swings in four seconds, 50 values a second, a fifth uneven.
    fn default() -> Self {
        Self {
            free_mm: 46.9,
            tilt_deg: 4.0,
            swings_per_s: 0.75,
            swings: 3,
            values_per_s: 50.0,
            uneven: 0.2,
            lingers: false,
        }
    }
}

/// How long it is out of the bore first, s.
const OUT_S: f64 = 0.8;
/// How long it takes to put it in, and to take it out, s.
const MOVE_S: f64 = 0.3;

impl Rocking {
    /// The time between two values.
    pub fn every(&self) -> Duration {
        Duration::try_from_secs_f64(1.0 / self.values_per_s).unwrap_or(Duration::from_millis(20))
    }

    /// What the gauge shows from the air into a wall that is `seen_mm` wide, through all swings, and
    /// out again, mm, evenly in time. A gauge that is tilted by φ spans `seen_mm` / cos φ.
    pub fn values_mm(&self, seen_mm: f64, hand: &mut Hand) -> Vec<f64> {
        let tilted = |tilt: f64| seen_mm / tilt.cos();
        // Straight lines in the air, half waves in the bore: from, to, for how long.
        let mut tilt = self.tilt_deg.to_radians() * hand.uneven(self.uneven);
        let mut legs = vec![
            Leg::Air(self.free_mm, self.free_mm, OUT_S),
            Leg::Air(self.free_mm, tilted(tilt), MOVE_S),
        ];
        for _ in 0..2 * self.swings {
            let next = -tilt.signum() * self.tilt_deg.to_radians() * hand.uneven(self.uneven);
            let takes_s = hand.uneven(self.uneven) / (2.0 * self.swings_per_s);
            legs.push(Leg::Rocked(tilt, next, takes_s));
            tilt = next;
        }
        legs.push(Leg::Air(tilted(tilt), self.free_mm, MOVE_S));
        legs.push(Leg::Air(self.free_mm, self.free_mm, OUT_S));
        let mut values = Vec::new();
        let mut into_s = hand.uneven(1.0) / (2.0 * self.values_per_s);
        for leg in legs {
            while into_s < leg.takes_s() {
                let share = into_s / leg.takes_s();
                let mm = match leg {
                    Leg::Air(from, to, _) => from + (to - from) * share,
                    Leg::Rocked(from, to, _) => {
                        let middle = share - 0.5;
                        let share = if self.lingers {
                            0.5 + 4.0 * middle.powi(3)
                        } else {
                            share
                        };
                        tilted((from + to) / 2.0 + (from - to) / 2.0 * (PI * share).cos())
                    }
                };
                values.push(hand.reads_mm(mm));
                into_s += 1.0 / self.values_per_s;
            }
            into_s -= leg.takes_s();
        }
        values
    }
}

#[derive(Debug, Clone, Copy)]
enum Leg {
    Air(f64, f64, f64),
    Rocked(f64, f64, f64),
}

impl Leg {
    const fn takes_s(self) -> f64 {
        match self {
            Self::Air(_, _, takes_s) | Self::Rocked(_, _, takes_s) => takes_s,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: 46 / cos 4° = 46.1123, and no value in the bore is less than 46.
    #[test]
    fn a_tilted_gauge_shows_more_and_never_less() {
        let rocking = Rocking {
            uneven: 0.0,
            values_per_s: 1_000.0,
            ..Rocking::default()
        };
        let values = rocking.values_mm(46.0, &mut Hand::new(1, 0.0));
        let least = values.iter().copied().fold(f64::INFINITY, f64::min);
        assert!((0.0..1e-4).contains(&(least - 46.0)), "{least}");
        let turns = values
            .windows(3)
            .filter(|v| v[1] < v[0] && v[1] <= v[2] && v[1] < 46.01)
            .count();
        assert_eq!(turns, 6, "each swing passes the upright twice");
        let widest = values[1_300..4_900].iter().copied().fold(0.0, f64::max);
        assert!((widest - 46.1123).abs() < 1e-4, "{widest}");
    }
}
