//! The fitted wall of a section, at any angle.

use nalgebra::{DMatrix, DVector};

/// The wall's deviation from its mean radius as a sum of lobes, with their covariance.
#[derive(Debug, Clone, PartialEq)]
pub struct Shape {
    counts: Vec<u32>,
    /// Cosine and sine of each count, mm of radius.
    coefficients: DVector<f64>,
    /// Covariance of `coefficients`, mm²; `None` where no scatter is known.
    covariance: Option<DMatrix<f64>>,
    /// Coverage factor of the covariance.
    coverage_factor: f64,
    /// Which counts are distinguishable from scatter.
    shown: Vec<bool>,
}

impl Shape {
    pub(super) const fn new(
        counts: Vec<u32>,
        coefficients: DVector<f64>,
        covariance: Option<DMatrix<f64>>,
        coverage_factor: f64,
        shown: Vec<bool>,
    ) -> Self {
        Self {
            counts,
            coefficients,
            covariance,
            coverage_factor,
            shown,
        }
    }

    /// The lobe counts it is made of.
    pub fn counts(&self) -> &[u32] {
        &self.counts
    }

    /// How far the wall lies outside its mean radius at `angle_deg`, mm: the lobes the contact can
    /// see, the others being unknown.
    pub fn deviation_mm(&self, angle_deg: f64) -> f64 {
        self.row(angle_deg).dot(&self.coefficients)
    }

    /// [`deviation_mm`](Self::deviation_mm) of the lobes that are distinguishable from scatter.
    pub(super) fn shown_deviation_mm(&self, angle_deg: f64) -> f64 {
        let row = self.row(angle_deg);
        self.shown
            .iter()
            .enumerate()
            .filter(|&(_, &shown)| shown)
            .map(|(at, _)| {
                row.fixed_rows::<2>(2 * at)
                    .dot(&self.coefficients.fixed_rows::<2>(2 * at))
            })
            .sum()
    }

    /// Standard error of [`deviation_mm`](Self::deviation_mm) at `angle_deg`, mm; `None` where no
    /// scatter is known.
    pub fn standard_error_mm(&self, angle_deg: f64) -> Option<f64> {
        let row = self.row(angle_deg);
        let covariance = self.covariance.as_ref()?;
        Some((covariance * &row).dot(&row).max(0.0).sqrt())
    }

    /// What the standard error is multiplied by for 95 %, two-sided, at any one angle.
    pub const fn coverage_factor(&self) -> f64 {
        self.coverage_factor
    }

    fn row(&self, angle_deg: f64) -> DVector<f64> {
        let angle = angle_deg.to_radians();
        DVector::from_iterator(
            2 * self.counts.len(),
            self.counts.iter().flat_map(|&count| {
                let (sine, cosine) = (f64::from(count) * angle).sin_cos();
                [cosine, sine]
            }),
        )
    }
}
