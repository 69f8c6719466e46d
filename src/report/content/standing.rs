//! How each bore stands, in words.

use super::Ground;
use crate::fit::Outcome;
use crate::job::{Decision, Phase, RecordedPhase, SeatBore, SectionNumbers};
use crate::report::model::{Line, Mark};
use crate::report::words::{capital, plain};

/// How a bore stands, in a sentence.
pub(super) struct Standing {
    pub(super) decision: Decision,
    /// Round, and only its size not judged for want of a ring.
    pub(super) round_not_set: bool,
    pub(super) line: Line,
}

pub(super) const fn mark(decision: Decision) -> Mark {
    match decision {
        Decision::Conforms => Mark::Good,
        Decision::CantTell => Mark::Open,
        Decision::DoesNotConform => Mark::Bad,
    }
}

impl Ground<'_> {
    /// How each bore of the seat that was gauged stands.
    pub(super) fn standings(&self, phase: &RecordedPhase) -> Vec<Standing> {
        let bores = self.record.seat.bores.iter();
        bores
            .filter_map(|bore| self.standing(phase, bore))
            .collect()
    }

    fn standing(&self, phase: &RecordedPhase, bore: &SeatBore) -> Option<Standing> {
        let words = self.words;
        let sections: Vec<&SectionNumbers> = of_bore(phase, &bore.name).collect();
        let worst_of = |key: &dyn Fn(&SectionNumbers) -> (Decision, f64)| {
            sections.iter().copied().max_by(|a, b| {
                let (a, b) = (key(a), key(b));
                a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))
            })
        };
        let off = |section: &SectionNumbers| {
            let mean = section.numbers.mean_diameter_mm.unwrap_or(bore.target_mm);
            (bore.lower_mm - mean).max(mean - bore.upper_mm)
        };
        let size = worst_of(&|s| (s.verdict.size.decision, off(s)))?;
        let form = worst_of(&|s| (s.verdict.form.decision, out_of_round_mm(s).unwrap_or(0.0)))?;
        let (by_size, by_form) = (size.verdict.size.decision, form.verdict.form.decision);
        let not_set = sections.iter().any(|section| !section.numbers.size_set);
        let at = |section: &SectionNumbers| {
            let depth = words.depth(section.numbers.depth_mm).inline();
            words.fill("report-bore.at-depth", &[("depth", &depth)])
        };
        let mut faults = Vec::new();
        if by_form == Decision::DoesNotConform
            && let Some(out_of_round) = out_of_round_mm(form)
        {
            let (by, limit) = (
                words.length(out_of_round).inline(),
                words.length(bore.out_of_round_limit_mm).inline(),
            );
            let fault = words.fill("report-bore.oval", &[("by", &by), ("limit", &limit)]);
            faults.push(format!("{fault} {}", at(form)));
        }
        if by_size == Decision::DoesNotConform
            && let Some(mean) = size.numbers.mean_diameter_mm
        {
            let (key, by) = if mean > bore.upper_mm {
                ("report-bore.over", mean - bore.upper_mm)
            } else {
                ("report-bore.under", bore.lower_mm - mean)
            };
            let by = words.length(by).inline();
            faults.push(format!("{} {}", words.fill(key, &[("by", &by)]), at(size)));
        }
        let worst = by_size.max(by_form);
        // Against as found the whole bore was judged, its depth and its spots too.
        let outcome = self.outcome(phase.phase, &bore.name);
        let accepted = outcome.map(|outcome| outcome.accepted);
        let decision = accepted.map_or(worst, |accepted| accepted.max(worst));
        // What was not gauged at every depth is good there and no further.
        let gauged = |depth: f64| sections.iter().any(|of| of.numbers.depth_mm == depth);
        let partly = decision == Decision::Conforms && !bore.depths_mm.iter().all(|d| gauged(*d));
        let decision = if partly { Decision::CantTell } else { decision };
        let mut text = if !faults.is_empty() {
            faults.join(&format!(" {} ", words.get("report-bore.and")))
        } else {
            let key = match (by_form, by_size) {
                (Decision::Conforms, Decision::Conforms) => match decision {
                    _ if partly => "report-bore.good",
                    Decision::Conforms => "report-bore.good",
                    Decision::CantTell => "report-bore.other-cant-tell",
                    Decision::DoesNotConform => "report-bore.other",
                },
                (Decision::Conforms, _) if not_set => "report-bore.round-not-set",
                (Decision::Conforms, _) => "report-bore.round-cant-tell",
                (_, Decision::Conforms) => "report-bore.size-only",
                _ => "report-bore.unknown",
            };
            words.get(key).to_owned()
        };
        if partly {
            let depths: Vec<String> = sections.iter().copied().map(at).collect();
            let all = words.fill("report-bore.not-all", &[("depths", &depths.join(", "))]);
            text = format!("{text} {all}");
        }
        text.push('.');
        if by_form == Decision::DoesNotConform
            && let Some(tight) = form.numbers.oval.and_then(|oval| oval.tight_axis_deg)
        {
            let landmark = words.name(&plain(&self.record.seat.landmark));
            let tight = words.fill(
                "report-bore.tight",
                &[("axis", &words.axis(tight)), ("landmark", &landmark)],
            );
            text = format!("{text} {tight}");
        }
        if let Some(why) = outcome.and_then(|outcome| outcome.not_compared.as_deref()) {
            text = format!("{text} {}.", capital(&words.reason(&plain(why))));
        }
        Some(Standing {
            decision,
            round_not_set: by_form == Decision::Conforms && not_set,
            line: Line {
                mark: Some(mark(decision)),
                text: format!("{}: {text}", self.bore_name(&bore.name)),
                aside: String::new(),
            },
        })
    }

    /// What the comparison says of a bore as left.
    fn outcome(&self, phase: Phase, bore: &str) -> Option<&Outcome> {
        let findings = self.record.findings.as_ref()?;
        let outcome = findings.outcomes.iter().find(|o| o.bore == bore)?;
        (phase == Phase::AsLeft).then_some(outcome)
    }
}

/// How far out of round a section is, mm, as the limit is held to: of diameters as measured, of a swept
/// radius twice the radial zone.
pub(super) fn out_of_round_mm(section: &SectionNumbers) -> Option<f64> {
    let numbers = &section.numbers;
    let form = || numbers.form().map(|form| form.out_of_round_mm);
    numbers.out_of_round_mm.or_else(form)
}

/// The sections of a bore, in order of depth.
pub(super) fn of_bore<'a>(
    phase: &'a RecordedPhase,
    bore: &str,
) -> impl Iterator<Item = &'a SectionNumbers> + use<'a> {
    let bore = bore.to_owned();
    phase
        .sections
        .iter()
        .filter(move |section| section.bore == bore)
}
