//! How many directions each number needs, for each contact: the mean one (its form is not known
//! below three), the oval three, a residual four. From an axis beside the centre two unknowns more
//! stand between a radius and an oval, so that needs five.
#![allow(clippy::unwrap_used, reason = "a test says what failed by failing")]

use borewright::bore::{Basis, Contact, Growing, Observation, Section, section};

/// An egg of 0.04 mm in diameter on 46 mm, and what a contact reads of it.
fn reading(contact: Contact, angle_deg: f64) -> Observation {
    let egg = |angle: f64| 0.01 * (2.0 * (angle - 20.0).to_radians()).cos();
    let reading_mm = match contact {
        Contact::TwoPoint => 46.0 + 2.0 * egg(angle_deg),
        // The egg is not to be seen.
        Contact::ThreePoint => 46.0,
        Contact::Radius => 23.0 + egg(angle_deg),
    };
    Observation {
        angle_deg,
        reading_mm,
    }
}

#[test]
fn each_number_comes_with_its_directions_and_not_before() {
    for (contact, oval_needs) in [
        (Contact::TwoPoint, 3),
        (Contact::ThreePoint, usize::MAX),
        (Contact::Radius, 5),
    ] {
        for directions in 1..=8_u32 {
            let readings: Vec<Observation> = (0..directions)
                .map(|place| {
                    let period = contact_period(contact);
                    reading(contact, period * f64::from(place) / f64::from(directions))
                })
                .collect();
            let whole = section(contact, 5.0, &readings, &Basis::default()).unwrap();
            let planned = readings.iter().map(|reading| reading.angle_deg);
            let mut growing = Growing::new(contact, planned);
            for &reading in &readings {
                growing.push(reading).unwrap();
            }
            let so_far = growing.section(5.0, &Basis::default()).unwrap();
            let directions = directions as usize;
            let what = |section: &Section| {
                (
                    section.mean_diameter_mm.is_some(),
                    section.form_unknown,
                    section.oval.is_some(),
                    section.residual_mm.is_some(),
                )
            };
            // Mean, centre and oval take up five radii whole.
            let takes_up_all = contact == Contact::Radius && directions == 5;
            let expected = (
                true,
                directions < 3,
                directions >= oval_needs,
                directions >= 4 && !takes_up_all,
            );
            assert_eq!(what(&whole), expected, "{contact}, {directions}");
            // While it grows, a radius section has centre and oval from the start, so that its mean
            // comes with the fifth direction.
            if contact != Contact::Radius || !(3..=4).contains(&directions) {
                assert_eq!(
                    what(&so_far),
                    expected,
                    "{contact}, {directions}, under way"
                );
            }
            for section in [&whole, &so_far] {
                let mean = section.mean_diameter_mm.unwrap_or(46.0);
                // One direction may lie on an axis of the egg.
                assert!(
                    (mean - 46.0).abs() < 0.0201,
                    "{contact}, {directions}: {mean}"
                );
                for (field, there) in [
                    ("mean_diameter_mm", section.mean_diameter_mm.is_some()),
                    ("oval", section.oval.is_some()),
                    ("residual_mm", section.residual_mm.is_some()),
                ] {
                    assert_eq!(section.why_withheld(field).is_none(), there, "{field}");
                }
                if section.oval.is_none() {
                    let why = match contact {
                        Contact::ThreePoint => "a three-point gauge can't see an oval".to_owned(),
                        _ => format!("needs {oval_needs} directions, has {directions}"),
                    };
                    assert_eq!(section.why_withheld("oval"), Some(why.as_str()));
                }
                let fitted = section.lobes.is_empty();
                assert_eq!(section.why_withheld("lobes").is_some(), fitted, "{contact}");
            }
        }
    }
}

const fn contact_period(contact: Contact) -> f64 {
    match contact {
        Contact::TwoPoint => 180.0,
        Contact::ThreePoint => 120.0,
        Contact::Radius => 360.0,
    }
}
