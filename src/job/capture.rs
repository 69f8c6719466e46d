//! Which value of a gauge that sends by itself is the reading.
//!
//! A bore gauge that is tilted by φ spans the bore aslant and reads D / cos φ, which is never less
//! than D. While the mechanic rocks it, the value falls to D and rises again with each pass through
//! the upright position, so the least value along the axis is the size (common practice, no
//! source; the cosine is geometry). A gauge whose value is held still, such as a self-centring head,
//! is read where it stands.
//!
//! **The plain minimum is not the answer.** Of n values with noise of standard deviation s the least
//! lies about 2 s too low (the expected least of 20 normal values is −1.87 s, of 100 it is −2.51 s:
//! tables of normal order statistics), and the lower the longer one rocks; few values a pass make it
//! too high instead. A cut made to it is too small or too big by that much, always to the same side.
//! So:
//!
//! 1. *Passes.* A turn of the motion counts when the value comes back by [`Turning::swing_mm`], eight
//!    times the noise and at least 0.01 mm, so that noise makes no pass. Each pass has its own turning
//!    point: the vertex of a parabola through the values at its bottom, by least squares where there
//!    are five or more, else through the lowest and its neighbours. (Near φ = 0, 1 / cos φ is a
//!    parabola. The bottom tenth to four tenths of the height is used, where the error of that is
//!    below 1 % of the height.)
//! 2. *Agreement.* Three passes that follow each other and agree are one reading: the median of their
//!    turning points. One bad pass (a slip, a shaken frame) disagrees, and rocking on mends it.
//! 3. *A real frame.* The reading is the frame nearest to that median, so what is recorded is what the
//!    gauge sent. Where none is near enough, rocking goes on.
//! 4. *Still.* A value that stays within a few steps for [`STILL`] is a reading too. A hand that
//!    trembles by 0.1° moves a tilted gauge by micrometres and an upright one by none, so stillness
//!    speaks for the upright. Where the gauge lies when its link opens is no reading, nor is the
//!    extended end of a two-point gauge's travel: it lies on the bench.
//! 5. *Once.* After a reading the gauge must leave: further than three times the rocking (0.25 mm at
//!    least) for [`AWAY`], or come to rest elsewhere, or be silent for [`SILENCE`]. A bigger swing
//!    alone is too short for that. It is better to gauge a station once more than to fill the next
//!    one unasked.
//!
//! The noise is learned from fourth differences, in which a slow motion vanishes; below twenty values
//! a second the motion does not, and a thirty-second of the range or one step stands in for it.
//!
//! Times are handed in, there is no clock. Along a pass values are counted, not timed: the gauge's own
//! pace is steadier than the arrival of its bytes.

use std::collections::VecDeque;
use std::time::Duration;

use self::pass::Pass;
pub(super) use self::pass::turning_mm;

mod noise;
mod pass;
#[cfg(test)]
mod tests;

/// A value that stays within a few steps for this long is held still.
pub const STILL: Duration = Duration::from_millis(1_500);
/// A gauge is away once its value was far from the reading for this long.
pub const AWAY: Duration = Duration::from_millis(300);
/// After a silence as long as this, what came before is forgotten.
pub const SILENCE: Duration = Duration::from_secs(2);

/// So many passes that agree are a reading.
const PASSES: usize = 3;
/// With fewer values from one turning point to the next, the bottom is not seen.
const FEWEST_A_PASS: u64 = 5;
/// With as many, motion and noise are told apart.
const MANY_A_PASS: u64 = 10;
/// A pass lasts no longer; a gauge moved so slowly is not being rocked.
const LONGEST_PASS: Duration = Duration::from_secs(5);
/// No rocking is smaller, mm: 1.2° at 46 mm.
const LEAST_SWING_MM: f64 = 0.01;
/// The least departure, mm, that is one: 6° at 46 mm.
const LEAST_AWAY_MM: f64 = 0.25;
/// Two resting places closer than this are one, mm.
const SAME_PLACE_MM: f64 = 0.05;
/// Values that are kept at most.
const KEPT: usize = 4_096;

/// One value as it came, larger bore = more.
#[derive(Debug, Clone)]
struct Sample<F> {
    at: Duration,
    mm: f64,
    frame: F,
}

/// Finds the readings in the values of one gauge. `F` is what belongs to a value: its frame.
#[derive(Debug)]
pub struct Turning<F> {
    step_mm: f64,
    springs_out: bool,
    noise_mm: f64,
    samples: VecDeque<Sample<F>>,
    /// The number of the first of `samples`, counted since the link opened.
    first: u64,
    motion: Motion,
    passes: Vec<Pass>,
    /// The highest that the present rocking goes above its turning point, mm.
    reach_mm: f64,
    rest: Rest,
    /// Where the gauge last lay without that being a reading, and the furthest out of these.
    lay_mm: Option<f64>,
    furthest_mm: f64,
    held: Option<Held>,
}

/// Up and down, with the extremes so far.
#[derive(Debug, Clone, Copy, Default)]
struct Motion {
    rises: bool,
    counted: bool,
    peak: Extreme,
    low: Extreme,
    high: Extreme,
}

#[derive(Debug, Clone, Copy, Default)]
struct Extreme {
    number: u64,
    mm: f64,
}

/// Values within a narrow band, so far.
#[derive(Debug, Clone, Copy, Default)]
struct Rest {
    from: u64,
    since: Duration,
    least_mm: f64,
    most_mm: f64,
    told: bool,
}

/// A reading was taken here, and the gauge has not left yet.
#[derive(Debug, Clone, Copy)]
struct Held {
    mm: f64,
    away_since: Option<Duration>,
}

impl<F: Clone> Turning<F> {
    /// For a gauge whose last digit steps by `step_mm`; `springs_out`: in the air it shows the
    /// upper end of its travel, as a two-point gauge does.
    pub fn new(step_mm: f64, springs_out: bool) -> Self {
        Self {
            step_mm,
            springs_out,
            noise_mm: step_mm,
            samples: VecDeque::new(),
            first: 0,
            motion: Motion::default(),
            passes: Vec::new(),
            reach_mm: 0.0,
            rest: Rest::default(),
            lay_mm: None,
            furthest_mm: f64::NEG_INFINITY,
            held: None,
        }
    }

    /// Takes the next value, `mm` with larger bore = more, which arrived at `at` on a monotonic
    /// clock. Gives the frame that is a reading by it, which may be an earlier one.
    pub fn next(&mut self, at: Duration, mm: f64, frame: F) -> Option<F> {
        let silent = self
            .samples
            .back()
            .is_some_and(|last| at.saturating_sub(last.at) >= SILENCE);
        if silent {
            self.begin_again();
        }
        if self.samples.len() == KEPT {
            self.samples.pop_front();
            self.first += 1;
        }
        let number = self.first + self.samples.len() as u64;
        self.samples.push_back(Sample { at, mm, frame });
        if self.samples.len() == 1 {
            self.start_at(number, at, mm);
            return None;
        }
        if number.is_multiple_of(noise::EVERY) {
            self.noise_mm = noise::of(&self.samples, self.step_mm);
        }
        let passed = self.follow(Extreme { number, mm });
        let rested = self.settle(number, at, mm);
        if self.held.is_some() {
            self.leave(at, mm, rested);
            return None;
        }
        let reading = match (passed, rested) {
            (true, _) => self.agreed(),
            (false, Some(level)) => self.stood(level),
            (false, None) => None,
        }?;
        self.hold(reading.mm);
        Some(reading.frame)
    }

    /// A person took a reading at `mm`: none follows by itself until the gauge has left.
    pub fn hold(&mut self, mm: f64) {
        self.held = Some(Held {
            mm,
            away_since: None,
        });
        self.passes.clear();
    }

    /// How far the value must come back for a turn of the motion, mm.
    fn swing_mm(&self) -> f64 {
        (8.0 * self.noise_mm).max(LEAST_SWING_MM)
    }

    fn away_mm(&self) -> f64 {
        (3.0 * self.reach_mm).max(LEAST_AWAY_MM)
    }

    fn begin_again(&mut self) {
        self.first += self.samples.len() as u64;
        self.samples.clear();
        self.held = None;
    }

    fn start_at(&mut self, number: u64, at: Duration, mm: f64) {
        let here = Extreme { number, mm };
        self.motion = Motion {
            peak: here,
            low: here,
            high: here,
            ..Motion::default()
        };
        self.passes.clear();
        self.reach_mm = 0.0;
        self.rest_from(number, at, mm);
    }

    fn rest_from(&mut self, from: u64, since: Duration, mm: f64) {
        self.rest = Rest {
            from,
            since,
            least_mm: mm,
            most_mm: mm,
            told: false,
        };
    }

    /// Follows the motion; true when a pass through a turning point is complete.
    fn follow(&mut self, here: Extreme) -> bool {
        let swing = self.swing_mm();
        let motion = &mut self.motion;
        if !motion.rises {
            if here.mm > motion.peak.mm {
                motion.peak = here;
                motion.low = here;
            } else if here.mm < motion.low.mm {
                motion.low = here;
            } else if here.mm - motion.low.mm >= swing {
                motion.rises = true;
                motion.counted = false;
                motion.high = here;
            }
            return false;
        }
        if here.mm > motion.high.mm {
            motion.high = here;
        }
        let left = motion.peak.mm - motion.low.mm;
        let right = motion.high.mm - motion.low.mm;
        let turned = motion.high.mm - here.mm >= swing;
        let complete = !motion.counted && (turned || right >= 0.6 * left);
        let (from, low) = (motion.peak.number, motion.low.number);
        if complete {
            motion.counted = true;
        }
        if turned {
            motion.rises = false;
            motion.peak = motion.high;
            motion.low = here;
        }
        complete && left.min(right) >= swing && self.count(from, low, here.number, (left, right))
    }

    /// Counts the pass from number `from` through its lowest to `to`.
    fn count(&mut self, from: u64, low_number: u64, to: u64, (left, right): (f64, f64)) -> bool {
        let index = |number: u64| usize::try_from(number.saturating_sub(self.first)).unwrap_or(0);
        // Of a long way in only what is still kept is needed, the bottom.
        let (start, low, end) = (index(from.max(self.first)), index(low_number), index(to));
        let lasted = self.samples[end].at.saturating_sub(self.samples[start].at);
        // Put in anew, or not rocked at all: what was passed before does not belong to it.
        let put_in = left > self.away_mm();
        if put_in || lasted > LONGEST_PASS {
            self.passes.clear();
        }
        if !put_in && lasted > LONGEST_PASS {
            return false;
        }
        let height_mm = left.min(right);
        let values: Vec<f64> = self.samples.range(start..=end).map(|s| s.mm).collect();
        let turning_mm = pass::turning_mm(&values, low - start, height_mm, self.noise_mm);
        self.reach_mm = self.reach_mm.max(height_mm);
        self.passes.push(Pass {
            turning_mm,
            height_mm,
            from,
            low: low_number,
        });
        if self.passes.len() > PASSES {
            self.passes.remove(0);
        }
        self.passes.len() == PASSES
    }

    /// The frame that the last passes agree on.
    fn agreed(&self) -> Option<Sample<F>> {
        let (first, last) = (self.passes.first()?, self.passes.last()?);
        let values_a_pass = (last.low - first.low) / (PASSES as u64 - 1);
        if values_a_pass < FEWEST_A_PASS {
            return None;
        }
        let mut turning: Vec<f64> = self.passes.iter().map(|pass| pass.turning_mm).collect();
        turning.sort_by(f64::total_cmp);
        let (&least, &most) = (turning.first()?, turning.last()?);
        let median = turning[turning.len() / 2];
        let height = self
            .passes
            .iter()
            .map(|pass| pass.height_mm)
            .fold(0.0, f64::max);
        // Where motion passes for noise, nothing is made of it.
        let noise = match values_a_pass {
            ..MANY_A_PASS => self.noise_mm.min(0.01 * height),
            _ => self.noise_mm,
        };
        let agree = 2.0 * self.step_mm + 4.0 * noise + 0.02 * height;
        if most - least > agree {
            return None;
        }
        let from = usize::try_from(first.from.saturating_sub(self.first)).ok()?;
        let reading = nearest(self.samples.range(from..), median)?;
        let near = self.step_mm.max(noise).max(0.02 * height);
        ((reading.mm - median).abs() <= near).then(|| reading.clone())
    }

    /// Follows the stillness; the level, once, when the value has been still for long enough.
    fn settle(&mut self, number: u64, at: Duration, mm: f64) -> Option<f64> {
        let band = (8.0 * self.noise_mm).min(0.02).max(3.0 * self.step_mm);
        let rest = &mut self.rest;
        rest.least_mm = rest.least_mm.min(mm);
        rest.most_mm = rest.most_mm.max(mm);
        // A value that is a step off in its last binary digit is not off.
        if rest.most_mm - rest.least_mm > band * (1.0 + 1e-6) {
            self.rest_from(number, at, mm);
            return None;
        }
        if rest.told || at.saturating_sub(rest.since) < STILL || number - rest.from < 5 {
            return None;
        }
        rest.told = true;
        let from = usize::try_from(rest.from.saturating_sub(self.first)).unwrap_or(0);
        let mut values: Vec<f64> = self.samples.range(from..).map(|s| s.mm).collect();
        values.sort_by(f64::total_cmp);
        values.get(values.len() / 2).copied()
    }

    /// The frame of a value that is held still at `level`, unless the gauge only lies there.
    fn stood(&mut self, level: f64) -> Option<Sample<F>> {
        let lay_there = self
            .lay_mm
            .is_none_or(|lay| (level - lay).abs() <= SAME_PLACE_MM);
        let extended = self.springs_out && level >= self.furthest_mm - SAME_PLACE_MM;
        if lay_there || extended {
            self.lies_at(level);
            return None;
        }
        let from = usize::try_from(self.rest.from.saturating_sub(self.first)).unwrap_or(0);
        nearest(self.samples.range(from..), level).cloned()
    }

    fn lies_at(&mut self, level: f64) {
        self.lay_mm = Some(level);
        self.furthest_mm = self.furthest_mm.max(level);
    }

    /// Looks whether the gauge has left the place of the last reading.
    fn leave(&mut self, at: Duration, mm: f64, rested: Option<f64>) {
        let (far, reach_mm) = (self.away_mm(), self.reach_mm);
        let Some(held) = &mut self.held else { return };
        let elsewhere = |level: f64| (level - held.mm).abs() > (1.5 * reach_mm).max(SAME_PLACE_MM);
        let lies = rested.filter(|level| elsewhere(*level));
        if (mm - held.mm).abs() <= far {
            held.away_since = None;
        }
        let away = (mm - held.mm).abs() > far
            && at.saturating_sub(*held.away_since.get_or_insert(at)) >= AWAY;
        if let Some(level) = lies {
            self.lies_at(level);
        }
        if away || lies.is_some() {
            let rest = self.rest;
            self.held = None;
            self.start_at(self.first + self.samples.len() as u64 - 1, at, mm);
            self.rest = rest;
        }
    }
}

/// The value nearest to `mm`, the last of them where several are.
fn nearest<'a, F: 'a>(
    samples: impl Iterator<Item = &'a Sample<F>>,
    mm: f64,
) -> Option<&'a Sample<F>> {
    samples.fold(None, |best: Option<&Sample<F>>, sample| match best {
        Some(best) if (best.mm - mm).abs() < (sample.mm - mm).abs() => Some(best),
        _ => Some(sample),
    })
}
