//! What past jobs teach of the shop's reamers: what each really cuts.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::decide::Shop;
use super::event::{JobId, Phase};
use super::findings::{Findings, preview};
use super::numbers::Numbers;
use super::state::Job;
use crate::bore::Contact;
use crate::fit::plan::Shop as Workshop;
use crate::fit::{LeftAt, learned_cut_mm};

/// What a reamer really cut in one bore.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct LearnedCut {
    /// The reamer's name.
    pub reamer: String,
    /// The bore that it cut.
    #[serde(default)]
    pub bore: String,
    /// Its nominal diameter then, mm; null in records of older versions.
    #[serde(default)]
    pub nominal_mm: Option<f64>,
    /// As left minus nominal, mm.
    pub cut_mm: f64,
}

/// What the reamers chosen in `job` really cut, from the places that they cut for sure.
pub(super) fn learned_cuts(
    job: &Job,
    numbers: &Numbers,
    findings: &Findings,
    shop: &Shop,
) -> Vec<LearnedCut> {
    // A station of a radius sweep is no diameter.
    if job.contact != Contact::TwoPoint {
        return Vec::new();
    }
    let found = numbers.complete(Phase::AsFound);
    let plans = findings.examined.bores.iter().map(|bore| &bore.plan);
    let cuts = plans.filter_map(|plan| {
        let name = job.chosen.get(&plan.bore)?.with.as_ref()?;
        let mut reamers = shop.workshop.reamers.iter();
        let reamer = reamers.find(|reamer| reamer.name == *name)?;
        let found = found.iter().find(|bore| bore.bore == plan.bore)?;
        let left = left_at(job, &plan.bore);
        let cut_mm = learned_cut_mm(found, &left, preview(job, plan)?, reamer.diameter_mm)?;
        Some(LearnedCut {
            reamer: name.clone(),
            bore: plan.bore.clone(),
            nominal_mm: Some(reamer.diameter_mm),
            cut_mm,
        })
    });
    cuts.collect()
}

/// The places of `bore` gauged as left, in a gauge that was set.
fn left_at(job: &Job, bore: &str) -> Vec<LeftAt> {
    let places = job.work.get(&Phase::AsLeft).into_iter();
    let places = places
        .flat_map(|work| &work.places)
        .filter(|place| place.station.bore == bore);
    places
        .filter_map(|place| {
            let set = place
                .readings
                .iter()
                .filter(|taken| taken.ring_mm.is_some());
            let sizes: Vec<f64> = set.filter_map(|taken| job.size_mm(taken)).collect();
            #[expect(clippy::cast_precision_loss, reason = "a handful of repeats")]
            let mean = sizes.iter().sum::<f64>() / sizes.len() as f64;
            (!sizes.is_empty()).then_some(LeftAt {
                depth_mm: place.station.depth_mm,
                angle_deg: place.station.angle_deg,
                diameter_mm: mean,
            })
        })
        .collect()
}

/// The cuts of past jobs, by job: a job's newest record replaces what an older one taught.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Learned(BTreeMap<JobId, Vec<LearnedCut>>);

impl Learned {
    /// Takes in what `job` taught.
    pub fn take(&mut self, job: JobId, cuts: Vec<LearnedCut>) {
        if cuts.is_empty() {
            self.0.remove(&job);
        } else {
            self.0.insert(job, cuts);
        }
    }

    /// The workshop as configured, each reamer with the cuts of past jobs behind those that the
    /// configuration lists. Cuts under another nominal diameter are another reamer's.
    #[must_use]
    pub fn taught(&self, configured: &Workshop) -> Workshop {
        let mut workshop = configured.clone();
        // A job's identity sorts by the time it was opened, so the newest cuts come last.
        for cut in self.0.values().flatten() {
            let same = |nominal: f64, mm: f64| (nominal - mm).abs() < 1e-9;
            let mut reamers = workshop.reamers.iter_mut();
            let of = reamers.find(|reamer| {
                let nominal = cut.nominal_mm.unwrap_or(reamer.diameter_mm);
                reamer.name == cut.reamer && same(nominal, reamer.diameter_mm)
            });
            if let Some(reamer) = of {
                reamer.past_cuts_mm.push(cut.cut_mm);
            }
        }
        workshop
    }
}

#[cfg(test)]
mod tests {
    use uuid::Uuid;

    use super::*;
    use crate::fit::plan::Reamer;

    fn cut(reamer: &str, nominal_mm: Option<f64>, cut_mm: f64) -> LearnedCut {
        LearnedCut {
            reamer: reamer.into(),
            bore: "left".into(),
            nominal_mm,
            cut_mm,
        }
    }

    #[test]
    fn a_reamer_learns_from_its_own_jobs_each_counted_once() {
        let job = |number: u128| JobId(Uuid::from_u128(number));
        let mut learned = Learned::default();
        learned.take(job(2), vec![cut("46", Some(46.0), 0.004)]);
        learned.take(
            job(1),
            vec![cut("46", None, 0.002), cut("42", Some(42.0), 0.9)],
        );
        learned.take(
            job(3),
            vec![cut("46", Some(45.9), 0.5), cut("sold", None, 0.1)],
        );
        // The record was amended.
        learned.take(job(2), vec![cut("46", Some(46.0), 0.006)]);
        let configured = Workshop {
            reamers: vec![Reamer {
                name: "46".into(),
                diameter_mm: 46.0,
                greatest_stock_mm: 0.2,
                past_cuts_mm: vec![0.001],
            }],
            ..Workshop::default()
        };
        let taught = learned.taught(&configured);
        assert_eq!(taught.reamers[0].past_cuts_mm, [0.001, 0.002, 0.006]);
        learned.take(job(2), Vec::new());
        let taught = learned.taught(&configured);
        assert_eq!(taught.reamers[0].past_cuts_mm, [0.001, 0.002]);
    }
}
