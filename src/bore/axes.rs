//! Two bores swept from one axis: how far apart and how tilted their own axes are.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::Section;
use super::stations::mean;
use crate::uncertainty::Estimate;

/// Where a bore lies along the part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// Position of its face along the part's axis, mm.
    pub face_mm: f64,
    /// Whether its face looks towards greater positions, so that depth runs towards smaller ones.
    pub faces_plus: bool,
}

/// How the axis of one bore lies to that of another.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Misalignment {
    /// Distance of the second bore's middle from the first bore's axis, mm.
    pub offset_mm: f64,
    /// Uncertainty of that, mm; null where no scatter is known.
    pub offset_uncertainty: Option<Estimate>,
    /// Angle between the axes, degrees.
    pub tilt_deg: f64,
    /// Coaxiality: twice the largest distance of the second bore's axis, over its gauged length,
    /// from the first bore's (the diameter of ISO 1101's zone about the first as datum).
    pub coaxiality_mm: f64,
    /// Uncertainty of that, mm; null where no scatter is known.
    pub coaxiality_uncertainty: Option<Estimate>,
    /// The greater of the angles between a bore's own axis and a straight axle through the middles
    /// of both, degrees: what a bearing in it must take up.
    pub axle_deg: f64,
    /// Uncertainty of that, degrees; null where no scatter is known.
    pub axle_uncertainty: Option<Estimate>,
}

/// A straight axis: x and y over the position along the part.
#[derive(Debug, Clone, Copy)]
struct Axis {
    middle: f64,
    x: (f64, f64),
    y: (f64, f64),
    ends: (f64, f64),
    known: Option<Known>,
}

/// How well an [`Axis`] is known, in either direction across it.
#[derive(Debug, Clone, Copy)]
struct Known {
    /// Variance of its level in the middle, mm².
    level: f64,
    /// Variance of its slope.
    slope: f64,
    degrees: f64,
}

impl Known {
    /// By the centres' own uncertainties, pooled.
    #[expect(clippy::cast_precision_loss, reason = "a count of sections")]
    fn of(sections: &[Section], spread: f64) -> Option<Self> {
        let mut centres: Vec<Estimate> = Vec::new();
        // What an oval on uneven directions does to the centre is alike in sections gauged alike
        // and doesn't average out.
        let mut common = 0.0_f64;
        for section in sections.iter().filter(|s| s.roundness.is_some()) {
            let known = |axis| section.uncertainty.get(axis).copied();
            let x = known("roundness.least_squares.x_mm")?;
            let y = known("roundness.least_squares.y_mm")?;
            centres.push(if x.standard > y.standard { x } else { y });
            let [x, y] = section.centre_form_mm;
            common = common.max(x * x).max(y * y);
        }
        let count = centres.len() as f64;
        let variance = centres.iter().map(|u| u.standard.powi(2)).sum::<f64>() / count;
        Some(Self {
            level: (variance / count).max(common + (variance - common).max(0.0) / count),
            slope: variance / spread,
            degrees: centres.iter().map(Estimate::degrees).sum(),
        })
    }

    /// Variance at a distance from the middle, mm².
    fn at(&self, along: f64) -> f64 {
        self.level + self.slope * along * along
    }
}

impl Axis {
    /// The least-squares line through the centres of the least-squares circles.
    fn through(sections: &[Section], place: Place) -> Option<Self> {
        let centres: Vec<(f64, f64, f64)> = sections
            .iter()
            .filter_map(|section| {
                let circle = section.roundness?.least_squares;
                // Clockwise as seen from the face: bores that face opposite ways are mirrored.
                let (position, y) = if place.faces_plus {
                    (place.face_mm - section.depth_mm, circle.y_mm)
                } else {
                    (place.face_mm + section.depth_mm, -circle.y_mm)
                };
                Some((position, circle.x_mm, y))
            })
            .collect();
        let middle = mean(centres.iter().map(|c| c.0));
        let spread: f64 = centres.iter().map(|c| (c.0 - middle).powi(2)).sum();
        if centres.len() < 2 || spread <= 1e-12 {
            return None;
        }
        let line = |of: fn(&(f64, f64, f64)) -> f64| {
            let level = mean(centres.iter().map(of));
            let slope = centres
                .iter()
                .map(|c| (c.0 - middle) * (of(c) - level))
                .sum::<f64>()
                / spread;
            (level, slope)
        };
        Some(Self {
            known: Known::of(sections, spread),
            middle,
            x: line(|c| c.1),
            y: line(|c| c.2),
            ends: centres
                .iter()
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), c| {
                    (a.min(c.0), b.max(c.0))
                }),
        })
    }

    fn at(&self, position: f64) -> (f64, f64) {
        let along = position - self.middle;
        (
            self.x.1.mul_add(along, self.x.0),
            self.y.1.mul_add(along, self.y.0),
        )
    }
}

/// The second bore's axis to the first's, both swept from one axis with 0° at one landmark. `None`
/// where either has fewer than two sections with a centre: only `radius` data has one.
pub fn misalignment(
    first: (&[Section], Place),
    second: (&[Section], Place),
) -> Option<Misalignment> {
    let (datum, axis) = (
        Axis::through(first.0, first.1)?,
        Axis::through(second.0, second.1)?,
    );
    let apart = |position: f64| {
        let ((x0, y0), (x1, y1)) = (datum.at(position), axis.at(position));
        (x1 - x0).hypot(y1 - y0)
    };
    let tilt = (axis.x.1 - datum.x.1).hypot(axis.y.1 - datum.y.1);
    let (near, far) = axis.ends;
    let farthest = if apart(near) > apart(far) { near } else { far };
    // What is not known of a distance between the axes at a position.
    let known = datum.known.zip(axis.known);
    let unknown = |position: f64, times: f64| {
        let (first, second) = known?;
        let variance = first.at(position - datum.middle) + second.at(position - axis.middle);
        Estimate::new(times * variance.sqrt(), first.degrees + second.degrees)
    };
    let span = axis.middle - datum.middle;
    if span.abs() <= 1e-9 {
        return None;
    }
    let axle = ((axis.x.0 - datum.x.0) / span, (axis.y.0 - datum.y.0) / span);
    let off = |of: &Axis| (of.x.1 - axle.0).hypot(of.y.1 - axle.1);
    let worse = if off(&datum) > off(&axis) {
        &datum
    } else {
        &axis
    };
    let axle_uncertainty = known.and_then(|(first, second)| {
        let slope = worse.known?.slope + (first.level + second.level) / (span * span);
        Estimate::new(slope.sqrt().to_degrees(), first.degrees + second.degrees)
    });
    Some(Misalignment {
        offset_mm: apart(axis.middle),
        offset_uncertainty: unknown(axis.middle, 1.0),
        tilt_deg: tilt.atan().to_degrees(),
        coaxiality_mm: 2.0 * apart(farthest),
        coaxiality_uncertainty: unknown(farthest, 2.0),
        axle_deg: off(worse).atan().to_degrees(),
        axle_uncertainty,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bore::{Basis, Contact, Observation, section};

    /// A circle of 21 mm whose centre lies at (x, y), swept at a depth.
    fn swept(depth: f64, x: f64, y: f64) -> Section {
        let readings: Vec<Observation> = (0..12)
            .map(|step| {
                let angle_deg = f64::from(step) * 30.0;
                let (sine, cosine) = angle_deg.to_radians().sin_cos();
                // Distance from the axis to the circle along the direction.
                let along = x * cosine + y * sine;
                let across = x * sine - y * cosine;
                Observation {
                    angle_deg,
                    reading_mm: along + (21.0_f64.powi(2) - across * across).sqrt(),
                }
            })
            .collect();
        section(Contact::Radius, depth, &readings, &Basis::default()).unwrap()
    }

    /// By hand: the second bore's axis passes (0.01, 0.02) at its face, 60 mm from the first's, and
    /// (0.02, 0.02) 10 mm further in; seen from the other side its y is mirrored.
    #[test]
    fn axes_apart_and_tilted() {
        let first = [swept(0.0, 0.0, 0.0), swept(10.0, 0.0, 0.0)];
        let second = [swept(0.0, 0.01, -0.02), swept(10.0, 0.02, -0.02)];
        let found = misalignment(
            (
                &first,
                Place {
                    face_mm: 0.0,
                    faces_plus: true,
                },
            ),
            (
                &second,
                Place {
                    face_mm: -60.0,
                    faces_plus: false,
                },
            ),
        )
        .unwrap();
        assert!((found.offset_mm - 0.025).abs() < 1e-9);
        assert!((found.tilt_deg - 0.001_f64.atan().to_degrees()).abs() < 1e-7);
        assert!((found.coaxiality_mm - 2.0 * 0.02_f64.hypot(0.02)).abs() < 1e-9);
        // The middles lie at -5 (0, 0) and -55 (0.015, 0.02): an axle of slope 0.025 / 50, and the
        // second bore's own axis leans by 0.001 more along x.
        let axle = (0.001_f64 + 0.015 / 50.0).hypot(0.02 / 50.0);
        assert!(
            (found.axle_deg - axle.atan().to_degrees()).abs() < 1e-6,
            "{}",
            found.axle_deg
        );
    }
}
