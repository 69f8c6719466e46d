//! Least-squares Fourier series on directions that need not be evenly spread.
//!
//! One QR decomposition of the largest series that the directions allow holds every smaller one:
//! the leading block of R, and the squares of Qᵀy beyond it as the residual. So choosing the order
//! costs nothing beyond the first fit. Normal equations would square the condition number.

use nalgebra::{DMatrix, DVector};

use super::Order;
use crate::uncertainty::fisher;

/// Above this condition number of the design nothing is fitted.
const REFUSED_CONDITION: f64 = 1e8;
/// Lobes beyond the first are taken only while the condition number stays below this.
const CHOSEN_CONDITION: f64 = 1e4;
/// The highest lobe count that is looked for.
const HIGHEST_LOBES: u32 = 30;
/// A lobe is kept where chance would show one as large once in a hundred sections.
const CHANCE: f64 = 0.01;

/// What is to be fitted.
pub(super) struct Data<'a> {
    /// Directions, radians.
    pub angles: &'a [f64],
    /// Values, mm.
    pub values: &'a [f64],
    /// The lobe counts are multiples of this.
    pub step: u32,
    /// How many lobe counts are always in the series.
    pub always: usize,
    /// Scatter of repeats: sum of squares on the scale of one value, and its degrees of freedom.
    pub within: (f64, usize),
}

/// A fitted series: `coefficients` are the mean, then cosine and sine of each of `counts`.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Harmonics {
    pub counts: Vec<u32>,
    pub coefficients: DVector<f64>,
    /// (XᵀX)⁻¹: the covariance of the coefficients for values of unit variance.
    pub inverse: DMatrix<f64>,
    /// Sum of squared residuals, mm².
    pub residual_mm2: f64,
    /// Values minus coefficients.
    pub degrees: usize,
    /// Condition number of the design.
    pub condition: f64,
}

impl Harmonics {
    /// Fits `data`; `None` where the directions can't carry even the series that is always fitted.
    #[expect(clippy::cast_precision_loss, reason = "counts of stations")]
    pub(super) fn fit(data: &Data<'_>, order: Order) -> Option<Self> {
        let stations = data.values.len();
        let least = 1 + 2 * data.always;
        if stations < least {
            return None;
        }
        let limit = match order {
            // A third of the directions is left to the residual, one at least.
            Order::Chosen => {
                let spent = stations - (stations / 3).max(1);
                let most = spent.saturating_sub(1) / 2;
                most.min((HIGHEST_LOBES / data.step) as usize)
            }
            Order::UpTo(lobes) => ((stations - 1) / 2).min((lobes / data.step) as usize),
        }
        .max(data.always);

        let shift = super::stations::mean(data.values.iter().copied());
        let (triangle, rotated) = decompose(data, limit, shift);

        let mut pairs = limit;
        let mut condition = condition_of(&triangle, pairs);
        while pairs > data.always && condition > CHOSEN_CONDITION {
            pairs -= 1;
            condition = condition_of(&triangle, pairs);
        }
        if condition > REFUSED_CONDITION {
            return None;
        }
        if order == Order::Chosen {
            let tried = pairs;
            let (within_mm2, within_degrees) = data.within;
            // Below this a sum of squares is the rounding of the values themselves.
            let rounding = (8.0 * f64::EPSILON * (shift.abs() + 1e-9)).powi(2) * stations as f64;
            while pairs > data.always {
                let beyond: f64 = rotated.iter().skip(1 + 2 * pairs).map(|z| z * z).sum();
                let pair = rotated[2 * pairs - 1].powi(2) + rotated[2 * pairs].powi(2);
                let degrees = (stations - 1 - 2 * pairs + within_degrees) as f64;
                let variance = (beyond + within_mm2).max(rounding) / degrees;
                let level = 1.0 - CHANCE / (tried - data.always) as f64;
                let shown =
                    fisher(level, 2.0, degrees).is_some_and(|bound| pair / 2.0 > bound * variance);
                if shown && pair > 4.0 * rounding {
                    break;
                }
                pairs -= 1;
            }
            condition = condition_of(&triangle, pairs);
        }

        let unknowns = 1 + 2 * pairs;
        let leading = triangle.view((0, 0), (unknowns, unknowns)).into_owned();
        let mut coefficients = rotated.rows(0, unknowns).into_owned();
        if !leading.solve_upper_triangular_mut(&mut coefficients) {
            return None;
        }
        coefficients[0] += shift;
        let mut root = DMatrix::identity(unknowns, unknowns);
        if !leading.solve_upper_triangular_mut(&mut root) {
            return None;
        }
        Some(Self {
            counts: (1..=pairs)
                .map(|pair| data.step * u32::try_from(pair).unwrap_or(u32::MAX))
                .collect(),
            coefficients,
            inverse: &root * root.transpose(),
            residual_mm2: rotated.iter().skip(unknowns).map(|z| z * z).sum(),
            degrees: stations - unknowns,
            condition,
        })
    }

    /// The row of the design at `angle`, radians.
    pub(super) fn row(&self, angle: f64) -> DVector<f64> {
        let mut row = DVector::zeros(self.coefficients.len());
        row[0] = 1.0;
        for (at, &count) in self.counts.iter().enumerate() {
            let (sine, cosine) = (f64::from(count) * angle).sin_cos();
            row[1 + 2 * at] = cosine;
            row[2 + 2 * at] = sine;
        }
        row
    }

    /// The index of the cosine of `count` among the coefficients.
    pub(super) fn place(&self, count: u32) -> Option<usize> {
        self.counts
            .iter()
            .position(|&c| c == count)
            .map(|at| 1 + 2 * at)
    }
}

/// R and Qᵀy of the series with `pairs` lobe counts.
fn decompose(data: &Data<'_>, pairs: usize, shift: f64) -> (DMatrix<f64>, DVector<f64>) {
    let unknowns = 1 + 2 * pairs;
    let mut design = DMatrix::zeros(data.values.len(), unknowns);
    for (row, &angle) in data.angles.iter().enumerate() {
        design[(row, 0)] = 1.0;
        for pair in 1..=pairs {
            #[expect(clippy::cast_precision_loss, reason = "at most 30 lobes")]
            let turn = (data.step as usize * pair) as f64 * angle;
            let (sine, cosine) = turn.sin_cos();
            design[(row, 2 * pair - 1)] = cosine;
            design[(row, 2 * pair)] = sine;
        }
    }
    let mut rotated = DVector::from_iterator(
        data.values.len(),
        data.values.iter().map(|value| value - shift),
    );
    let qr = design.qr();
    qr.q_tr_mul(&mut rotated);
    (qr.unpack_r(), rotated)
}

/// Condition number of the design with `pairs` lobe counts: that of R's leading block.
fn condition_of(triangle: &DMatrix<f64>, pairs: usize) -> f64 {
    let unknowns = 1 + 2 * pairs;
    let values = triangle
        .view((0, 0), (unknowns, unknowns))
        .into_owned()
        .singular_values();
    let (least, most) = (values.min(), values.max());
    if least > 0.0 {
        most / least
    } else {
        f64::INFINITY
    }
}
