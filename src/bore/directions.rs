//! The directions of a section under way: each with the mean of its readings, and what all of them
//! together say, kept up to date at a cost that depends on the plan alone.

use super::stations::turn_into;
use super::{Contact, Observation};

/// Readings closer than this to a direction are of it: an angle and its twin, rounded.
const SAME_DIRECTION_DEG: f64 = 8e-9;

/// A direction and the mean of its readings.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Direction {
    /// In [0, period), degrees.
    angle_deg: f64,
    mean_mm: f64,
    readings: u32,
}

/// What some neighbouring directions say together; of those without a reading, nothing.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Span {
    least_mm: f64,
    most_mm: f64,
    first_deg: f64,
    last_deg: f64,
    /// The widest arc between two neighbours, degrees.
    gap_deg: f64,
}

impl Span {
    const EMPTY: Self = Self {
        least_mm: f64::INFINITY,
        most_mm: f64::NEG_INFINITY,
        first_deg: f64::INFINITY,
        last_deg: f64::NEG_INFINITY,
        gap_deg: 0.0,
    };

    const fn of(direction: &Direction) -> Self {
        if direction.readings == 0 {
            return Self::EMPTY;
        }
        Self {
            least_mm: direction.mean_mm,
            most_mm: direction.mean_mm,
            first_deg: direction.angle_deg,
            last_deg: direction.angle_deg,
            gap_deg: 0.0,
        }
    }

    /// With the directions behind it.
    fn and(self, behind: Self) -> Self {
        // Between nothing and something there is no arc: -∞ is no maximum.
        let between = behind.first_deg - self.last_deg;
        let between = if between.is_finite() { between } else { 0.0 };
        Self {
            least_mm: self.least_mm.min(behind.least_mm),
            most_mm: self.most_mm.max(behind.most_mm),
            first_deg: self.first_deg.min(behind.first_deg),
            last_deg: self.last_deg.max(behind.last_deg),
            gap_deg: self.gap_deg.max(behind.gap_deg).max(between),
        }
    }
}

/// The directions of a section, those of the plan from the beginning.
///
/// A binary tree over them holds a [`Span`] at each node, so that a reading changes one leaf and the
/// nodes above it, as many as the plan's directions can be halved. A mean that is the largest and
/// falls with a repeat costs no more than another.
#[derive(Debug, Clone)]
pub(super) struct Directions {
    contact: Contact,
    /// In order of their angles.
    all: Vec<Direction>,
    /// The root at 1, the children of a node at twice its place and behind that.
    tree: Vec<Span>,
    /// Directions with a reading.
    pub(super) gauged: usize,
    /// Readings in all.
    pub(super) readings: usize,
    /// Sum of squared deviations of readings from their direction's mean, mm².
    pub(super) within_mm2: f64,
    /// Degrees of freedom of that sum.
    pub(super) within_degrees: usize,
    /// The first reading, from which the sum of the means is taken.
    origin_mm: f64,
    sum_mm: f64,
    /// Sum of one over the readings of each direction.
    shares: f64,
}

impl Directions {
    /// Room for the `planned` directions, degrees, as the contact tells them apart.
    pub(super) fn planned(contact: Contact, planned: impl IntoIterator<Item = f64>) -> Self {
        let angles = planned.into_iter().filter(|angle| angle.is_finite());
        let mut all: Vec<Direction> = angles
            .map(|angle| Direction {
                angle_deg: turn_into(contact.period_deg(), angle),
                mean_mm: 0.0,
                readings: 0,
            })
            .collect();
        all.sort_unstable_by(|a, b| a.angle_deg.total_cmp(&b.angle_deg));
        all.dedup_by(|next, kept| next.angle_deg - kept.angle_deg < SAME_DIRECTION_DEG);
        let mut directions = Self {
            contact,
            all,
            tree: Vec::new(),
            gauged: 0,
            readings: 0,
            within_mm2: 0.0,
            within_degrees: 0,
            origin_mm: 0.0,
            sum_mm: 0.0,
            shares: 0.0,
        };
        directions.plant();
        directions
    }

    /// Takes one more reading, a finite one. One outside the plan makes room, at a cost that grows
    /// with the directions.
    pub(super) fn push(&mut self, observation: Observation) {
        let Observation {
            angle_deg,
            reading_mm,
        } = observation;
        let angle_deg = turn_into(self.contact.period_deg(), angle_deg);
        let at = self.find(angle_deg).unwrap_or_else(|| {
            let at = self.all.partition_point(|d| d.angle_deg < angle_deg);
            let fresh = Direction {
                angle_deg,
                mean_mm: 0.0,
                readings: 0,
            };
            self.all.insert(at, fresh);
            self.plant();
            at
        });
        if self.readings == 0 {
            self.origin_mm = reading_mm;
        }
        self.readings += 1;
        let direction = &mut self.all[at];
        direction.readings += 1;
        let count = f64::from(direction.readings);
        if direction.readings == 1 {
            direction.mean_mm = reading_mm;
            self.gauged += 1;
            self.sum_mm += reading_mm - self.origin_mm;
            self.shares += 1.0;
        } else {
            // Welford, Technometrics 4 (1962) 419: mean and squares kept up to date.
            let before = reading_mm - direction.mean_mm;
            direction.mean_mm += before / count;
            self.within_mm2 += before * (reading_mm - direction.mean_mm);
            self.within_degrees += 1;
            self.sum_mm += before / count;
            self.shares += 1.0 / count - 1.0 / (count - 1.0);
        }
        let mut node = self.tree.len() / 2 + at;
        self.tree[node] = Span::of(&self.all[at]);
        while node > 1 {
            node /= 2;
            self.tree[node] = self.tree[2 * node].and(self.tree[2 * node + 1]);
        }
    }

    /// The place of a direction. On an even plan it is where it is looked for first.
    fn find(&self, angle_deg: f64) -> Option<usize> {
        let is_it = |at: usize| {
            let off = angle_deg - self.all.get(at)?.angle_deg;
            (off.abs() < SAME_DIRECTION_DEG).then_some(at)
        };
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            clippy::cast_precision_loss,
            reason = "a share of the directions"
        )]
        let even = (angle_deg / self.contact.period_deg() * self.all.len() as f64).round() as usize;
        is_it(even).or_else(|| {
            let behind = self
                .all
                .partition_point(|d| d.angle_deg < angle_deg - SAME_DIRECTION_DEG);
            is_it(behind)
        })
    }

    /// The tree anew.
    fn plant(&mut self) {
        let leaves = self.all.len().next_power_of_two();
        self.tree.clear();
        self.tree.resize(2 * leaves, Span::EMPTY);
        for (leaf, direction) in self.tree[leaves..].iter_mut().zip(&self.all) {
            *leaf = Span::of(direction);
        }
        for node in (1..leaves).rev() {
            self.tree[node] = self.tree[2 * node].and(self.tree[2 * node + 1]);
        }
    }

    fn whole(&self) -> Span {
        self.tree.get(1).copied().unwrap_or(Span::EMPTY)
    }

    /// Smallest and largest mean of a direction, mm.
    pub(super) fn extremes_mm(&self) -> [f64; 2] {
        let whole = self.whole();
        [whole.least_mm, whole.most_mm]
    }

    /// The widest arc in which nothing was gauged, within the contact's period, degrees.
    pub(super) fn widest_gap_deg(&self) -> f64 {
        let whole = self.whole();
        let period = self.contact.period_deg();
        let round = period + whole.first_deg - whole.last_deg;
        whole.gap_deg.max(round.min(period))
    }

    /// The mean of the directions' means, mm.
    #[expect(clippy::cast_precision_loss, reason = "counts of directions")]
    pub(super) fn mean_mm(&self) -> f64 {
        self.origin_mm + self.sum_mm / self.gauged as f64
    }

    /// How many readings stand behind a direction, as a harmonic mean.
    #[expect(clippy::cast_precision_loss, reason = "counts of directions")]
    pub(super) fn readings_each(&self) -> f64 {
        self.gauged as f64 / self.shares
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bore::stations::Stations;

    /// In any order, with repeats and twins, planned or not, it says what the stations gathered anew
    /// say after each reading.
    #[test]
    fn directions_kept_up_to_date_are_those_gathered_anew() {
        for contact in [Contact::TwoPoint, Contact::ThreePoint, Contact::Radius] {
            let plan = (0..12).map(|step| f64::from(step) * contact.period_deg() / 12.0);
            let mut directions = Directions::planned(contact, plan.clone());
            let plan: Vec<f64> = plan.collect();
            let mut readings = Vec::new();
            for step in 0..60_u32 {
                let place = (step * 7 % 13) as usize;
                // The thirteenth is in no plan; every third is gauged from its twin.
                let angle = plan.get(place).copied().unwrap_or(17.3);
                let twin = f64::from(u8::from(step % 3 == 0)) * contact.period_deg();
                let reading = Observation {
                    angle_deg: angle - twin,
                    reading_mm: 46.0 + f64::from(step * step % 17) * 1e-3,
                };
                readings.push(reading);
                directions.push(reading);
                let anew = Stations::gather(contact, &readings).unwrap();
                assert_eq!(
                    (directions.gauged, directions.readings),
                    (anew.all.len(), anew.readings)
                );
                let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-11, "{a}, {b}");
                let [least, most] = directions.extremes_mm();
                near(least, anew.smallest().mean_mm);
                near(most, anew.largest().mean_mm);
                near(directions.readings_each(), anew.readings_a_station());
                near(directions.within_mm2, anew.within_mm2);
                assert_eq!(directions.within_degrees, anew.within_degrees);
                let means = anew.all.iter().map(|station| station.mean_mm);
                near(directions.mean_mm(), super::super::stations::mean(means));
                near(directions.widest_gap_deg(), anew.widest_gap_deg(contact));
            }
        }
    }
}
