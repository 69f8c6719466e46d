//! What a list of jobs needs of each: a glance at its record.

use std::collections::BTreeMap;

use serde::Deserialize;

use crate::bore::Contact;
use crate::fit::plan::Work;
use crate::job::{Chosen, JobId, LearnedCut, Phase, RecordedNote, RecordedSetting};
use crate::uncertainty::Decision;
use crate::units::Moment;

/// One job at a glance. Read from a [`crate::job::Record`], of which the large rest is skipped;
/// fields of a record mean the same here.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Entry {
    /// The job.
    pub job: JobId,
    /// Which revision of its record this is.
    pub revision: u32,
    /// The part, as the mechanic calls it.
    pub part: String,
    /// When it was opened, UTC.
    pub opened_at: Moment,
    /// When it was closed, UTC; `None` while it is open.
    pub closed_at: Option<Moment>,
    /// The seat.
    pub seat: SeatGlance,
    /// The work, phase by phase.
    #[serde(default)]
    pub phases: Vec<PhaseGlance>,
    /// The newest setting of each gauge that took a reading.
    #[serde(default)]
    pub gauges: BTreeMap<String, Option<RecordedSetting>>,
    /// All settings of each gauge; empty in records of older versions.
    #[serde(default)]
    pub settings: BTreeMap<String, Vec<RecordedSetting>>,
    /// How the gauges touched the bore; `None` in records of older versions.
    #[serde(default)]
    pub contact: Option<Contact>,
    /// How far each gauge had drifted at its re-check, mm.
    #[serde(default)]
    pub drift_mm: BTreeMap<String, f64>,
    /// When each of these re-checks was, UTC; empty in records of older versions.
    #[serde(default)]
    pub checked_at: BTreeMap<String, Moment>,
    /// How the mechanic went on with each bore.
    #[serde(default)]
    pub chosen: BTreeMap<String, Chosen>,
    /// What the reamers used really cut.
    #[serde(default)]
    pub learned_cuts: Vec<LearnedCut>,
    /// What was written down.
    #[serde(default)]
    pub notes: Vec<RecordedNote>,
}

/// Of the seat what a list needs.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
pub struct SeatGlance {
    /// The name by which a job asks for it.
    pub name: String,
    /// One line for people.
    #[serde(default)]
    pub title: String,
}

/// Of a phase what a list needs.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct PhaseGlance {
    /// Which.
    pub phase: Phase,
    /// The worst of its sections' verdicts; `None` where nothing was measured.
    pub verdict: Option<Decision>,
    /// Its sections.
    #[serde(default)]
    pub sections: Vec<SectionGlance>,
}

/// Of a section what a list needs.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct SectionGlance {
    /// The bore's name.
    pub bore: String,
    /// Depth from its face, mm.
    pub depth_mm: f64,
    /// Mean diameter, mm.
    #[serde(default)]
    pub mean_diameter_mm: Option<f64>,
    /// Largest minus smallest diameter, mm.
    #[serde(default)]
    pub out_of_round_mm: Option<f64>,
}

/// The largest out-of-round among the sections of one bore.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BoreGlance<'a> {
    /// The bore's name.
    pub bore: &'a str,
    /// Largest minus smallest diameter of its worst section, mm.
    pub out_of_round_mm: f64,
}

impl Entry {
    /// Whether the job is still open.
    pub const fn is_open(&self) -> bool {
        self.closed_at.is_none()
    }

    /// The verdict of a phase; `None` where nothing was measured in it.
    pub fn verdict(&self, phase: Phase) -> Option<Decision> {
        self.phase(phase)?.verdict
    }

    /// The newest verdict: as left where that was measured, else as found.
    pub fn newest_verdict(&self) -> Option<Decision> {
        self.verdict(Phase::AsLeft)
            .or_else(|| self.verdict(Phase::AsFound))
    }

    fn phase(&self, phase: Phase) -> Option<&PhaseGlance> {
        self.phases.iter().find(|glance| glance.phase == phase)
    }

    /// The largest out-of-round of each bore in a phase, of those bores where one is known.
    pub fn out_of_round(&self, phase: Phase) -> Vec<BoreGlance<'_>> {
        let mut worst: Vec<BoreGlance<'_>> = Vec::new();
        for section in self.phase(phase).iter().flat_map(|phase| &phase.sections) {
            let Some(out_of_round_mm) = section.out_of_round_mm else {
                continue;
            };
            match worst.iter_mut().find(|known| known.bore == section.bore) {
                Some(known) => known.out_of_round_mm = known.out_of_round_mm.max(out_of_round_mm),
                None => worst.push(BoreGlance {
                    bore: &section.bore,
                    out_of_round_mm,
                }),
            }
        }
        worst
    }

    /// What was done, each kind of work once, with what; empty where nothing was chosen.
    pub fn done(&self) -> Vec<(Work, Option<&str>)> {
        let mut done = Vec::new();
        for chosen in self.chosen.values() {
            let work = (chosen.work, chosen.with.as_deref());
            if !done.contains(&work) {
                done.push(work);
            }
        }
        done
    }

    /// The end of the job's id: what tells it from others on a screen. The beginning is the time
    /// it was opened, so jobs of one morning share it.
    pub fn short_id(&self) -> String {
        let id = self.job.to_string();
        id[id.len().saturating_sub(8)..].to_owned()
    }
}
