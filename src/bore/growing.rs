//! The numbers of a section while it is gauged.

use super::directions::Directions;
use super::form::{hides_the_mean, ungauged};
use super::harmonics::Harmonics;
use super::live::Live;
use super::radius::{WIDEST_GAP_DEG, mean_about_axis, no_diameters};
use super::range::ends_bound;
use super::scatter::Scatter;
use super::section::{carried, check_depth, lobes, no_roundness};
use super::sizes::{Mean, extremes, extremes_known, set_mean};
use super::{Basis, Contact, Error, Observation, Readings, Section};

/// Why a number waits for the whole section.
const WAITS: &str = "told once every station of this section is gauged";

/// A section under way: the mean, the extremes and the lowest lobe count that shows a form, at a
/// cost that does not grow with the section.
///
/// The plan says at the beginning which directions there will be, so that each has its place and a
/// reading allocates nothing.
///
/// The order of the fit is fixed: the oval for `two-point`, three lobes for `three-point`, the
/// centre and the oval for `radius`. What needs the whole section (higher lobes, a wild reading,
/// reference circles) waits for [`section`](super::section), and so do the simulated uncertainties
/// of the extremes and the out-of-round: until then upper bounds of them stand there.
#[derive(Debug, Clone)]
pub struct Growing {
    contact: Contact,
    live: Live,
    directions: Directions,
}

impl Growing {
    /// A section without readings, with room for the `planned` directions, degrees, any turn.
    pub fn new(contact: Contact, planned: impl IntoIterator<Item = f64>) -> Self {
        Self {
            contact,
            live: Live::new(contact, contact.step().max(2)),
            directions: Directions::planned(contact, planned),
        }
    }

    /// Takes one more reading, at the same cost however many there are, and without allocating.
    /// The cost depends on the plan: twice as many directions are one more comparison. Only a
    /// direction outside the plan has to be given room first, at a cost that grows with the plan.
    ///
    /// # Errors
    /// [`Error::NotFinite`], [`Error::Beyond`]; the section stays as it was.
    pub fn push(&mut self, observation: Observation) -> Result<(), Error> {
        self.live.push(observation)?;
        self.directions.push(observation);
        Ok(())
    }

    /// The numbers so far, at a cost that does not grow with the section either. It allocates: the
    /// reasons of what is withheld are sentences.
    ///
    /// # Errors
    /// [`Error::NoReadings`]; [`Error::Depth`].
    pub fn section(&self, depth_mm: f64, basis: &Basis) -> Result<Section, Error> {
        check_depth(depth_mm)?;
        let directions = &self.directions;
        if directions.gauged == 0 {
            return Err(Error::NoReadings);
        }
        let (readings, count) = (directions.readings, directions.gauged);
        let mut section = Section::blank(self.contact, depth_mm, readings, count);
        section.stand_on(basis.setting);
        section.ungauged_arc_deg = ungauged(self.contact, directions.widest_gap_deg());
        let (squares, degrees) = self.within();
        section.repeatability_mm = (degrees > 0.0).then(|| (squares / degrees).sqrt());
        if section.repeatability_mm.is_none() {
            section.withhold("repeatability_mm", "no direction was gauged twice");
        }
        section.withhold("suspect", WAITS);
        match self.contact {
            Contact::TwoPoint | Contact::ThreePoint => self.diameters(&mut section, basis),
            Contact::Radius => self.radii(&mut section, basis),
        }
        Ok(section)
    }

    /// The squares of readings about the mean of their direction, mm², and their degrees of freedom.
    #[expect(clippy::cast_precision_loss, reason = "counts of readings")]
    const fn within(&self) -> (f64, f64) {
        let directions = &self.directions;
        (directions.within_mm2, directions.within_degrees as f64)
    }

    #[expect(clippy::cast_precision_loss, reason = "counts of readings")]
    fn scatter(&self, fit: Option<&Harmonics>, basis: &Basis) -> Option<Scatter> {
        let [least_mm, most_mm] = self.directions.extremes_mm();
        let span_mm = most_mm - least_mm;
        let Some(fit) = fit else {
            let each = self.directions.readings_each();
            let (squares, degrees) = self.within();
            let own = (degrees > 0.0).then_some((squares / each, degrees));
            return Scatter::of_squares(own, each, span_mm, basis);
        };
        // The fit is to single readings, so its residual holds the scatter of repeats too.
        let own = (fit.degrees > 0).then_some((fit.residual_mm2, fit.degrees as f64));
        Scatter::of_squares(own, 1.0, span_mm, basis)
    }

    fn diameters(&self, section: &mut Section, basis: &Basis) {
        let fit = self.live.series().filter(|fit| carried(self.contact, fit));
        let scatter = self.scatter(fit.as_ref(), basis);
        let gap = self.directions.widest_gap_deg();
        let hidden = self.directions.gauged >= 3 && hides_the_mean(self.contact, gap);
        let shown = fit.as_ref().filter(|_| !hidden);
        section.form_unknown = shown.is_none();
        section.scatter_from = scatter.map(|scatter| scatter.from);
        let ends = self.directions.extremes_mm();
        extremes(section, self.contact, ends, basis);
        if hidden {
            section.withhold("mean_diameter_mm", not_yet(gap));
        } else {
            let plain = || self.directions.mean_mm();
            let found = Mean::of_fit(shown, self.directions.gauged, plain);
            set_mean(section, found, scatter, basis);
        }
        lobes(section, self.contact, shown, scatter);
        no_roundness(section, self.contact);
        let bound = scatter.and_then(|scatter| {
            // One reading stands behind the least known direction.
            let one = scatter.of_mean_of(1.0);
            ends_bound(self.directions.gauged, one.variance_mm2.sqrt(), one.degrees)
        });
        extremes_known(section, bound, scatter, basis);
    }

    fn radii(&self, section: &mut Section, basis: &Basis) {
        no_diameters(section);
        section.withhold("roundness", WAITS);
        if self.directions.gauged < 3 {
            mean_about_axis(section, self.directions.mean_mm(), basis);
            lobes(section, self.contact, None, None);
            return;
        }
        let gap = self.directions.widest_gap_deg();
        let fit = self.live.series().filter(|_| gap <= WIDEST_GAP_DEG);
        let Some(mut fit) = fit else {
            section.form_unknown = true;
            let why = if gap > WIDEST_GAP_DEG {
                not_yet(gap)
            } else {
                format!(
                    "centre and oval need 5 directions, so far there are {}",
                    self.directions.gauged
                )
            };
            section.withhold("mean_diameter_mm", why);
            lobes(section, self.contact, None, None);
            return;
        };
        let scatter = self.scatter(Some(&fit), basis);
        if basis.readings == Readings::Size {
            centre(&mut fit);
        }
        let form_mm = taken_up(&fit);
        let radius_mm = fit.coefficients[0] + form_mm;
        let mean = Mean::of_radii(radius_mm, fit.inverse[(0, 0)], form_mm);
        set_mean(section, mean, scatter, basis);
        lobes(section, self.contact, Some(&fit), scatter);
    }
}

/// Why a number waits for the other side.
fn not_yet(gap_deg: f64) -> String {
    format!("an arc of {gap_deg:.0}° is not gauged yet; gauge all round")
}

/// Takes out what an axis of sweep beside the centre adds to mean and oval. From an axis e off the
/// centre of a circle of radius R the wall lies at e cos t + √(R² − e² sin² t), which is
/// R + e cos t − (e²/4R)(1 − cos 2t) up to e⁴/R³; t from the direction of the centre.
fn centre(fit: &mut Harmonics) {
    let (mean, x, y) = (
        fit.coefficients[0],
        fit.coefficients[1],
        fit.coefficients[2],
    );
    let squares = x * x + y * y;
    if mean <= 0.0 || squares <= 0.0 {
        return;
    }
    let more = squares / (4.0 * mean);
    fit.coefficients[0] += more;
    fit.coefficients[3] -= more * (x * x - y * y) / squares;
    fit.coefficients[4] -= more * 2.0 * x * y / squares;
}

/// What the radius of the least-squares circle takes up of the oval: a series without the oval has
/// the mean and centre of the one with it, plus A⁻¹B times the oval, where A and B are the blocks of
/// the normal equations XᵀX. By the inverse of a matrix in blocks, with V = (XᵀX)⁻¹ in the same
/// blocks, that is −V₁₂V₂₂⁻¹.
fn taken_up(fit: &Harmonics) -> f64 {
    let beside = fit.inverse.fixed_view::<2, 2>(3, 3);
    let oval = fit.coefficients.fixed_rows::<2>(3);
    beside.try_inverse().map_or(0.0, |inverse| {
        -(fit.inverse.fixed_view::<1, 2>(0, 3) * inverse * oval)[(0, 0)]
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bore::{Order, section};

    fn close(a: Option<f64>, b: Option<f64>, to: f64) {
        let (a, b) = (a.unwrap(), b.unwrap());
        assert!((a - b).abs() < to, "{a}, {b}");
    }

    /// Every number that it gives is that of the whole section fitted to the same order, which
    /// other tests hold against numpy.
    #[test]
    fn a_growing_section_has_the_numbers_of_the_whole_at_its_order() {
        // The first three leave no half of either period open.
        let angles = [25.0, 71.0, 118.0, 3.0, 44.0, 90.0, 133.0, 170.0];
        let basis = Basis {
            order: Order::UpTo(3),
            resolution_mm: Some(0.001),
            ..Basis::default()
        };
        for contact in [Contact::TwoPoint, Contact::ThreePoint] {
            let lobes = f64::from(contact.step());
            let mut growing = Growing::new(contact, angles);
            let mut readings = Vec::new();
            for (number, angle_deg) in angles.into_iter().enumerate() {
                let turn = f64::to_radians(angle_deg);
                let reading_mm = 46.0 + 0.04 * (lobes * turn - 1.0).cos() + 0.003 * turn.sin();
                let reading = Observation {
                    angle_deg,
                    reading_mm,
                };
                readings.push(reading);
                growing.push(reading).unwrap();
                let so_far = growing.section(8.0, &basis).unwrap();
                let whole = section(contact, 8.0, &readings, &basis).unwrap();
                assert_eq!(so_far.form_unknown, number < 2);
                close(so_far.mean_diameter_mm, whole.mean_diameter_mm, 1e-11);
                assert_eq!(so_far.out_of_round_mm, whole.out_of_round_mm);
                assert_eq!(so_far.lobes.len(), whole.lobes.len());
                assert_eq!(so_far.oval.is_some(), whole.oval.is_some());
                let standard = |of: &Section| {
                    let estimate = of.uncertainty.get("mean_diameter_mm");
                    estimate.map(|estimate| estimate.standard)
                };
                assert_eq!(standard(&so_far).is_some(), number > 2, "{number}");
                for field in ["out_of_round_mm", "largest_mm", "smallest_mm"] {
                    let known = |of: &Section| of.uncertainty.get(field).copied();
                    if let (Some(bound), Some(simulated)) = (known(&so_far), known(&whole)) {
                        assert!(bound.expanded >= simulated.expanded, "it is a bound");
                    }
                }
                if number > 2 {
                    close(standard(&so_far), standard(&whole), 1e-9);
                    close(so_far.residual_mm, whole.residual_mm, 1e-9);
                }
                if let (Some(a), Some(b)) = (so_far.oval, whole.oval) {
                    assert!((a.size_mm - b.size_mm).abs() < 1e-10);
                }
            }
        }
    }

    #[test]
    fn repeats_and_twins_are_one_direction() {
        let mut growing = Growing::new(Contact::TwoPoint, [0.0, 33.0]);
        for (angle_deg, reading_mm) in
            [(33.0, 46.0), (213.0, 46.002), (-147.0, 46.004), (0.0, 46.1)]
        {
            let reading = Observation {
                angle_deg,
                reading_mm,
            };
            growing.push(reading).unwrap();
        }
        let section = growing.section(1.0, &Basis::default()).unwrap();
        assert_eq!((section.readings, section.stations), (4, 2));
        close(section.repeatability_mm, Some(0.002), 1e-12);
        close(section.smallest_mm, Some(46.002), 1e-12);
    }

    /// Uneven directions, an oval, an axis of sweep beside the centre: the section under way shows
    /// the diameter and the uncertainty of the whole one, whose circle scipy confirms.
    #[test]
    fn a_growing_sweep_has_the_circle_of_the_whole() {
        let basis = Basis {
            order: Order::UpTo(2),
            resolution_mm: Some(0.001),
            ..Basis::default()
        };
        let mut growing = Growing::new(Contact::Radius, []);
        let mut readings = Vec::new();
        for (number, angle_deg) in [3.0, 70.0, 95.0, 140.0, 210.0, 230.0, 290.0, 322.0]
            .into_iter()
            .enumerate()
        {
            let t = f64::to_radians(angle_deg);
            let (e, radius) = (0.05, 23.0_f64);
            let noise = if number.is_multiple_of(2) {
                0.001
            } else {
                -0.001
            };
            let reading = Observation {
                angle_deg,
                reading_mm: e * t.cos()
                    + (radius.powi(2) - (e * t.sin()).powi(2)).sqrt()
                    + 0.01 * (2.0 * t - 1.0).cos()
                    + noise,
            };
            readings.push(reading);
            growing.push(reading).unwrap();
        }
        let so_far = growing.section(1.0, &basis).unwrap();
        let whole = section(Contact::Radius, 1.0, &readings, &basis).unwrap();
        close(so_far.mean_diameter_mm, whole.mean_diameter_mm, 1e-4);
        let form = whole.form_of("mean_diameter_mm");
        assert!(form.abs() > 0.001, "the circle takes up oval: {form}");
        let standard = |of: &Section| of.uncertainty.get("mean_diameter_mm").map(|u| u.standard);
        close(standard(&so_far), standard(&whole), 1e-4);
    }

    /// A round hole 21 mm in radius swept from an axis 0.5 mm beside its centre: by the theorem of
    /// Pythagoras alone.
    #[test]
    fn an_indicator_beside_the_centre_of_a_round_bore_shows_it_round() {
        let mut growing = Growing::new(Contact::Radius, []);
        for step in 0..12 {
            let t = f64::to_radians(30.0 * f64::from(step));
            let (e, radius) = (0.5, 21.0_f64);
            let reading = Observation {
                angle_deg: 30.0 * f64::from(step),
                reading_mm: e * t.cos() + (radius.powi(2) - (e * t.sin()).powi(2)).sqrt(),
            };
            growing.push(reading).unwrap();
            if (2..7).contains(&step) {
                let so_far = growing.section(1.0, &Basis::default()).unwrap();
                assert_eq!(so_far.mean_diameter_mm, None, "an arc says little");
            }
        }
        let section = growing.section(1.0, &Basis::default()).unwrap();
        close(section.mean_diameter_mm, Some(42.0), 1e-4);
        assert!(section.oval.unwrap().size_mm < 1e-4, "{:?}", section.oval);
    }
}
