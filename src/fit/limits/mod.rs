//! Limits and fits after ISO 286-1 and -2, between 3 and 120 mm.

mod class;
mod tables;

use schemars::JsonSchema;
use serde::Serialize;

pub use class::{Class, Feature, Letter};

/// Why a size or class has no limits here.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum LimitsError {
    /// Not the text of a class.
    #[error(
        "'{0}' is no tolerance class: write a letter and a grade, such as H7 for a hole or p6 for \
         a shaft"
    )]
    NotAClass(String),
    /// A grade with a 0 before it.
    #[error(
        "class {0}: a grade with a 0 before it is another one (IT01 is finer than IT1); grades 01 \
         and 0 are not held here, look them up in ISO 286-1"
    )]
    BelowOne(String),
    /// A letter that the tables here don't hold.
    #[error(
        "class {0}: only the letters F, G, H, J, JS, K, M, N, P, R and S (f to s for shafts) are \
         held here; look it up in ISO 286-2"
    )]
    Letter(String),
    /// A grade that the letter doesn't have here.
    #[error("class {class}: {letter} is held here in grades {from} to {to} only")]
    Grade {
        /// The class as asked for.
        class: String,
        /// Its letter.
        letter: String,
        /// Lowest grade held.
        from: u8,
        /// Highest grade held.
        to: u8,
    },
    /// A size outside the tables.
    #[error(
        "{0} mm: sizes over 3 mm up to and including 120 mm are held here; look it up in ISO 286-2"
    )]
    Size(f64),
    /// A class whose published value for this size isn't held.
    #[error(
        "{class} at {nominal_mm} mm: no source for this value is held here; look it up in ISO 286-2"
    )]
    NotHeld {
        /// The class asked for.
        class: String,
        /// The size asked for.
        nominal_mm: f64,
    },
    /// Two holes or two shafts.
    #[error("a fit is a hole and a shaft, such as H7/p6; '{0}' is not")]
    NotAFit(String),
}

/// The limits of size of one class.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Limits {
    /// Such as `H7`.
    pub class: Class,
    /// Nominal size, mm.
    pub nominal_mm: f64,
    /// Lower deviation (EI or ei), µm.
    pub lower_um: f64,
    /// Upper deviation (ES or es), µm.
    pub upper_um: f64,
    /// Least size, mm.
    pub lower_mm: f64,
    /// Greatest size, mm.
    pub upper_mm: f64,
    /// Standard tolerance, µm.
    pub tolerance_um: f64,
}

/// How a hole and a shaft meet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum FitKind {
    /// Always clearance.
    Clearance,
    /// Clearance or interference.
    Transition,
    /// Always interference.
    Interference,
}

/// A hole and a shaft of one nominal size. Interference is positive, clearance negative.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct FitLimits {
    /// The hole.
    pub hole: Limits,
    /// The shaft.
    pub shaft: Limits,
    /// Least interference, µm.
    pub least_interference_um: f64,
    /// Greatest interference, µm.
    pub greatest_interference_um: f64,
    /// How they meet.
    pub kind: FitKind,
}

/// The standard tolerance of `grade` (IT1 to IT11) at `nominal_mm`, µm.
///
/// # Errors
/// [`LimitsError::Size`] or [`LimitsError::Grade`] beyond the tables.
pub fn standard_tolerance_um(nominal_mm: f64, grade: u8) -> Result<f64, LimitsError> {
    it(range_of(nominal_mm)?, grade)
}

/// The limits of `class` at `nominal_mm`.
///
/// # Errors
/// A size or class beyond the tables is refused by name, never guessed.
pub fn limits(nominal_mm: f64, class: Class) -> Result<Limits, LimitsError> {
    let range = range_of(nominal_mm)?;
    class.check_grade()?;
    let tolerance_um = it(range, class.grade)?;
    let (lower_um, upper_um) = match class.feature {
        Feature::Hole => hole(range, nominal_mm, class, tolerance_um)?,
        Feature::Shaft => shaft(range, nominal_mm, class, tolerance_um)?,
    };
    Ok(Limits {
        class,
        nominal_mm,
        lower_um,
        upper_um,
        lower_mm: offset_mm(nominal_mm, lower_um),
        upper_mm: offset_mm(nominal_mm, upper_um),
        tolerance_um,
    })
}

/// The fit of a hole and a shaft of one nominal size.
///
/// # Errors
/// As [`limits`]; [`LimitsError::NotAFit`] where the classes are not a hole and a shaft.
pub fn fit_limits(nominal_mm: f64, hole: Class, shaft: Class) -> Result<FitLimits, LimitsError> {
    if (hole.feature, shaft.feature) != (Feature::Hole, Feature::Shaft) {
        return Err(LimitsError::NotAFit(format!("{hole}/{shaft}")));
    }
    let hole = limits(nominal_mm, hole)?;
    let shaft = limits(nominal_mm, shaft)?;
    let least = shaft.lower_um - hole.upper_um;
    let greatest = shaft.upper_um - hole.lower_um;
    Ok(FitLimits {
        hole,
        shaft,
        least_interference_um: least,
        greatest_interference_um: greatest,
        kind: match (least, greatest) {
            (_, greatest) if greatest <= 0.0 => FitKind::Clearance,
            (least, _) if least >= 0.0 => FitKind::Interference,
            _ => FitKind::Transition,
        },
    })
}

/// The interference that most pairs of a toleranced hole and shaft have: mid ± half of the root
/// sum of squares of both tolerances, widened outward to whole µm. The rule is inferred from a
/// bearing catalogue's table of probable fits, whose 42 pairs it reproduces.
pub fn probable_interference_um(fit: (f64, f64), tolerances_um: (f64, f64)) -> (f64, f64) {
    let (least, greatest) = fit;
    let half = tolerances_um.0.hypot(tolerances_um.1) / 2.0;
    let mid = f64::midpoint(least, greatest);
    ((mid - half).floor(), (mid + half).ceil())
}

/// `nominal` plus a deviation, rounded once to the nanometre so that 46 and +25 µm are 46.025.
fn offset_mm(nominal_mm: f64, um: f64) -> f64 {
    (nominal_mm * 1e6 + um * 1e3).round() / 1e6
}

fn range_of(nominal_mm: f64) -> Result<usize, LimitsError> {
    if nominal_mm.is_nan() || nominal_mm <= tables::OVER_MM {
        return Err(LimitsError::Size(nominal_mm));
    }
    tables::RANGES_MM
        .iter()
        .position(|&up_to| nominal_mm <= up_to)
        .ok_or(LimitsError::Size(nominal_mm))
}

fn it(range: usize, grade: u8) -> Result<f64, LimitsError> {
    (1..=11)
        .contains(&grade)
        .then(|| tables::IT[range][usize::from(grade) - 1])
        .ok_or_else(|| LimitsError::Grade {
            class: format!("IT{grade}"),
            letter: "IT".into(),
            from: 1,
            to: 11,
        })
}

/// (ei, es) of a shaft.
fn shaft(
    range: usize,
    nominal_mm: f64,
    class: Class,
    tolerance: f64,
) -> Result<(f64, f64), LimitsError> {
    let from_lower = |ei: f64| (ei, ei + tolerance);
    let from_upper = |es: f64| (es - tolerance, es);
    Ok(match class.letter {
        Letter::F => from_upper(tables::F[range]),
        Letter::G => from_upper(tables::G[range]),
        Letter::H => from_upper(0.0),
        Letter::Js => (-tolerance / 2.0, tolerance / 2.0),
        Letter::J => {
            let held = tables::SHAFT_J[range].ok_or_else(|| LimitsError::NotHeld {
                class: class.to_string(),
                nominal_mm,
            })?;
            from_upper(held[usize::from(class.grade) - 5])
        }
        Letter::K if !(4..=7).contains(&class.grade) => from_lower(0.0),
        letter => from_lower(above_zero(letter, range, nominal_mm)),
    })
}

/// (EI, ES) of a hole. K, M, N up to IT8 and P, R, S up to IT7 mirror the shaft's deviation less
/// IT(n-1), plus IT(n): the Δ rule of ISO 286-1 (from memory; it reproduces every published value
/// that is tested).
fn hole(
    range: usize,
    nominal_mm: f64,
    class: Class,
    tolerance: f64,
) -> Result<(f64, f64), LimitsError> {
    let from_upper = |es: f64| (es - tolerance, es);
    let from_lower = |ei: f64| (ei, ei + tolerance);
    Ok(match class.letter {
        Letter::F => from_lower(-tables::F[range]),
        Letter::G => from_lower(-tables::G[range]),
        Letter::H => from_lower(0.0),
        Letter::Js => (-tolerance / 2.0, tolerance / 2.0),
        Letter::J => from_upper(tables::HOLE_J[range][usize::from(class.grade) - 6]),
        letter => {
            let by_delta = match letter {
                Letter::K | Letter::M | Letter::N => class.grade <= 8,
                _ => class.grade <= 7,
            };
            let delta = if by_delta {
                tolerance - it(range, class.grade - 1)?
            } else {
                0.0
            };
            from_upper(delta - above_zero(letter, range, nominal_mm))
        }
    })
}

/// Lower deviation ei of a shaft k to s.
fn above_zero(letter: Letter, range: usize, nominal_mm: f64) -> f64 {
    let half = usize::from(tables::HALVES_MM[range].is_some_and(|at| nominal_mm > at));
    match letter {
        Letter::K => tables::K[range],
        Letter::M => tables::M[range],
        Letter::N => tables::N[range],
        Letter::P => tables::P[range],
        Letter::R => tables::R[range][half],
        Letter::S => tables::S[range][half],
        Letter::F | Letter::G | Letter::H | Letter::J | Letter::Js => 0.0,
    }
}
