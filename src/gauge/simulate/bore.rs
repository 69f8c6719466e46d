//! The bore that a simulated gauge is held into.

use crate::bore::Contact;

/// A bore by its form. Lengths in mm, angles in degrees, clockwise seen from the bore's face.
#[derive(Debug, Clone, PartialEq)]
pub struct Bore {
    /// Mean diameter at the face, mm.
    pub mean_mm: f64,
    /// Largest minus smallest diameter of the oval, mm.
    pub oval_mm: f64,
    /// Where the oval is widest, degrees.
    pub long_axis_deg: f64,
    /// Further lobes.
    pub lobes: Vec<Lobes>,
    /// Growth of the diameter with the depth, mm per mm: positive where it is wider inside.
    pub taper_mm_per_mm: f64,
    /// A reamer has gone through: it takes away what stands inside its circle and leaves the rest.
    pub reamed: Option<Reamed>,
}

/// The circle that a reamer has turned in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reamed {
    /// Its diameter, mm.
    pub diameter_mm: f64,
    /// How far its axis lay beside the bore's, mm.
    pub off_mm: f64,
    /// In which direction, degrees.
    pub towards_deg: f64,
}

impl Reamed {
    /// Along the bore's own axis.
    pub const fn centred(diameter_mm: f64) -> Self {
        Self {
            diameter_mm,
            off_mm: 0.0,
            towards_deg: 0.0,
        }
    }

    /// Distance from the bore's axis to the circle, mm.
    fn radius_mm(&self, angle_deg: f64) -> f64 {
        let (sine, cosine) = (angle_deg - self.towards_deg).to_radians().sin_cos();
        let across = self.off_mm * sine;
        let radius = self.diameter_mm / 2.0;
        self.off_mm * cosine + (radius * radius - across * across).max(0.0).sqrt()
    }
}

/// Undulations round the circumference.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lobes {
    /// How many.
    pub count: u32,
    /// Half peak-to-valley of the radius, mm.
    pub amplitude_mm: f64,
    /// One direction in which the radius is largest, degrees.
    pub peak_deg: f64,
}

impl Default for Bore {
    /// Round, 46 mm.
    fn default() -> Self {
        Self {
            mean_mm: 46.0,
            oval_mm: 0.0,
            long_axis_deg: 0.0,
            lobes: Vec::new(),
            taper_mm_per_mm: 0.0,
            reamed: None,
        }
    }
}

impl Bore {
    /// Distance from the axis to the wall, mm.
    pub fn radius_mm(&self, depth_mm: f64, angle_deg: f64) -> f64 {
        let wave = |count: u32, peak_deg: f64| {
            (f64::from(count) * (angle_deg - peak_deg).to_radians()).cos()
        };
        let lobes = self
            .lobes
            .iter()
            .map(|l| l.amplitude_mm * wave(l.count, l.peak_deg));
        let radius = (self.mean_mm + self.taper_mm_per_mm * depth_mm) / 2.0
            + self.oval_mm / 4.0 * wave(2, self.long_axis_deg)
            + lobes.sum::<f64>();
        self.reamed
            .map_or(radius, |reamed| radius.max(reamed.radius_mm(angle_deg)))
    }

    /// The size that a gauge of this contact finds, mm: a diameter, or a radius for
    /// [`Contact::Radius`].
    ///
    /// Three points at 120° settle so that all touch. To first order in the deviations from a
    /// circle the shift of the head's centre cancels, and the size is twice the mean of the three
    /// radii; what is left is of the order of deviation² / radius (0.05 mm in 46 mm: 0.1 µm).
    pub fn seen_mm(&self, contact: Contact, depth_mm: f64, angle_deg: f64) -> f64 {
        let radius = |turn: f64| self.radius_mm(depth_mm, angle_deg + turn);
        match contact {
            Contact::TwoPoint => radius(0.0) + radius(180.0),
            Contact::ThreePoint => 2.0 * (radius(0.0) + radius(120.0) + radius(240.0)) / 3.0,
            Contact::Radius => radius(0.0),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn egg() -> Bore {
        Bore {
            mean_mm: 45.96,
            oval_mm: 0.10,
            long_axis_deg: 35.0,
            ..Bore::default()
        }
    }

    /// From the words: the long axis is half the oval's size above the mean, the tight axis, a
    /// quarter turn on, as much below.
    #[test]
    fn a_two_point_gauge_sees_the_oval_on_its_axes() {
        let seen = |angle| egg().seen_mm(Contact::TwoPoint, 0.0, angle);
        assert!((seen(35.0) - 46.01).abs() < 1e-12);
        assert!((seen(125.0) - 45.91).abs() < 1e-12);
        assert!((seen(215.0) - seen(35.0)).abs() < 1e-12);
    }

    #[test]
    fn each_contact_is_blind_to_what_it_can_not_see() {
        let three = Lobes {
            count: 3,
            amplitude_mm: 0.02,
            peak_deg: 10.0,
        };
        let lobed = Bore {
            lobes: vec![three],
            ..Bore::default()
        };
        for angle in [0.0, 17.0, 90.0, 133.0] {
            assert!((lobed.seen_mm(Contact::TwoPoint, 0.0, angle) - 46.0).abs() < 1e-12);
            assert!((egg().seen_mm(Contact::ThreePoint, 0.0, angle) - 45.96).abs() < 1e-12);
        }
        assert!((lobed.seen_mm(Contact::ThreePoint, 0.0, 10.0) - 46.04).abs() < 1e-12);
    }

    #[test]
    fn a_reamer_takes_the_tight_axis_only() {
        let reamed = Bore {
            reamed: Some(Reamed::centred(45.98)),
            ..egg()
        };
        assert!((reamed.seen_mm(Contact::TwoPoint, 0.0, 125.0) - 45.98).abs() < 1e-12);
        assert!((reamed.seen_mm(Contact::TwoPoint, 0.0, 35.0) - 46.01).abs() < 1e-12);
    }

    /// A circle of 46 mm whose centre lies 0.1 mm towards 0°: 23.1 and 22.9 mm from the axis along
    /// that direction, sqrt(23² − 0.1²) across it.
    #[test]
    fn a_reamer_off_the_axis_leaves_its_own_circle() {
        let reamed = Bore {
            mean_mm: 45.0,
            reamed: Some(Reamed {
                diameter_mm: 46.0,
                off_mm: 0.1,
                towards_deg: 0.0,
            }),
            ..Bore::default()
        };
        let radius = |angle| reamed.radius_mm(5.0, angle);
        assert!((radius(0.0) - 23.1).abs() < 1e-12);
        assert!((radius(180.0) - 22.9).abs() < 1e-12);
        assert!((radius(90.0) - (23.0_f64.powi(2) - 0.01).sqrt()).abs() < 1e-12);
    }

    #[test]
    fn a_taper_widens_inwards() {
        let tapered = Bore {
            taper_mm_per_mm: 0.002,
            ..Bore::default()
        };
        assert!((tapered.seen_mm(Contact::TwoPoint, 10.0, 0.0) - 46.02).abs() < 1e-12);
    }
}
