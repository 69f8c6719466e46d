//! What stations show, for whoever looks and for the record.

use std::collections::{BTreeMap, BTreeSet};

use super::event::Phase;
use super::numbers::keys;
use super::plan::Station;
use super::section::{Common, Measured, depth_bits};
use super::state::{Job, Place, Taken};

/// What the stations of a phase show: each section's on the scale that its numbers are on.
pub(super) struct Shown<'a> {
    job: &'a Job,
    /// By bore and depth.
    sections: BTreeMap<(&'a str, u64), Common>,
    /// The readings that count.
    counting: BTreeSet<u64>,
}

impl<'a> Shown<'a> {
    pub(super) fn of(job: &'a Job, phase: Phase) -> Self {
        let mut shown = Self {
            job,
            sections: BTreeMap::new(),
            counting: BTreeSet::new(),
        };
        for key in keys(job).into_iter().filter(|key| key.0 == phase) {
            let Some(measured) = Measured::of(job, key) else {
                continue;
            };
            shown.counting.extend(measured.seqs());
            let section = (measured.bore(), key.2);
            shown.sections.insert(section, measured.common());
        }
        shown
    }

    /// Whether the numbers of its section are computed from `taken`, too.
    pub(super) fn counts(&self, taken: &Taken) -> bool {
        self.counting.contains(&taken.seq)
    }

    /// The mean of what counts at `place`, of the diameter, mm; `None` where nothing does.
    pub(super) fn value_mm(&self, place: &Place) -> Option<f64> {
        let Station { bore, depth_mm, .. } = &place.station;
        let common = self.sections.get(&(bore.as_str(), depth_bits(*depth_mm)))?;
        let counting = place.readings.iter().filter(|taken| self.counts(taken));
        let values: Vec<f64> = counting
            .filter_map(|taken| common.reading_mm(self.job, taken))
            .collect();
        #[expect(clippy::cast_precision_loss, reason = "a handful of repeats")]
        let mean = values.iter().sum::<f64>() / values.len() as f64;
        (!values.is_empty()).then(|| self.job.contact.diameter_per_reading() * mean)
    }
}
