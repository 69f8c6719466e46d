//! The ream preview against a brute-force cut of polygons.

#![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]

use borewright::bore::reaming::{NoPreview, Wall, ream};
use borewright::bore::{Basis, Contact, Observation, Section, Setting, section};
use proptest::strategy::{Strategy as _, ValueTree as _};
use proptest::test_runner::TestRunner;

/// A bore as a polygon seen from the gauge's axis.
struct Truth {
    mean_mm: f64,
    /// Even lobes: (count, radius amplitude, peak in degrees).
    lobes: [(u32, f64, f64); 2],
}

impl Truth {
    fn radius(&self, angle_deg: f64) -> f64 {
        let lobes = self.lobes.iter().map(|&(count, amplitude, peak)| {
            amplitude * (f64::from(count) * (angle_deg - peak).to_radians()).cos()
        });
        self.mean_mm / 2.0 + lobes.sum::<f64>()
    }

    fn section(&self) -> Section {
        self.section_of(12)
    }

    fn section_of(&self, directions: u32) -> Section {
        let readings: Vec<Observation> = (0..directions)
            .map(|at| f64::from(at) * 180.0 / f64::from(directions))
            .map(|angle_deg| Observation {
                angle_deg,
                reading_mm: self.radius(angle_deg) + self.radius(angle_deg + 180.0),
            })
            .collect();
        section(Contact::TwoPoint, 5.0, &readings, &set()).unwrap()
    }
}

fn set() -> Basis {
    Basis {
        setting: Some(Setting {
            by_ring: true,
            standard_mm: 0.000_5,
            degrees_of_freedom: f64::INFINITY,
            ..Setting::default()
        }),
        ..Basis::default()
    }
}

/// How far out a ray from the origin leaves a polygon: every edge is tried.
fn leaves(polygon: &[(f64, f64)], angle_deg: f64) -> f64 {
    let (dy, dx) = angle_deg.to_radians().sin_cos();
    let mut farthest = 0.0_f64;
    for (at, &(x1, y1)) in polygon.iter().enumerate() {
        let (x2, y2) = polygon[(at + 1) % polygon.len()];
        let (ex, ey) = (x2 - x1, y2 - y1);
        let cross = dx * ey - dy * ex;
        if cross.abs() < 1e-300 {
            continue;
        }
        let along_ray = (x1 * ey - y1 * ex) / cross;
        let along_edge = (x1 * dy - y1 * dx) / cross;
        if (-1e-12..=1.0 + 1e-12).contains(&along_edge) {
            farthest = farthest.max(along_ray);
        }
    }
    farthest
}

const VERTICES: i32 = 1440;
const RAYS: usize = 180;
/// What a chord of 0.25° cuts off a radius of 23 mm, with some room.
const CHORD_MM: f64 = 6e-5;

fn polygon(radius: impl Fn(f64) -> f64, centre: (f64, f64)) -> Vec<(f64, f64)> {
    (0..VERTICES)
        .map(|at| 360.0 * f64::from(at) / f64::from(VERTICES))
        .map(|angle| {
            let (sine, cosine) = angle.to_radians().sin_cos();
            let r = radius(angle);
            (centre.0 + r * cosine, centre.1 + r * sine)
        })
        .collect()
}

#[test]
fn two_hundred_random_bores_come_out_as_polygons_are_cut() {
    let mut runner = TestRunner::deterministic();
    let bores = (
        40.0_f64..46.0,
        0.0_f64..0.05,
        0.0_f64..180.0,
        0.0_f64..0.015,
        0.0_f64..90.0,
        -0.06_f64..0.12,
        0.0_f64..0.03,
        0.0_f64..360.0,
    );
    let mut partly = 0;
    for _ in 0..200 {
        let (mean_mm, a2, p2, a4, p4, over, offset, towards) =
            bores.new_tree(&mut runner).unwrap().current();
        let truth = Truth {
            mean_mm,
            lobes: [(2, a2, p2), (4, a4, p4)],
        };
        let reamer = mean_mm + over;
        let walls = [Wall::of(Contact::TwoPoint, &truth.section()).unwrap()];
        let preview = ream(Contact::TwoPoint, &walls, reamer, Some(10.0), offset).unwrap();
        let got = &preview.sections[0];

        let bore = polygon(|angle| truth.radius(angle), (0.0, 0.0));
        let tool = polygon(|_| reamer / 2.0, (0.0, 0.0));
        let (sine, cosine) = towards.to_radians().sin_cos();
        let astray = polygon(|_| reamer / 2.0, (offset * cosine, offset * sine));
        let turn = |at: usize| at as f64 * 360.0 / RAYS as f64;
        let rays: Vec<(f64, f64, f64)> = (0..RAYS)
            .map(|at| {
                let before = leaves(&bore, turn(at));
                let on_axis = before.max(leaves(&tool, turn(at)));
                (before, on_axis, before.max(leaves(&astray, turn(at))))
            })
            .collect();
        let count = RAYS as f64;
        let across = |after: fn(&(f64, f64, f64)) -> f64| {
            let of = move |at: usize| after(&rays[at % RAYS]);
            (0..RAYS)
                .map(move |at| of(at) + of(at + RAYS / 2))
                .collect::<Vec<f64>>()
        };
        let diameters = across.clone()(|ray| ray.1);
        let mean = diameters.iter().sum::<f64>() / count;
        let largest = diameters.iter().copied().fold(0.0, f64::max);
        let smallest = diameters.iter().copied().fold(f64::INFINITY, f64::min);
        assert!((got.mean_diameter_mm - mean).abs() < 2.0 * CHORD_MM + 2e-5);
        assert!(
            (got.largest_mm - largest).abs() < 1e-4,
            "{} {largest}",
            got.largest_mm
        );
        assert!((got.smallest_mm - smallest).abs() < 1e-4);
        assert!((got.out_of_round_mm - (largest - smallest)).abs() < 1.5e-4);

        let astray_diameters = across(|ray| ray.2);
        let astray_mean = astray_diameters.iter().sum::<f64>() / count;
        let astray_largest = astray_diameters.iter().copied().fold(0.0, f64::max);
        assert!(astray_mean <= got.off_centre.mean_diameter_up_to_mm + 1e-9);
        assert!(astray_largest <= got.off_centre.largest_up_to_mm + 1e-9);

        let deepest = got.deepest_cut_mm;
        let bare = (reamer / 2.0 - (mean_mm / 2.0 - a2 - a4)).max(0.0);
        assert!(deepest <= bare + 1e-9, "deeper than the lobes allow");
        assert!(got.off_centre.deepest_cut_up_to_mm >= deepest);
        if got.share_cut > 0.0 && got.share_cut < 1.0 {
            partly += 1;
            let uncut: f64 = got.uncut.iter().map(|arc| arc.width_deg).sum();
            assert!((uncut - 360.0 * (1.0 - got.share_cut)).abs() < 1e-9);
        }
        // Pappus: chips = length × area between the walls, by the shoelace formula of polygons
        // through the rays.
        let wedge = (360.0 / count).to_radians().sin() / 2.0;
        let area: f64 = (0..RAYS)
            .map(|at| wedge * (diameters[at] * diameters[(at + 1) % RAYS] / 4.0))
            .sum();
        let before: f64 = (0..RAYS)
            .map(|at| {
                let r = |at: usize| truth.radius(turn(at % RAYS));
                wedge * r(at) * r(at + 1)
            })
            .sum();
        let chips = preview.chips_mm3.unwrap();
        assert!(
            (chips - 10.0 * (area - before)).abs() < 0.07 + 2e-3 * chips,
            "{chips}"
        );
    }
    assert!(partly > 50, "only {partly} bores were cut in part");
}

/// Four lobes at six directions fit no more than an oval, which here is none: the brute force by
/// angles says what stays, and the preview must not say less.
#[test]
fn lobes_that_the_fit_misses_are_not_said_to_be_cut() {
    for (peak, reamer) in [(0.0, 45.98), (30.0, 45.99), (45.0, 45.97)] {
        let truth = Truth {
            mean_mm: 45.975,
            lobes: [(2, 0.0, 0.0), (4, 0.015, peak)],
        };
        let cut = |angle: f64| 2.0 * truth.radius(angle).max(reamer / 2.0);
        let after = (0..180_u32).map(|at| cut(f64::from(at)));
        let left = after.fold(0.0, f64::max) - reamer;
        for directions in [4, 6, 12] {
            let section = truth.section_of(directions);
            let walls = [Wall::of(Contact::TwoPoint, &section).unwrap()];
            let preview = ream(Contact::TwoPoint, &walls, reamer, None, 0.0).unwrap();
            let station = section.largest_mm.unwrap();
            assert!(preview.out_of_round_mm >= station - reamer - 1e-9);
            if directions == 12 {
                assert!((preview.out_of_round_mm - left).abs() < 1e-3, "{preview:?}");
                assert_eq!(preview.uncut_unseen_mm, None);
                assert!(preview.share_cut < 1.0);
            } else if preview.share_cut == 1.0 {
                assert_eq!(preview.uncut_unseen_mm.is_some(), station > reamer);
            }
        }
    }
    let truth = Truth {
        mean_mm: 45.975,
        lobes: [(2, 0.0, 0.0), (4, 0.015, 0.0)],
    };
    let walls = [Wall::of(Contact::TwoPoint, &truth.section_of(6)).unwrap()];
    let preview = ream(Contact::TwoPoint, &walls, 45.98, None, 0.0).unwrap();
    assert!((preview.out_of_round_mm - 0.025).abs() < 1e-9);
    assert!((preview.uncut_unseen_mm.unwrap() - 46.005).abs() < 1e-9);
}

/// Common practice, no source: a reamer takes nothing where the bore is at size.
#[test]
fn a_reamer_takes_nothing_where_the_bore_is_at_size() {
    let truth = Truth {
        mean_mm: 45.97,
        lobes: [(2, 0.02, 30.0), (4, 0.0, 0.0)],
    };
    let section = truth.section();
    let walls = [Wall::of(Contact::TwoPoint, &section).unwrap()];
    let preview = |mm: f64| ream(Contact::TwoPoint, &walls, mm, None, 0.0).unwrap();
    let nothing = preview(45.92);
    assert_eq!((nothing.share_cut, nothing.deepest_cut_mm), (0.0, 0.0));
    assert!((nothing.mean_diameter_mm - 45.97).abs() < 1e-9);
    assert_eq!(nothing.sections[0].uncut[0].width_deg, 360.0);
    assert_eq!(nothing.chips_mm3, None);

    // At the mean size it cuts half the circumference and leaves two arcs about the long axis.
    let half = preview(45.97);
    assert!((half.share_cut - 0.5).abs() < 0.01);
    let arcs = &half.sections[0].uncut;
    assert_eq!(arcs.len(), 2);
    let middle = arcs[0].from_deg + arcs[0].width_deg / 2.0;
    assert!((middle.rem_euclid(180.0) - 30.0).abs() < 1.0, "{middle}");

    // Above the largest diameter it leaves its own circle.
    let all = preview(46.02);
    assert_eq!(all.share_cut, 1.0);
    assert!((all.mean_diameter_mm - 46.02).abs() < 1e-9);
    assert!(all.out_of_round_mm < 1e-9);
    assert!(all.sections[0].oval_size_mm < 1e-9);
    assert!((all.deepest_cut_mm - 0.045).abs() < 1e-9);
}

#[test]
fn no_preview_without_size_or_form() {
    let truth = Truth {
        mean_mm: 45.97,
        lobes: [(2, 0.02, 30.0), (4, 0.0, 0.0)],
    };
    let section_ = truth.section();
    assert_eq!(
        Wall::of(Contact::ThreePoint, &section_),
        Err(NoPreview::ThreePoint)
    );
    let one = [Observation {
        angle_deg: 0.0,
        reading_mm: 45.97,
    }];
    let few = section(Contact::TwoPoint, 5.0, &one, &set()).unwrap();
    assert_eq!(
        Wall::of(Contact::TwoPoint, &few),
        Err(NoPreview::FormUnknown(5.0))
    );
    let unset = section(Contact::TwoPoint, 5.0, &one, &Basis::default()).unwrap();
    assert_eq!(
        Wall::of(Contact::TwoPoint, &unset),
        Err(NoPreview::SizeUnknown(5.0))
    );
    assert_eq!(
        ream(Contact::TwoPoint, &[], 46.0, None, 0.0),
        Err(NoPreview::Empty)
    );
    let walls = [Wall::of(Contact::TwoPoint, &section_).unwrap()];
    assert!(ream(Contact::TwoPoint, &walls, f64::NAN, None, 0.0).is_err());
}
