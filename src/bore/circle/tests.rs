//! Reference circles against published and independently computed ones.

use serde_json::Value;

use super::{Found, LeastSquares, Points, circumscribed, inscribed, minimum_zone};

fn fixture(name: &str) -> String {
    let path = format!("{}/fixtures/circles/{name}", env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(path).unwrap()
}

/// The points of a set: x,y or angle and radius.
fn points(set: &str) -> Vec<[f64; 2]> {
    let text = fixture(&format!("{set}.csv"));
    let polar = text.starts_with("theta");
    text.lines()
        .skip(1)
        .map(|line| {
            let (a, b) = line.split_once(',').unwrap();
            let (a, b): (f64, f64) = (a.parse().unwrap(), b.parse().unwrap());
            if polar {
                [b * a.to_radians().cos(), b * a.to_radians().sin()]
            } else {
                [a, b]
            }
        })
        .collect()
}

fn near(actual: f64, expected: &Value, what: &str) {
    let expected = expected.as_f64().unwrap();
    assert!(
        (actual - expected).abs() < 1e-9,
        "{what}: {actual} is not {expected}"
    );
}

fn check(found: &Found, points: &Points, expected: &Value, what: &str) {
    near(found.centre[0], &expected["xc"], what);
    near(found.centre[1], &expected["yc"], what);
    let (least, most) = points.reach(found.centre);
    near(most - least, &expected["RONt"], what);
}

/// `fixtures/circles/README.md` says where the sets and the numbers come from.
#[test]
fn all_four_circles_to_a_picometre_of_independent_solutions() {
    let expected: Value = serde_json::from_str(&fixture("expected.json")).unwrap();
    for set in [
        "circle_scipy6",
        "bore_even36",
        "bore_uneven24",
        "bore_trilobe12",
        "bore_golden40",
    ] {
        let all = points(set);
        let expected = &expected[set];
        let least_squares = LeastSquares::fit(&all).unwrap();
        near(least_squares.x, &expected["LSC"]["xc"], set);
        near(least_squares.y, &expected["LSC"]["yc"], set);
        near(least_squares.radius, &expected["LSC"]["r"], set);
        let about = Points::about(&all, &least_squares);
        let (least, most) = about.reach([least_squares.x, least_squares.y]);
        near(most - least, &expected["LSC"]["RONt"], set);
        near(most - least_squares.radius, &expected["LSC"]["RONp"], set);
        near(least_squares.radius - least, &expected["LSC"]["RONv"], set);

        check(
            &minimum_zone(&about).unwrap(),
            &about,
            &expected["MZC"],
            set,
        );
        let circumscribed = circumscribed(&about).unwrap();
        check(&circumscribed, &about, &expected["MCC"], set);
        near(circumscribed.radius, &expected["MCC"]["r"], set);
        let inscribed = inscribed(&about).unwrap();
        check(&inscribed, &about, &expected["MIC"], set);
        near(inscribed.radius, &expected["MIC"]["r"], set);
    }
}

/// Gander, Golub and Strebel, BIT 34 (1994) 558: (4.7398, 2.9835), 4.7142; and the cookbook
/// example of a general numerical library, converged to 1.3e-6 there.
#[test]
fn least_squares_circles_as_printed() {
    let short = LeastSquares::fit(&points("circle_ggs6")).unwrap();
    assert!((short.x - 4.7398).abs() < 5e-5);
    assert!((short.y - 2.9835).abs() < 5e-5);
    assert!((short.radius - 4.7142).abs() < 5e-5);
    let cookbook = LeastSquares::fit(&points("circle_scipy6")).unwrap();
    assert!((cookbook.x - 10.500_087_469_705_35).abs() < 2e-6);
    assert!((cookbook.y - 9.659_948_682_813_53).abs() < 2e-6);
    assert!((cookbook.radius - 23.333_527_608_061_4).abs() < 2e-6);
}

#[test]
fn points_on_a_line_have_no_circle() {
    assert_eq!(
        LeastSquares::fit(&[[0.0, 0.0], [1.0, 1.0], [2.0, 2.0], [3.0, 3.0]]),
        None
    );
    assert_eq!(LeastSquares::fit(&[[0.0, 0.0], [1.0, 0.0]]), None);
}

/// A round wall swept from beside its centre, exact but for the rounding of its readings: by the
/// theorem of Pythagoras, every circle is the wall. Uneven directions differ in every last digit.
#[test]
fn a_round_wall_has_all_four_circles_whatever_its_last_digits() {
    let mut random = crate::uncertainty::Random::new(5);
    for count in [4_u32, 9, 16, 30] {
        for _ in 0..200 {
            let wall: Vec<[f64; 2]> = (0..count)
                .map(|place| {
                    let turn = (f64::from(place) + 0.4 * random.uniform()) / f64::from(count);
                    let (sine, cosine) = (turn * std::f64::consts::TAU).sin_cos();
                    let (along, across) =
                        (0.02 * cosine + 0.01 * sine, 0.02 * sine - 0.01 * cosine);
                    let reading = along + (23.0_f64.powi(2) - across * across).sqrt();
                    [reading * cosine, reading * sine]
                })
                .collect();
            let circle = LeastSquares::fit(&wall).unwrap();
            let about = Points::about(&wall, &circle);
            for found in [
                minimum_zone(&about).unwrap(),
                inscribed(&about).unwrap(),
                circumscribed(&about).unwrap(),
            ] {
                assert!((found.centre[0] - 0.02).abs() < 1e-12, "{found:?}");
                assert!((found.centre[1] - 0.01).abs() < 1e-12, "{found:?}");
                assert!((found.radius - 23.0).abs() < 1e-12, "{found:?}");
            }
        }
    }
}
