//! Drawings by what they mean: where things are and what they say, not how they are spelled.

mod cases;
mod golden;

use super::canvas::{Item, Point};
use super::*;
use crate::bore::Contact;

fn of(drawing: &Drawing, role: Role) -> &Item {
    let found = drawing.items.iter().find(|item| item.role == role);
    found.unwrap_or_else(|| panic!("no {role:?}"))
}

fn points(item: &Item) -> Vec<Point> {
    match &item.shape {
        Shape::Path(steps) => steps
            .iter()
            .filter_map(|step| match *step {
                Step::Move(to) | Step::Line(to) | Step::Curve(_, _, to) => Some(to),
                Step::Close => None,
            })
            .collect(),
        Shape::Circles { at, .. } => at.clone(),
        Shape::Text(label) => vec![label.at],
    }
}

/// Largest and smallest distance of an item's points from the centre.
fn reach(item: &Item) -> (f64, f64) {
    let radii = || points(item).into_iter().map(|(x, y)| x.hypot(y));
    (
        radii().fold(f64::MIN, f64::max),
        radii().fold(f64::MAX, f64::min),
    )
}

/// Where the station at an angle is drawn.
fn station(drawing: &Drawing, deg: &str) -> Point {
    let key = format!("at-{deg}");
    let found = drawing.items.iter().find(|item| item.key == key);
    points(found.unwrap_or_else(|| panic!("no station at {deg}")))[0]
}

fn texts(drawing: &Drawing) -> Vec<&str> {
    let items = drawing.items.iter();
    items
        .filter_map(|item| match &item.shape {
            Shape::Text(label) => Some(label.text.as_str()),
            _ => None,
        })
        .collect()
}

#[test]
fn zero_is_up_and_angles_run_clockwise() {
    let drawing = cases::under_way().draw();
    let place = |deg| station(&drawing, deg);
    let (up, right, next) = (place("0"), place("90"), place("135"));
    assert!(up.0.abs() < 0.1 && up.1 < -80.0, "{up:?}");
    assert!(right.1.abs() < 0.1 && right.0 > 80.0, "{right:?}");
    assert!(next.0 > 50.0 && next.1 > 50.0, "{next:?}");
}

/// A diameter 0.05 mm over the target is a wall 0.025 mm outside it: times 46 mm drawn as 240, and
/// times the factor printed.
#[test]
fn the_wall_is_as_far_off_as_the_printed_factor_says() {
    let drawing = cases::under_way().draw();
    let factor: f64 = drawing.facts[0].1.parse().unwrap();
    assert!(texts(&drawing).contains(&format!("×{factor}").as_str()));
    let far = 0.025 * (120.0 / 23.0) * factor;
    let (largest, smallest) = reach(of(&drawing, Role::Band));
    assert!((largest - (120.0 + far)).abs() < 0.01 && (smallest - (120.0 - far)).abs() < 0.01);
    let wall = drawing.items.iter().find(|item| item.key == "profile-2");
    let wall = wall.unwrap_or_else(|| of(&drawing, Role::Profile));
    let (largest, smallest) = reach(wall);
    assert!((largest - (120.0 + far)).abs() < 0.2, "{largest} {far}");
    assert!((smallest - (120.0 - far)).abs() < 0.2, "{smallest} {far}");
    let right = station(&drawing, "90").0;
    assert!((right - (120.0 + far)).abs() < 0.2, "on the wall: {right}");
}

#[test]
fn the_line_is_as_thick_as_it_is_uncertain() {
    let face = cases::under_way();
    let drawing = face.draw();
    let far = face.scale().drawn(0.025 + 0.004);
    let rim = drawing.items.iter().find(|item| item.key == "known-2");
    let (largest, smallest) = reach(rim.unwrap());
    assert!((largest - (120.0 + far)).abs() < 0.2 && (smallest - (120.0 - far)).abs() < 0.2);
}

/// Wherever the axes point, their labels touch neither each other nor the arrows.
#[test]
fn labels_of_the_axes_never_touch() {
    for deg in 0..180 {
        let mut face = cases::under_way();
        let tight_deg = f64::from(deg);
        let axes = face.axes.as_mut().unwrap();
        (axes.tight_deg, axes.long_deg) = (tight_deg, (tight_deg + 90.0) % 180.0);
        let drawing = face.draw();
        let labels = |role: Role| -> Vec<[f64; 4]> {
            let items = drawing.items.iter().filter(|item| item.role == role);
            items
                .filter_map(|item| match &item.shape {
                    Shape::Text(label) => Some(label.bounds()),
                    _ => None,
                })
                .collect()
        };
        for a in labels(Role::TightLabel) {
            for b in labels(Role::LongLabel) {
                let apart = a[2] <= b[0] || b[2] <= a[0] || a[3] <= b[1] || b[3] <= a[1];
                assert!(apart, "{deg}: {a:?} {b:?}");
            }
            // The arrows' tips come no nearer than 66 where the wall comes no nearer than 90.
            for x in [a[0], a[2]] {
                assert!(x.abs() < 66.0, "{deg}: {a:?}");
            }
        }
    }
}

/// What a reamer of 46.000 cuts of an oval of 45.920 to 46.020: nothing beyond its circle, and
/// nothing where the bore is larger.
#[test]
fn what_is_cut_lies_between_wall_and_reamer() {
    let mut face = cases::oval(45.97, 0.1, 90.0, 8);
    face.reamer_mm = Some(46.0);
    let drawing = face.draw();
    let reamer = 120.0;
    let hatch = points(of(&drawing, Role::Hatch));
    assert!(!hatch.is_empty());
    for pair in hatch.chunks(2) {
        let (inner, outer) = (pair[0].0.hypot(pair[0].1), pair[1].0.hypot(pair[1].1));
        assert!(inner < outer && (outer - reamer).abs() < 1e-6, "{pair:?}");
    }
    // cos 2(θ - 90°) = 0.6 where the wall meets the reamer: no hatching from 63.4° to 116.6°.
    let near_90 = hatch
        .iter()
        .filter(|p| p.0 > 0.0 && (p.1 / p.0).abs() < 0.49);
    assert_eq!(near_90.count(), 0);
}

#[test]
fn thousands_of_stations_keep_their_extremes() {
    let mut face = cases::dense();
    let (mut low, mut high) = ((0.0, f64::MAX), (0.0, f64::MIN));
    for spot in &mut face.spots {
        if let SpotState::Measured(value) = spot.state {
            if value < low.1 {
                low = (spot.angle_deg, value);
            }
            if value > high.1 {
                high = (spot.angle_deg, value);
            }
        }
    }
    let drawing = face.draw_unrolled();
    let dots = points(of(&drawing, Role::Dense));
    let frame = |deg: f64| -136.0 + 320.0 * deg / 360.0;
    let lowest = dots.iter().max_by(|a, b| a.1.total_cmp(&b.1)).unwrap();
    let highest = dots.iter().min_by(|a, b| a.1.total_cmp(&b.1)).unwrap();
    assert!((lowest.0 - frame(low.0)).abs() < 1e-6, "{lowest:?} {low:?}");
    assert!(
        (highest.0 - frame(high.0)).abs() < 1e-6,
        "{highest:?} {high:?}"
    );
}

#[test]
fn what_the_gauge_cannot_see_is_said() {
    let mut face = cases::under_way();
    let says = |face: &Face, what: &str| texts(&face.draw()).iter().any(|t| t.contains(what));
    assert!(says(&face, "can't see 3, 5, 7"));
    face.contact = Contact::ThreePoint;
    assert!(says(&face, "can't see an oval"));
}

/// The diameter at 90° is 0.05 mm above the target, as far up the unrolled drawing as its mark says.
#[test]
fn unrolled_the_wall_stands_at_the_marks_of_its_deviation() {
    let drawing = cases::under_way().draw_unrolled();
    let mark = |text: &str| -> f64 {
        let mut labels = drawing.items.iter().filter_map(|item| match &item.shape {
            Shape::Text(label) if label.text == text => Some(label.at.1 - 5.0),
            _ => None,
        });
        labels
            .next_back()
            .unwrap_or_else(|| panic!("no mark {text}: {:?}", texts(&drawing)))
    };
    let zero = mark("0");
    let above = zero + (mark("+0.04") - zero) * 0.05 / 0.04;
    let ys = || points(of(&drawing, Role::Profile)).into_iter().map(|p| p.1);
    let (highest, lowest) = (ys().fold(f64::MAX, f64::min), ys().fold(f64::MIN, f64::max));
    assert!((highest - above).abs() < 0.2, "{highest} {above}");
    assert!((lowest - (2.0 * zero - above)).abs() < 0.2, "{lowest}");
}

/// Bores of different size stand beside each other by their deviation from their own targets, and
/// each has its own band.
#[test]
fn each_bore_stands_by_its_own_target() {
    let (_, drawing) = cases::all()
        .into_iter()
        .find(|(name, _)| *name == "along-found")
        .unwrap();
    let runs: Vec<Vec<Point>> = drawing
        .items
        .iter()
        .filter(|item| item.role == Role::Before)
        .map(points)
        .collect();
    let [one, other] = runs.as_slice() else {
        panic!("two bores: {runs:?}")
    };
    assert!(
        one.windows(2).all(|p| p[0].0 < p[1].0 && p[0].1 > p[1].1),
        "deeper right, wider up"
    );
    let ys = |run: &[Point]| run.iter().map(|p| p.1).collect::<Vec<_>>();
    assert!(
        ys(one)
            .iter()
            .zip(ys(other))
            .all(|(a, b)| (a - b).abs() < 1e-6),
        "same deviations"
    );
    let bands = drawing.items.iter().filter(|item| item.role == Role::Band);
    assert_eq!(bands.count(), 2);
}

/// 2.5, 6 and 9.5 mm deep, whatever the unit of the diameters: every depth gauged has its mark.
#[test]
fn every_depth_has_its_mark_in_inches_too() {
    let (_, drawing) = cases::all()
        .into_iter()
        .find(|(name, _)| *name == "along-german-inch")
        .unwrap();
    let said = texts(&drawing);
    for depth in ["2,5", "6", "9,5"] {
        assert_eq!(
            said.iter().filter(|t| **t == depth).count(),
            2,
            "{depth} in {said:?}"
        );
    }
    assert!(said.contains(&"quer: Tiefe, mm"), "{said:?}");
}

/// A page exchanges a station and the wall, and keeps the rest.
#[test]
fn a_new_reading_changes_few_elements() {
    let mut face = cases::oval(46.0, 0.1, 90.0, 8);
    let before = face.draw();
    face.spots[2].state = SpotState::Measured(46.049);
    let changes = face.draw().changes_from(&before).unwrap();
    let ids: Vec<&str> = changes.iter().map(|change| change.id.as_str()).collect();
    assert_eq!(ids, ["face-twin", "face-at-45"]);
    assert!(changes[1].svg.starts_with("<circle") && changes[1].svg.contains("id=\"face-at-45\""));
    assert_eq!(before.changes_from(&before), Some(vec![]));
    face.limits = None;
    assert_eq!(face.draw().changes_from(&before), None);
}

/// A black dot on white at the place of a station, white beside the bore: the picture is there.
#[test]
fn a_picture_shows_the_drawing() {
    let drawing = cases::under_way().draw();
    let bytes = png(&drawing, 416).unwrap();
    let picture = tiny_skia::Pixmap::decode_png(&bytes).unwrap();
    assert_eq!((picture.width(), picture.height()), (416, 440));
    let (x, y) = station(&drawing, "90");
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a pixel"
    )]
    let at = |x: f64, y: f64| {
        picture
            .pixel((x + 208.0) as u32, (y + 196.0) as u32)
            .unwrap()
    };
    assert!(at(x, y).red() < 40, "the station");
    assert_eq!(at(0.0, 0.0).red(), 255, "inside the bore");
    assert_eq!(bytes, png(&drawing, 416).unwrap());
    assert!(matches!(png(&drawing, 3), Err(NoPicture::Width(3))));
}
