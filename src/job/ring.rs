//! The setting ring: what can be one, what a gauge can show in it, and how often it showed that.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::bore::Contact;

/// The readings of a gauge in a ring.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ShownInRing {
    /// How many.
    pub readings: u32,
    /// Standard deviation of single ones, mm as the gauge reads; 0 of one.
    pub deviation_mm: f64,
}

/// Whether a gauge can have shown `shown_mm` in a ring of `ring_mm`, `off_mm` of diameter from the
/// `due_mm` that it shows when it is true. Further off than 2 mm it was not in that ring, or one of
/// the two is in inches. Judgement.
///
/// # Errors
/// Why it can't be, and what to check, as a sentence.
pub fn off_its_ring(
    contact: Contact,
    due_mm: f64,
    shown_mm: f64,
    off_mm: f64,
    ring_mm: f64,
) -> Result<(), String> {
    if off_mm.abs() <= 2.0 {
        return Ok(());
    }
    if contact == Contact::Radius && due_mm > 0.0 {
        return Err(format!(
            "{shown_mm} mm can't be what the gauge shows in a ring of {ring_mm} mm: it reads radii, \
             and so half the ring, {due_mm} mm; check the ring's mark, the gauge's seating and the unit"
        ));
    }
    Err(format!(
        "{shown_mm} mm can't be what the gauge shows in a ring of {ring_mm} mm: check the ring's \
         mark, the gauge's seating and the unit"
    ))
}

/// Whether a setting ring can be known to ± `uncertainty_mm` (k = 2). Judgement.
///
/// # Errors
/// Why it can't, as a sentence.
pub fn possible_ring_uncertainty(uncertainty_mm: f64) -> Result<(), String> {
    if (0.0..0.1).contains(&uncertainty_mm) {
        return Ok(());
    }
    Err("a ring's uncertainty lies between 0 and 0.1 mm: take it from the certificate".to_owned())
}
