//! The geometric least-squares circle.

use nalgebra::{Matrix3, Vector3};

use crate::bore::triangle::{BLOCK, Triangle};

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
            let triangle = design(points, x, y, radius)?;
            let leading = Matrix3::from_fn(|row, column| {
                if row <= column {
                    triangle.at(row, column)
                } else {
                    0.0
                }
            });
            let values = leading.singular_values();
            if values.min() <= 1e-8 * values.max() {
                return None;
            }
            let rotated = Vector3::from_fn(|row, _| triangle.rotated(row));
            let step = leading.solve_upper_triangular(&rotated)?;
            // So near the bottom the sum of squares no longer tells one step from the next, but
            // the step itself still does.
            let small = step.amax() <= 1e-6 * radius;
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

/// The linearised problem at a circle; `None` where a point lies on its centre.
fn design(points: &[[f64; 2]], x: f64, y: f64, radius: f64) -> Option<Triangle> {
    let mut triangle = Triangle::new(3);
    let mut block = [0.0; 4 * BLOCK];
    for points in points.chunks(BLOCK) {
        let count = points.len();
        let block = &mut block[..4 * count];
        for (row, point) in points.iter().enumerate() {
            let (dx, dy) = (point[0] - x, point[1] - y);
            let far = distance(point, x, y);
            if far <= 0.0 {
                return None;
            }
            block[row] = dx / far;
            block[count + row] = dy / far;
            block[2 * count + row] = 1.0;
            block[3 * count + row] = far - radius;
        }
        triangle.absorb(block, count);
    }
    Some(triangle)
}

/// Sizes of bores neither overflow nor vanish when squared, so the plain root will do.
fn distance(point: &[f64; 2], x: f64, y: f64) -> f64 {
    let (dx, dy) = (point[0] - x, point[1] - y);
    (dx * dx + dy * dy).sqrt()
}

/// For a given centre the best radius is the mean distance.
fn mean_distance(points: &[[f64; 2]], x: f64, y: f64) -> f64 {
    crate::bore::stations::mean(points.iter().map(|p| distance(p, x, y)))
}

fn sum_of_squares(points: &[[f64; 2]], x: f64, y: f64, radius: f64) -> f64 {
    points
        .iter()
        .map(|p| (distance(p, x, y) - radius).powi(2))
        .sum()
}
