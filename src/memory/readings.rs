//! The readings of a record as rows, each with everything that it needs to stand alone.

use serde::Serialize;

use crate::job::{JobId, Phase, Record};
use crate::units::Moment;

/// One reading that counts. The fields are the columns of the exported table, in this order; new
/// ones are added at the end.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Reading<'a> {
    /// The bore's name.
    pub bore: &'a str,
    /// Depth from its face, mm.
    pub depth_mm: f64,
    /// Angle, degrees clockwise from the landmark, seen from the face.
    pub angle_deg: f64,
    /// The size by the setting ring, mm, as `borewright profile` takes it: a diameter, for the
    /// contact `radius` a radius; where none is known what the gauge stated.
    pub reading_mm: f64,
    /// As found or as left.
    pub phase: Phase,
    /// The job.
    pub job: JobId,
    /// The part.
    pub part: &'a str,
    /// The seat's name.
    pub seat: &'a str,
    /// The gauge's name.
    pub gauge: &'a str,
    /// When, UTC.
    pub at: Moment,
    /// What the gauge stated, mm.
    pub value_mm: f64,
    /// Its event.
    pub seq: u64,
}

/// The readings of `record` that count, phase by phase in the order of the plan. What the mechanic
/// left out is not among them, nor what was gauged again once the gauge was set.
pub fn readings(record: &Record) -> impl Iterator<Item = Reading<'_>> {
    let stations = record
        .phases
        .iter()
        .flat_map(|phase| phase.stations.iter().map(|station| (phase.phase, station)));
    stations.flat_map(move |(phase, at)| {
        let counts = at.readings.iter().filter(|reading| !reading.before_setting);
        counts.map(move |reading| Reading {
            bore: &at.station.bore,
            depth_mm: at.station.depth_mm,
            angle_deg: at.station.angle_deg,
            reading_mm: to_a_picometre(reading.corrected_mm.map_or(reading.value_mm, |size| {
                size / record.contact.diameter_per_reading()
            })),
            phase,
            job: record.job,
            part: &record.part,
            seat: &record.seat.name,
            gauge: &reading.gauge,
            at: reading.at,
            value_mm: reading.value_mm,
            seq: reading.seq,
        })
    })
}

/// Without the last digits that only binary arithmetic brings.
fn to_a_picometre(mm: f64) -> f64 {
    (mm * 1e9).round() / 1e9
}
