//! Two bores swept from one axis: how far apart and how tilted their own axes are.

use std::ops::Range;

use nalgebra::{Matrix2, Vector2};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::Section;
use super::numbers::CentreKnown;
use super::region::Region;
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
    /// Uncertainty of that, degrees; null where no scatter is known.
    #[serde(default)]
    pub tilt_uncertainty: Option<Estimate>,
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

/// The centre of one section, in the part's own directions.
struct Centre {
    /// Along the part, mm.
    position: f64,
    at: Vector2<f64>,
    known: Option<CentreKnown>,
}

impl Centre {
    /// `None` without a circle.
    fn of(section: &Section, place: Place) -> Option<Self> {
        let circle = section.roundness?.least_squares;
        // Clockwise as seen from the face: bores that face opposite ways are mirrored.
        let (position, mirror) = if place.faces_plus {
            (place.face_mm - section.depth_mm, 1.0)
        } else {
            (place.face_mm + section.depth_mm, -1.0)
        };
        let mirror = Matrix2::from_diagonal(&Vector2::new(1.0, mirror));
        Some(Self {
            position,
            at: mirror * Vector2::new(circle.x_mm, circle.y_mm),
            known: section.centre.map(|known| CentreKnown {
                scatter: mirror * known.scatter * mirror,
                form: mirror * known.form,
                ..known
            }),
        })
    }
}

/// The least-squares line through the centres of one bore, which stand in a row of all centres: its
/// place and its slope are weighted sums of them.
struct Axis {
    own: Range<usize>,
    middle: f64,
    spread: f64,
    ends: (f64, f64),
}

impl Axis {
    /// Adds the centres of `sections` to `all`; `None` where fewer than two depths have one.
    fn through(sections: &[Section], place: Place, all: &mut Vec<Centre>) -> Option<Self> {
        let start = all.len();
        all.extend(
            sections
                .iter()
                .filter_map(|section| Centre::of(section, place)),
        );
        let own = &all[start..];
        let middle = mean(own.iter().map(|centre| centre.position));
        let spread = own
            .iter()
            .map(|centre| (centre.position - middle).powi(2))
            .sum();
        if own.len() < 2 || spread <= 1e-12 {
            return None;
        }
        let ends = own
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), centre| {
                (a.min(centre.position), b.max(centre.position))
            });
        Some(Self {
            own: start..all.len(),
            middle,
            spread,
            ends,
        })
    }

    /// The weight of a centre in the axis's place in the middle.
    #[expect(clippy::cast_precision_loss, reason = "a count of sections")]
    fn level(&self, index: usize) -> f64 {
        if self.own.contains(&index) {
            1.0 / self.own.len() as f64
        } else {
            0.0
        }
    }

    /// Its weight in the axis's slope.
    fn slope(&self, index: usize, centre: &Centre) -> f64 {
        if self.own.contains(&index) {
            (centre.position - self.middle) / self.spread
        } else {
            0.0
        }
    }

    /// Its weight in the axis's place at a position along the part.
    fn at(&self, position: f64, index: usize, centre: &Centre) -> f64 {
        let along = position - self.middle;
        self.slope(index, centre).mul_add(along, self.level(index))
    }
}

/// The centres, each `weight` times, added up: how long that is, and how well that is known. What
/// scatter makes of one centre it makes of no other; what they take up of an oval is alike in
/// sections gauged alike and adds up as it is.
fn length(all: &[Centre], weight: impl Fn(usize, &Centre) -> f64) -> (f64, Option<Estimate>) {
    let weighed = || {
        let centres = all.iter().enumerate();
        centres.map(|(index, centre)| (weight(index, centre), centre))
    };
    let sum: Vector2<f64> = weighed().map(|(weight, centre)| weight * centre.at).sum();
    let known = || -> Option<Region> {
        let (mut scatter, mut form, mut spread) = (Matrix2::zeros(), Vector2::zeros(), 0.0);
        for (weight, centre) in weighed() {
            let known = centre.known?;
            let part = weight * weight * known.scatter;
            scatter += part;
            form += weight * known.form;
            spread += part.trace().powi(2) / known.degrees;
        }
        // Welch-Satterthwaite (JCGM 100:2008, G.2b), of both directions together.
        let degrees = if spread > 0.0 {
            scatter.trace().powi(2) / spread
        } else {
            f64::INFINITY
        };
        Some(Region {
            mean: sum,
            covariance: scatter + form * form.transpose(),
            degrees,
        })
    };
    (sum.norm(), known().and_then(|region| region.length()))
}

/// The second bore's axis to the first's, both swept from one axis with 0° at one landmark. `None`
/// where either has fewer than two sections with a centre: only `radius` data has one.
pub fn misalignment(
    first: (&[Section], Place),
    second: (&[Section], Place),
) -> Option<Misalignment> {
    let mut all = Vec::new();
    let datum = Axis::through(first.0, first.1, &mut all)?;
    let axis = Axis::through(second.0, second.1, &mut all)?;
    let span = axis.middle - datum.middle;
    if span.abs() <= 1e-9 {
        return None;
    }
    let apart = |position: f64| {
        length(&all, |index, centre| {
            axis.at(position, index, centre) - datum.at(position, index, centre)
        })
    };
    let (offset_mm, offset_uncertainty) = apart(axis.middle);
    let (tilt, tilt_known) = length(&all, |index, centre| {
        axis.slope(index, centre) - datum.slope(index, centre)
    });
    let (near, far) = (apart(axis.ends.0), apart(axis.ends.1));
    let (farthest, farthest_known) = if near.0 > far.0 { near } else { far };
    let off = |of: &Axis| {
        length(&all, |index, centre| {
            let axle = (axis.level(index) - datum.level(index)) / span;
            of.slope(index, centre) - axle
        })
    };
    let (of_datum, of_axis) = (off(&datum), off(&axis));
    let (worse, worse_known) = if of_datum.0 > of_axis.0 {
        of_datum
    } else {
        of_axis
    };
    // A slope so small is its angle.
    let angle = |known: Estimate| known.times(1.0_f64.to_degrees());
    Some(Misalignment {
        offset_mm,
        offset_uncertainty,
        tilt_deg: tilt.atan().to_degrees(),
        tilt_uncertainty: tilt_known.map(angle),
        coaxiality_mm: 2.0 * farthest,
        coaxiality_uncertainty: farthest_known.map(|known| known.times(2.0)),
        axle_deg: worse.atan().to_degrees(),
        axle_uncertainty: worse_known.map(angle),
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
