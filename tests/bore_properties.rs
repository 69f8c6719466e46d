//! What must hold for every bore, whatever its readings.
#![allow(clippy::unwrap_used, reason = "a test says what failed by failing")]

use borewright::bore::{Basis, Contact, Observation, Section, section};
use proptest::prelude::*;

/// A bore of lobes 2 to 6 with scatter that no two directions share, at uneven angles.
#[derive(Debug, Clone)]
struct Made {
    radius: f64,
    lobes: Vec<(u32, f64, f64)>,
    angles: Vec<f64>,
    scatter: Vec<f64>,
}

impl Made {
    fn wall(&self, angle_deg: f64) -> f64 {
        let angle = angle_deg.to_radians();
        self.lobes
            .iter()
            .map(|&(n, a, phase)| a * (f64::from(n) * angle - phase).cos())
            .sum()
    }

    fn reading(&self, contact: Contact, angle: f64) -> f64 {
        match contact {
            Contact::TwoPoint => 2.0 * self.radius + self.wall(angle) + self.wall(angle + 180.0),
            Contact::ThreePoint => {
                let at = |turn| self.wall(angle + turn);
                2.0 * self.radius + 2.0 / 3.0 * (at(0.0) + at(120.0) + at(240.0))
            }
            Contact::Radius => self.radius + self.wall(angle),
        }
    }

    fn observations(&self, contact: Contact, turn: f64) -> Vec<Observation> {
        self.angles
            .iter()
            .zip(&self.scatter)
            .map(|(&angle, scatter)| Observation {
                angle_deg: (angle + turn).rem_euclid(360.0),
                reading_mm: self.reading(contact, angle) + scatter,
            })
            .collect()
    }
}

fn made() -> impl Strategy<Value = Made> {
    (7_usize..40).prop_flat_map(|count| {
        (
            5.0..60.0_f64,
            prop::collection::vec((2_u32..7, 0.002..0.02_f64, 0.0..6.0_f64), 1..4),
            prop::collection::vec(0.0..0.9_f64, count),
            prop::collection::vec(-0.0005..0.0005_f64, count),
        )
            .prop_map(|(radius, lobes, jitter, scatter)| {
                let count = f64::from(u32::try_from(jitter.len()).unwrap());
                let angles = (0..)
                    .zip(&jitter)
                    .map(|(place, j)| (f64::from(place) + j) * 360.0 / count)
                    .collect();
                Made {
                    radius,
                    lobes,
                    angles,
                    scatter,
                }
            })
    })
}

fn contact() -> impl Strategy<Value = Contact> {
    prop_oneof![
        Just(Contact::TwoPoint),
        Just(Contact::ThreePoint),
        Just(Contact::Radius)
    ]
}

fn compute(contact: Contact, readings: &[Observation]) -> Section {
    section(contact, 5.0, readings, &Basis::default()).unwrap()
}

fn close(a: Option<f64>, b: Option<f64>, tolerance: f64) -> Result<(), TestCaseError> {
    match (a, b) {
        (Some(a), Some(b)) => prop_assert!((a - b).abs() <= tolerance, "{} is not {}", a, b),
        _ => prop_assert_eq!(a.is_some(), b.is_some()),
    }
    Ok(())
}

/// Sizes alike, and every lobe's amplitude.
fn alike(a: &Section, b: &Section, scale: f64, shift: f64) -> Result<(), TestCaseError> {
    let size = |x: Option<f64>| x.map(|x| x * scale + shift);
    close(size(a.mean_diameter_mm), b.mean_diameter_mm, 1e-9)?;
    close(size(a.largest_mm), b.largest_mm, 1e-9)?;
    close(size(a.smallest_mm), b.smallest_mm, 1e-9)?;
    let part = |x: Option<f64>| x.map(|x| x * scale);
    close(part(a.out_of_round_mm), b.out_of_round_mm, 1e-9)?;
    close(part(a.residual_mm), b.residual_mm, 1e-9)?;
    prop_assert_eq!(a.lobes.len(), b.lobes.len());
    for (one, other) in a.lobes.iter().zip(&b.lobes) {
        prop_assert_eq!(one.count, other.count);
        close(
            Some(one.amplitude_mm * scale),
            Some(other.amplitude_mm),
            1e-9,
        )?;
    }
    if let (Some(one), Some(other)) = (a.roundness, b.roundness) {
        for (one, other) in [
            (one.least_squares, other.least_squares),
            (one.minimum_zone, other.minimum_zone),
            (one.max_inscribed, other.max_inscribed),
            (one.min_circumscribed, other.min_circumscribed),
        ] {
            close(Some(one.zone_mm * scale), Some(other.zone_mm), 1e-9)?;
        }
    }
    as_certain(a, b, scale)
}

/// Every uncertainty alike; those of a centre turn with the part and are asked for by themselves.
fn as_certain(a: &Section, b: &Section, scale: f64) -> Result<(), TestCaseError> {
    let fields = |s: &Section| s.uncertainty.keys().cloned().collect::<Vec<_>>();
    prop_assert_eq!(fields(a), fields(b));
    for (field, one) in &a.uncertainty {
        if field.ends_with(".x_mm") || field.ends_with(".y_mm") {
            continue;
        }
        let other = &b.uncertainty[field];
        let scale = if field.ends_with("_deg") { 1.0 } else { scale };
        same(field, one.standard * scale, other.standard)?;
        same(field, one.expanded * scale, other.expanded)?;
        let degrees = [one, other].map(|estimate| estimate.degrees());
        prop_assert!(
            degrees[0] == degrees[1] || (degrees[0] - degrees[1]).abs() <= 1e-6 * degrees[0],
            "{}: {:?} degrees of freedom",
            field,
            degrees
        );
    }
    Ok(())
}

fn same(what: &str, one: f64, other: f64) -> Result<(), TestCaseError> {
    let apart = (one - other).abs();
    prop_assert!(
        apart <= 1e-6 * one.abs() + 1e-12,
        "{}: {} is not {}",
        what,
        one,
        other
    );
    Ok(())
}

/// A circle's centre, its standard uncertainties and its coverage factors along x and y.
fn centre(of: &Section, circle: &str) -> Option<([f64; 2], [f64; 2], [f64; 2])> {
    let all = of.roundness?;
    let found = match circle {
        "least_squares" => all.least_squares,
        "minimum_zone" => all.minimum_zone,
        "max_inscribed" => all.max_inscribed,
        _ => all.min_circumscribed,
    };
    let known = ["x_mm", "y_mm"].map(|axis| of.uncertainty[&format!("roundness.{circle}.{axis}")]);
    let factors = known.map(|known| known.coverage_factor);
    Some((
        [found.x_mm, found.y_mm],
        known.map(|known| known.standard),
        factors,
    ))
}

const CIRCLES: [&str; 4] = [
    "least_squares",
    "minimum_zone",
    "max_inscribed",
    "min_circumscribed",
];

/// A centre turns with the part and its covariance with it, C' = R C Rᵀ: the sum of its two
/// variances stays, a quarter turn exchanges them, and half of one shows how they are correlated,
/// which says what any turn makes of them.
fn turned(made: &Made, beside: f64, turn: f64) -> Result<(), TestCaseError> {
    let swept = |turn: f64| {
        let mut readings = made.observations(Contact::Radius, turn);
        for reading in &mut readings {
            reading.reading_mm += beside * (reading.angle_deg - turn).to_radians().cos();
        }
        compute(Contact::Radius, &readings)
    };
    let (before, after, quarter, half) = (swept(0.0), swept(turn), swept(90.0), swept(45.0));
    for circle in CIRCLES {
        let Some((at, known, factors)) = centre(&before, circle) else {
            continue;
        };
        let (sine, cosine) = turn.to_radians().sin_cos();
        let (turned, now, _) = centre(&after, circle).unwrap();
        prop_assert!((turned[0] - (at[0] * cosine - at[1] * sine)).abs() < 1e-9);
        prop_assert!((turned[1] - (at[0] * sine + at[1] * cosine)).abs() < 1e-9);
        let [xx, yy] = known.map(|u| u * u);
        // Turned by 45° the variance along x is (xx + yy)/2 - xy.
        let xy = (xx + yy) / 2.0 - centre(&half, circle).unwrap().1[0].powi(2);
        let along = xx * cosine * cosine + yy * sine * sine - 2.0 * xy * sine * cosine;
        same(circle, along.sqrt(), now[0])?;
        same(circle, (xx + yy).sqrt(), now[0].hypot(now[1]))?;
        let (_, exchanged, exchanged_factors) = centre(&quarter, circle).unwrap();
        for (one, other) in [(0, 1), (1, 0)] {
            same(circle, known[one], exchanged[other])?;
            same(circle, factors[one], exchanged_factors[other])?;
        }
    }
    Ok(())
}

/// Four degrees of freedom on nine uneven directions: the fitted wall and a round one count, each
/// the larger along one axis.
#[test]
fn so_it_does_where_a_fitted_and_a_round_wall_count() {
    let (angles, scatter) = [
        (22.0, 0.00017),
        (64.0, 0.0005),
        (89.0, -0.00003),
        (136.0, -0.0003),
        (179.0, 0.0001),
        (228.0, -0.0004),
        (243.0, 0.0004),
        (286.0, 0.0005),
        (331.0, -0.0004),
    ]
    .into_iter()
    .unzip();
    let made = Made {
        radius: 26.0,
        lobes: vec![
            (4, 0.0031, 3.777),
            (2, 0.01497, 0.4314),
            (5, 0.01107, 0.7826),
        ],
        angles,
        scatter,
    };
    turned(&made, 0.02914, 21.96).unwrap();
}

/// Readings without scatter: all that is left of a centre's error is rounding, and no factor hangs
/// on it.
#[test]
fn so_it_does_where_nothing_scatters() {
    for phase in [0.0, 4.08] {
        let made = Made {
            radius: 5.0,
            lobes: vec![(2, 0.002, phase)],
            angles: (0..7).map(|place| f64::from(place) * 360.0 / 7.0).collect(),
            scatter: vec![0.0; 7],
        };
        turned(&made, 0.0, 0.0).unwrap();
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn turning_all_angles_turns_directions_and_nothing_else(
        made in made(), contact in contact(), turn in 0.0..360.0_f64
    ) {
        let before = compute(contact, &made.observations(contact, 0.0));
        let after = compute(contact, &made.observations(contact, turn));
        alike(&before, &after, 1.0, 0.0)?;
        for (one, other) in before.lobes.iter().zip(&after.lobes) {
            if let (Some(one_peak), Some(other_peak)) = (one.peak_deg, other.peak_deg) {
                let period = 360.0 / f64::from(one.count);
                let apart = (one_peak + turn - other_peak).rem_euclid(period);
                prop_assert!(apart.min(period - apart) < 1e-5, "{} apart", apart);
            }
        }
    }

    #[test]
    fn the_order_of_readings_changes_nothing(made in made(), contact in contact()) {
        let readings = made.observations(contact, 0.0);
        let mut backwards = readings.clone();
        backwards.reverse();
        let mut other = compute(contact, &backwards);
        // Where a suspect stands among the readings is the one thing that their order decides.
        if let Some(suspect) = &mut other.suspect {
            suspect.index = readings.len() - 1 - suspect.index;
        }
        prop_assert_eq!(compute(contact, &readings), other);
    }

    #[test]
    fn scaling_scales(made in made(), contact in contact(), scale in 0.5..3.0_f64) {
        let readings = made.observations(contact, 0.0);
        let scaled: Vec<Observation> = readings
            .iter()
            .map(|o| Observation { reading_mm: o.reading_mm * scale, ..*o })
            .collect();
        let (before, after) = (compute(contact, &readings), compute(contact, &scaled));
        alike(&before, &after, scale, 0.0)?;
        for circle in CIRCLES {
            if let (Some(one), Some(other)) = (centre(&before, circle), centre(&after, circle)) {
                for axis in 0..2 {
                    prop_assert!((one.0[axis] * scale - other.0[axis]).abs() < 1e-9);
                    same(circle, one.1[axis] * scale, other.1[axis])?;
                    same(circle, one.2[axis], other.2[axis])?;
                }
            }
        }
    }

    #[test]
    fn the_uncertainty_of_a_centre_turns_with_the_part(
        made in made(), beside in -0.05..0.05_f64, turn in 0.0..360.0_f64
    ) {
        turned(&made, beside, turn)?;
    }

    /// Of a swept radius a constant also moves the points outwards, which changes their circle by
    /// the square of the eccentricity; diameters know no centre.
    #[test]
    fn a_constant_moves_sizes_and_nothing_else(made in made(), shift in -0.5..0.5_f64) {
        for contact in [Contact::TwoPoint, Contact::ThreePoint] {
            let readings = made.observations(contact, 0.0);
            let shifted: Vec<Observation> = readings
                .iter()
                .map(|o| Observation { reading_mm: o.reading_mm + shift, ..*o })
                .collect();
            alike(&compute(contact, &readings), &compute(contact, &shifted), 1.0, shift)?;
        }
    }

    /// The factors of ISO 4292: two points show nothing of odd lobes, three points nothing of
    /// lobes that three doesn't divide; and the gauge's blindness stands beside the number.
    #[test]
    fn lobes_that_a_contact_can_not_see_read_as_round(
        amplitude in 0.005..0.05_f64, phase in 0.0..6.0_f64, at in 0_usize..4
    ) {
        for (contact, counts, blind_to) in [
            (Contact::TwoPoint, [3, 5, 7, 9], "odd"),
            (Contact::ThreePoint, [2, 4, 5, 7], "not multiples of 3"),
        ] {
            let made = Made {
                radius: 20.0,
                lobes: vec![(counts[at], amplitude, phase)],
                angles: (0..24).map(|place| f64::from(place) * 7.0).collect(),
                scatter: vec![0.0; 24],
            };
            let section = compute(contact, &made.observations(contact, 0.0));
            prop_assert_eq!(section.unseen_lobes.as_str(), blind_to);
            prop_assert!(section.lobes.iter().all(|lobe| lobe.amplitude_mm < 1e-9));
            prop_assert!(section.lobes.iter().all(|lobe| lobe.peak_deg.is_none()));
            if contact == Contact::TwoPoint {
                prop_assert!(section.out_of_round_mm.unwrap() < 1e-9);
            }
            prop_assert!((section.mean_diameter_mm.unwrap() - 40.0).abs() < 1e-9);
        }
    }

    /// Minimum zone: never wider than the zone about any other centre, the least-squares one
    /// included; the inscribed circle is never larger than the circumscribed.
    #[test]
    fn no_other_centre_gives_a_narrower_zone(made in made()) {
        let section = compute(Contact::Radius, &made.observations(Contact::Radius, 0.0));
        if let Some(all) = section.roundness {
            let least = all.minimum_zone.zone_mm;
            for other in [all.least_squares, all.max_inscribed, all.min_circumscribed] {
                prop_assert!(least <= other.zone_mm + 1e-12);
            }
            let inscribed = all.max_inscribed.radius_mm.unwrap();
            let circumscribed = all.min_circumscribed.radius_mm.unwrap();
            prop_assert!(inscribed <= circumscribed);
            prop_assert!(all.max_inscribed.valley_mm.abs() < 1e-12);
            prop_assert!(all.min_circumscribed.peak_mm.abs() < 1e-12);
        }
    }

    /// No number of a section is infinite or no number, whatever is measured: each is finite or
    /// null, and a null one says why.
    #[test]
    fn every_number_is_finite_or_withheld(
        contact in contact(),
        readings in prop::collection::vec((0.0..360.0_f64, -1e3..1e3_f64), 1..12)
    ) {
        let observations: Vec<Observation> = readings
            .iter()
            .map(|&(angle_deg, reading_mm)| Observation { angle_deg, reading_mm })
            .collect();
        let section = compute(contact, &observations);
        let json = serde_json::to_value(&section).unwrap();
        for field in [
            "mean_diameter_mm", "largest_mm", "smallest_mm", "out_of_round_mm", "oval",
            "residual_mm", "repeatability_mm", "roundness",
        ] {
            if json[field].is_null() {
                prop_assert!(section.why_withheld(field).is_some(), "{} is null without a reason", field);
            }
        }
        for estimate in section.uncertainty.values() {
            prop_assert!(estimate.expanded.is_finite() && estimate.standard.is_finite());
        }
    }
}
