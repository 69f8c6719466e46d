//! The seat as the fit needs it: from what was measured, or from what a reamer would leave.

use crate::bore::reaming::Reamed;
use crate::bore::{Bore, Contact, Section, gauge_there_again, no_size_at};
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
    /// Uncertainty of the greatest out-of-round, mm; `None` where it isn't known.
    pub out_of_round_uncertainty: Option<Estimate>,
    /// Uncertainty of the largest diameter measured, mm; `None` where it isn't known.
    pub largest_uncertainty: Option<Estimate>,
    /// How far oval and lobes may be off the numbers of the sections, mm of diameter (95 %); `None`
    /// where that isn't known.
    pub form_reach_mm: Option<f64>,
    /// The sections, by depth.
    pub sections: Vec<SeatSection>,
}

/// Why a seat's size can't enter a fit.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NoSeat {
    /// Sizes are not known.
    #[error("the size of the bore is not known: set the gauge in a setting ring and gauge again")]
    NotSet,
    /// Sizes are known at other depths.
    #[error("{}", gauge_there_again(*depth_mm))]
    NotSetAt {
        /// Where it isn't, mm from the face.
        depth_mm: f64,
    },
    /// The mean is withheld.
    #[error("the mean diameter of the bore is not known: {why}")]
    NoMean {
        /// What is missing, as a sentence.
        why: String,
    },
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
        sizes_known(bore)?;
        let mean_mm = bore.numbers.mean_diameter_mm.ok_or_else(|| {
            let why = bore.numbers.why_withheld("mean_diameter_mm");
            let why = why.unwrap_or("no section was gauged").to_owned();
            NoSeat::NoMean { why }
        })?;
        let uncertainty = bore
            .numbers
            .uncertainty
            .get("mean_diameter_mm")
            .copied()
            .ok_or(NoSeat::NoUncertainty)?;
        let forms = bore.sections.iter().filter_map(Section::form);
        let worst = forms
            .filter_map(|form| form.estimate)
            .max_by(|a, b| a.expanded.total_cmp(&b.expanded));
        // The oval beside the out-of-round, which has the other lobes in it.
        let ovals = bore.sections.iter();
        let ovals = ovals.filter_map(|section| section.uncertainty.get("oval.size_mm"));
        let reaches = worst.iter().chain(ovals).map(|known| known.expanded);
        Ok(Self {
            mean_mm,
            uncertainty,
            out_of_round_uncertainty: worst,
            form_reach_mm: reaches.reduce(f64::max),
            largest_uncertainty: bore
                .sections
                .iter()
                .filter_map(|section| section.uncertainty.get("largest_mm").copied())
                .max_by(|a, b| a.standard.total_cmp(&b.standard)),
            sections: bore
                .sections
                .iter()
                .filter_map(|section| measured_section(contact, section))
                .collect(),
        })
    }

    /// The seat as a reamer would leave it: where it cuts, its own cut and how well that is known;
    /// elsewhere the bore as it was.
    pub fn reamed(&self, reamed: &Reamed, cut: &Estimate) -> Option<Self> {
        let shares = [
            (reamed.share_cut, cut),
            (1.0 - reamed.share_cut, &self.uncertainty),
        ];
        // What stays uncut unseen reaches from the reamer's circle to the largest diameter, and
        // lobes fill at most half the circle: the mean lies up to half of that higher, taken as
        // a rectangle (JCGM 100:2008, 4.3.7; that it is at most half is judgement).
        let unseen = reamed
            .uncut_unseen_mm
            .map_or(0.0, |largest| (largest - reamed.reamer_mm) / 2.0);
        let mut parts: Vec<(f64, f64)> = shares
            .iter()
            .map(|(share, estimate)| (share * estimate.standard, estimate.degrees()))
            .collect();
        parts.push((unseen / 3.0_f64.sqrt(), f64::INFINITY));
        // The smallest diameter is the reamer's; the largest is, where an arc stays uncut, the
        // bore's as it was, and an extreme is less well known than a mean.
        let extreme = std::f64::consts::SQRT_2 * self.uncertainty.standard;
        let of_mean = (extreme, self.uncertainty.degrees());
        let extreme = self
            .largest_uncertainty
            .map(|largest| (largest.standard, largest.degrees()))
            .filter(|largest| largest.0 > of_mean.0)
            .unwrap_or(of_mean);
        let out_of_round = together(&[(cut.standard, cut.degrees()), extreme]);
        // As far as the reamer is larger than the bore was, no arc stays uncut.
        let spare = self.largest_mm().map(|mm| (reamed.reamer_mm - mm).max(0.0));
        let form_reach_mm = out_of_round
            .zip(spare)
            .map(|(known, spare)| (known.expanded - spare).max(0.0));
        Some(Self {
            form_reach_mm,
            mean_mm: reamed.mean_diameter_mm,
            uncertainty: together(&parts)?,
            out_of_round_uncertainty: out_of_round,
            largest_uncertainty: self.largest_uncertainty,
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

/// Whether the gauge was set in a ring for every section of `bore`.
///
/// # Errors
/// Where it wasn't: for none of them, or for the outermost that it wasn't set for.
pub(super) fn sizes_known(bore: &Bore) -> Result<(), NoSeat> {
    if let Some(depth_mm) = no_size_at(&bore.sections) {
        return Err(NoSeat::NotSetAt { depth_mm });
    }
    if bore.sections.iter().all(|section| section.size_set) {
        Ok(())
    } else {
        Err(NoSeat::NotSet)
    }
}

/// Independent parts (standard uncertainty, degrees of freedom) as one, with the effective degrees
/// of freedom of Welch and Satterthwaite (JCGM 100:2008, equation G.2b).
pub(super) fn together(parts: &[(f64, f64)]) -> Option<Estimate> {
    let whole = parts.iter().map(|(u, _)| u * u).sum::<f64>().sqrt();
    let over: f64 = parts.iter().map(|(u, degrees)| u.powi(4) / degrees).sum();
    let degrees = if over > 0.0 {
        whole.powi(4) / over
    } else {
        f64::INFINITY
    };
    Estimate::new(whole, degrees)
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
                // A spot narrower than the fitted lobes stands farther in than they do.
                let form = section.form();
                let pinched = form.map(|form| mean_mm - form.inward_mm / 2.0);
                let fitted = all().reduce(f64::min);
                (
                    fitted.map(|mm| mm.min(pinched.unwrap_or(mm))),
                    all().reduce(f64::max),
                )
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
