//! The turning points of an arm that swings, in the angles of a gauge that sends by itself.
//!
//! A turn counts once the angle has come back from its extreme by a tenth of the stroke, and by
//! [`LEAST_BACK_DEG`]. The turning point is the vertex of a parabola through the values at its top, as
//! for a rocked gauge (`capture/pass.rs`): near its turning point a swing is a parabola. Values are
//! counted, not timed. With seven values from one turning point to the next or more the vertex is
//! within 0.1 % of the swing (by computation, cos x); with fewer none is given.

use super::capture::turning_mm;

/// A turn must come back by so much, degrees, so that a trembling hand makes none (judgement).
const LEAST_BACK_DEG: f64 = 1.0;
/// With fewer values from one turning point to the next, the top is not seen.
const FEWEST: usize = 7;
/// The turns of lifting and letting go.
const BY_HAND: u64 = 2;
/// Values that are kept at most.
const KEPT: usize = 4_096;

/// Finds the turning points in the angles of one gauge. `F` is what belongs to a value: its frame.
#[derive(Debug)]
pub struct Swings<F> {
    step_deg: f64,
    /// Whether a sign tells the sides apart; else every second turning point is straight down.
    signed: bool,
    /// Since the last turning point.
    values: Vec<(f64, F)>,
    /// Which of `values` is furthest out so far, upwards and downwards.
    most: usize,
    least: usize,
    rises: Option<bool>,
    /// The last turning point.
    from_deg: Option<f64>,
    /// How many turns are behind.
    turns: u64,
}

impl<F: Clone> Swings<F> {
    /// For a gauge whose last digit steps by `step_deg`; `signed`: it tells the sides apart.
    pub const fn new(step_deg: f64, signed: bool) -> Self {
        Self {
            step_deg,
            signed,
            values: Vec::new(),
            most: 0,
            least: 0,
            rises: None,
            from_deg: None,
            turns: 0,
        }
    }

    /// Takes the next angle. Gives a turning point, degrees, with the frame at its top. The first two
    /// are where the hand lifts the arm and where it lets go, and are not given.
    pub fn next(&mut self, deg: f64, frame: F) -> Option<(f64, F)> {
        if self.values.len() == KEPT {
            self.forget();
        }
        self.values.push((deg, frame));
        let here = self.values.len() - 1;
        let at = |index: usize| self.values[index].0;
        if deg > at(self.most) {
            self.most = here;
        }
        if deg < at(self.least) {
            self.least = here;
        }
        let (rises, extreme) = match self.rises {
            Some(true) => (true, self.most),
            Some(false) => (false, self.least),
            // The way that it goes first is the way that it has come furthest.
            None if here - self.most >= here - self.least => (true, self.most),
            None => (false, self.least),
        };
        let top = at(extreme);
        let stroke = self.from_deg.map_or(0.0, |from| (top - from).abs());
        let back = (0.1 * stroke).max(LEAST_BACK_DEG).max(4.0 * self.step_deg);
        if (deg - top).abs() < back {
            return None;
        }
        let up = if rises { -1.0 } else { 1.0 };
        let values: Vec<f64> = self.values.iter().map(|(deg, _)| up * deg).collect();
        let turning = up * turning_mm(&values, extreme, back, self.step_deg);
        self.turns += 1;
        let seen = self.turns > BY_HAND && extreme >= FEWEST && (self.signed || rises);
        let frame = self.values[extreme].1.clone();
        self.values.drain(..extreme);
        self.rises = Some(!rises);
        self.from_deg = Some(turning);
        self.most = 0;
        self.least = 0;
        for index in 1..self.values.len() {
            if self.values[index].0 > self.values[self.most].0 {
                self.most = index;
            }
            if self.values[index].0 < self.values[self.least].0 {
                self.least = index;
            }
        }
        seen.then_some((turning, frame))
    }

    fn forget(&mut self) {
        self.values.clear();
        (self.most, self.least) = (0, 0);
        self.rises = None;
    }
}
