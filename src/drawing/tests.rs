//! The drawing by what it means: where things are, not how they are spelled.

use super::*;
use crate::bore::Contact;

/// A 46 mm bore, 0.1 mm oval with its long axis at 90°, gauged at four angles.
fn egg() -> Face {
    let spot = |angle_deg, state| Spot { angle_deg, state };
    Face {
        title: "drive side, 6 mm deep".into(),
        landmark: "seat tube".into(),
        contact: Contact::TwoPoint,
        limits: Some(Limits {
            lower_mm: 45.95,
            upper_mm: 46.05,
            target_mm: 46.0,
        }),
        nominal_mm: 46.0,
        wall: Some(Wall {
            mean_mm: 46.0,
            lobes: vec![Lobe {
                count: 2,
                amplitude_mm: 0.025,
                peak_deg: 90.0,
            }],
        }),
        before: None,
        uncertainty_mm: None,
        axes: Some(Axes {
            tight_deg: 0.0,
            tight_label: "45.950".into(),
            long_deg: 90.0,
            long_label: "46.050".into(),
        }),
        spots: vec![
            spot(0.0, SpotState::Measured(45.95)),
            spot(45.0, SpotState::Skipped),
            spot(90.0, SpotState::Measured(46.05)),
            spot(135.0, SpotState::Next),
        ],
    }
}

/// The attribute of the first element of a class.
fn of(svg: &str, class: &str, attribute: &str) -> String {
    let tag = svg
        .split('<')
        .find(|tag| tag.contains(&format!("class=\"{class}\"")))
        .unwrap();
    let value = tag.split(&format!(" {attribute}=\"")).nth(1).unwrap();
    value.split('"').next().unwrap().to_owned()
}

fn numbers(path: &str) -> Vec<f64> {
    path.split(|c: char| !(c.is_ascii_digit() || "-.".contains(c)))
        .filter(|number| !number.is_empty())
        .map(|number| number.parse().unwrap())
        .collect()
}

/// Largest and smallest distance of a path's points from the centre.
fn reach(path: &str) -> (f64, f64) {
    let radii: Vec<f64> = numbers(path).chunks(2).map(|p| p[0].hypot(p[1])).collect();
    (
        radii.iter().copied().fold(f64::MIN, f64::max),
        radii.iter().copied().fold(f64::MAX, f64::min),
    )
}

/// Where the station at an angle is drawn.
fn station(svg: &str, deg: &str) -> (f64, f64) {
    let tag = svg
        .split('<')
        .find(|tag| tag.starts_with("circle") && tag.contains(&format!("data-deg=\"{deg}\"")))
        .unwrap();
    let coordinate = |name: &str| -> f64 {
        let value = tag.split(&format!("{name}=\"")).nth(1).unwrap();
        value.split('"').next().unwrap().parse().unwrap()
    };
    (coordinate("cx"), coordinate("cy"))
}

#[test]
fn zero_is_up_and_angles_run_clockwise() {
    let svg = egg().svg().into_string();
    let place = |deg| station(&svg, deg);
    let (up, right, next) = (place("0.0"), place("90.0"), place("135.0"));
    assert!(up.0.abs() < 0.1 && up.1 < -80.0, "{up:?}");
    assert!(right.1.abs() < 0.1 && right.0 > 80.0, "{right:?}");
    assert!(next.0 > 50.0 && next.1 > 50.0, "{next:?}");
}

/// A diameter 0.05 mm over the target is a wall 0.025 mm outside it: times 46 mm drawn as 240, and
/// times the factor printed.
#[test]
fn the_wall_is_as_far_off_as_the_printed_factor_says() {
    let face = egg();
    let svg = face.svg().into_string();
    let factor: f64 = of(&svg, "face", "data-factor").parse().unwrap();
    assert!(svg.contains(&format!("×{factor}")), "the factor is printed");
    let far = 0.025 * (120.0 / 23.0) * factor;
    let (largest, smallest) = reach(&of(&svg, "profile", "d"));
    assert!((largest - (120.0 + far)).abs() < 0.2, "{largest} {far}");
    assert!((smallest - (120.0 - far)).abs() < 0.2, "{smallest} {far}");
    let right = station(&svg, "90.0").0;
    assert!(
        (right - (120.0 + far)).abs() < 0.2,
        "the station lies on the wall: {right}"
    );
}

#[test]
fn the_limit_band_lies_where_the_limits_are() {
    let face = egg();
    let svg = face.svg().into_string();
    let band = of(&svg, "band", "d");
    let far = face.scale().drawn(0.025);
    let (outer, inner) = (n(120.0 + far), n(120.0 - far));
    assert!(
        band.contains(&format!("A{outer} {outer}")) && band.contains(&format!("A{inner} {inner}")),
        "{band}"
    );
}

#[test]
fn the_line_is_as_thick_as_it_is_uncertain() {
    let mut face = egg();
    face.uncertainty_mm = Some(0.004);
    let svg = face.svg().into_string();
    let far = face.scale().drawn(0.025 + 0.004);
    let (largest, smallest) = reach(&of(&svg, "known", "d"));
    assert!((largest - (120.0 + far)).abs() < 0.2 && (smallest - (120.0 - far)).abs() < 0.2);
}

/// Wherever the axes point, their labels (at most 60 wide, 34 high) do not touch.
#[test]
fn labels_of_the_axes_never_touch() {
    for deg in 0..180 {
        let mut face = egg();
        let tight_deg = f64::from(deg);
        let axes = face.axes.as_mut().unwrap();
        axes.tight_deg = tight_deg;
        axes.long_deg = (tight_deg + 90.0) % 180.0;
        let svg = face.svg().into_string();
        let place = |class: &str| {
            let x: f64 = of(&svg, class, "x").parse().unwrap();
            let y: f64 = of(&svg, class, "y").parse().unwrap();
            (x, y)
        };
        let (a, b) = (place("tight-label"), place("long-label"));
        assert!(
            (a.1 - b.1).abs() >= 34.0 || (a.0 - b.0).abs() >= 60.0,
            "{deg}: {a:?} {b:?}"
        );
        // Inside the wall, which never comes nearer than 90.
        for (x, y) in [a, b] {
            assert!(
                x.abs() + 30.0 < 90.0 && y.abs() + 17.0 < 90.0,
                "{deg}: {x} {y}"
            );
        }
    }
}

#[test]
fn a_policy_without_inline_style_and_a_second_drawing_find_nothing_to_object_to() {
    let svg = egg().svg().into_string();
    assert!(!svg.contains("style="));
    assert_eq!(svg, egg().svg().into_string());
}

#[test]
fn thousands_of_stations_stay_few_on_the_drawing_and_keep_the_extremes() {
    let mut face = egg();
    face.spots = (0..3_600)
        .map(|i| Spot {
            angle_deg: f64::from(i) / 10.0,
            state: SpotState::Measured(match i {
                1_801 => 46.09,
                1_803 => 45.91,
                _ => 46.0,
            }),
        })
        .collect();
    let svg = face.svg().into_string();
    let drawn = svg.matches("class=\"measured\"").count();
    assert!(drawn <= 722, "{drawn}");
    assert!(svg.contains("data-deg=\"180.1\"") && svg.contains("data-deg=\"180.3\""));
}

#[test]
fn what_the_gauge_cannot_see_is_said() {
    let mut face = egg();
    assert!(face.svg().into_string().contains("can't see 3, 5, 7"));
    face.contact = Contact::ThreePoint;
    assert!(face.svg().into_string().contains("can't see an oval"));
}

#[test]
fn a_bore_with_nothing_gauged_shows_what_is_to_come() {
    let mut face = egg();
    (face.wall, face.axes) = (None, None);
    face.spots = vec![Spot {
        angle_deg: 0.0,
        state: SpotState::ToDo,
    }];
    let svg = face.svg().into_string();
    assert!(svg.contains("class=\"to-do\"") && !svg.contains("class=\"profile\""));
}

/// The diameter at 90° is 0.05 mm above the target, as far up the unrolled drawing as its mark says.
#[test]
fn unrolled_the_wall_stands_at_the_marks_of_its_deviation() {
    let svg = egg().unrolled().into_string();
    let mark = |text: &str| -> f64 {
        let before = svg.split(&format!(">{text}</text>")).next().unwrap();
        let y = before.rsplit(" y=\"").next().unwrap();
        y.split('"').next().unwrap().parse::<f64>().unwrap() - 5.0
    };
    let zero = mark("0");
    let above = zero + (mark("+0.04") - zero) * 0.05 / 0.04;
    let points = numbers(&of(&svg, "profile", "d"));
    let highest = points.chunks(2).map(|p| p[1]).fold(f64::MAX, f64::min);
    let lowest = points.chunks(2).map(|p| p[1]).fold(f64::MIN, f64::max);
    assert!((highest - above).abs() < 0.2, "{highest} {above}");
    assert!((lowest - (2.0 * zero - above)).abs() < 0.2, "{lowest}");
}

/// Along the depth every section is where its depth is, as found and as left.
#[test]
fn along_the_depth_each_phase_has_its_run() {
    let cut = |depth_mm, mean_mm| Cut {
        depth_mm,
        mean_mm,
        smallest_mm: mean_mm - 0.02,
        largest_mm: mean_mm + 0.02,
    };
    let bore = |name: &str| LongBore {
        name: name.into(),
        limits: Limits {
            lower_mm: 45.95,
            upper_mm: 46.0,
            target_mm: 45.975,
        },
        depth_mm: 12.0,
        found: vec![cut(2.5, 45.93), cut(6.0, 45.94), cut(9.5, 45.95)],
        left: vec![cut(2.5, 45.975)],
    };
    let svg = Long {
        bores: vec![bore("drive side"), bore("non-drive side")],
    }
    .svg()
    .into_string();
    let found = numbers(&of(&svg, "before", "d"));
    let (xs, ys): (Vec<f64>, Vec<f64>) = found.chunks(2).map(|p| (p[0], p[1])).unzip();
    assert!(
        xs[0] < xs[1] && xs[1] < xs[2],
        "deeper is further right: {xs:?}"
    );
    assert!(ys[0] > ys[1] && ys[1] > ys[2], "wider is higher: {ys:?}");
    assert_eq!(svg.matches("profile-mean").count(), 2);
    assert!(svg.contains(">non-drive side</text>") && svg.contains(">9.5</text>"));
}
