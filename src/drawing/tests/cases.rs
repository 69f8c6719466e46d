//! Drawings that are hard to get right, and the everyday ones.

use crate::bore::Contact;
use crate::display::Language;
use crate::drawing::chart::{Kind, Spread, TimeLine, TimePoint};
use crate::drawing::{
    Axes, Cut, Drawing, Face, Limits, Lobe, Long, LongBore, Spot, SpotState, Style, Taper, Unit,
    Wall, sheet,
};
use crate::units::Moment;

/// Limits and target that most cases have.
const LIMITS: Limits = Limits {
    lower_mm: 45.95,
    upper_mm: 46.05,
    target_mm: 46.0,
};

/// A bore gauged at `count` angles of one period: an oval `size_mm` from smallest to largest about a
/// mean, long at `long_deg`.
pub(super) fn oval(mean_mm: f64, size_mm: f64, long_deg: f64, count: u32) -> Face {
    let wall = Wall {
        mean_mm,
        lobes: vec![Lobe {
            count: 2,
            amplitude_mm: size_mm / 4.0,
            peak_deg: long_deg,
        }],
    };
    let spots = (0..count)
        .map(|at| {
            let angle_deg = 180.0 / f64::from(count) * f64::from(at);
            Spot {
                angle_deg,
                state: SpotState::Measured(wall.diameter_mm(angle_deg)),
            }
        })
        .collect();
    let style = Style::default();
    Face {
        title: "drive side, 6 mm deep, as found".into(),
        landmark: "seat tube".into(),
        contact: Contact::TwoPoint,
        limits: Some(LIMITS),
        nominal_mm: 46.0,
        wall: Some(wall),
        before: None,
        reamer_mm: None,
        felt_deg: None,
        uncertainty_mm: Some(0.004),
        axes: (size_mm > 0.0).then(|| Axes {
            tight_deg: (long_deg + 90.0) % 180.0,
            tight_label: style.size(mean_mm - size_mm / 2.0),
            long_deg,
            long_label: style.size(mean_mm + size_mm / 2.0),
        }),
        spots,
        style,
    }
}

/// The everyday drawing: under way, one angle passed over.
pub(super) fn under_way() -> Face {
    let mut face = oval(46.0, 0.1, 90.0, 4);
    face.spots[1].state = SpotState::Skipped;
    face.spots[3].state = SpotState::Next;
    face
}

fn perfect() -> Face {
    let mut face = oval(46.0, 0.0, 0.0, 8);
    face.uncertainty_mm = Some(0.0015);
    face
}

fn egg() -> Face {
    oval(45.98, 0.3, 125.0, 8)
}

fn one_station() -> Face {
    let mut face = oval(46.0, 0.0, 0.0, 4);
    (face.wall, face.uncertainty_mm) = (None, None);
    for (at, spot) in face.spots.iter_mut().enumerate() {
        spot.state = match at {
            0 => SpotState::Measured(45.97),
            1 => SpotState::Next,
            _ => SpotState::ToDo,
        };
    }
    face
}

fn no_ring() -> Face {
    let mut face = oval(0.012, 0.08, 20.0, 6);
    face.limits = None;
    if let Some(axes) = &mut face.axes {
        axes.tight_label = face.style.difference(-0.04);
        axes.long_label = face.style.difference(0.04);
    }
    face
}

/// 3,600 stations of a swept radius with lobes of 2, 3 and 15 and a burr.
pub(super) fn dense() -> Face {
    let mut face = oval(46.01, 0.06, 30.0, 1);
    face.contact = Contact::Radius;
    let wall = face.wall.as_mut().unwrap();
    for (count, amplitude_mm, peak_deg) in [(3, 0.008, 40.0), (15, 0.004, 3.0)] {
        wall.lobes.push(Lobe {
            count,
            amplitude_mm,
            peak_deg,
        });
    }
    let wall = face.wall.clone().unwrap();
    face.spots = (0..3_600_u32)
        .map(|at| {
            let angle_deg = f64::from(at) / 10.0;
            // Scatter without chance: the golden ratio's multiples spread evenly.
            let scatter = (f64::from(at) * 0.618_034).fract() - 0.5;
            let burr = if at == 1_801 { -0.05 } else { 0.0 };
            Spot {
                angle_deg,
                state: SpotState::Measured(wall.diameter_mm(angle_deg) + scatter * 0.006 + burr),
            }
        })
        .collect();
    face.uncertainty_mm = Some(0.002);
    face
}

fn small_band() -> Face {
    let mut face = oval(46.0, 0.14, 60.0, 6);
    face.limits = Some(Limits {
        lower_mm: 45.9995,
        upper_mm: 46.0005,
        target_mm: 46.0,
    });
    face
}

fn far_outside() -> Face {
    oval(47.4, 0.12, 10.0, 6)
}

fn felt() -> Face {
    let mut face = egg();
    face.felt_deg = Some(30.0);
    face
}

fn left() -> Face {
    let mut face = oval(46.01, 0.02, 90.0, 8);
    face.before = oval(45.96, 0.12, 100.0, 8).wall;
    face.title = "drive side, 6 mm deep, as left".into();
    face
}

fn reamed() -> Face {
    let mut face = oval(45.97, 0.1, 90.0, 8);
    face.reamer_mm = Some(46.0);
    face
}

fn three_point() -> Face {
    let mut face = oval(46.01, 0.0, 0.0, 6);
    face.contact = Contact::ThreePoint;
    face.wall = Some(Wall {
        mean_mm: 46.01,
        lobes: vec![Lobe {
            count: 3,
            amplitude_mm: 0.012,
            peak_deg: 15.0,
        }],
    });
    for (at, spot) in (0_u32..).zip(&mut face.spots) {
        spot.angle_deg = 20.0 * f64::from(at);
        let size = face.wall.as_ref().unwrap().diameter_mm(spot.angle_deg);
        spot.state = SpotState::Measured(size);
    }
    face
}

/// German, inches, a landmark too long for its place.
fn german_inch() -> Face {
    let mut face = left();
    face.style = Style {
        language: Language::De,
        unit: Unit::Inch,
    };
    face.landmark = "Mitte des Unterrohrs an der tiefsten Stelle der Schweißnaht".into();
    if let Some(axes) = &mut face.axes {
        axes.tight_label = face.style.size(46.0);
        axes.long_label = face.style.size(46.02);
    }
    face
}

/// Two bores of different sizes with taper, as found and as left.
fn long() -> Long {
    let cut = |depth_mm: f64, mean_mm: f64, half: f64| Cut {
        depth_mm,
        mean_mm,
        smallest_mm: mean_mm - half,
        largest_mm: mean_mm + half,
        uncertainty_mm: Some(0.006),
    };
    let bore = |name: &str, target_mm: f64| LongBore {
        name: name.into(),
        limits: Limits {
            lower_mm: target_mm - 0.025,
            upper_mm: target_mm + 0.025,
            target_mm,
        },
        depth_mm: 12.0,
        found: [(2.5, -0.045), (6.0, -0.035), (9.5, -0.028)]
            .map(|(depth, off)| cut(depth, target_mm + off, 0.03))
            .into(),
        left: [(2.5, 0.004), (6.0, 0.002), (9.5, 0.003)]
            .map(|(depth, off)| cut(depth, target_mm + off, 0.008))
            .into(),
        taper: Some(Taper {
            change_mm: -0.001,
            expanded_mm: Some(0.004),
            over_mm: 7.0,
        }),
    };
    Long {
        bores: vec![bore("drive side", 45.975), bore("non-drive side", 41.5)],
        style: Style::default(),
    }
}

fn long_found() -> Long {
    let mut long = long();
    for bore in &mut long.bores {
        bore.left.clear();
        bore.taper = Some(Taper {
            change_mm: 0.017,
            expanded_mm: Some(0.004),
            over_mm: 7.0,
        });
    }
    long
}

/// Inches and German.
fn long_inch() -> Long {
    let mut long = long();
    long.style = Style {
        language: Language::De,
        unit: Unit::Inch,
    };
    long
}

fn moment(day: &str) -> Moment {
    Moment(format!("{day}T12:00:00Z").parse().unwrap())
}

/// A gauge that drifts, over ten months.
pub(super) fn drift() -> TimeLine {
    let points = [
        ("2026-01-12", 0.000_5),
        ("2026-02-03", 0.001),
        ("2026-03-20", -0.000_5),
        ("2026-05-02", 0.002),
        ("2026-07-15", 0.003),
        ("2026-08-30", 0.004_5),
        ("2026-10-21", 0.006_5),
    ]
    .map(|(day, value_mm)| TimePoint {
        at: moment(day),
        value_mm,
    });
    TimeLine {
        title: "Drift of the bore gauge at its ring".into(),
        counted: "drift at the ring".into(),
        points: points.into(),
        reach_mm: [0.0; 2],
        style: Style {
            unit: Unit::Micrometre,
            ..Style::default()
        },
    }
}

fn nothing() -> TimeLine {
    let mut chart = drift();
    chart.points.clear();
    chart.style.language = Language::De;
    chart
}

/// Out-of-round by seat: many, few, one and none.
pub(super) fn spread() -> Spread {
    let kind = |name: &str, count: u32, scale: f64| {
        let values = (0..count).map(|at| scale * (1.0 + 3.0 * (f64::from(at) * 0.618_034).fract()));
        Kind {
            name: name.into(),
            values_mm: values.collect(),
            quartiles_mm: (count > 2).then(|| [1.7, 2.5, 3.3].map(|q| q * scale)),
        }
    };
    Spread {
        title: "Out-of-round as found by seat".into(),
        counted: "out-of-round as found".into(),
        kinds: vec![
            kind("pressfit 46", 40, 0.02),
            kind("hub shell, welded", 1, 0.03),
            kind("pivot", 0, 0.0),
        ],
        reach_mm: [0.0; 2],
        style: Style::default(),
    }
}

/// Every drawing by its name.
pub(super) fn all() -> Vec<(&'static str, Drawing)> {
    vec![
        ("face-under-way", under_way().draw()),
        ("face-perfect", perfect().draw()),
        ("face-egg", egg().draw()),
        ("face-one-station", one_station().draw()),
        ("face-no-ring", no_ring().draw()),
        ("face-3600-stations", dense().draw()),
        ("face-small-band", small_band().draw()),
        ("face-far-outside", far_outside().draw()),
        ("face-felt", felt().draw()),
        ("face-as-left", left().draw()),
        ("face-reamer", reamed().draw()),
        ("face-three-point", three_point().draw()),
        ("face-german-inch", german_inch().draw()),
        ("unrolled-egg", egg().draw_unrolled()),
        ("unrolled-reamer", reamed().draw_unrolled()),
        ("unrolled-as-left", left().draw_unrolled()),
        ("unrolled-3600-stations", dense().draw_unrolled()),
        ("unrolled-german-inch", german_inch().draw_unrolled()),
        ("unrolled-no-ring", no_ring().draw_unrolled()),
        ("along-both", long().draw()),
        ("along-found", long_found().draw()),
        ("along-german-inch", long_inch().draw()),
        (
            "sheet",
            sheet(
                "A part".into(),
                vec![vec![egg().draw(), left().draw()], vec![long().draw()]],
            ),
        ),
        ("chart-drift", drift().draw()),
        ("chart-spread", spread().draw()),
        ("chart-nothing", nothing().draw()),
    ]
}
