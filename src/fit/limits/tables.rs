//! The numbers of ISO 286-1 between 3 and 120 mm, µm.
//!
//! Sources: handbook table of standard tolerances (IT1 to IT11, whole range); JIS B 0401 (1999)
//! excerpts of shafts (3 to 80 mm) and holes (whole range), which carry the same numbers as
//! ISO 286-2; bearing catalogue, tables of housing and shaft limits (18 to 80 mm). Between 80 and
//! 120 mm p and s are from memory, second route: p lies within IT7 + 0 to 5 and r = √(p s) gives
//! the published r; s = IT7 + 0.4 D.

/// Upper ends of the ranges ("over the one before, up to and including this"), mm; the first
/// range is over 3.
pub(super) const RANGES_MM: [f64; 7] = [6.0, 10.0, 18.0, 30.0, 50.0, 80.0, 120.0];

/// Where no range begins.
pub(super) const OVER_MM: f64 = 3.0;

/// Standard tolerances IT1 to IT11 by range.
pub(super) const IT: [[f64; 11]; 7] = [
    [1.0, 1.5, 2.5, 4.0, 5.0, 8.0, 12.0, 18.0, 30.0, 48.0, 75.0],
    [1.0, 1.5, 2.5, 4.0, 6.0, 9.0, 15.0, 22.0, 36.0, 58.0, 90.0],
    [1.2, 2.0, 3.0, 5.0, 8.0, 11.0, 18.0, 27.0, 43.0, 70.0, 110.0],
    [1.5, 2.5, 4.0, 6.0, 9.0, 13.0, 21.0, 33.0, 52.0, 84.0, 130.0],
    [
        1.5, 2.5, 4.0, 7.0, 11.0, 16.0, 25.0, 39.0, 62.0, 100.0, 160.0,
    ],
    [
        2.0, 3.0, 5.0, 8.0, 13.0, 19.0, 30.0, 46.0, 74.0, 120.0, 190.0,
    ],
    [
        2.5, 4.0, 6.0, 10.0, 15.0, 22.0, 35.0, 54.0, 87.0, 140.0, 220.0,
    ],
];

/// Upper deviations es of shafts f.
pub(super) const F: [f64; 7] = [-10.0, -13.0, -16.0, -20.0, -25.0, -30.0, -36.0];
/// Upper deviations es of shafts g.
pub(super) const G: [f64; 7] = [-4.0, -5.0, -6.0, -7.0, -9.0, -10.0, -12.0];
/// Lower deviations ei of shafts k, grades 4 to 7; zero in other grades.
pub(super) const K: [f64; 7] = [1.0, 1.0, 1.0, 2.0, 2.0, 2.0, 3.0];
/// Lower deviations ei of shafts m.
pub(super) const M: [f64; 7] = [4.0, 6.0, 7.0, 8.0, 9.0, 11.0, 13.0];
/// Lower deviations ei of shafts n.
pub(super) const N: [f64; 7] = [8.0, 10.0, 12.0, 15.0, 17.0, 20.0, 23.0];
/// Lower deviations ei of shafts p.
pub(super) const P: [f64; 7] = [12.0, 15.0, 18.0, 22.0, 26.0, 32.0, 37.0];
/// Lower deviations ei of shafts r; over 50 mm the ranges halve at 65 and 100 mm.
pub(super) const R: [[f64; 2]; 7] = [
    [15.0, 15.0],
    [19.0, 19.0],
    [23.0, 23.0],
    [28.0, 28.0],
    [34.0, 34.0],
    [41.0, 43.0],
    [51.0, 54.0],
];
/// Lower deviations ei of shafts s, halved like r.
pub(super) const S: [[f64; 2]; 7] = [
    [19.0, 19.0],
    [23.0, 23.0],
    [28.0, 28.0],
    [35.0, 35.0],
    [43.0, 43.0],
    [53.0, 59.0],
    [71.0, 79.0],
];
/// Where the last two ranges halve for r and s, mm.
pub(super) const HALVES_MM: [Option<f64>; 7] =
    [None, None, None, None, None, Some(65.0), Some(100.0)];

/// Upper deviations ES of holes J6, J7, J8 (no formula).
pub(super) const HOLE_J: [[f64; 3]; 7] = [
    [5.0, 6.0, 10.0],
    [5.0, 8.0, 12.0],
    [6.0, 10.0, 15.0],
    [8.0, 12.0, 20.0],
    [10.0, 14.0, 24.0],
    [13.0, 18.0, 28.0],
    [16.0, 22.0, 34.0],
];
/// Upper deviations es of shafts j5, j6 (no formula); the ranges that the sources hold.
pub(super) const SHAFT_J: [Option<[f64; 2]>; 7] = [
    None,
    None,
    None,
    Some([5.0, 9.0]),
    Some([6.0, 11.0]),
    Some([6.0, 12.0]),
    None,
];
