//! The geometric least-squares circle.

use nalgebra::{DMatrix, DVector};

/// The circle for which the sum of squared distances of the points from it is least (the
/// least-squares reference circle of ISO 12181-1). Not the algebraic fit, which is biased.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct LeastSquares {
    pub x: f64,
    pub y: f64,
    pub radius: f64,
}

impl LeastSquares {
    /// Gauss-Newton from the limaçon's linearisation about the points' centroid (Gander, Golub
    /// and Strebel, "Least-squares fitting of circles and ellipses", BIT 34 (1994), section 4),
    /// each step by QR and halved until the sum falls. `None` below three points, or where they
    /// lie on a line or on so short an arc that no circle is determined.
    #[expect(clippy::cast_precision_loss, reason = "counts of points")]
    pub(crate) fn fit(points: &[[f64; 2]]) -> Option<Self> {
        if points.len() < 3 {
            return None;
        }
        let count = points.len() as f64;
        let mut x = points.iter().map(|p| p[0]).sum::<f64>() / count;
        let mut y = points.iter().map(|p| p[1]).sum::<f64>() / count;
        let mut radius = mean_distance(points, x, y);
        let mut squares = sum_of_squares(points, x, y, radius);
        for _ in 0..60 {
            let mut design = DMatrix::zeros(points.len(), 3);
            let mut residuals = DVector::zeros(points.len());
            for (row, point) in points.iter().enumerate() {
                let (dx, dy) = (point[0] - x, point[1] - y);
                let distance = dx.hypot(dy);
                if distance <= 0.0 {
                    return None;
                }
                design[(row, 0)] = dx / distance;
                design[(row, 1)] = dy / distance;
                design[(row, 2)] = 1.0;
                residuals[row] = distance - radius;
            }
            let qr = design.qr();
            qr.q_tr_mul(&mut residuals);
            let triangle = qr.unpack_r();
            let values = triangle.clone().singular_values();
            if values.min() <= 1e-8 * values.max() {
                return None;
            }
            let mut step = residuals.rows(0, 3).into_owned();
            if !triangle.solve_upper_triangular_mut(&mut step) {
                return None;
            }
            // So near the bottom the sum of squares no longer tells one step from the next, but
            // the step itself still does.
            let small = step.amax() <= 1e-9 * radius;
            let still = step.amax() <= 1e-15 * radius;
            let mut share = 1.0;
            loop {
                let (nx, ny) = (x + share * step[0], y + share * step[1]);
                let nr = mean_distance(points, nx, ny);
                let next = sum_of_squares(points, nx, ny, nr);
                if next <= squares || small {
                    (x, y, radius, squares) = (nx, ny, nr, next);
                    break;
                }
                share /= 2.0;
                if share < 1e-6 {
                    // No lower sum along the step: at the bottom, within rounding.
                    return Some(Self { x, y, radius });
                }
            }
            if still {
                break;
            }
        }
        Some(Self { x, y, radius })
    }
}

/// For a given centre the best radius is the mean distance.
fn mean_distance(points: &[[f64; 2]], x: f64, y: f64) -> f64 {
    crate::bore::stations::mean(points.iter().map(|p| (p[0] - x).hypot(p[1] - y)))
}

fn sum_of_squares(points: &[[f64; 2]], x: f64, y: f64, radius: f64) -> f64 {
    points
        .iter()
        .map(|p| ((p[0] - x).hypot(p[1] - y) - radius).powi(2))
        .sum()
}
