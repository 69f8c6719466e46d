//! From the numbers of a section to what is drawn of it.

use super::{Axes, Face, Limits, Lobe, Spot, SpotState, Style, Wall};
use crate::bore::{Contact, Section};
use crate::job::SeatBore;

/// What a section is of, beside its numbers.
#[derive(Debug, Clone, Copy)]
pub struct Subject<'a> {
    /// What the drawing shows, for those who can't see it.
    pub title: &'a str,
    /// What 0° points at.
    pub landmark: &'a str,
    /// How the gauge touches.
    pub contact: Contact,
    /// Nominal diameter, mm.
    pub nominal_mm: f64,
    /// Limits and target, where a seat is known.
    pub limits: Option<Limits>,
    /// Language and unit of the labels.
    pub style: Style,
}

impl From<&SeatBore> for Limits {
    fn from(bore: &SeatBore) -> Self {
        Self {
            lower_mm: bore.lower_mm,
            upper_mm: bore.upper_mm,
            target_mm: bore.target_mm,
        }
    }
}

impl Face {
    /// The face of a section from its numbers, which may not be there yet; `found` are those of the
    /// same section as found, to be drawn beside it. Limits are drawn, and the axes labelled with their
    /// sizes, only where a ring stands behind the sizes: without one the form is all there is, and a
    /// comparator's wall lies about the mean of its stations.
    pub fn of(
        subject: &Subject<'_>,
        numbers: Option<&Section>,
        found: Option<&Section>,
        spots: Vec<Spot>,
    ) -> Self {
        let near = |value: f64| (value - subject.nominal_mm).abs() < subject.nominal_mm / 2.0;
        let sizes = spots.iter().all(|spot| match spot.state {
            SpotState::Measured(value) => near(value),
            _ => true,
        });
        let mean = numbers.and_then(|numbers| numbers.mean_diameter_mm);
        let sizes = sizes && (mean.is_some_and(near) || numbers.is_none() || mean.is_none());
        let set = numbers.is_none_or(|numbers| numbers.size_set);
        let wall = numbers.and_then(|numbers| match mean {
            Some(mean) => Wall::of(numbers, mean),
            None => {
                let form = Wall::of(numbers, 0.0)?;
                let mean_mm = middle(&spots, |deg| form.diameter_mm(deg))?;
                Some(Wall { mean_mm, ..form })
            }
        });
        let comparable = |found: &&Section| sizes && found.size_set == set;
        let before = found.filter(comparable).and_then(|found| {
            let mean = found.mean_diameter_mm.filter(|&mean| near(mean))?;
            Wall::of(found, mean)
        });
        let axes = numbers
            .zip(wall.as_ref())
            .and_then(|(numbers, wall)| axes(numbers, wall.mean_mm, sizes && set, subject.style));
        Self {
            title: subject.title.to_owned(),
            landmark: subject.landmark.to_owned(),
            contact: subject.contact,
            limits: subject.limits.filter(|_| sizes && set),
            nominal_mm: subject.nominal_mm,
            uncertainty_mm: numbers.and_then(known_to),
            reamer_mm: None,
            axes,
            felt_deg: None,
            wall,
            before,
            spots,
            style: subject.style,
        }
    }
}

impl Wall {
    /// The fitted wall of a section about a mean; none before there was enough to fit. A lobe too
    /// small to have a direction is too small to draw.
    pub fn of(numbers: &Section, mean_mm: f64) -> Option<Self> {
        let lobes = numbers.lobes.iter().filter_map(|lobe| {
            Some(Lobe {
                count: lobe.count,
                amplitude_mm: lobe.amplitude_mm,
                peak_deg: lobe.peak_deg?,
            })
        });
        (!numbers.lobes.is_empty()).then(|| Self {
            mean_mm,
            lobes: lobes.collect(),
        })
    }
}

/// The mean of what the stations show beyond the form at their angles.
fn middle(spots: &[Spot], form: impl Fn(f64) -> f64) -> Option<f64> {
    let (sum, count) = spots
        .iter()
        .fold((0.0, 0.0), |(sum, count), spot| match spot.state {
            SpotState::Measured(value) => (sum + value - form(spot.angle_deg), count + 1.0),
            _ => (sum, count),
        });
    (count > 0.0).then_some(sum / count)
}

/// Expanded uncertainty of the wall's radius at any one angle: that of the mean radius and of each
/// lobe's amplitude, in root sum of squares. Exact for evenly spread angles, where cosine and sine
/// parts are equally well known and independent.
fn known_to(numbers: &Section) -> Option<f64> {
    let expanded = |field: &str| numbers.uncertainty.get(field).map(|u| u.expanded);
    let mut square = (expanded("mean_diameter_mm").unwrap_or(0.0) / 2.0).powi(2);
    for index in 0..numbers.lobes.len() {
        square += expanded(&format!("lobes[{index}].amplitude_mm"))?.powi(2);
    }
    (square > 0.0).then(|| square.sqrt())
}

/// Of an oval that is known so well; of one that exactly as many readings give as it needs, nobody knows
/// how far off it is.
fn axes(numbers: &Section, mean: f64, sizes: bool, style: Style) -> Option<Axes> {
    let oval = numbers.oval?;
    numbers.uncertainty.get("oval.size_mm")?;
    let label = |side: f64| {
        let half = side * oval.size_mm / 2.0;
        if sizes {
            style.size(mean + half)
        } else {
            style.difference(half)
        }
    };
    Some(Axes {
        tight_deg: oval.tight_axis_deg?,
        tight_label: label(-1.0),
        long_deg: oval.long_axis_deg?,
        long_label: label(1.0),
    })
}
