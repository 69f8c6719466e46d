//! Sections swept by an indicator from an axis.

use super::circle::{
    Found, LeastSquares, Points, circumscribed, inscribed, minimum_zone, uncertain,
};
use super::harmonics::{Data, Harmonics};
use super::numbers::CentreKnown;
use super::range::likely_wall;
use super::scatter::Scatter;
use super::section::{lobes, within};
use super::sizes::{Mean, set_mean};
use super::stations::{Stations, mean};
use super::suspect::{TooFew, Wild, wildest};
use super::{Basis, Circle, Contact, Observation, Readings, Roundness, Section};
use crate::uncertainty::Estimate;

/// Where a wider arc than this was not gauged, the circles are ill-conditioned: an error of the
/// wall grows at least fourfold on its way into the centre (1 / cos 75°).
pub(super) const WIDEST_GAP_DEG: f64 = 150.0;

/// The radius that stands for an unknown one: so large that the circles are those of the limaçon,
/// in which deviations add up without their squares.
const FAR_MM: f64 = 1e4;

/// The mean is twice the radius of the geometric least-squares circle; lobes are fitted about its
/// centre. The series keeps its mean and its one-lobe term: on uneven angles radius and centre take
/// up part of an oval, and what the terms give back stands in their uncertainties, as an error
/// known but, by definition of the circle, not corrected (JCGM 100:2008, F.2.4.5).
pub(super) fn of_radii(
    section: &mut Section,
    observations: &[Observation],
    stations: &Stations,
    basis: &Basis,
) -> Result<Option<Wild>, TooFew> {
    no_diameters(section);
    let count = stations.all.len();
    if count < 3 {
        let radius_mm = mean(stations.all.iter().map(|station| station.mean_mm));
        mean_about_axis(section, radius_mm, basis);
        section.withhold(
            "roundness",
            format!("a circle needs 3 directions, has {count}"),
        );
        lobes(section, Contact::Radius, None, None);
        return Ok(None);
    }
    let origin = match basis.readings {
        Readings::Size => Some(0.0),
        Readings::DeviationFrom(radius_mm) => Some(radius_mm),
        Readings::DeviationFromUnknown => None,
    };
    let mut angles: Vec<f64> = stations
        .all
        .iter()
        .map(|station| station.angle_deg.to_radians())
        .collect();
    let mut values: Vec<f64> = stations.all.iter().map(|station| station.mean_mm).collect();
    let points = polar(&angles, &values, origin.unwrap_or(FAR_MM));
    let circle = LeastSquares::fit(&points);
    let about = circle.map(|circle| Points::about(&points, &circle));
    let gap = about.as_ref().map_or(360.0, Points::widest_gap_deg);
    if gap > WIDEST_GAP_DEG {
        section.form_unknown = true;
        let why = format!(
            "an arc of {gap:.0}° was not gauged, and what is left determines no circle well; gauge all round"
        );
        for field in ["mean_diameter_mm", "roundness"] {
            section.withhold(field, &why);
        }
        lobes(section, Contact::Radius, None, None);
        return Ok(None);
    }
    if let (Some(circle), Some(about)) = (&circle, &about) {
        roundness(section, circle, about, origin.is_some());
        for ((angle, value), point) in angles.iter_mut().zip(&mut values).zip(&points) {
            let (x, y) = (point[0] - circle.x, point[1] - circle.y);
            *angle = y.atan2(x);
            *value = x.hypot(y) - circle.radius;
        }
    }
    let fit = Harmonics::fit(
        &Data {
            angles: &angles,
            values: &values,
            step: Contact::Radius.step(),
            always: if count < 5 { 1 } else { 2 },
            within: within(stations),
        },
        basis.order,
    );
    let scatter = Scatter::of(stations, fit.as_ref(), basis);
    section.form_unknown = fit.is_none();
    if let (Some(fit), Some(circle)) = (&fit, &circle) {
        let beyond_origin = circle.radius - origin.unwrap_or(FAR_MM);
        let mean = Mean::of_radii(beyond_origin, fit.inverse[(0, 0)], fit.coefficients[0]);
        set_mean(section, mean, scatter, basis);
    } else {
        section.withhold(
            "mean_diameter_mm",
            "the directions lie too close together to show a circle; spread them",
        );
    }
    lobes(section, Contact::Radius, fit.as_ref(), scatter);
    if let (Some(_), Some(fit), Some(scatter)) = (section.roundness, &fit, scatter) {
        centre(section, fit, scatter);
        circles(section, &angles, &values, scatter, basis);
    }
    if count < 5 && fit.is_some() {
        for field in ["oval", "lobes"] {
            section.withhold(field, format!("needs 5 directions, has {count}"));
        }
    }
    // A reading changes the distance from the fitted centre as much as itself, within the square
    // of the eccentricity.
    fit.map_or(Ok(None), |fit| {
        wildest(
            Contact::Radius,
            observations,
            stations,
            &fit,
            &angles,
            basis.step_mm(),
            |at, reading| values[at] + reading - stations.all[at].mean_mm,
        )
    })
}

/// The centre of the least-squares circle, which is stated as it is: what it takes up of an oval is
/// an error that is known. A picometre of it is rounding, and no error.
fn centre(section: &mut Section, fit: &Harmonics, scatter: Scatter) {
    let known = CentreKnown {
        scatter: fit.inverse.fixed_view::<2, 2>(1, 1) * scatter.variance_mm2,
        degrees: scatter.degrees,
        form: fit
            .coefficients
            .fixed_rows::<2>(1)
            .map(|form| if form.abs() > 1e-12 { form } else { 0.0 }),
    };
    for (axis, place) in [("x_mm", 0), ("y_mm", 1)] {
        let own = Estimate::new(known.scatter[(place, place)].sqrt(), known.degrees);
        let field = format!("roundness.least_squares.{axis}");
        section.estimate(&field, own.map(|own| own.beside(known.form[place])));
        section.own.extend(own.map(|own| (field, own)));
    }
    section.centre = Some(known);
}

/// The uncertainties of the other numbers of the reference circles, by simulation.
fn circles(section: &mut Section, angles: &[f64], values: &[f64], scatter: Scatter, basis: &Basis) {
    // In order of angle about the circle's centre.
    let mut order: Vec<usize> = (0..angles.len()).collect();
    order.sort_by(|&a, &b| angles[a].total_cmp(&angles[b]));
    let angles: Vec<f64> = order.iter().map(|&at| angles[at]).collect();
    let wall = likely_wall(section.shape.as_ref(), &angles, 1.0);
    // The station farthest out turns with the part.
    let first = (0..order.len())
        .max_by(|&a, &b| values[order[a]].total_cmp(&values[order[b]]))
        .unwrap_or(0);
    let Some(found) = uncertain(&angles, &wall, first, scatter) else {
        section.withhold(
            "uncertainty.roundness",
            "the simulation of the reference circles did not settle; gauge more directions",
        );
        return;
    };
    let size_known = basis.readings != Readings::DeviationFromUnknown;
    let setting = basis
        .setting
        .and_then(|setting| Estimate::new(setting.standard_mm / 2.0, setting.degrees_of_freedom))
        .map(|setting| match section.ring_scatter() {
            Some(ring) => setting.and(ring.times(0.5)),
            None => setting,
        });
    let mean = section.uncertainty.get("mean_diameter_mm").copied();
    let mean_own = section.mean_scatter();
    for (circle, known) in CIRCLES.into_iter().zip(found) {
        let least_squares = circle == "least_squares";
        let field = |number: &str| format!("roundness.{circle}.{number}");
        for (number, estimate) in [
            ("zone_mm", known.zone),
            ("peak_mm", known.peak),
            ("valley_mm", known.valley),
        ] {
            section.estimate(&field(number), Some(estimate));
        }
        if !least_squares {
            let centre = known.centre.along();
            section.estimate(&field("x_mm"), centre.map(|[x, _]| x));
            section.estimate(&field("y_mm"), centre.map(|[_, y]| y));
        }
        if !size_known {
            continue;
        }
        // The least-squares radius is half the mean diameter.
        let (own, whole) = if least_squares {
            (
                mean_own.map(|own| own.times(0.5)),
                mean.map(|mean| mean.times(0.5)),
            )
        } else {
            let own = known.radius;
            (
                Some(own),
                Some(setting.map_or(own, |setting| own.and(setting))),
            )
        };
        section.estimate(&field("radius_mm"), whole);
        section.own.extend(own.map(|own| (field("radius_mm"), own)));
    }
}

const CIRCLES: [&str; 4] = [
    "least_squares",
    "minimum_zone",
    "max_inscribed",
    "min_circumscribed",
];

/// What no radius can tell.
pub(super) fn no_diameters(section: &mut Section) {
    let why = "an indicator swept from an axis measures radii, not diameters";
    for field in ["largest_mm", "smallest_mm", "out_of_round_mm"] {
        section.withhold(field, why);
    }
}

/// The mean of one or two directions, about the axis of sweep: where the bore's own centre lies,
/// nobody can tell yet, so no uncertainty stands beside it.
pub(super) fn mean_about_axis(section: &mut Section, radius_mm: f64, basis: &Basis) {
    section.form_unknown = true;
    set_mean(section, Mean::of_radii(radius_mm, 0.0, 0.0), None, basis);
}

fn polar(angles: &[f64], values: &[f64], origin_mm: f64) -> Vec<[f64; 2]> {
    angles
        .iter()
        .zip(values)
        .map(|(angle, value)| {
            let (sine, cosine) = angle.sin_cos();
            [(origin_mm + value) * cosine, (origin_mm + value) * sine]
        })
        .collect()
}

fn roundness(section: &mut Section, circle: &LeastSquares, points: &Points, size_known: bool) {
    if section.stations < 4 {
        section.withhold(
            "roundness",
            format!("needs 4 directions, has {}", section.stations),
        );
        return;
    }
    let least_squares = Found {
        centre: [circle.x, circle.y],
        radius: circle.radius,
        outer: Vec::new(),
        inner: Vec::new(),
    };
    let (Some(zone), Some(inner), Some(outer)) = (
        minimum_zone(points),
        inscribed(points),
        circumscribed(points),
    ) else {
        section.withhold(
            "roundness",
            "the directions determine no reference circles; gauge more of them, all round",
        );
        return;
    };
    if !size_known {
        section.withhold(
            "roundness.least_squares.radius_mm",
            "readings are deviations from an unknown radius; circles are linearised",
        );
    }
    let circle = |found: &Found| {
        let (least, most) = points.reach(found.centre);
        Circle {
            x_mm: found.centre[0],
            y_mm: found.centre[1],
            radius_mm: size_known.then_some(found.radius),
            zone_mm: most - least,
            peak_mm: most - found.radius,
            valley_mm: found.radius - least,
        }
    };
    section.roundness = Some(Roundness {
        least_squares: circle(&least_squares),
        minimum_zone: circle(&zone),
        max_inscribed: circle(&inner),
        min_circumscribed: circle(&outer),
    });
}
