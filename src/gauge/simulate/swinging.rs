//! An arm with a simulated angle gauge on it: lifted, let go, swinging out against friction.

use std::time::Duration;

use super::Hand;

/// How long the arm hangs before it is lifted and after it has come to rest, s.
const HANGS_S: f64 = 0.5;
/// How long it takes to lift it, and how long it is held there, s.
const LIFT_S: f64 = 0.6;
const HELD_S: f64 = 0.4;
/// The longest step of the integration, s.
const STEP_S: f64 = 2e-4;
/// No arm swings longer, s.
const LONGEST_S: f64 = 600.0;

/// A hung arm with Coulomb friction on its axle: I θ'' = −M sin θ − T sign(θ').
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Swinging {
    /// Greatest moment of its weight (arm level), N·m.
    pub moment_nm: f64,
    /// Moment of inertia about the axle, kg·m².
    pub inertia_kgm2: f64,
    /// Friction torque, N·m.
    pub friction_nm: f64,
    /// Where it is let go, degrees from straight down.
    pub release_deg: f64,
    /// What the gauge shows straight down, degrees.
    pub zero_deg: f64,
    /// How many values the gauge sends, a second.
    pub values_per_s: f64,
}

impl Swinging {
    /// The time between two values.
    pub fn every(&self) -> Duration {
        Duration::try_from_secs_f64(1.0 / self.values_per_s).unwrap_or(Duration::from_millis(10))
    }

    /// What the gauge shows while the arm hangs, is lifted, held, let go and swings out, degrees,
    /// evenly in time.
    pub fn values_deg(&self, hand: &mut Hand) -> Vec<f64> {
        let every = 1.0 / self.values_per_s;
        let lifted = |at: f64| match at - HANGS_S {
            before if before < 0.0 => 0.0,
            lifting if lifting < LIFT_S => {
                let way = lifting / LIFT_S;
                self.release_deg * way * way * (3.0 - 2.0 * way)
            }
            _ => self.release_deg,
        };
        let mut values = Vec::new();
        let mut at = 0.0;
        while at < HANGS_S + LIFT_S + HELD_S {
            values.push(lifted(at));
            at += every;
        }
        self.swing(every, |deg, turned| {
            if !turned {
                values.push(deg);
            }
        });
        let shown = |deg: f64| hand.reads_mm(deg + self.zero_deg);
        values.into_iter().map(shown).collect()
    }

    /// Where it turns after it was let go, degrees from straight down, sides alternating, until it
    /// stays.
    pub fn turning_deg(&self) -> Vec<f64> {
        let mut turning = vec![self.release_deg];
        self.swing(STEP_S, |deg, turned| {
            if turned {
                turning.push(deg);
            }
        });
        turning
    }

    /// Integrates the swing; tells each value that is due, and each turning point, until it stays.
    fn swing(&self, every: f64, mut tell: impl FnMut(f64, bool)) {
        let (mut angle, mut speed) = (self.release_deg.to_radians(), 0.0_f64);
        let substeps = (every / STEP_S).ceil().max(1.0);
        let step = every / substeps;
        let mut at = 0.0;
        let mut since = 0.0;
        // Its weight moves it only where it is more than the friction.
        let moves = |angle: f64| (self.moment_nm * angle.sin()).abs() > self.friction_nm;
        let mut still_s = 0.0;
        while at < LONGEST_S && still_s < HANGS_S {
            if speed == 0.0 && !moves(angle) {
                still_s += step;
            } else {
                let way = if speed == 0.0 {
                    -angle.signum()
                } else {
                    speed.signum()
                };
                let (next, fast) = self.stepped(angle, speed, way, step);
                if fast * way > 0.0 {
                    (angle, speed) = (next, fast);
                } else {
                    // The turn lies within this step: to it by the mean of a constant deceleration.
                    let share = speed / (speed - fast);
                    angle = self.stepped(angle, speed, way, step * share).0;
                    speed = 0.0;
                    tell(angle.to_degrees(), true);
                }
            }
            at += step;
            since += step;
            if since >= every * (1.0 - 1e-9) {
                since = 0.0;
                tell(angle.to_degrees(), false);
            }
        }
    }

    /// One step of the classical Runge-Kutta method of order four, the friction against `way`.
    fn stepped(&self, angle: f64, speed: f64, way: f64, step: f64) -> (f64, f64) {
        let pull = |angle: f64| {
            -(self.moment_nm * angle.sin() + self.friction_nm * way) / self.inertia_kgm2
        };
        let (k1, l1) = (speed, pull(angle));
        let (k2, l2) = (speed + step / 2.0 * l1, pull(angle + step / 2.0 * k1));
        let (k3, l3) = (speed + step / 2.0 * l2, pull(angle + step / 2.0 * k2));
        let (k4, l4) = (speed + step * l3, pull(angle + step * k3));
        (
            angle + step / 6.0 * (k1 + 2.0 * k2 + 2.0 * k3 + k4),
            speed + step / 6.0 * (l1 + 2.0 * l2 + 2.0 * l3 + l4),
        )
    }
}
