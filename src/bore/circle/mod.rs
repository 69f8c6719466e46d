//! Reference circles through points of a section.

mod least_squares;

pub(super) use least_squares::LeastSquares;
