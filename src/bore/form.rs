//! How far out of round a section is, whatever the contact: the figure that a limit is held to.

use super::section::TOO_CLOSE;
use super::{Contact, Section};
use crate::uncertainty::Estimate;

/// The form of a section as a change of diameter, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Form {
    /// Largest minus smallest diameter; for an indicator swept from an axis twice the radial zone
    /// about the least-squares circle. For an oval the two are the same.
    pub out_of_round_mm: f64,
    /// Uncertainty of that; `None` where it isn't known.
    pub estimate: Option<Estimate>,
    /// How far the wall comes in at its innermost: mean minus smallest diameter, or twice the
    /// radial valley.
    pub inward_mm: f64,
    /// Whether it comes from radii.
    pub of_radii: bool,
}

/// The arc that counts as not gauged: a lobe of the lowest count that the contact sees may run
/// through most of its size in a third of its period. Angles are stated to a hundredth of a degree.
pub(super) fn ungauged(contact: Contact, gap_deg: f64) -> Option<f64> {
    (gap_deg > contact.period_deg() / 3.0 + 0.01).then_some(gap_deg)
}

/// The arc that takes the mean with it: in half of its period a lobe runs from its largest to its
/// smallest, and a mean all round is no longer between what was gauged but beyond it.
pub(super) fn hides_the_mean(contact: Contact, gap_deg: f64) -> bool {
    gap_deg > contact.period_deg() / 2.0 - 0.01
}

impl Section {
    /// Why the mean diameter, `mean_mm`, does not show that the bore is within its limits, as a
    /// sentence that quotes it; `None` where it does.
    pub fn mean_unproven(&self, mean_mm: f64) -> Option<String> {
        let gauged = format!("mean {mean_mm:.3} mm where it was gauged, but");
        if self.form_unknown && self.stations < 3 {
            return Some(format!(
                "mean {mean_mm:.3} mm from {} of the 3 directions that show the form: gauge on",
                self.stations
            ));
        }
        if self.form_unknown {
            return Some(format!(
                "{gauged} the directions don't show the form: spread them"
            ));
        }
        let arc = self.arc_not_gauged()?;
        Some(format!("{gauged} {arc}"))
    }

    fn arc_not_gauged(&self) -> Option<String> {
        let arc = self.ungauged_arc_deg?;
        Some(format!(
            "an arc of {arc:.0}° was not gauged: gauge all round"
        ))
    }

    /// Why a form within `limit_mm` wherever it was gauged does not show that the bore is within it;
    /// `None` where it does.
    pub fn form_unproven(&self, limit_mm: f64) -> Option<String> {
        if let Some(arc) = self.arc_not_gauged() {
            return Some(arc);
        }
        if self.form_unknown {
            return Some(TOO_CLOSE.to_owned());
        }
        // Over the limit where it was gauged, it is judged by that.
        let within = self
            .form()
            .is_none_or(|form| form.out_of_round_mm <= limit_mm);
        let over = |oval: &super::Oval| oval.long_axis_deg.is_some() && oval.size_mm > limit_mm;
        let oval = self.oval.filter(|oval| within && over(oval))?;
        Some(format!(
            "the fitted oval of {:.3} mm is over the limit: gauge more directions",
            oval.size_mm
        ))
    }

    /// Why there is no [`form`](Self::form); `None` where it is for too few directions.
    pub fn why_no_form(&self) -> Option<&str> {
        if self.stations < 3 {
            return None;
        }
        // Radii have their form from the circles.
        let by_radii = self.unseen_lobes == Contact::Radius.unseen_lobes();
        self.why_withheld(if by_radii {
            "roundness"
        } else {
            "out_of_round_mm"
        })
    }

    /// The section's form; `None` where fewer directions were gauged than show it, and for a
    /// contact that is blind to an oval.
    pub fn form(&self) -> Option<Form> {
        if self.stations < 3 {
            return None;
        }
        if let Some(roundness) = &self.roundness {
            let circle = &roundness.least_squares;
            let zone = self.uncertainty.get("roundness.least_squares.zone_mm");
            return Some(Form {
                out_of_round_mm: 2.0 * circle.zone_mm,
                estimate: zone.map(|zone| zone.times(2.0)),
                inward_mm: 2.0 * circle.valley_mm,
                of_radii: true,
            });
        }
        let out_of_round_mm = self.out_of_round_mm?;
        Some(Form {
            out_of_round_mm,
            estimate: self.uncertainty.get("out_of_round_mm").copied(),
            inward_mm: self
                .mean_diameter_mm
                .zip(self.smallest_mm)
                .map_or(out_of_round_mm / 2.0, |(mean, smallest)| mean - smallest),
            of_radii: false,
        })
    }
}

#[cfg(test)]
mod tests {
    use crate::bore::{Basis, Contact, Observation, section};

    /// An oval of 0.040 mm: diameters 46.02 and 45.98, radii 23.01 and 22.99.
    #[test]
    fn an_oval_is_as_far_out_of_round_by_radii_as_by_diameters() {
        let form = |contact: Contact, count: u32, mean: f64, amplitude: f64| {
            let readings: Vec<Observation> = (0..count)
                .map(|at| f64::from(at) * contact.period_deg() / f64::from(count))
                .map(|angle_deg| Observation {
                    angle_deg,
                    reading_mm: mean + amplitude * (2.0 * angle_deg.to_radians()).cos(),
                })
                .collect();
            let section = section(contact, 5.0, &readings, &Basis::default()).unwrap();
            section.form()
        };
        let diameters = form(Contact::TwoPoint, 12, 46.0, 0.020).unwrap();
        let radii = form(Contact::Radius, 24, 23.0, 0.010).unwrap();
        assert!((diameters.out_of_round_mm - 0.040).abs() < 1e-9);
        assert!((radii.out_of_round_mm - 0.040).abs() < 1e-6);
        assert!((diameters.inward_mm - 0.020).abs() < 1e-9);
        assert!((radii.inward_mm - 0.020).abs() < 1e-6);
        assert!(form(Contact::ThreePoint, 12, 46.0, 0.020).is_none());
        assert!(form(Contact::TwoPoint, 2, 46.0, 0.020).is_none());
    }
}
