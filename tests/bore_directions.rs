//! How many directions each number needs, for each contact: the mean one (its form is not known
//! below three), the oval three, a residual four. From an axis beside the centre two unknowns more
//! stand between a radius and an oval, so that needs five.
#![allow(clippy::unwrap_used, reason = "a test says what failed by failing")]

use borewright::bore::{Basis, Contact, Growing, Observation, Section, bore, section};

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

/// Eight readings of one diameter within 2° say their largest and smallest and nothing of the form: a
/// mean all round would be extrapolated (the series through them has one of 48.79 mm). So
/// while it is gauged, and for three points.
#[test]
fn of_a_short_arc_no_mean_is_extrapolated() {
    let angles = [1.663, 1.298, 0.244, 1.225, 0.900, 1.378, 1.844, 0.276];
    let noise = [1.7, 1.6, -0.2, -2.2, -1.1, -1.0, 0.6, -1.7];
    let readings: Vec<Observation> = angles
        .iter()
        .zip(noise)
        .map(|(&angle_deg, off)| Observation {
            angle_deg,
            reading_mm: 46.0 + off * 1e-3,
        })
        .collect();
    for contact in [Contact::TwoPoint, Contact::ThreePoint] {
        let mut growing = Growing::new(contact, angles);
        for &reading in &readings {
            growing.push(reading).unwrap();
        }
        let basis = Basis::default();
        for section in [
            section(contact, 5.0, &readings, &basis).unwrap(),
            growing.section(5.0, &basis).unwrap(),
        ] {
            assert_eq!(section.mean_diameter_mm, None, "{contact}");
            let why = section.why_withheld("mean_diameter_mm").unwrap();
            assert!(why.contains("gauge all round"), "{why}");
            let smallest = section.smallest_mm.unwrap();
            assert!((smallest - 45.9978).abs() < 1e-9, "{contact}: {smallest}");
            assert!(section.form_unknown, "{contact}");
            assert!(section.oval.is_none() && section.lobes.is_empty());
            let why = section.why_withheld("lobes").unwrap();
            assert!(why.contains("was not gauged"), "{why}");
        }
    }
}

/// A section of one short arc, twice as wide as its neighbours' scatter could explain, is neither
/// their waist nor their bell-mouth; the mean of the bore waits for it.
#[test]
fn a_section_without_its_form_says_nothing_of_the_bore() {
    let at = |depth: f64, angles: &[f64], mean: f64| {
        let readings: Vec<Observation> = angles
            .iter()
            .map(|&angle_deg| Observation {
                angle_deg,
                reading_mm: mean + 1e-4 * (angle_deg % 7.0),
            })
            .collect();
        section(Contact::TwoPoint, depth, &readings, &Basis::default()).unwrap()
    };
    let round = [0.0, 45.0, 90.0, 135.0, 20.0];
    let sections = vec![
        at(5.0, &round, 45.97),
        at(10.0, &[0.0, 0.1, 0.2, 0.3], 45.9),
        at(15.0, &round, 45.975),
    ];
    let numbers = bore("a", sections).numbers;
    assert_eq!(numbers.waist.unwrap().depth_mm, 5.0);
    assert!((numbers.taper_mm_per_mm.unwrap() - 0.0005).abs() < 1e-9);
    assert_eq!((numbers.barrel_mm, numbers.bell_mouth_mm), (None, None));
    assert_eq!(numbers.mean_diameter_mm, None);
    let mut withheld = numbers.withheld.iter();
    let why = withheld.find(|w| w.field == "mean_diameter_mm").unwrap();
    assert!(
        why.why.starts_with("an arc of 180° was not gauged"),
        "{}",
        why.why
    );
}
