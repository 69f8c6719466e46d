//! The geometry of a bore: what readings at known angles and depths say about its shape.
//!
//! [`section`] turns the readings of one cross-section into a [`Section`], [`bore`] the sections
//! of one bore into a [`Bore`]. Lengths are millimetres, angles degrees clockwise as seen from the
//! bore's face. The same numbers serve the live bench and a file measured elsewhere.
//!
//! ```
//! use borewright::bore::{Basis, Contact, Observation, section};
//!
//! let readings = [(0.0, 45.98), (45.0, 46.01), (90.0, 46.04), (135.0, 46.01)]
//!     .map(|(angle_deg, reading_mm)| Observation { angle_deg, reading_mm });
//! let section = section(Contact::TwoPoint, 8.0, &readings, &Basis::default())?;
//! assert!((section.mean_diameter_mm.unwrap() - 46.01).abs() < 1e-9);
//! assert!((section.oval.unwrap().size_mm - 0.06).abs() < 1e-9);
//! # Ok::<(), borewright::bore::Error>(())
//! ```

mod axes;
mod axial;
mod basis;
mod circle;
mod contact;
mod directions;
mod form;
mod growing;
mod harmonics;
mod live;
mod lobes;
mod numbers;
mod profile;
mod radius;
mod range;
pub mod reaming;
mod region;
mod scatter;
mod section;
mod shape;
mod sizes;
mod stations;
mod suspect;
mod triangle;

pub use axes::{Misalignment, Place, misalignment};
pub use axial::{
    RANGE_UNKNOWN, Straight, bore, drift_between_mm, gauge_there_again, no_size_at, straight,
    telling,
};
pub use basis::{Basis, InRing, Order, Readings, Repeatability, Setting, UNSTATED_RING_MM};
pub use circle::minimum_zone_mm;
pub use contact::Contact;
pub use form::Form;
pub use growing::Growing;
pub use harmonics::fourier;
pub use live::{Live, LiveLobe};
pub use numbers::{
    Bore, BoreNumbers, Circle, Disagreement, Lobe, Oval, Roundness, Section, Waist, Withheld,
};
pub use profile::{Located, PROFILE_SCHEMA, Profile, profile};
pub use scatter::ScatterFrom;
pub(crate) use scatter::with_study;
pub use section::section;
pub use shape::Shape;
pub use stations::Observation;
pub use suspect::{Suspect, Without};

/// No gauge reads more, and no bore is longer, mm: 10 m. What is beyond is a typing error.
pub const GREATEST_MM: f64 = 1e4;

/// Why readings give no section at all.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Error {
    /// There is nothing to compute from.
    #[error("no reading: gauge at least one direction")]
    NoReadings,
    /// An angle, depth or reading is not a number.
    #[error("reading {number} is not finite ({angle_deg}°, {reading_mm} mm): gauge it again")]
    NotFinite {
        /// Which, from 1 in the order given.
        number: usize,
        /// Its angle.
        angle_deg: f64,
        /// Its value.
        reading_mm: f64,
    },
    /// A reading is larger than any gauge reads.
    #[error("reading {number}, {reading_mm} mm, is larger than any gauge reads: gauge it again")]
    Beyond {
        /// Which, from 1 in the order given.
        number: usize,
        /// Its value.
        reading_mm: f64,
    },
    /// A depth is not a number, or lies farther from the face than any bore is long.
    #[error(
        "the depth {depth_mm} mm is not within {GREATEST_MM} mm of the face: state the depth of the section from its face"
    )]
    Depth {
        /// The depth given.
        depth_mm: f64,
    },
}
