//! Housings that no file describes: `housing-42-K7` is a bore of 42 mm after ISO 286.

use super::seat::{Seat, SeatBore};
use crate::fit::limits::{Class, Feature, limits, standard_tolerance_um};

/// How such a seat's name begins.
const PREFIX: &str = "housing-";

/// The seat that a name such as `housing-42-K7` describes; `None` where the name is another, or
/// the size or class isn't held.
///
/// Limits by ISO 286-2, out-of-round IT5 (bearing catalogue, table of form tolerances for seats:
/// cylindricity IT5/2, radial).
pub(super) fn housing(name: &str) -> Option<Seat> {
    let (size, class) = name.strip_prefix(PREFIX)?.split_once('-')?;
    let nominal_mm: f64 = size.parse().ok()?;
    let class: Class = class.parse().ok()?;
    if class.feature != Feature::Hole {
        return None;
    }
    let found = limits(nominal_mm, class).ok()?;
    let it5 = standard_tolerance_um(nominal_mm, 5).ok()?;
    // To the nanometre, so that the middle of two limits has no tail of digits.
    let target = f64::midpoint(found.lower_mm, found.upper_mm);
    Some(Seat {
        name: format!("{PREFIX}{nominal_mm}-{class}"),
        title: format!("Housing {nominal_mm} {class}"),
        source: format!(
            "Limits {class} of ISO 286-2. Out-of-round: bearing catalogue, table of form \
             tolerances for seats (IT5/2 radial, so IT5 between diameters). Depths: common \
             practice, gauge where the ring sits."
        ),
        landmark: "mark on the part".to_owned(),
        belongs_within_mm: 1.0,
        angles: 6,
        width_mm: None,
        material: None,
        bearing: None,
        finish: None,
        yield_mpa: None,
        service_c: None,
        coaxiality_mm: None,
        bores: vec![SeatBore {
            name: "A".to_owned(),
            nominal_mm,
            lower_mm: found.lower_mm,
            upper_mm: found.upper_mm,
            target_mm: (target * 1e6).round() / 1e6,
            out_of_round_limit_mm: it5 / 1e3,
            depths_mm: vec![2.0, 5.0],
            length_mm: None,
            wall_mm: None,
            decision_factor: None,
            face_mm: None,
            facing: None,
        }],
    })
}

#[cfg(test)]
mod tests {
    use super::super::Seats;

    /// 42 K7 is -18/+7 µm, 52 N7 -39/-9 µm (bearing catalogue, tables of housing limits); IT5 is
    /// 11 and 13 µm there.
    #[test]
    fn a_housing_is_found_by_its_size_and_class() {
        let seats = Seats::built_in();
        let k7 = seats.find("housing-42-K7").unwrap();
        let bore = &k7.bores[0];
        assert_eq!((bore.lower_mm, bore.upper_mm), (41.982, 42.007));
        assert_eq!(bore.out_of_round_limit_mm, 0.011);
        assert_eq!(bore.target_mm, 41.9945);
        let n7 = seats.find("housing-52-N7").unwrap();
        assert_eq!(
            (n7.bores[0].lower_mm, n7.bores[0].upper_mm),
            (51.961, 51.991)
        );
        assert!(seats.find("pressfit-42").is_some());
        for name in [
            "housing-42-k7",
            "housing-42",
            "housing-900-H7",
            "housing-42-Z9",
            "x",
        ] {
            assert!(seats.find(name).is_none(), "{name}");
        }
    }
}
