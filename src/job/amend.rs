//! A record that is amended once its job is closed: the first one stays, another revision stands
//! beside it.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::decide::{Refusal, Shop};
use super::findings::Findings;
use super::numbers::Numbers;
use super::record::{Record, RecordedNote};
use super::state::Job;
use crate::fit::Evidence;
use crate::units::Moment;

/// What is added to the record of a closed job, or corrected in it.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Amendment {
    /// A note to be added.
    pub note: Option<String>,
    /// What the part is called.
    pub part: Option<String>,
    /// What was seen and felt; it replaces what was noted before.
    pub evidence: Option<Evidence>,
}

impl Amendment {
    /// The same without blanks round its words.
    ///
    /// # Errors
    /// A [`Refusal`] where it says nothing, or what can't be.
    pub fn checked(&self) -> Result<Self, Refusal> {
        let words = |text: &Option<String>| -> Result<Option<String>, Refusal> {
            match text.as_deref().map(str::trim) {
                Some("") => Err(Refusal(
                    "an empty text says nothing: write something".to_owned(),
                )),
                text => Ok(text.map(str::to_owned)),
            }
        };
        let (note, part) = (words(&self.note)?, words(&self.part)?);
        if let Some(evidence) = &self.evidence {
            evidence
                .plausible()
                .map_err(|why| Refusal(why.to_owned()))?;
        }
        if (&note, &part, &self.evidence) == (&None, &None, &None) {
            let what = "say what is to be amended: a note, the part, or the evidence";
            return Err(Refusal(what.to_owned()));
        }
        Ok(Self {
            note,
            part,
            evidence: self.evidence,
        })
    }
}

impl Record {
    /// The next revision. `amends` is the SHA-256 of this one's file, in hexadecimal. Readings and
    /// their numbers stay what they were when the job was closed; what is at fault is said anew
    /// where the evidence was corrected, from `job` as it was then, where that can be read back.
    pub fn amended(
        self,
        amendment: &Amendment,
        (at, seq): (Moment, u64),
        amends: String,
        job: Option<Job>,
        shop: &Shop,
    ) -> Self {
        let note = amendment.note.clone().map(|text| RecordedNote { at, text });
        let mut findings = self.findings;
        if let (Some(evidence), Some(mut job)) = (amendment.evidence, job) {
            job.evidence = evidence;
            let fresh = Findings::of(&job, &Numbers::whole(&job), shop);
            if let (Some(findings), Some(fresh)) = (&mut findings, fresh) {
                findings.examined.diagnosis = fresh.examined.diagnosis;
            }
        }
        Self {
            revision: self.revision + 1,
            amends: Some(amends),
            last_seq: seq,
            part: amendment.part.clone().unwrap_or(self.part),
            evidence: amendment.evidence.unwrap_or(self.evidence),
            notes: self.notes.into_iter().chain(note).collect(),
            findings,
            ..self
        }
    }
}
