//! Sections along the axis become a bore.

mod line;
mod straight;

use self::line::{Fit, Point};
pub use self::straight::{RANGE_UNKNOWN, Straight, straight};
use super::numbers::MeanReading;
use super::range::smallest_shown;
use super::sizes::sum_of;
use super::stations::mean;
use super::{Bore, BoreNumbers, Disagreement, Section, Waist, Withheld};
use crate::uncertainty::{Estimate, Estimates};

/// Puts the sections of one bore together, in order of depth: the unweighted mean of their mean
/// diameters, the taper as the least-squares slope of mean diameter over depth, and what departs
/// from a cone. Beside sections that show their form, those that don't are left out, and the bore's
/// mean is withheld; so it is with sections without a size beside those that have one.
pub fn bore(name: impl Into<String>, mut sections: Vec<Section>) -> Bore {
    sections.sort_by(|a, b| a.depth_mm.total_cmp(&b.depth_mm));
    let mut numbers = BoreNumbers {
        mean_diameter_mm: None,
        taper_mm_per_mm: None,
        barrel_mm: None,
        bell_mouth_mm: None,
        waist: None,
        disagreeing: Vec::new(),
        uncertainty: Estimates::new(),
        withheld: Vec::new(),
    };
    set_mean(&mut numbers, &sections);
    let drift_mm = drift_between_mm(telling(sections.iter()));
    let points: Vec<Point> = telling(sections.iter())
        .filter_map(|section| {
            let mean = section.mean_reading?;
            Some(Point {
                depth_mm: section.depth_mm,
                diameter_mm: mean.diameter_mm,
                own: mean.own(),
                form_mm: mean.form_mm,
                drift_mm,
            })
        })
        .collect();
    set_barrel(&mut numbers, &points);
    let barrel = numbers.barrel_mm.zip(numbers.uncertainty.get("barrel_mm"));
    let bent = barrel.is_some_and(|(by, known)| by.abs() > known.expanded);
    if points.len() == 3 && bent {
        for field in ["taper_mm_per_mm", "disagreeing"] {
            withhold(&mut numbers, field, THREE_OFF_LINE);
        }
    } else {
        set_taper(&mut numbers, &points);
    }
    set_bell_mouth(&mut numbers, &points);
    for (at, (found, by)) in disagreeing(&points).into_iter().enumerate() {
        numbers.disagreeing.push(found);
        estimate(&mut numbers, &format!("disagreeing[{at}].by_mm"), Some(by));
    }
    set_waist(&mut numbers, telling(sections.iter()));
    Bore {
        bore: name.into(),
        numbers,
        sections,
    }
}

/// The sections that say something of their bore: beside those that show their form the mean of an
/// arc says nothing, and beside those with a size what a gauge read that was not set.
pub fn telling<'a>(
    sections: impl Iterator<Item = &'a Section> + Clone,
) -> impl Iterator<Item = &'a Section> + Clone {
    let shown = sections.clone().any(|section| !section.form_unknown);
    let set = sections.clone().any(|section| section.size_set);
    sections.filter(move |section| !(shown && section.form_unknown) && (section.size_set || !set))
}

/// Where the sizes of a bore are known at other depths only: the outermost depth without one, mm.
pub fn no_size_at(sections: &[Section]) -> Option<f64> {
    let mut unset = sections.iter().filter(|section| !section.size_set);
    let first = unset.next()?;
    let others = sections.iter().any(|section| section.size_set);
    others.then_some(first.depth_mm)
}

/// What to do about that, as a sentence.
pub fn gauge_there_again(depth_mm: f64) -> String {
    format!(
        "the size of the bore is not known at {depth_mm} mm of depth: set the gauge in a setting \
         ring and gauge there again"
    )
}

/// How far the drift that was taken out of the readings differs over `sections`, mm of diameter.
pub fn drift_between_mm<'a>(sections: impl Iterator<Item = &'a Section>) -> f64 {
    let drifts = sections.filter_map(|section| Some(section.mean_reading?.drift_mm));
    let ends = (f64::INFINITY, f64::NEG_INFINITY);
    let (least, greatest) = drifts.fold(ends, |(l, g), [a, b]| (l.min(a), g.max(b)));
    (greatest - least).max(0.0)
}

fn withhold(numbers: &mut BoreNumbers, field: &str, why: &str) {
    numbers.withheld.push(Withheld {
        field: field.to_owned(),
        why: why.to_owned(),
    });
}

fn estimate(numbers: &mut BoreNumbers, field: &str, estimate: Option<Estimate>) {
    if let Some(estimate) = estimate {
        numbers.uncertainty.insert(field.to_owned(), estimate);
    }
}

fn set_mean(numbers: &mut BoreNumbers, sections: &[Section]) {
    let means: Vec<f64> = sections.iter().filter_map(|s| s.mean_diameter_mm).collect();
    if means.is_empty() || means.len() < sections.len() {
        let why = sections
            .iter()
            .find_map(|s| s.why_withheld("mean_diameter_mm"))
            .unwrap_or("no section was gauged");
        withhold(numbers, "mean_diameter_mm", why);
        return;
    }
    if let Some(depth_mm) = no_size_at(sections) {
        withhold(numbers, "mean_diameter_mm", &gauge_there_again(depth_mm));
        return;
    }
    let unknown = sections.iter().find(|section| section.form_unknown);
    if let Some(section) = unknown.filter(|_| sections.iter().any(|s| !s.form_unknown)) {
        let why = format!(
            "at {} mm the form of the bore is not known; gauge three directions or more, evenly spread",
            section.depth_mm
        );
        withhold(numbers, "mean_diameter_mm", &why);
        return;
    }
    numbers.mean_diameter_mm = Some(mean(means.iter().copied()));
    // Of one section alone it is that section's mean.
    let known = if let [only] = sections {
        only.uncertainty.get("mean_diameter_mm").copied()
    } else {
        let parts: Option<Vec<MeanReading>> = sections.iter().map(|s| s.mean_reading).collect();
        parts.and_then(|parts| of_mean(&parts))
    };
    estimate(numbers, "mean_diameter_mm", known);
}

/// How well the mean of the sections is known. What they have in common (the ring) does not average
/// out; their own scatter does, and so do errors that are known, each with its sign.
#[expect(clippy::cast_precision_loss, reason = "counts of sections")]
fn of_mean(parts: &[MeanReading]) -> Option<Estimate> {
    let count = parts.len() as f64;
    let own = parts.iter().map(|part| {
        let own = part.scatter?;
        Some(((own.standard / count).powi(2), own.degrees()))
    });
    let mut variances = own.collect::<Option<Vec<(f64, f64)>>>()?;
    // Sections of one size share their rounding too.
    let digits = parts.iter().filter_map(MeanReading::digit);
    variances.extend(digits.max_by(|a, b| a.0.total_cmp(&b.0)));
    for common in [MeanReading::setting, MeanReading::ring] {
        let common = parts.iter().filter_map(common);
        variances.extend(common.max_by(|a, b| a.0.total_cmp(&b.0)));
    }
    let form_mm = mean(parts.iter().map(|part| part.form_mm));
    Some(sum_of(&variances)?.beside(form_mm))
}

/// Why no depth is the narrowest.
const NO_WAIST: &str =
    "no narrowest depth shows: the depths differ by no more than their uncertainty";

/// The narrowest section, where one shows; the smallest of several is known less well than any one
/// of them.
fn set_waist<'a>(numbers: &mut BoreNumbers, sections: impl Iterator<Item = &'a Section> + Clone) {
    let means = sections
        .clone()
        .filter_map(|section| Some((section, section.mean_diameter_mm?, section.mean_reading?)));
    let Some((section, diameter_mm, reading)) = means.clone().min_by(|a, b| a.1.total_cmp(&b.1))
    else {
        let mut sections = sections;
        let why = sections.find_map(|s| s.why_withheld("mean_diameter_mm"));
        withhold(numbers, "waist", why.unwrap_or("no section was gauged"));
        return;
    };
    let waist = Waist {
        depth_mm: section.depth_mm,
        diameter_mm,
    };
    let known = if means.clone().count() == 1 {
        section.uncertainty.get("mean_diameter_mm").copied()
    } else {
        let own = means.clone().map(|(_, _, reading)| reading.own());
        let Some(own) = own.collect::<Option<Vec<Estimate>>>() else {
            withhold(numbers, "waist", RANGE_UNKNOWN);
            return;
        };
        let diameters: Vec<f64> = means.map(|(_, diameter_mm, _)| diameter_mm).collect();
        let Some(smallest) = smallest_shown(&diameters, &own) else {
            withhold(numbers, "waist", NO_WAIST);
            return;
        };
        let common = reading.common();
        let whole = common.map_or(smallest, |common| smallest.and(common));
        Some(whole.beside(reading.form_mm))
    };
    numbers.waist = Some(waist);
    estimate(numbers, "waist.diameter_mm", known);
}

/// Why three depths have no taper: what a line leaves of them would be all that says how well it is
/// known, with one degree of freedom.
const THREE_OFF_LINE: &str =
    "the three depths don't lie on a line; gauge a fourth to see which one is off it";

fn set_taper(numbers: &mut BoreNumbers, points: &[Point]) {
    let Some(fit) = Fit::through(points, 1) else {
        withhold(
            numbers,
            "taper_mm_per_mm",
            "needs two depths; gauge another section",
        );
        return;
    };
    numbers.taper_mm_per_mm = Some(fit.coefficient(1));
    estimate(numbers, "taper_mm_per_mm", fit.estimate(&[0.0, 1.0]));
}

/// The quadratic part over the gauged length: its middle less its ends.
fn set_barrel(numbers: &mut BoreNumbers, points: &[Point]) {
    let length = points
        .first()
        .zip(points.last())
        .map_or(0.0, |(first, last)| last.depth_mm - first.depth_mm);
    let Some(fit) = Fit::through(points, 2) else {
        withhold(
            numbers,
            "barrel_mm",
            "needs three depths; gauge more sections",
        );
        return;
    };
    let factor = -(length / 2.0).powi(2);
    numbers.barrel_mm = Some(factor * fit.coefficient(2));
    estimate(numbers, "barrel_mm", fit.estimate(&[0.0, 0.0, factor]));
}

/// The first section less what the others' straight line leads to expect there.
fn set_bell_mouth(numbers: &mut BoreNumbers, points: &[Point]) {
    let found = points.split_first().and_then(|(first, others)| {
        if others.len() < 2 {
            return None;
        }
        Some((first, Fit::through(others, 1)?))
    });
    let Some((first, line)) = found else {
        withhold(
            numbers,
            "bell_mouth_mm",
            "needs three depths; gauge more sections",
        );
        return;
    };
    numbers.bell_mouth_mm = Some(first.diameter_mm - line.at(first.depth_mm));
    estimate(numbers, "bell_mouth_mm", apart(first, &line));
}

/// The uncertainty of a section less what a line through others says of it.
fn apart(point: &Point, line: &Fit) -> Option<Estimate> {
    let own = point.own?;
    let factors = line.factors_at(point.depth_mm);
    let expected = line.scattered(&factors)?;
    let both = [own, expected].map(|known| (known.standard.powi(2), known.degrees()));
    let drifted = line.with_drift(sum_of(&both)?, &factors, 1.0)?;
    Some(drifted.beside(point.form_mm - line.error(&factors)))
}

/// The sections that lie off the line through all the others by more than their scatter explains;
/// of three, each lies off the line through the other two alike.
fn disagreeing(points: &[Point]) -> Vec<(Disagreement, Estimate)> {
    (0..points.len())
        .filter_map(|at| {
            let point = &points[at];
            let others: Vec<Point> = points
                .iter()
                .enumerate()
                .filter(|&(other, _)| other != at)
                .map(|(_, point)| *point)
                .collect();
            if others.len() < 3 {
                return None;
            }
            let line = Fit::through(&others, 1)?;
            let by_mm = point.diameter_mm - line.at(point.depth_mm);
            let found = Disagreement {
                depth_mm: point.depth_mm,
                by_mm,
            };
            let by = apart(point, &line)?;
            (by_mm.abs() > by.expanded).then_some((found, by))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bore::{Basis, Contact, Observation, Setting, section};

    /// One reading a depth, so that only the line's own residual says how uncertain it is.
    fn at_depths(points: &[(f64, f64)]) -> Bore {
        let sections = points
            .iter()
            .map(|&(depth, reading_mm)| {
                let reading = Observation {
                    angle_deg: 0.0,
                    reading_mm,
                };
                section(Contact::TwoPoint, depth, &[reading], &Basis::default()).unwrap()
            })
            .collect();
        bore("a", sections)
    }

    /// numpy 2.4, polyfit and its covariance.
    #[test]
    fn a_taper_with_its_standard_error() {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/fixtures/depth_taper5.csv");
        let points: Vec<(f64, f64)> = std::fs::read_to_string(path)
            .unwrap()
            .lines()
            .skip(1)
            .map(|line| {
                let (z, d) = line.split_once(',').unwrap();
                (z.parse().unwrap(), d.parse().unwrap())
            })
            .collect();
        let numbers = at_depths(&points).numbers;
        assert!((numbers.taper_mm_per_mm.unwrap() - 0.000_724).abs() < 1e-12);
        assert!((numbers.mean_diameter_mm.unwrap() - 41.996_76).abs() < 1e-12);
        let taper = numbers.uncertainty["taper_mm_per_mm"];
        assert!((taper.standard / 3.939_543_120_742e-5 - 1.0).abs() < 1e-9);
        assert!((taper.expanded - 0.125_374e-3).abs() < 1e-9);
        assert_eq!(taper.degrees_of_freedom, Some(3.0));
    }

    /// A bore gauged at one depth is that section: its mean, and how well it is known.
    #[test]
    fn one_section_is_its_bore() {
        let readings: Vec<Observation> = [0.0, 3.0, -2.0, 1.0, -1.0, 2.0]
            .iter()
            .zip(0_u32..)
            .map(|(um, at)| Observation {
                angle_deg: f64::from(at) * 30.0,
                reading_mm: 46.0 + um / 1000.0,
            })
            .collect();
        let basis = Basis {
            resolution_mm: Some(0.001),
            setting: Some(Setting {
                standard_mm: 0.000_5,
                degrees_of_freedom: f64::INFINITY,
                by_ring: true,
                ..Setting::default()
            }),
            ..Basis::default()
        };
        let section = section(Contact::TwoPoint, 6.0, &readings, &basis).unwrap();
        let numbers = bore("a", vec![section.clone()]).numbers;
        assert_eq!(numbers.mean_diameter_mm, section.mean_diameter_mm);
        let known = section.uncertainty["mean_diameter_mm"];
        assert_eq!(numbers.uncertainty["mean_diameter_mm"], known);
        assert!(known.expanded > 0.001);
    }

    /// By hand: 46.00, 46.03, 46.02 at 0, 5, 10 mm. The line through the deeper two leads to expect
    /// 46.04 at the face; the middle lies 0.02 above the mean of the ends.
    #[test]
    fn barrel_and_bell_mouth_and_no_waist() {
        let numbers = at_depths(&[(0.0, 46.0), (5.0, 46.03), (10.0, 46.02)]).numbers;
        assert!((numbers.barrel_mm.unwrap() - 0.02).abs() < 1e-9);
        assert!((numbers.bell_mouth_mm.unwrap() + 0.04).abs() < 1e-9);
        // One reading a depth: nothing says how far it scatters, nor so which depth is the narrowest.
        assert_eq!(numbers.waist, None);
        let two = at_depths(&[(0.0, 46.0), (5.0, 46.03)]).numbers;
        assert_eq!(two.barrel_mm, None);
        assert!(two.withheld.iter().any(|w| w.field == "bell_mouth_mm"));
    }
}
