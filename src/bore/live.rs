//! A section as it grows, reading by reading.

use super::harmonics::Harmonics;
use super::triangle::{Triangle, fill_row};
use super::{Contact, Error, GREATEST_MM, Observation};

/// The mean and the lobes of a section at a fixed order, kept up to date at a cost that does not
/// grow with the readings, and without allocating.
///
/// The fit is to single readings, where [`section`](super::section) fits station means: the same
/// where every direction was gauged as often. For `radius` it is the limaçon's, linear in the
/// eccentricity. Order, wild readings and undoing are the section's business when it is complete.
#[derive(Debug, Clone)]
pub struct Live {
    contact: Contact,
    pairs: usize,
    triangle: Triangle,
    /// One row of the design and its reading.
    row: Vec<f64>,
    solution: Vec<f64>,
    /// The first reading: others are taken from it, so that a micrometre keeps its digits.
    origin_mm: Option<f64>,
    readings: usize,
}

/// One lobe count of a live section.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LiveLobe {
    /// Amplitude of the wall's radius, mm.
    pub amplitude_mm: f64,
    /// First direction in [0, 360 / count), degrees, in which the bore is largest.
    pub peak_deg: f64,
}

impl Live {
    /// A section without readings, fitted with all lobe counts that the contact sees up to
    /// `highest_lobes`.
    pub fn new(contact: Contact, highest_lobes: u32) -> Self {
        let pairs = (highest_lobes / contact.step()).max(1) as usize;
        let unknowns = 1 + 2 * pairs;
        Self {
            contact,
            pairs,
            triangle: Triangle::new(unknowns),
            row: vec![0.0; unknowns + 1],
            solution: vec![0.0; unknowns],
            origin_mm: None,
            readings: 0,
        }
    }

    /// Takes one more reading.
    ///
    /// # Errors
    /// [`Error::NotFinite`], [`Error::Beyond`]; the section stays as it was.
    pub fn push(&mut self, observation: Observation) -> Result<(), Error> {
        let Observation {
            angle_deg,
            reading_mm,
        } = observation;
        if !(angle_deg.is_finite() && reading_mm.is_finite()) {
            return Err(Error::NotFinite {
                number: self.readings + 1,
                angle_deg,
                reading_mm,
            });
        }
        if reading_mm.abs() > GREATEST_MM {
            return Err(Error::Beyond {
                number: self.readings + 1,
                reading_mm,
            });
        }
        let origin = *self.origin_mm.get_or_insert(reading_mm);
        let turn = f64::from(self.contact.step()) * angle_deg.to_radians();
        fill_row(&mut self.row, 1, 0, turn, self.pairs);
        if let Some(last) = self.row.last_mut() {
            *last = reading_mm - origin;
        }
        self.triangle.absorb(&mut self.row, 1);
        self.readings += 1;
        self.solve();
        Ok(())
    }

    /// How many readings were taken.
    pub const fn readings(&self) -> usize {
        self.readings
    }

    /// The mean of what the gauge reads over a turn: a diameter, or for `radius` a radius. `None`
    /// until there are as many directions as unknowns.
    pub fn mean_mm(&self) -> Option<f64> {
        Some(self.origin_mm? + self.solution.first().filter(|m| m.is_finite())?)
    }

    /// One lobe count; `None` where it isn't fitted, or directions are too few.
    pub fn lobe(&self, count: u32) -> Option<LiveLobe> {
        let step = self.contact.step();
        if count == 0 || !count.is_multiple_of(step) {
            return None;
        }
        let at = 2 * (count / step) as usize;
        let (cosine, sine) = (self.solution.get(at - 1)?, self.solution.get(at)?);
        let amplitude_mm = cosine.hypot(*sine) / self.contact.gain(count);
        let peak_deg = (sine.atan2(*cosine).to_degrees() / f64::from(count))
            .rem_euclid(360.0 / f64::from(count));
        (amplitude_mm.is_finite() && peak_deg.is_finite()).then_some(LiveLobe {
            amplitude_mm,
            peak_deg,
        })
    }

    /// The whole series with its covariance; `None` until the directions carry it.
    pub(super) fn series(&self) -> Option<Harmonics> {
        Harmonics::of(
            &self.triangle,
            self.contact.step(),
            self.origin_mm?,
            self.readings,
        )
    }

    /// Back substitution; not a number until the directions carry every unknown.
    fn solve(&mut self) {
        let unknowns = self.solution.len();
        for row in (0..unknowns).rev() {
            let known: f64 = (row + 1..unknowns)
                .map(|column| self.triangle.at(row, column) * self.solution[column])
                .sum();
            let pivot = self.triangle.at(row, row);
            self.solution[row] = if pivot.abs() > 1e-8 {
                (self.triangle.rotated(row) - known) / pivot
            } else {
                f64::NAN
            };
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bore::{Basis, Order, section};

    /// Grown reading by reading it has the numbers of the whole section, which other tests hold
    /// against numpy.
    #[test]
    fn a_live_section_has_the_numbers_of_the_whole() {
        let readings: Vec<Observation> = (0..50)
            .map(|step| {
                let angle_deg = f64::from(step) * 7.3;
                let turn = angle_deg.to_radians();
                Observation {
                    angle_deg,
                    reading_mm: 46.0
                        + 0.04 * (2.0 * turn - 1.0).cos()
                        + 0.01 * (4.0 * turn).sin()
                        + 0.001 * f64::from(step * step % 7),
                }
            })
            .collect();
        let mut live = Live::new(Contact::TwoPoint, 4);
        for (count, reading) in readings.iter().enumerate() {
            assert_eq!(live.mean_mm().is_some(), count >= 5, "{count}");
            live.push(*reading).unwrap();
        }
        let basis = Basis {
            order: Order::UpTo(4),
            ..Basis::default()
        };
        let whole = section(Contact::TwoPoint, 0.0, &readings, &basis).unwrap();
        assert!((live.mean_mm().unwrap() - whole.mean_diameter_mm.unwrap()).abs() < 1e-12);
        for lobe in &whole.lobes {
            let found = live.lobe(lobe.count).unwrap();
            assert!((found.amplitude_mm - lobe.amplitude_mm).abs() < 1e-12);
            assert!((found.peak_deg - lobe.peak_deg.unwrap()).abs() < 1e-7);
        }
        assert_eq!(live.lobe(3), None);
        assert_eq!(live.lobe(6), None);
    }
}
