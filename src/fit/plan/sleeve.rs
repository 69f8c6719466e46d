//! Boring out and sleeving: what it leaves of the wall, and the seat that it comes to.

use super::options::{pressed_then, refused};
use super::{Choice, Ground, Predicted, Work};
use crate::fit::expected::Fit;
use crate::fit::limits::{LimitsError, standard_tolerance_um};
use crate::fit::seat::{SeatForm, SeatSection};
use crate::uncertainty::{Distribution, Estimate, Input};

impl Ground<'_> {
    /// Bore out and sleeve. The housing is bored to the seat's target plus two walls of the sleeve,
    /// and the sleeve finished to the target within the shop's grade of ISO 286-1.
    pub(super) fn sleeve(&self, form: Option<&SeatForm>) -> Choice {
        let no = |why: String| refused(Work::Sleeve, None, why);
        let wall = match self.may_cut() {
            Ok(wall) => wall,
            Err(why) => return no(why),
        };
        let Some(sleeve) = self.shop.sleeve_wall_mm else {
            return no("the shop fits no sleeves".to_owned());
        };
        let target = self.seat.target_mm;
        let bored = target + 2.0 * sleeve;
        let largest = form.and_then(SeatForm::largest_mm);
        if let Some(largest) = largest.filter(|largest| *largest >= bored) {
            return no(format!(
                "bored to {bored:.3} mm for a sleeve of {sleeve:.2} mm it would not clean up: the \
                 bore is {largest:.3} mm where it is largest"
            ));
        }
        // The deepest cut is where the bore is smallest; where no size is known, at the target.
        let smallest = form.map_or(target, |form| form.smallest_mm().unwrap_or(form.mean_mm));
        let left = wall - (bored - smallest) / 2.0 - self.shop.off_centre_mm;
        if left < self.shop.least_wall_mm {
            return no(format!(
                "a sleeve of {sleeve:.2} mm would leave {left:.2} mm of wall, less than {:.2} mm",
                self.shop.least_wall_mm
            ));
        }
        let (sleeved, within) = match self.sleeved() {
            Ok(sleeved) => sleeved,
            Err(error) => return no(error.to_string()),
        };
        let mut reasons = vec![
            format!(
                "bored out to {bored:.3} mm for a sleeve of {sleeve:.2} mm, {left:.2} mm of wall is \
                 left; work for a machine that holds both bores on one axis"
            ),
            format!(
                "finished to {target:.3} ± {within:.4} mm, grade IT{} about the seat's target; \
                 gauge its form afterwards",
                self.shop.sleeve_grade
            ),
        ];
        if self.insert.is_some() {
            reasons.push(
                "the fit in it takes sleeve and housing as one wall of the housing's material"
                    .to_owned(),
            );
        }
        let predicted = Predicted {
            wall_left_mm: Some(left),
            bored_mm: Some(bored),
            ..self.predicted(&sleeved, None, None)
        };
        // A sleeve for an insert that doesn't go into it mends nothing.
        if let Some(why) = predicted.fit.as_ref().and_then(Fit::unfit) {
            return Choice {
                predicted: Some(predicted),
                ..no(why)
            };
        }
        reasons.extend(predicted.fit.iter().flat_map(pressed_then));
        Choice {
            work: Work::Sleeve,
            with: None,
            refused: None,
            reasons,
            predicted: Some(predicted),
        }
    }

    /// The seat as a sleeve would be, and how far its size may be off the target, mm. Within the
    /// grade every size is as likely: a rectangular distribution (JCGM 100:2008, 4.3.7).
    fn sleeved(&self) -> Result<(SeatForm, f64), LimitsError> {
        let target = self.seat.target_mm;
        let grade = standard_tolerance_um(self.seat.nominal_mm, self.shop.sleeve_grade)?;
        let within = grade / 2e3;
        let input = Input::within("sleeve", target, within, Distribution::Rectangular);
        let form = SeatForm {
            mean_mm: target,
            uncertainty: Estimate {
                standard: input.standard,
                expanded: within,
                coverage_factor: within / input.standard,
                degrees_of_freedom: None,
            },
            out_of_round_uncertainty: None,
            largest_uncertainty: None,
            form_reach_mm: None,
            sections: vec![SeatSection {
                depth_mm: self.seat.depths_mm.first().copied().unwrap_or(0.0),
                mean_mm: target,
                smallest_mm: None,
                largest_mm: None,
                oval_mm: None,
            }],
        };
        Ok((form, within))
    }
}
