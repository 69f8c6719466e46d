//! Rolling bearings: ring tolerances (ISO 492) and radial internal clearance (ISO 5753-1).

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Tolerance class of a bearing after ISO 492.
#[derive(
    Debug,
    Clone,
    Copy,
    PartialEq,
    Eq,
    Hash,
    Default,
    Serialize,
    Deserialize,
    JsonSchema,
    clap::ValueEnum,
)]
#[serde(rename_all = "kebab-case")]
pub enum BearingClass {
    /// Normal.
    #[default]
    Normal,
    /// Class 6.
    #[value(name = "6")]
    #[serde(rename = "6")]
    Six,
}

/// Radial internal clearance group after ISO 5753-1.
#[derive(
    Debug,
    Clone,
    Copy,
    PartialEq,
    Eq,
    Hash,
    Default,
    Serialize,
    Deserialize,
    JsonSchema,
    clap::ValueEnum,
)]
#[serde(rename_all = "UPPERCASE")]
#[value(rename_all = "UPPER")]
#[expect(missing_docs, reason = "the group names of ISO 5753-1")]
pub enum ClearanceGroup {
    C2,
    #[default]
    Cn,
    C3,
    C4,
    C5,
}

/// Why a bearing has no table value here.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum BearingError {
    /// A size outside the table.
    #[error(
        "{what} of {size_mm} mm: the table here holds over {over_mm} up to {to_mm} mm; see the bearing's catalogue"
    )]
    Size {
        /// Which dimension.
        what: &'static str,
        /// The size asked for.
        size_mm: f64,
        /// Where the table begins.
        over_mm: f64,
        /// Where it ends.
        to_mm: f64,
    },
}

const RINGS_MM: [f64; 5] = [10.0, 18.0, 30.0, 50.0, 80.0];
/// Lower deviation of the mean bore, µm: Normal, class 6 (bearing catalogue, tables).
const BORE_UM: [[f64; 2]; 5] = [
    [-8.0, -7.0],
    [-8.0, -7.0],
    [-10.0, -8.0],
    [-12.0, -10.0],
    [-15.0, -12.0],
];
/// Lower deviation of the mean outside diameter, µm: Normal, class 6 (bearing catalogue, tables;
/// class 6 up to 18 mm from memory, second route: never above Normal, steps of the bore's table).
const OUTSIDE_UM: [[f64; 2]; 5] = [
    [-8.0, -7.0],
    [-8.0, -7.0],
    [-9.0, -8.0],
    [-11.0, -9.0],
    [-13.0, -11.0],
];

/// Deviations (lower, upper) of the inner ring's mean bore, µm; ISO 492 as bearing catalogues
/// print it. Over 2.5 up to 80 mm.
///
/// # Errors
/// A size beyond the table.
pub fn ring_bore_um(bore_mm: f64, class: BearingClass) -> Result<(f64, f64), BearingError> {
    let row = row(&RINGS_MM, 2.5, bore_mm, "a bearing bore")?;
    Ok((BORE_UM[row][column(class)], 0.0))
}

/// Deviations (lower, upper) of the outer ring's mean outside diameter, µm; ISO 492 as bearing
/// catalogues print it. Over 6 up to 80 mm. A thin ring may be more out of round than its mean
/// may deviate (14 against 11 µm at 30 to 50 mm): judge by the mean, never by one reading.
///
/// # Errors
/// A size beyond the table.
pub fn ring_outside_um(outside_mm: f64, class: BearingClass) -> Result<(f64, f64), BearingError> {
    let row = row(&RINGS_MM, 6.0, outside_mm, "a bearing outside diameter")?;
    Ok((OUTSIDE_UM[row][column(class)], 0.0))
}

const CLEARANCE_MM: [f64; 6] = [10.0, 18.0, 24.0, 30.0, 40.0, 50.0];
/// (least, greatest) radial internal clearance, µm: C2, CN, C3, C4, C5.
const CLEARANCE_UM: [[(f64, f64); 5]; 6] = [
    [
        (0.0, 7.0),
        (2.0, 13.0),
        (8.0, 23.0),
        (14.0, 29.0),
        (20.0, 37.0),
    ],
    [
        (0.0, 9.0),
        (3.0, 18.0),
        (11.0, 25.0),
        (18.0, 33.0),
        (25.0, 45.0),
    ],
    [
        (0.0, 10.0),
        (5.0, 20.0),
        (13.0, 28.0),
        (20.0, 36.0),
        (28.0, 48.0),
    ],
    [
        (1.0, 11.0),
        (5.0, 20.0),
        (13.0, 28.0),
        (23.0, 41.0),
        (30.0, 53.0),
    ],
    [
        (1.0, 11.0),
        (6.0, 20.0),
        (15.0, 33.0),
        (28.0, 46.0),
        (40.0, 64.0),
    ],
    [
        (1.0, 11.0),
        (6.0, 23.0),
        (18.0, 36.0),
        (30.0, 51.0),
        (45.0, 73.0),
    ],
];

/// Radial internal clearance (least, greatest), µm, of a deep-groove ball bearing with a
/// cylindrical bore over 6 up to 50 mm, before fitting; ISO 5753-1 as bearing catalogues print
/// it. (Some pages print 13 to 25 for C3 over 18 up to 24 mm: a misprint for 13 to 28.)
///
/// # Errors
/// A bore beyond the table.
pub fn clearance_um(bore_mm: f64, group: ClearanceGroup) -> Result<(f64, f64), BearingError> {
    let row = row(&CLEARANCE_MM, 6.0, bore_mm, "a bearing bore")?;
    Ok(CLEARANCE_UM[row][group as usize])
}

/// Mean raceway diameter of an outer ring, (d + 4 D) / 5, mm: an average over standard series
/// (bearing catalogue; the divisor from memory). A thin ring's groove may lie 1 to 2 % off.
pub fn raceway_mm(bore_mm: f64, outside_mm: f64) -> f64 {
    (bore_mm + 4.0 * outside_mm) / 5.0
}

const fn column(class: BearingClass) -> usize {
    match class {
        BearingClass::Normal => 0,
        BearingClass::Six => 1,
    }
}

fn row(
    up_to: &[f64],
    over_mm: f64,
    size_mm: f64,
    what: &'static str,
) -> Result<usize, BearingError> {
    let beyond = || BearingError::Size {
        what,
        size_mm,
        over_mm,
        to_mm: up_to.last().copied().unwrap_or(over_mm),
    };
    if size_mm.is_nan() || size_mm <= over_mm {
        return Err(beyond());
    }
    up_to
        .iter()
        .position(|&end| size_mm <= end)
        .ok_or_else(beyond)
}
