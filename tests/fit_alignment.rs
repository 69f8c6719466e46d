//! Whether the bores lie on one axis: measured only by sweeps from one axis, and judged by the seat
//! or by what a bearing takes up.

#![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]

use borewright::bore::{Basis, Bore, Contact, Observation, Setting, bore, section};
use borewright::fit::plan::{Shop, Work};
use borewright::fit::{AtFault, CauseKind, Examined, Known, Material, Standing, examine};
use borewright::job::{Seat, Seats};
use borewright::uncertainty::Decision::{self, CantTell, Conforms, DoesNotConform};

/// A bore of 45.975 mm swept at its seat's depths, its axis `beside` mm along 0° from the sweep's
/// axis in the middle and leaning by `slope`, with scatter of ±1 µm.
fn swept(name: &str, (beside, slope): (f64, f64)) -> Bore {
    let basis = Basis {
        setting: Some(Setting {
            by_ring: true,
            standard_mm: 0.000_5,
            degrees_of_freedom: f64::INFINITY,
            ..Setting::default()
        }),
        ..Basis::default()
    };
    let scatter = [
        0.4, -0.9, 0.7, -0.2, 1.0, -0.6, -0.8, 0.5, 0.1, -0.3, 0.9, -0.8,
    ];
    let sections = [2.5, 6.0, 9.5]
        .into_iter()
        .map(|depth_mm| {
            let x = beside + slope * (depth_mm - 6.0);
            let readings: Vec<Observation> = (0..12_u32)
                .map(|at| {
                    let angle_deg = f64::from(at) * 30.0;
                    let (sine, cosine) = angle_deg.to_radians().sin_cos();
                    let wall = x * cosine + (22.9875_f64.powi(2) - (x * sine).powi(2)).sqrt();
                    Observation {
                        angle_deg,
                        reading_mm: wall + scatter[at as usize] / 1e3,
                    }
                })
                .collect();
            section(Contact::Radius, depth_mm, &readings, &basis).unwrap()
        })
        .collect();
    bore(name, sections)
}

fn seat() -> Seat {
    Seats::built_in().get("pressfit-46").unwrap().clone()
}

fn examined(seat: &Seat, far: (f64, f64)) -> Examined {
    let bores = [
        swept("drive side", (0.0, 0.0)),
        swept("non-drive side", far),
    ];
    let known = Known {
        material: Some(Material::Steel),
        wall_mm: Some(2.5),
        shop: Shop {
            sleeve_wall_mm: Some(0.8),
            ..Shop::default()
        },
        ..Known::default()
    };
    examine(seat, Contact::Radius, &bores, &known)
}

fn standing(examined: &Examined) -> Standing {
    let mut causes = examined.diagnosis.causes.iter();
    let cause = causes.find(|cause| cause.cause == CauseKind::Misaligned);
    cause.unwrap().standing
}

/// Beside and slope of the far bore, the seat's limit, how far the axle leans, and what follows.
type Row = ((f64, f64), Option<f64>, f64, Decision, Standing, AtFault);

/// The middles of the bores lie 68 − 6 − 6 = 56 mm apart. An axis 0.30 mm beside the other makes
/// an axle lean by 0.30 / 56 = 18.4′; 0.10 mm 6.1′; 0.01 mm 0.6′. A bore that leans by 0.005 about
/// its middle leans by 17.2′ to the axle.
#[test]
fn a_table_of_axes() {
    let minutes = |radians: f64| radians.atan().to_degrees() * 60.0;
    #[rustfmt::skip]
    let table: [Row; 6] = [
        ((0.0, 0.0), None, 0.0, Conforms, Standing::RuledOut, AtFault::Neither),
        ((0.01, 0.0), None, minutes(0.01 / 56.0), Conforms, Standing::RuledOut, AtFault::Neither),
        ((0.10, 0.0), None, minutes(0.10 / 56.0), CantTell, Standing::Possible, AtFault::CantTell),
        ((0.30, 0.0), None, minutes(0.30 / 56.0), DoesNotConform, Standing::Shown, AtFault::Seat),
        ((0.0, 0.005), None, minutes(0.005), DoesNotConform, Standing::Shown, AtFault::Seat),
        // The seat's own limit, a diameter: 0.10 mm beside is 0.20 mm.
        ((0.10, 0.0), Some(0.1), minutes(0.10 / 56.0), DoesNotConform, Standing::Shown, AtFault::Seat),
    ];
    for (row, (far, limit, leans, decision, want, at_fault)) in table.into_iter().enumerate() {
        let seat = Seat {
            coaxiality_mm: limit,
            ..seat()
        };
        let found = examined(&seat, far);
        let alignment = found.diagnosis.alignment.as_ref().unwrap();
        let off = (alignment.axes.axle_deg * 60.0 - leans).abs();
        assert!(off < 0.5, "row {row}: {}", alignment.why);
        assert_eq!(alignment.decision, decision, "row {row}: {}", alignment.why);
        assert_eq!(standing(&found), want, "row {row}");
        assert_eq!(
            found.diagnosis.at_fault, at_fault,
            "row {row}: {}",
            found.diagnosis.summary
        );
        // A centre is known to 0.7 µm x sqrt(2 / 12), the slope of three of them over 7 mm to
        // 0.06 µm/mm, so the axis of the first bore 56 mm on to 3 to 4 µm.
        let u = alignment.axes.offset_uncertainty.unwrap();
        assert!((0.002..0.005).contains(&u.standard), "{u:?}");
        assert!(
            (alignment.axes.offset_mm - far.0).abs() < u.expanded,
            "row {row}"
        );
        // Two such slopes, as an angle: 0.06 µm/mm x sqrt(2) is 0.005°.
        let tilt = alignment.axes.tilt_uncertainty.unwrap();
        assert!((0.003..0.007).contains(&tilt.standard), "{tilt:?}");
        let leans = far.1.atan().to_degrees();
        assert!((alignment.axes.tilt_deg - leans).abs() < tilt.expanded);
        assert!(found.diagnosis.withheld.is_empty());
        let advice = found.bores[0].plan.advice;
        let misaligned = decision == DoesNotConform;
        assert_eq!(advice == Work::Sleeve, misaligned, "row {row}: {advice:?}");
        if misaligned {
            assert!(
                found.diagnosis.summary.contains("the bores"),
                "{}",
                found.diagnosis.summary
            );
            let why = found.bores[0].plan.options[0].refused.as_ref().unwrap();
            assert!(why.contains("the axle forces the bearings"), "{why}");
        }
    }
}

/// ISO 1101: coaxiality is the diameter of the zone, twice the farthest distance.
#[test]
fn coaxiality_is_a_diameter() {
    let found = examined(&seat(), (0.10, 0.0));
    let axes = found.diagnosis.alignment.unwrap().axes;
    let u = axes.coaxiality_uncertainty.unwrap().expanded;
    // Known to 4 µm along the line between the axes, so to 8 µm as a diameter, 2.7 times for 95 %.
    assert!(
        (axes.coaxiality_mm - 0.2).abs() < u && u < 0.022,
        "{axes:?}"
    );
    assert!(axes.tilt_deg < 0.01);
}

#[test]
fn what_was_not_measured_is_withheld_with_the_reason() {
    let why = |seat: &Seat, contact: Contact, bores: &[Bore]| {
        let found = examine(seat, contact, bores, &Known::default());
        assert_eq!(found.diagnosis.alignment, None);
        assert_eq!(standing(&found), Standing::NotKnown);
        let withheld = &found.diagnosis.withheld[0];
        assert_eq!(withheld.field, "alignment");
        withheld.why.clone()
    };
    let bores = [
        swept("drive side", (0.0, 0.0)),
        swept("non-drive side", (0.3, 0.0)),
    ];
    let two_point = why(&seat(), Contact::TwoPoint, &bores);
    assert!(two_point.contains("sweep both bores"), "{two_point}");
    assert!(why(&seat(), Contact::Radius, &bores[..1]).contains("gauge both drive side and"));
    let mut faceless = seat();
    faceless.bores[1].face_mm = None;
    assert!(why(&faceless, Contact::Radius, &bores).contains("add face_mm and facing"));
    let mut single = seat();
    single.bores.pop();
    assert!(why(&single, Contact::Radius, &bores[..1]).contains("one bore"));
    let mut shallow = bores.clone();
    shallow[1].sections.truncate(1);
    assert!(why(&seat(), Contact::Radius, &shallow).contains("two depths"));
}
