//! The stations of one phase and what was measured there.

use std::sync::Arc;

use super::Setting;
use crate::job::gauges::Calibration;
use crate::job::plan::Station;
use crate::units::Moment;

/// The stations of one phase and what was measured there.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Work {
    /// In the order in which they are gauged.
    pub places: Vec<Place>,
    /// Which place is next.
    pub next: Option<usize>,
}

/// One station and what was measured there.
#[derive(Debug, Clone, PartialEq)]
pub struct Place {
    /// Where.
    pub station: Station,
    /// The readings, repeats included.
    pub readings: Vec<Taken>,
    /// Readings that were left out, in the order of leaving out.
    pub dropped: Vec<Taken>,
    /// Passed over.
    pub skipped: bool,
    /// To be gauged once more.
    pub again: bool,
}

/// One reading that counts.
#[derive(Debug, Clone, PartialEq)]
pub struct Taken {
    /// Its event.
    pub seq: u64,
    /// When.
    pub at: Moment,
    /// From which gauge.
    pub gauge: String,
    /// What the gauge stated, mm.
    pub value_mm: f64,
    /// The size, a diameter, where one is known.
    pub size_mm: Option<f64>,
    /// The deviation as stated, its sign made right, from a comparator.
    pub deviation_mm: Option<f64>,
    /// Standard uncertainty that the setting brings to the size, mm; `None` where the size is not
    /// set.
    pub setting_u_mm: Option<f64>,
    /// The setting that the size follows from; `None` without one, and where an old journal keeps
    /// it no longer.
    pub set: Option<Setting>,
    /// What was known of the gauge's calibration.
    pub calibration: Option<Arc<Calibration>>,
    /// The ring that the gauge was set in, mm.
    pub ring_mm: Option<f64>,
    /// The step of the gauge's last digit, mm.
    pub resolution_mm: f64,
}

impl Taken {
    /// Whether a ring stands behind it.
    pub const fn is_set(&self) -> bool {
        self.setting_u_mm.is_some()
    }
}

impl Work {
    pub(super) fn of(stations: impl IntoIterator<Item = Station>) -> Self {
        let places: Vec<Place> = stations.into_iter().map(Place::at).collect();
        let next = (!places.is_empty()).then_some(0);
        Self { places, next }
    }

    pub(super) fn stations(&self) -> Vec<Station> {
        self.places
            .iter()
            .map(|place| place.station.clone())
            .collect()
    }

    /// Where `station` is; the next one is looked at first, since it nearly always is.
    pub fn find(&self, station: &Station) -> Option<usize> {
        self.next
            .filter(|&next| {
                self.places
                    .get(next)
                    .is_some_and(|place| place.station == *station)
            })
            .or_else(|| {
                self.places
                    .iter()
                    .position(|place| place.station == *station)
            })
    }

    /// The first station still to do behind `place`, else the first before it.
    pub(super) fn advance_from(&mut self, place: usize) {
        let to_do = |index: &usize| self.places[*index].is_to_do();
        self.next = (place + 1..self.places.len())
            .find(to_do)
            .or_else(|| (0..place).find(to_do));
    }

    /// `stations` are gauged, once more where they are known; those that aren't join the plan.
    pub(super) fn gauge_again(&mut self, stations: &[Station]) {
        for station in stations {
            let known = self.find(station);
            match known.and_then(|place| self.places.get_mut(place)) {
                Some(place) => place.again = true,
                None => self.places.push(Place::at(station.clone())),
            }
        }
        let first = || self.find(stations.first()?);
        self.next = self.next.or_else(first);
    }

    /// How many stations are still to do.
    pub fn left(&self) -> usize {
        self.places.iter().filter(|place| place.is_to_do()).count()
    }
}

impl Place {
    pub(super) const fn at(station: Station) -> Self {
        Self {
            station,
            readings: Vec::new(),
            dropped: Vec::new(),
            skipped: false,
            again: false,
        }
    }

    /// Neither measured nor passed over, or to be gauged once more.
    pub const fn is_to_do(&self) -> bool {
        self.again || self.readings.is_empty() && !self.skipped
    }
}
