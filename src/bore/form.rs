//! How far out of round a section is, whatever the contact: the figure that a limit is held to.

use super::Section;
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

impl Section {
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
