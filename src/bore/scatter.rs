//! How far station means scatter: what every uncertainty of a section starts from.

use super::Basis;
use super::harmonics::Harmonics;
use super::stations::Stations;
use crate::uncertainty::fisher;

/// The variance of one station mean about the fitted wall.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Scatter {
    /// mm², as the gauge shows it.
    pub variance_mm2: f64,
    /// Effective degrees of freedom.
    pub degrees: f64,
}

/// A sum of squares, mm², and its degrees of freedom.
type Squares = (f64, f64);

impl Scatter {
    /// From the residual of the fit and from repeats, pooled where they agree; where the residual
    /// is larger than repeats explain (lobes beyond the fit), from the residual alone. Without
    /// either, from the gauge's last study. The digit step counts as rectangular (JCGM 100:2008,
    /// F.2.2.1). `None` where nothing is known.
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

    /// `unexplained` picks between those of the residual
    /// and of repeats where they disagree.
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

        let (squares, degrees) = match (residual.1 > 0.0, within.1 > 0.0) {
            (true, true) => {
                let excess = (residual.0 / residual.1) / (within.0 / within.1);
                let explained = fisher(0.95, residual.1, within.1).is_none_or(|f| excess <= f);
                if explained {
                    (residual.0 + within.0, residual.1 + within.1)
                } else {
                    unexplained(residual, within)
                }
            }
            (true, false) => residual,
            (false, true) => within,
            (false, false) => {
                let study = basis.repeatability?;
                let squares = study.standard_mm.powi(2) / readings * study.degrees_of_freedom;
                (squares, study.degrees_of_freedom)
            }
        };
        let random = squares / degrees;
        let digit = basis.resolution_mm.unwrap_or(0.0).powi(2) / 12.0;
        let variance_mm2 = random + digit;
        // Welch-Satterthwaite, the digit step known for certain (JCGM 100:2008, G.4.1).
        let degrees = if random > 0.0 {
            degrees * (variance_mm2 / random).powi(2)
        } else if digit > 0.0 {
            f64::INFINITY
        } else {
            degrees
        };
        Some(Self {
            variance_mm2,
            degrees,
        })
    }
}
