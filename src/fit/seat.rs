//! The seat as the fit needs it: from what was measured, or from what a reamer would leave.

use crate::bore::reaming::Reamed;
use crate::bore::{Bore, Contact, Section};
use crate::uncertainty::Estimate;

/// One cross-section of a seat.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SeatSection {
    /// Depth from the face, mm.
    pub depth_mm: f64,
    /// Mean diameter, mm.
    pub mean_mm: f64,
    /// Smallest diameter, mm; `None` where the contact can't show it.
    pub smallest_mm: Option<f64>,
    /// Largest diameter, mm.
    pub largest_mm: Option<f64>,
    /// Largest minus smallest diameter of the two-lobe part, mm.
    pub oval_mm: Option<f64>,
}

/// A seat with its sizes known.
#[derive(Debug, Clone, PartialEq)]
pub struct SeatForm {
    /// Mean of the sections' mean diameters, mm.
    pub mean_mm: f64,
    /// Uncertainty of the mean, mm.
    pub uncertainty: Estimate,
    /// The sections, by depth.
    pub sections: Vec<SeatSection>,
}

/// Why a seat's size can't enter a fit.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NoSeat {
    /// Sizes are not known.
    #[error("the size of the bore is not known: set the gauge in a setting ring and gauge again")]
    NotSet,
    /// No uncertainty.
    #[error(
        "how well the mean is known is not known yet: gauge on, or state the gauge's resolution"
    )]
    NoUncertainty,
}

impl SeatForm {
    /// The seat as `bore` was measured.
    ///
    /// # Errors
    /// Where sizes, or how well they are known, are not known.
    pub fn measured(contact: Contact, bore: &Bore) -> Result<Self, NoSeat> {
        let set = bore.sections.iter().all(|section| section.size_set);
        let mean_mm = bore
            .numbers
            .mean_diameter_mm
            .filter(|_| set)
            .ok_or(NoSeat::NotSet)?;
        let uncertainty = bore
            .numbers
            .uncertainty
            .get("mean_diameter_mm")
            .copied()
            .ok_or(NoSeat::NoUncertainty)?;
        Ok(Self {
            mean_mm,
            uncertainty,
            sections: bore
                .sections
                .iter()
                .filter_map(|section| measured_section(contact, section))
                .collect(),
        })
    }

    /// The seat as a reamer would leave it: where it cuts, its own cut and how well that is known;
    /// elsewhere the bore as it was.
    pub fn reamed(&self, reamed: &Reamed, cut_standard_mm: f64) -> Option<Self> {
        let cut = reamed.share_cut * cut_standard_mm;
        let left = (1.0 - reamed.share_cut) * self.uncertainty.standard;
        Some(Self {
            mean_mm: reamed.mean_diameter_mm,
            uncertainty: Estimate::new(cut.hypot(left), self.uncertainty.degrees())?,
            sections: reamed
                .sections
                .iter()
                .map(|section| SeatSection {
                    depth_mm: section.depth_mm,
                    mean_mm: section.mean_diameter_mm,
                    smallest_mm: Some(section.smallest_mm),
                    largest_mm: Some(section.largest_mm),
                    oval_mm: Some(section.oval_size_mm),
                })
                .collect(),
        })
    }

    /// Smallest diameter anywhere, mm.
    pub fn smallest_mm(&self) -> Option<f64> {
        fold(self.sections.iter().map(|s| s.smallest_mm), f64::min)
    }

    /// Largest diameter anywhere, mm.
    pub fn largest_mm(&self) -> Option<f64> {
        fold(self.sections.iter().map(|s| s.largest_mm), f64::max)
    }

    /// Greatest oval of any section, mm.
    pub fn oval_mm(&self) -> Option<f64> {
        fold(self.sections.iter().map(|s| s.oval_mm), f64::max)
    }

    /// Greatest out-of-round of any section, mm.
    pub fn out_of_round_mm(&self) -> Option<f64> {
        let of = |s: &SeatSection| Some(s.largest_mm? - s.smallest_mm?);
        fold(self.sections.iter().map(of), f64::max)
    }

    /// Greatest minus least mean diameter of the sections, mm; `None` below two.
    pub fn along_depth_mm(&self) -> Option<f64> {
        let means = || self.sections.iter().map(|s| Some(s.mean_mm));
        let (least, greatest) = (fold(means(), f64::min)?, fold(means(), f64::max)?);
        (self.sections.len() > 1).then_some(greatest - least)
    }
}

/// Folds values that must all be there.
fn fold(values: impl Iterator<Item = Option<f64>>, pick: fn(f64, f64) -> f64) -> Option<f64> {
    values
        .collect::<Option<Vec<f64>>>()?
        .into_iter()
        .reduce(pick)
}

fn measured_section(contact: Contact, section: &Section) -> Option<SeatSection> {
    let mean_mm = section.mean_diameter_mm?;
    let (smallest_mm, largest_mm) = match contact {
        Contact::ThreePoint => (None, None),
        Contact::TwoPoint if section.stations >= 3 => (section.smallest_mm, section.largest_mm),
        Contact::TwoPoint => (None, None),
        Contact::Radius => match section.shape.as_ref() {
            None => (None, None),
            Some(shape) => {
                let across = |at: u32| {
                    let angle = f64::from(at);
                    mean_mm + shape.deviation_mm(angle) + shape.deviation_mm(angle + 180.0)
                };
                let all = || (0..180).map(across);
                (all().reduce(f64::min), all().reduce(f64::max))
            }
        },
    };
    Some(SeatSection {
        depth_mm: section.depth_mm,
        mean_mm,
        smallest_mm,
        largest_mm,
        oval_mm: section.oval.map(|oval| oval.size_mm),
    })
}
