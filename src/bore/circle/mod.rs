//! Reference circles of ISO 12181-1 through the points of a section.
//!
//! The least-squares circle is found by Gauss-Newton. The other three are exact: each is
//! determined by two to four contact points, and the search ends with a certificate. It solves a
//! handful of points by trying every set of contacts, then looks for the point of all that breaks
//! the solution most, and takes it in. The few points' optimum can't be worse than that of all, so
//! when no point breaks it, it is the optimum of all.

mod circumscribed;
mod inscribed;
mod least_squares;
mod minimum_zone;
mod points;
mod program;
mod simulated;
#[cfg(test)]
mod tests;

/// Width of the minimum zone (RONt about the MZCI of ISO 12181-1) of points that surround their
/// centre; in their unit. `None` where they determine none.
pub fn minimum_zone_mm(points: &[[f64; 2]]) -> Option<f64> {
    let circle = LeastSquares::fit(points)?;
    let about = Points::about(points, &circle);
    let (least, most) = about.reach(minimum_zone(&about)?.centre);
    Some(most - least)
}

pub(crate) use circumscribed::circumscribed;
pub(crate) use inscribed::inscribed;
pub(crate) use least_squares::LeastSquares;
pub(crate) use minimum_zone::minimum_zone;
pub(crate) use points::{Found, Points};
pub(in crate::bore) use simulated::uncertain;
