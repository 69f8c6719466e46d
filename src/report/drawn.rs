//! From a record to what the drawings show.

use super::words::{Units, Words, plain};
use crate::bore::{Contact, Section};
use crate::drawing::{
    Cut, Drawing, Face, Limits, Long, LongBore, Spot, SpotState, Style, Subject, Taper, Unit,
};
use crate::job::{
    NamedBore, Phase, Record, RecordedPhase, RecordedStation, SeatBore, SectionNumbers,
};

const fn style(words: &Words) -> Style {
    Style {
        language: words.language,
        unit: match words.units {
            Units::Mm => Unit::Mm,
            Units::Inch => Unit::Inch,
        },
    }
}

/// A section from its face; as left the wall as found goes with it.
pub(super) fn face(
    record: &Record,
    phase: &RecordedPhase,
    section: &SectionNumbers,
    bore: &SeatBore,
    (words, title): (&Words, &str),
) -> Drawing {
    let numbers = &section.numbers;
    let depth_mm = numbers.depth_mm;
    let found = record.phases.iter().filter(|of| of.phase == Phase::AsFound);
    let found = found
        .flat_map(|of| &of.sections)
        .find(|other| other.bore == section.bore && other.numbers.depth_mm == depth_mm)
        .filter(|_| phase.phase == Phase::AsLeft);
    let subject = Subject {
        title,
        landmark: &words.name(&plain(&record.seat.landmark)),
        contact: record.contact,
        nominal_mm: bore.nominal_mm,
        limits: Some(bore.into()),
        style: style(words),
    };
    let spots = phase
        .stations
        .iter()
        .filter(|place| place.station.bore == section.bore && place.station.depth_mm == depth_mm)
        .filter_map(|place| spot(place, record.contact, numbers));
    let face = Face::of(
        &subject,
        Some(numbers),
        found.map(|found| &found.numbers),
        spots.collect(),
    );
    face.draw()
}

/// All bores along their depth; none where no size is known, or at one depth only.
pub(super) fn long(record: &Record, words: &Words) -> Option<Drawing> {
    let cuts = |bore: &str, phase: Phase| -> Vec<Cut> {
        let phases = record.phases.iter().filter(|of| of.phase == phase);
        let sections = phases.flat_map(|of| &of.sections);
        sections
            .filter(|section| section.bore == bore && section.numbers.size_set)
            .filter_map(|section| Cut::of(&section.numbers))
            .collect()
    };
    let taper = |bore: &str| {
        let mut now = record.phases.iter().rev();
        now.find_map(|phase| taper_of(phase, phase.bores.iter().find(|of| of.bore == bore)?))
    };
    let bores: Vec<LongBore> = record
        .seat
        .bores
        .iter()
        .map(|bore| LongBore {
            name: words.name(&plain(&bore.name)),
            limits: Limits::from(bore),
            depth_mm: bore
                .depths_mm
                .iter()
                .copied()
                .fold(bore.length_mm.unwrap_or(0.0), f64::max),
            found: cuts(&bore.name, Phase::AsFound),
            left: cuts(&bore.name, Phase::AsLeft),
            taper: taper(&bore.name),
        })
        .collect();
    bores
        .iter()
        .any(|bore| bore.found.len() > 1 || bore.left.len() > 1)
        .then(|| {
            let style = style(words);
            Long { bores, style }.draw()
        })
}

/// The taper of a bore in a phase.
pub(super) fn taper_of(phase: &RecordedPhase, named: &NamedBore) -> Option<Taper> {
    let sections = phase.sections.iter().filter(|of| of.bore == named.bore);
    Taper::of(&named.numbers, sections.map(|section| &section.numbers))
}

/// What an older record's station shows: sizes where all are known, else deviations, of the diameter, mm.
fn shown_by_readings(place: &RecordedStation, contact: Contact) -> Option<f64> {
    let across = contact.diameter_per_reading();
    let sizes: Option<Vec<f64>> = place.readings.iter().map(|r| r.corrected_mm).collect();
    let deviations = || -> Option<Vec<f64>> {
        let readings = place.readings.iter();
        readings.map(|r| Some(across * r.deviation_mm?)).collect()
    };
    let values = sizes.or_else(deviations).unwrap_or_default();
    #[expect(clippy::cast_precision_loss, reason = "a handful of repeats")]
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    mean.is_finite().then_some(mean)
}

/// A station as the drawing takes it, a swept one as seen from the section's own centre; none where nothing
/// counts of what was gauged there.
fn spot(place: &RecordedStation, contact: Contact, section: &Section) -> Option<Spot> {
    if !place.readings.is_empty() && place.readings.iter().all(|r| r.before_setting) {
        return None;
    }
    let angle_deg = place.station.angle_deg;
    let value = place.value_mm.or_else(|| shown_by_readings(place, contact));
    let off_centre = section.roundness.map_or(0.0, |roundness| {
        let (sine, cosine) = angle_deg.to_radians().sin_cos();
        contact.diameter_per_reading()
            * roundness
                .least_squares
                .x_mm
                .mul_add(cosine, roundness.least_squares.y_mm * sine)
    });
    let state = match value {
        Some(value) => SpotState::Measured(value - off_centre),
        None if place.skipped => SpotState::Skipped,
        None => SpotState::ToDo,
    };
    Some(Spot { angle_deg, state })
}
