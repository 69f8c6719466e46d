//! The readings of one cross-section become its numbers.

use nalgebra::{DMatrix, DVector};

use super::form::{hides_the_mean, ungauged};
use super::harmonics::{Data, Harmonics};
use super::lobes::Vector;
use super::range::{ends_estimate, likely_wall};
use super::scatter::Scatter;
use super::sizes::{Mean, extremes, extremes_known, set_mean};
use super::stations::{Station, Stations, mean};
use super::suspect::{TooFew, Wild, wildest};
use super::{
    Basis, Contact, Error, GREATEST_MM, Lobe, Observation, Order, Oval, Section, Shape, Suspect,
    Without,
};

/// How much a reading's error may grow on its way into the size of the lowest lobe count before the
/// directions count as too close together. Three directions evenly spread give 1.6.
const GREATEST_GAIN: f64 = 20.0;
/// The same for a mean of diameters, which has no circle beside it that would say how uncertain it is.
const GREATEST_GAIN_OF_A_MEAN: f64 = 10.0;

/// Computes one section from readings that are taken at `depth_mm` from the bore's face.
///
/// Readings in one direction (for `two-point` an angle and its opposite) are averaged, then a
/// Fourier series is fitted by least squares to the station means. Under [`Order::Chosen`](
/// super::Order::Chosen) the series starts with as many lobe counts as leave a third of the
/// directions to the residual, and loses its highest one while that is not shown at 1 % by its
/// F test; the first lobe count that the contact sees always stays. A number that the readings
/// can't carry is null, and [`Section::withheld`] says why.
///
/// # Errors
/// Where there is no reading, or one that is not finite, or a number beyond [`GREATEST_MM`].
pub fn section(
    contact: Contact,
    depth_mm: f64,
    observations: &[Observation],
    basis: &Basis,
) -> Result<Section, Error> {
    check_depth(depth_mm)?;
    let (mut section, wild) = compute(contact, depth_mm, observations, basis)?;
    if let Some(wild) = wild {
        let mut others = observations.to_vec();
        let observation = others.remove(wild.index);
        let (without, _) = compute(contact, depth_mm, &others, basis)?;
        section.suspect = Some(Suspect {
            angle_deg: observation.angle_deg,
            reading_mm: observation.reading_mm,
            residual_mm: wild.residual_mm,
            others_mm: Some(wild.others_mm),
            studentised: wild.studentised,
            threshold: wild.threshold,
            index: wild.index,
            without: Without::from(&without),
        });
    }
    Ok(section)
}

/// # Errors
/// [`Error::Depth`].
pub(super) fn check_depth(depth_mm: f64) -> Result<(), Error> {
    if depth_mm.abs() <= GREATEST_MM {
        Ok(())
    } else {
        Err(Error::Depth { depth_mm })
    }
}

/// The section as all readings have it, and the reading that the others contradict.
fn compute(
    contact: Contact,
    depth_mm: f64,
    observations: &[Observation],
    basis: &Basis,
) -> Result<(Section, Option<Wild>), Error> {
    let stations = Stations::gather(contact, observations)?;
    let mut section = Section::blank(contact, depth_mm, stations.readings, stations.all.len());
    section.stand_on(basis.setting);
    section.ungauged_arc_deg = ungauged(contact, stations.widest_gap_deg(contact));
    section.repeatability_mm = stations.repeatability_mm();
    if section.repeatability_mm.is_none() {
        section.withhold("repeatability_mm", "no direction was gauged twice");
    }
    let wild = match contact {
        Contact::TwoPoint | Contact::ThreePoint => {
            of_diameters(&mut section, contact, observations, &stations, basis)
        }
        Contact::Radius => super::radius::of_radii(&mut section, observations, &stations, basis),
    };
    let wild = wild.unwrap_or_else(|few| {
        section.withhold("suspect", TooFew::WHY);
        section.furthest_deg = few.furthest_deg;
        None
    });
    Ok((section, wild))
}

fn of_diameters(
    section: &mut Section,
    contact: Contact,
    observations: &[Observation],
    stations: &Stations,
    basis: &Basis,
) -> Result<Option<Wild>, TooFew> {
    let angles: Vec<f64> = stations
        .all
        .iter()
        .map(|station| station.angle_deg.to_radians())
        .collect();
    let values: Vec<f64> = stations.all.iter().map(|station| station.mean_mm).collect();
    let gap = stations.widest_gap_deg(contact);
    // Across an arc that was not gauged a lobe counts though it doesn't show beside it.
    let across = stations.all.len() >= 7 && ungauged(contact, gap).is_some();
    let data = Data {
        angles: &angles,
        values: &values,
        step: contact.step(),
        always: if across { 2 } else { 1 },
        within: within(stations),
    };
    // Directions that carry no higher lobes may carry the lowest.
    let fit = [basis.order, Order::UpTo(contact.step())]
        .into_iter()
        .filter_map(|order| Harmonics::fit(&data, order))
        .find(|fit| carried(contact, fit));
    let scatter = Scatter::of(stations, fit.as_ref(), basis);
    let hidden = stations.all.len() >= 3 && hides_the_mean(contact, gap);
    // Of an arc the fit shows how far readings scatter, and nothing beyond it.
    let shown = fit.as_ref().filter(|_| !hidden);
    section.form_unknown = shown.is_none();
    section.scatter_from = scatter.map(|scatter| scatter.from);

    let measured = Scatter::of_measured(stations, fit.as_ref(), basis);
    let ends = [stations.smallest().mean_mm, stations.largest().mean_mm];
    extremes(section, contact, ends, basis);
    if hidden {
        section.withhold(
            "mean_diameter_mm",
            format!(
                "an arc of {gap:.0}° was not gauged, and the mean hangs on it; gauge all round"
            ),
        );
    } else {
        let plain = || mean(values.iter().copied());
        let found = Mean::of_fit(shown, values.len(), plain);
        set_mean(section, found, scatter, basis);
    }
    lobes(section, contact, shown, scatter);
    // Where repeats show that the fit misses something of the wall, the wall is as measured.
    let wall = if measured == scatter {
        likely_wall(
            section.shape.as_ref(),
            &angles,
            contact.gain(contact.step()),
        )
    } else {
        values.clone()
    };
    let ends = measured.and_then(|scatter| {
        let each = |station: &Station| scatter.of_mean_of(f64::from(station.readings));
        let standards: Vec<f64> = stations
            .all
            .iter()
            .map(|station| each(station).variance_mm2.sqrt())
            .collect();
        let degrees = stations.all.iter().map(|station| each(station).degrees);
        ends_estimate(&wall, &standards, degrees.fold(f64::INFINITY, f64::min))
    });
    extremes_known(section, ends, scatter, basis);
    no_roundness(section, contact);
    fit.map_or(Ok(None), |fit| {
        wildest(
            contact,
            observations,
            stations,
            &fit,
            &angles,
            basis.step_mm(),
            |_, reading| reading,
        )
    })
}

/// Whether the directions carry the lowest lobe count that shows a form. Where they don't, neither
/// do they carry the mean: of a short arc a mean all round would be extrapolated.
pub(super) fn carried(contact: Contact, fit: &Harmonics) -> bool {
    growth(&Vector::of(fit, contact, contact.step().max(2), None)) <= GREATEST_GAIN_OF_A_MEAN
}

/// How many times larger the error of a reading is in the size of a lobe count.
fn growth(vector: &Vector) -> f64 {
    4.0 * vector.gain()
}

pub(super) fn no_roundness(section: &mut Section, contact: Contact) {
    section.withhold(
        "roundness",
        format!("ISO roundness can't be had from a {contact} gauge; it needs an indicator swept from an axis"),
    );
}

/// Scatter of repeats on the scale of a station mean.
pub(super) fn within(stations: &Stations) -> (f64, usize) {
    (
        stations.within_mm2 / stations.readings_a_station(),
        stations.within_degrees,
    )
}

/// Why a form is not known.
pub(super) const TOO_CLOSE: &str =
    "the directions lie too close together to show the form; spread them";

/// Oval, lobes, residual and the fitted wall.
pub(super) fn lobes(
    section: &mut Section,
    contact: Contact,
    fit: Option<&Harmonics>,
    scatter: Option<Scatter>,
) {
    if contact == Contact::ThreePoint {
        section.withhold("oval", "a three-point gauge can't see an oval");
    }
    let least = if contact == Contact::Radius { 5 } else { 3 };
    let Some(fit) = fit else {
        let why = if section.stations < least {
            format!("needs {least} directions, has {}", section.stations)
        } else if let Some(arc) = section.ungauged_arc_deg {
            format!("an arc of {arc:.0}° was not gauged, so the form is not shown; gauge all round")
        } else {
            TOO_CLOSE.to_owned()
        };
        if contact != Contact::ThreePoint {
            section.withhold("oval", &why);
        }
        section.withhold("lobes", &why);
        let residual = if section.stations < 4 {
            "needs 4 directions and a fit through them"
        } else {
            &why
        };
        section.withhold("residual_mm", residual);
        return;
    };
    #[expect(clippy::cast_precision_loss, reason = "counts of stations")]
    if fit.degrees > 0 {
        section.residual_mm = Some((fit.residual_mm2 / fit.degrees as f64).sqrt());
    } else {
        section.withhold(
            "residual_mm",
            format!(
                "the fit takes up all {} directions; gauge more",
                section.stations
            ),
        );
    }

    for &count in fit.counts.iter().filter(|&&count| count > 1) {
        let vector = Vector::of(fit, contact, count, scatter);
        let times = growth(&vector);
        if count == 2 && times > GREATEST_GAIN {
            section.form_unknown = true;
            let why = format!(
                "these directions don't show an oval: a reading's error would grow {times:.0} times; spread them"
            );
            section.withhold("oval", &why);
            section.withhold("lobes", why);
            return;
        }
        let path = format!("lobes[{}]", section.lobes.len());
        let peak_deg = vector.direction();
        section.lobes.push(Lobe {
            count,
            amplitude_mm: vector.amplitude(),
            peak_deg: peak_deg.ok(),
        });
        section.estimate(&format!("{path}.amplitude_mm"), vector.amplitude_estimate());
        match peak_deg {
            Ok(_) => section.estimate(&format!("{path}.peak_deg"), vector.direction_estimate()),
            Err(why) => section.withhold(&format!("{path}.peak_deg"), why),
        }
        if count == 2 {
            oval(section, &vector, peak_deg);
        }
    }
    section.shape = Some(shape(contact, fit, scatter));
}

fn oval(section: &mut Section, vector: &Vector, long_axis: Result<f64, &'static str>) {
    section.oval = Some(Oval {
        size_mm: 4.0 * vector.amplitude(),
        long_axis_deg: long_axis.ok(),
        tight_axis_deg: long_axis.ok().map(|axis| (axis + 90.0).rem_euclid(180.0)),
    });
    let amplitude = vector.amplitude_estimate();
    section.estimate("oval.size_mm", amplitude.map(|known| known.times(4.0)));
    match long_axis {
        Ok(_) => {
            section.estimate("oval.long_axis_deg", vector.direction_estimate());
            section.estimate("oval.tight_axis_deg", vector.direction_estimate());
        }
        Err(why) => {
            section.withhold("oval.long_axis_deg", why);
            section.withhold("oval.tight_axis_deg", why);
        }
    }
}

/// The fitted wall in terms of the bore's radius: lobes of two and more.
fn shape(contact: Contact, fit: &Harmonics, scatter: Option<Scatter>) -> Shape {
    let counts: Vec<u32> = fit.counts.iter().copied().filter(|&c| c > 1).collect();
    let first = fit.coefficients.len() - 2 * counts.len();
    let size = 2 * counts.len();
    let gains = DVector::from_iterator(
        size,
        counts.iter().flat_map(|&count| {
            let gain = contact.gain(count);
            [gain, gain]
        }),
    );
    let coefficients = fit.coefficients.rows(first, size).component_div(&gains);
    let covariance = scatter.map(|scatter| {
        DMatrix::from_fn(size, size, |row, column| {
            scatter.variance_mm2 * fit.inverse[(first + row, first + column)]
                / (gains[row] * gains[column])
        })
    });
    let shown = counts
        .iter()
        .map(|&count| Vector::of(fit, contact, count, scatter).direction().is_ok())
        .collect();
    Shape::new(
        counts,
        coefficients,
        covariance,
        scatter.map_or(0.0, |scatter| scatter.degrees),
        shown,
    )
}
