//! From a record to what the drawings show.

use super::model::Drawing;
use super::words::Words;
use crate::bore::Section;
use crate::drawing::{Axes, Cut, Face, Limits, Lobe, Long, LongBore, Spot, SpotState, Style, Wall};
use crate::job::{Phase, Record, RecordedPhase, RecordedStation, SeatBore, SectionNumbers};

/// A section from its face; as left the wall as found goes with it.
pub(super) fn face(
    record: &Record,
    phase: &RecordedPhase,
    section: &SectionNumbers,
    bore: &SeatBore,
    (words, title): (&Words, String),
) -> Drawing {
    let numbers = &section.numbers;
    let depth_mm = numbers.depth_mm;
    let at = |phase: Phase| {
        let phases = record.phases.iter().filter(move |of| of.phase == phase);
        let sections = phases.flat_map(|of| &of.sections);
        sections
            .filter(|other| other.bore == section.bore && other.numbers.depth_mm == depth_mm)
            .map(|other| &other.numbers)
            .next()
    };
    let mean = numbers.mean_diameter_mm;
    let before = at(Phase::AsFound).filter(|_| phase.phase == Phase::AsLeft);
    Drawing::Face(Box::new(Face {
        title,
        landmark: super::words::plain(&record.seat.landmark),
        contact: record.contact,
        // A size that no ring stands behind is not drawn against limits.
        limits: mean.filter(|_| numbers.size_set).map(|_| limits(bore)),
        nominal_mm: bore.nominal_mm,
        wall: wall(numbers, mean.unwrap_or(0.0)),
        before: before.and_then(|before| wall(before, before.mean_diameter_mm?)),
        uncertainty_mm: known_to(numbers),
        reamer_mm: None,
        style: Style::mm(words.language),
        axes: axes(numbers, mean.filter(|_| numbers.size_set), words),
        spots: phase
            .stations
            .iter()
            .filter(|place| {
                place.station.bore == section.bore && place.station.depth_mm == depth_mm
            })
            .map(spot)
            .collect(),
    }))
}

/// All bores along their depth; none where no size is known, or at one depth only.
pub(super) fn long(record: &Record) -> Option<Drawing> {
    let cuts = |bore: &str, phase: Phase| -> Vec<Cut> {
        let phases = record.phases.iter().filter(|of| of.phase == phase);
        phases
            .flat_map(|of| &of.sections)
            .filter(|section| section.bore == bore && section.numbers.size_set)
            .filter_map(|section| {
                let numbers = &section.numbers;
                Cut::of(numbers)
            })
            .collect()
    };
    let bores: Vec<LongBore> = record
        .seat
        .bores
        .iter()
        .map(|bore| LongBore {
            name: super::words::plain(&bore.name),
            limits: limits(bore),
            depth_mm: bore
                .depths_mm
                .iter()
                .copied()
                .fold(bore.length_mm.unwrap_or(0.0), f64::max),
            found: cuts(&bore.name, Phase::AsFound),
            left: cuts(&bore.name, Phase::AsLeft),
            taper_mm_per_mm: None,
        })
        .collect();
    bores
        .iter()
        .any(|bore| bore.found.len() > 1 || bore.left.len() > 1)
        .then(|| {
            Drawing::Long(Box::new(Long {
                bores,
                style: Style::default(),
            }))
        })
}

const fn limits(bore: &SeatBore) -> Limits {
    Limits {
        lower_mm: bore.lower_mm,
        upper_mm: bore.upper_mm,
        target_mm: bore.target_mm,
    }
}

fn spot(place: &RecordedStation) -> Spot {
    let sizes = || {
        place
            .readings
            .iter()
            .filter_map(|reading| reading.corrected_mm)
    };
    #[expect(clippy::cast_precision_loss, reason = "a handful of repeats")]
    let mean = sizes().sum::<f64>() / sizes().count() as f64;
    Spot {
        angle_deg: place.station.angle_deg,
        state: if mean.is_finite() {
            SpotState::Measured(mean)
        } else if place.skipped {
            SpotState::Skipped
        } else {
            SpotState::ToDo
        },
    }
}

/// The fitted wall about a mean; a lobe too small to have a direction is too small to draw.
fn wall(numbers: &Section, mean_mm: f64) -> Option<Wall> {
    (!numbers.lobes.is_empty()).then(|| Wall {
        mean_mm,
        lobes: numbers
            .lobes
            .iter()
            .filter_map(|lobe| {
                Some(Lobe {
                    count: lobe.count,
                    amplitude_mm: lobe.amplitude_mm,
                    peak_deg: lobe.peak_deg?,
                })
            })
            .collect(),
    })
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

fn axes(numbers: &Section, mean: Option<f64>, words: &Words) -> Option<Axes> {
    let oval = numbers.oval?;
    let label = |side: f64| {
        let half = side * oval.size_mm / 2.0;
        mean.map_or_else(|| words.bare_signed(half), |mean| words.bare(mean + half))
    };
    Some(Axes {
        tight_deg: oval.tight_axis_deg?,
        tight_label: label(-1.0),
        long_deg: oval.long_axis_deg?,
        long_label: label(1.0),
    })
}
