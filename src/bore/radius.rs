//! Sections swept by an indicator from an axis.

use super::circle::LeastSquares;
use super::harmonics::{Data, Harmonics};
use super::scatter::Scatter;
use super::section::{SIZE_UNKNOWN, lobes, set_mean, within};
use super::stations::Stations;
use super::{Basis, Contact, Readings, Section};

/// The mean is twice the radius of the geometric least-squares circle; lobes are fitted about its
/// centre. The series keeps its one-lobe term: on uneven angles the centre takes up part of an
/// oval, and the term gives it back.
pub(super) fn of_radii(section: &mut Section, stations: &Stations, basis: &Basis) {
    let diameters = "an indicator swept from an axis measures radii, not diameters";
    for field in ["largest_mm", "smallest_mm", "out_of_round_mm"] {
        section.withhold(field, diameters);
    }
    let count = stations.all.len();
    if count < 3 {
        section.form_unknown = true;
        let why = format!("a circle needs 3 directions, has {count}");
        section.withhold("mean_diameter_mm", &why);
        section.withhold("roundness", why);
        lobes(section, Contact::Radius, None, None, basis);
        return;
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
    let mut radius_mm = None;
    if let Some(origin) = origin {
        let points: Vec<[f64; 2]> = angles
            .iter()
            .zip(&values)
            .map(|(angle, value)| {
                let (sine, cosine) = angle.sin_cos();
                [(origin + value) * cosine, (origin + value) * sine]
            })
            .collect();
        if let Some(circle) = LeastSquares::fit(&points) {
            for ((angle, value), point) in angles.iter_mut().zip(&mut values).zip(&points) {
                let (x, y) = (point[0] - circle.x, point[1] - circle.y);
                *angle = y.atan2(x);
                *value = x.hypot(y) - circle.radius;
            }
            radius_mm = Some(circle.radius);
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
    match (&fit, radius_mm, origin) {
        (Some(fit), Some(radius), Some(origin)) => {
            set_mean(
                section,
                2.0 * (radius - origin),
                4.0 * fit.inverse[(0, 0)],
                scatter,
                basis,
            );
        }
        (Some(fit), None, None) => {
            set_mean(
                section,
                2.0 * fit.coefficients[0],
                4.0 * fit.inverse[(0, 0)],
                scatter,
                basis,
            );
        }
        _ => section.withhold(
            "mean_diameter_mm",
            if origin.is_none() {
                SIZE_UNKNOWN
            } else {
                "the directions lie too close together to show a circle; spread them"
            },
        ),
    }
    lobes(section, Contact::Radius, fit.as_ref(), scatter, basis);
    if count < 5 && fit.is_some() {
        section.withhold("oval", format!("needs 5 directions, has {count}"));
    }
}
