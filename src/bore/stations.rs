//! Readings gathered by the direction they were taken in.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Contact, Error, GREATEST_MM};

/// One reading of one section.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Observation {
    /// Where the gauge pointed, degrees; any turn.
    pub angle_deg: f64,
    /// What it read, mm: a size or a deviation, by the [`Basis`](super::Basis).
    pub reading_mm: f64,
}

/// Directions closer than this are one station. It absorbs the rounding of an angle and its twin,
/// no more: angles that a person or an encoder states differently are different.
const SAME_DIRECTION_DEG: f64 = 1e-9;

/// One direction, as the contact sees it, with all its readings averaged.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Station {
    /// Direction in [0, period), degrees.
    pub angle_deg: f64,
    /// Mean of its readings, mm.
    pub mean_mm: f64,
    /// How many readings.
    pub readings: u32,
}

/// The stations of a section, in order of direction, and how far repeats scatter.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Stations {
    pub all: Vec<Station>,
    /// Readings in all.
    pub readings: usize,
    /// Sum of squared deviations of readings from their station's mean, mm².
    pub within_mm2: f64,
    /// Degrees of freedom of that sum.
    pub within_degrees: usize,
}

impl Stations {
    pub(super) fn gather(contact: Contact, observations: &[Observation]) -> Result<Self, Error> {
        if observations.is_empty() {
            return Err(Error::NoReadings);
        }
        let period = contact.period_deg();
        let mut turned = Vec::with_capacity(observations.len());
        for (index, o) in observations.iter().enumerate() {
            if !(o.angle_deg.is_finite() && o.reading_mm.is_finite()) {
                return Err(Error::NotFinite {
                    number: index + 1,
                    angle_deg: o.angle_deg,
                    reading_mm: o.reading_mm,
                });
            }
            if o.reading_mm.abs() > GREATEST_MM {
                return Err(Error::Beyond {
                    number: index + 1,
                    reading_mm: o.reading_mm,
                });
            }
            turned.push((turn_into(period, o.angle_deg), o.reading_mm));
        }
        // By value too, so that the order of arrival can't change a sum's last digit.
        turned.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));

        let mut all: Vec<Station> = Vec::new();
        let mut within_mm2 = 0.0;
        for group in turned.chunk_by(|a, b| b.0 - a.0 < SAME_DIRECTION_DEG) {
            let mean_mm = mean(group.iter().map(|&(_, reading)| reading));
            within_mm2 += group
                .iter()
                .map(|&(_, reading)| (reading - mean_mm).powi(2))
                .sum::<f64>();
            all.push(Station {
                angle_deg: group[0].0,
                mean_mm,
                readings: u32::try_from(group.len()).unwrap_or(u32::MAX),
            });
        }
        Ok(Self {
            within_degrees: turned.len() - all.len(),
            readings: turned.len(),
            within_mm2,
            all,
        })
    }

    /// The station in whose direction `angle_deg` points.
    pub(super) fn find(&self, contact: Contact, angle_deg: f64) -> Option<usize> {
        let angle = turn_into(contact.period_deg(), angle_deg);
        let after = self
            .all
            .partition_point(|station| station.angle_deg <= angle + SAME_DIRECTION_DEG);
        after.checked_sub(1).filter(|&at| {
            // A station is known by its first direction; its last lies a whisker further.
            angle - self.all[at].angle_deg < 8.0 * SAME_DIRECTION_DEG
        })
    }

    /// How many readings stand behind a station, as a harmonic mean: the variance of a station
    /// mean is on average the variance of a reading divided by this.
    #[expect(clippy::cast_precision_loss, reason = "counts of stations")]
    pub(super) fn readings_a_station(&self) -> f64 {
        self.all.len() as f64
            / self
                .all
                .iter()
                .map(|station| 1.0 / f64::from(station.readings))
                .sum::<f64>()
    }

    /// Standard deviation of single readings in the same direction, mm; `None` without repeats.
    #[expect(clippy::cast_precision_loss, reason = "counts of readings")]
    pub(super) fn repeatability_mm(&self) -> Option<f64> {
        (self.within_degrees > 0).then(|| (self.within_mm2 / self.within_degrees as f64).sqrt())
    }

    /// The widest arc without a station within the contact's period, degrees.
    pub(super) fn widest_gap_deg(&self, contact: Contact) -> f64 {
        let again = self
            .all
            .first()
            .map(|first| first.angle_deg + contact.period_deg());
        let behind = self
            .all
            .iter()
            .skip(1)
            .map(|station| station.angle_deg)
            .chain(again);
        let gaps = self
            .all
            .iter()
            .zip(behind)
            .map(|(station, next)| next - station.angle_deg);
        gaps.fold(0.0, f64::max)
    }

    pub(super) fn largest(&self) -> &Station {
        self.extreme(|a, b| a > b)
    }

    pub(super) fn smallest(&self) -> &Station {
        self.extreme(|a, b| a < b)
    }

    fn extreme(&self, beyond: impl Fn(f64, f64) -> bool) -> &Station {
        let mut best = &self.all[0];
        for station in &self.all {
            if beyond(station.mean_mm, best.mean_mm) {
                best = station;
            }
        }
        best
    }
}

/// `angle_deg` in [0, `period`).
pub(super) fn turn_into(period: f64, angle_deg: f64) -> f64 {
    let angle = angle_deg.rem_euclid(period);
    // -1e-18 turns into the period itself, and a whisker below it is direction 0.
    if period - angle < SAME_DIRECTION_DEG {
        0.0
    } else {
        angle
    }
}

/// The mean by its deviations from the first value, so that a micrometre on 46 mm keeps its digits.
#[expect(clippy::cast_precision_loss, reason = "counts of readings")]
pub(super) fn mean(values: impl Iterator<Item = f64>) -> f64 {
    let mut values = values;
    let Some(first) = values.next() else {
        return 0.0;
    };
    let (mut sum, mut count) = (0.0, 1_usize);
    for value in values {
        sum += value - first;
        count += 1;
    }
    first + sum / count as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(angle_deg: f64, reading_mm: f64) -> Observation {
        Observation {
            angle_deg,
            reading_mm,
        }
    }

    #[test]
    fn an_angle_and_its_twin_are_one_direction_and_show_the_repeatability() {
        let readings = [
            at(33.3333, 46.0),
            at(213.3333, 46.002),
            at(-146.6667, 46.004),
            at(90.0, 46.1),
        ];
        let two = Stations::gather(Contact::TwoPoint, &readings).unwrap();
        assert_eq!((two.all.len(), two.readings, two.within_degrees), (2, 4, 2));
        assert!((two.all[0].mean_mm - 46.002).abs() < 1e-12);
        assert!((two.repeatability_mm().unwrap() - 0.002).abs() < 1e-12);
        let radius = Stations::gather(Contact::Radius, &readings).unwrap();
        assert_eq!(radius.all.len(), 3);
    }

    #[test]
    fn what_is_not_finite_is_named() {
        assert_eq!(
            Stations::gather(Contact::TwoPoint, &[at(0.0, 46.0), at(90.0, f64::NAN)])
                .unwrap_err()
                .to_string(),
            "reading 2 is not finite (90°, NaN mm): gauge it again"
        );
        assert_eq!(
            Stations::gather(Contact::TwoPoint, &[]),
            Err(Error::NoReadings)
        );
    }
}
