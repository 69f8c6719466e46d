//! Least-squares Fourier series on directions that need not be evenly spread.
//!
//! One QR decomposition of the largest series that the directions allow holds every smaller one:
//! the leading block of R, and the squares of Qᵀy beyond it as the residual. So choosing the order
//! costs nothing beyond the first fit. Normal equations would square the condition number.

use nalgebra::{DMatrix, DVector};

use super::Order;
use super::triangle::{BLOCK, Triangle, fill_block};
use crate::uncertainty::fisher;

/// Above this condition number of the design nothing is fitted.
const REFUSED_CONDITION: f64 = 1e8;
/// Lobes beyond the first are taken only while the condition number stays below this.
const CHOSEN_CONDITION: f64 = 1e4;
/// The highest lobe count that is looked for.
const HIGHEST_LOBES: u32 = 30;
/// A lobe is kept where chance would show one as large once in a hundred sections.
const CHANCE: f64 = 0.01;

/// The coefficients of a Fourier series of 1 to `harmonics` undulations fitted by least squares to
/// `values` at `angles` (radians): the mean, then cosine and sine of each. `None` where the angles
/// don't carry it, or the two differ in length.
pub fn fourier(angles: &[f64], values: &[f64], harmonics: u32) -> Option<Vec<f64>> {
    if angles.len() != values.len() {
        return None;
    }
    let data = Data {
        angles,
        values,
        step: 1,
        always: harmonics as usize,
        within: (0.0, 0),
    };
    let fit = Harmonics::fit(&data, Order::UpTo(harmonics))?;
    Some(fit.coefficients.as_slice().to_vec())
}

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
        let triangle = decompose(data, limit, shift);
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
                let pair =
                    triangle.rotated(2 * pairs - 1).powi(2) + triangle.rotated(2 * pairs).powi(2);
                let degrees = (stations - 1 - 2 * pairs + within_degrees) as f64;
                let variance =
                    (triangle.beyond(1 + 2 * pairs) + within_mm2).max(rounding) / degrees;
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

        Self::solve(&triangle, data.step, pairs, shift, stations, condition)
    }

    /// The series whose decomposition holds no more than it, of `values` values from which `shift`
    /// was taken; `None` where the directions can't carry it.
    pub(super) fn of(triangle: &Triangle, step: u32, shift: f64, values: usize) -> Option<Self> {
        let pairs = triangle.unknowns() / 2;
        let condition = condition_of(triangle, pairs);
        if values < triangle.unknowns() || condition > REFUSED_CONDITION {
            return None;
        }
        Self::solve(triangle, step, pairs, shift, values, condition)
    }

    fn solve(
        triangle: &Triangle,
        step: u32,
        pairs: usize,
        shift: f64,
        values: usize,
        condition: f64,
    ) -> Option<Self> {
        let unknowns = 1 + 2 * pairs;
        let leading = leading(triangle, unknowns);
        let mut coefficients = DVector::from_fn(unknowns, |row, _| triangle.rotated(row));
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
                .map(|pair| step * u32::try_from(pair).unwrap_or(u32::MAX))
                .collect(),
            coefficients,
            inverse: &root * root.transpose(),
            residual_mm2: triangle.beyond(unknowns),
            degrees: values - unknowns,
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

/// R and Qᵀy of the series with `pairs` lobe counts, `shift` taken from the values.
fn decompose(data: &Data<'_>, pairs: usize, shift: f64) -> Triangle {
    let unknowns = 1 + 2 * pairs;
    let mut triangle = Triangle::new(unknowns);
    let mut block = vec![0.0; (unknowns + 1) * BLOCK];
    for (angles, values) in data.angles.chunks(BLOCK).zip(data.values.chunks(BLOCK)) {
        let count = values.len();
        let block = &mut block[..(unknowns + 1) * count];
        let mut turns = [0.0; BLOCK];
        for (turn, angle) in turns.iter_mut().zip(angles) {
            *turn = f64::from(data.step) * angle;
        }
        let (design, last) = block.split_at_mut(unknowns * count);
        fill_block(design, &turns[..count], pairs);
        for (place, value) in last.iter_mut().zip(values) {
            *place = value - shift;
        }
        triangle.absorb(block, count);
    }
    triangle
}

/// The leading block of R.
fn leading(triangle: &Triangle, unknowns: usize) -> DMatrix<f64> {
    DMatrix::from_fn(unknowns, unknowns, |row, column| {
        if row <= column {
            triangle.at(row, column)
        } else {
            0.0
        }
    })
}

/// Condition number of the design with `pairs` lobe counts: that of R's leading block.
fn condition_of(triangle: &Triangle, pairs: usize) -> f64 {
    let values = leading(triangle, 1 + 2 * pairs).singular_values();
    let (least, most) = (values.min(), values.max());
    if least > 0.0 {
        most / least
    } else {
        f64::INFINITY
    }
}
