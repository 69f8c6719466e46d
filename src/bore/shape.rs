//! The fitted wall of a section, at any angle.

use nalgebra::{DMatrix, DVector, Vector2};

use crate::uncertainty::{LEVEL, fisher, student};

/// The wall's deviation from its mean radius as a sum of lobes, with their covariance.
#[derive(Debug, Clone, PartialEq)]
pub struct Shape {
    counts: Vec<u32>,
    /// Cosine and sine of each count, mm of radius.
    coefficients: DVector<f64>,
    /// Covariance of `coefficients`, mm²; `None` where no scatter is known.
    covariance: Option<DMatrix<f64>>,
    /// Degrees of freedom of the covariance; 0 where no scatter is known.
    degrees: f64,
    /// Which counts are distinguishable from scatter.
    shown: Vec<bool>,
}

impl Shape {
    pub(super) const fn new(
        counts: Vec<u32>,
        coefficients: DVector<f64>,
        covariance: Option<DMatrix<f64>>,
        degrees: f64,
        shown: Vec<bool>,
    ) -> Self {
        Self {
            counts,
            coefficients,
            covariance,
            degrees,
            shown,
        }
    }

    /// The lobe counts it is made of.
    pub fn counts(&self) -> &[u32] {
        &self.counts
    }

    /// The coefficients of the series, mm of the wall's radius: for each of [`counts`](Self::counts)
    /// in turn the cosine, which is the wall's deviation towards 0°, then the sine.
    pub fn coefficients(&self) -> &[f64] {
        self.coefficients.as_slice()
    }

    /// The covariance of [`coefficients`](Self::coefficients), mm², rows and columns in their order;
    /// `None` where no scatter is known. Symmetric; on uneven directions lobes are correlated with
    /// each other. It is s² (XᵀX)⁻¹ of the least-squares fit with the section's scatter as s².
    pub fn covariance(&self) -> Option<Vec<Vec<f64>>> {
        let covariance = self.covariance.as_ref()?;
        let rows = covariance.row_iter();
        Some(rows.map(|row| row.iter().copied().collect()).collect())
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
    pub fn coverage_factor(&self) -> f64 {
        student(LEVEL, self.degrees).unwrap_or(2.0)
    }

    /// Whether a lobe of `count` with the wall's deviation `cosine_mm` towards 0° and `sine_mm` a
    /// quarter of its period on lies in the joint 95 % region of both (an ellipse: Hotelling's T²
    /// for two coefficients of a linear fit, 2 F(0.95; 2, ν)); `None` where that count is not
    /// fitted or no scatter is known.
    pub fn region_holds(&self, count: u32, cosine_mm: f64, sine_mm: f64) -> Option<bool> {
        let at = 2 * self.counts.iter().position(|&fitted| fitted == count)?;
        let covariance = self.covariance.as_ref()?.fixed_view::<2, 2>(at, at);
        let off = Vector2::new(cosine_mm, sine_mm) - self.coefficients.fixed_rows::<2>(at);
        let squared = (covariance.try_inverse()? * off).dot(&off);
        Some(squared <= 2.0 * fisher(LEVEL, 2.0, self.degrees)?)
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
