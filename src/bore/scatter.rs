//! How far station means scatter: what every uncertainty of a section starts from.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::harmonics::Harmonics;
use super::stations::Stations;
use super::{Basis, InRing};
use crate::uncertainty::fisher;

/// What a section's uncertainties start from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum ScatterFrom {
    /// The section's own readings: the residual of its fit, its repeats, or both.
    Readings,
    /// The gauge's last study: the section's own readings leave no degree of freedom.
    Study,
    /// Both, pooled.
    ReadingsAndStudy,
}

/// The variance of one station mean about the fitted wall.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Scatter {
    /// mm², as the gauge shows it: of a mean of [`readings`](Self::readings), digit step included.
    pub variance_mm2: f64,
    /// Effective degrees of freedom.
    pub degrees: f64,
    /// How many readings a station has, as a harmonic mean.
    pub readings: f64,
    /// What the digit step has of the variance, mm²: no repeat makes it smaller.
    pub digit_mm2: f64,
    /// Whether readings vary so little that they share their rounding: then it averages out neither
    /// among the directions of a section nor among repeats.
    pub shares_rounding: bool,
    /// Where it comes from.
    pub from: ScatterFrom,
    /// The variance of a single reading in one direction, mm², without the digit step, and its degrees
    /// of freedom: of the gauge's study, else of the section's own readings.
    single: (f64, f64),
}

/// A sum of squares, mm², and its degrees of freedom.
type Squares = (f64, f64);

impl Scatter {
    /// From the residual of the fit and from repeats, pooled where they agree; where the residual
    /// is larger than repeats explain (lobes beyond the fit), from the residual alone. The gauge's
    /// last study joins where it has more degrees of freedom, by the rule of [`with_study`]. The
    /// digit step counts as rectangular (JCGM 100:2008, F.2.2.1); where it is not stated, the last
    /// decimal place counts where readings scatter less than that. `None` where nothing is known.
    pub(super) fn of(stations: &Stations, fit: Option<&Harmonics>, basis: &Basis) -> Option<Self> {
        Self::with(stations, fit, basis, |residual, _| residual)
    }

    /// The same for station means as measured, that no fit stands between: where the residual is
    /// larger than repeats explain, the wall is so and the means are as good as their repeats.
    pub(super) fn of_measured(
        stations: &Stations,
        fit: Option<&Harmonics>,
        basis: &Basis,
    ) -> Option<Self> {
        Self::with(stations, fit, basis, |_, within| within)
    }

    /// `unexplained` picks between those of the residual and of repeats where they disagree.
    #[expect(clippy::cast_precision_loss, reason = "counts of readings")]
    fn with(
        stations: &Stations,
        fit: Option<&Harmonics>,
        basis: &Basis,
        unexplained: fn(Squares, Squares) -> Squares,
    ) -> Option<Self> {
        let readings = stations.readings_a_station();
        let within = (
            stations.within_mm2 / readings,
            stations.within_degrees as f64,
        );
        let residual = fit.map_or((0.0, 0.0), |fit| (fit.residual_mm2, fit.degrees as f64));

        let own = match (residual.1 > 0.0, within.1 > 0.0) {
            (true, true) => {
                let excess = (residual.0 / residual.1) / (within.0 / within.1);
                let explained = fisher(0.95, residual.1, within.1).is_none_or(|f| excess <= f);
                Some(if explained {
                    (residual.0 + within.0, residual.1 + within.1)
                } else {
                    unexplained(residual, within)
                })
            }
            (true, false) => Some(residual),
            (false, true) => Some(within),
            (false, false) => None,
        };
        let span_mm = stations.largest().mean_mm - stations.smallest().mean_mm;
        let scatter = Self::of_squares(own, readings, span_mm, basis)?;
        // Where repeats show that the fit misses something of the wall, they alone show the gauge.
        let disagree = own == Some(residual) && within.1 > 0.0 && basis.repeatability.is_none();
        Some(if disagree {
            Self {
                single: (within.0 / within.1 * readings, within.1),
                ..scatter
            }
        } else {
            scatter
        })
    }

    /// What the readings in the ring bring to a diameter by their scatter: a variance, mm², and its
    /// degrees of freedom. They scatter as single readings do elsewhere; their own scatter joins or
    /// stands alone by the rule of [`with_study`].
    pub(super) fn in_ring(&self, ring: InRing) -> (f64, f64) {
        let (variance, degrees) = self.single;
        let own = (ring.squares_mm2, ring.degrees_of_freedom);
        let own = (own.1 > 0.0).then_some(own);
        let (squares, degrees) = with_study(own, Some((variance * degrees, degrees)))
            .map_or((0.0, degrees), |(squares, _)| squares);
        (ring.share * squares / degrees, degrees)
    }

    /// Of the mean of another number of readings.
    pub(super) fn of_mean_of(self, readings: f64) -> Self {
        let (random, degrees) = self.random();
        let random = random * self.readings / readings;
        Self { readings, ..self }.made_of(random, degrees)
    }

    /// What repeats make smaller: its variance, mm², and degrees of freedom.
    pub(super) fn random(self) -> (f64, f64) {
        let random = self.variance_mm2 - self.digit_mm2;
        let share = random / self.variance_mm2;
        let degrees = if share > 0.0 {
            self.degrees * share * share
        } else {
            self.degrees
        };
        (random, degrees)
    }

    /// With this much that repeats make smaller, of so many degrees of freedom.
    fn made_of(self, random: f64, degrees: f64) -> Self {
        let variance_mm2 = random + self.digit_mm2;
        // Welch-Satterthwaite, the digit step known for certain (JCGM 100:2008, G.4.1).
        let degrees = if random > 0.0 {
            degrees * (variance_mm2 / random).powi(2)
        } else if self.digit_mm2 > 0.0 {
            f64::INFINITY
        } else {
            degrees
        };
        Self {
            variance_mm2,
            degrees,
            ..self
        }
    }

    /// From a sum of squares and its degrees of freedom, on the scale of a mean of `readings`
    /// readings, with the gauge's last study and the digit step. `span_mm` is from the smallest to the
    /// largest station.
    ///
    /// Rounding errors are as good as independent where the scatter is half a step or more (from
    /// there on the mean of rounded normal values is off by less than a hundredth of a step:
    /// e^(-2π²σ²/q²)/π of step q), or where the wall itself runs through several steps. Elsewhere
    /// readings share theirs.
    pub(super) fn of_squares(
        own: Option<Squares>,
        readings: f64,
        span_mm: f64,
        basis: &Basis,
    ) -> Option<Self> {
        let study = basis.repeatability.map(|study| {
            let degrees = study.degrees_of_freedom;
            (study.standard_mm.powi(2) / readings * degrees, degrees)
        });
        let single = study.or(own)?;
        let single = (single.0 / single.1 * readings, single.1);
        let ((squares, degrees), from) = with_study(own, study)?;
        let random = squares / degrees;
        let rounded = basis.last_digit_mm.unwrap_or(0.0).powi(2) / 12.0;
        let digit = match basis.resolution_mm {
            Some(step) => step.powi(2) / 12.0,
            None if random < rounded => rounded,
            None => 0.0,
        };
        let none = Self {
            variance_mm2: 0.0,
            degrees,
            readings,
            digit_mm2: digit,
            shares_rounding: shares_rounding(random * readings, digit, span_mm),
            from,
            single,
        };
        Some(none.made_of(random, degrees))
    }
}

/// Whether readings of this variance, rounded to a step with this variance, mm², share their rounding.
fn shares_rounding(reading_mm2: f64, digit_mm2: f64, span_mm: f64) -> bool {
    let step = (12.0 * digit_mm2).sqrt();
    digit_mm2 > 0.0 && reading_mm2.sqrt() < 0.5 * step && span_mm < 1.999 * step
}

/// The `own` squares of a section, or of an insert, and those of the gauge's last `study`, on one
/// scale.
///
/// A variance pooled from a well-known process is the better estimate of what a few readings
/// scatter (JCGM 100:2008, 4.2.4), so a study of more degrees of freedom is pooled with the
/// readings, each weighed by its own (as s_p² there). Not where the readings scatter more than the
/// study explains, by a one-sided F test at 5 %, as the study was not of this part, hand or day:
/// then the readings stand alone. Readings that scatter less are luck and are pooled.
pub(crate) fn with_study(
    own: Option<Squares>,
    study: Option<Squares>,
) -> Option<(Squares, ScatterFrom)> {
    let (own, study) = match (own, study) {
        (Some(own), Some(study)) => (own, study),
        (Some(own), None) => return Some((own, ScatterFrom::Readings)),
        (None, study) => return Some((study?, ScatterFrom::Study)),
    };
    let excess = (own.0 / own.1) / (study.0 / study.1);
    let explained = fisher(0.95, own.1, study.1).is_some_and(|f| excess <= f);
    Some(if study.1 > own.1 && explained {
        let pooled = (own.0 + study.0, own.1 + study.1);
        (pooled, ScatterFrom::ReadingsAndStudy)
    } else {
        (own, ScatterFrom::Readings)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: 2 degrees of 3 µm² and 24 of 1 µm² pool to 30/26 µm², 3 being below the 3.40 of any
    /// F table (2 and 24 degrees, 5 %); 4 µm² is above it, and more degrees than the study's need
    /// no study.
    #[test]
    fn a_study_joins_where_it_knows_more_and_the_readings_do_not_contradict_it() {
        let study = Some((24.0, 24.0));
        assert_eq!(
            with_study(Some((6.0, 2.0)), study),
            Some(((30.0, 26.0), ScatterFrom::ReadingsAndStudy))
        );
        assert_eq!(
            with_study(Some((0.0, 2.0)), study),
            Some(((24.0, 26.0), ScatterFrom::ReadingsAndStudy))
        );
        for alone in [(8.0, 2.0), (24.0, 24.0)] {
            assert_eq!(
                with_study(Some(alone), study),
                Some((alone, ScatterFrom::Readings))
            );
        }
        assert_eq!(
            with_study(None, study),
            Some(((24.0, 24.0), ScatterFrom::Study))
        );
        assert_eq!(with_study(None, None), None);
    }
}
