//! What was found, in words first: how a bore is, where it is tight, what that does to a bearing.

use super::findings::{of_bore, worst};
use super::words::{self, Language, Standing, tied};
use crate::bore::Section;
use crate::fit::{CauseKind, Diagnosis, ExaminedBore, Fit, Meets, Standing as Stands};
use crate::job::{JobView, Phase};
use crate::uncertainty::Decision;

/// Where the bores are shown not to lie on one axis: how far off, as a sentence.
pub(super) fn misaligned(diagnosis: &Diagnosis) -> Option<&str> {
    let mut causes = diagnosis.causes.iter();
    let shown = causes
        .find(|cause| cause.cause == CauseKind::Misaligned && cause.standing == Stands::Shown)?;
    shown.reasons_for.first().map(String::as_str)
}

/// A size in words: to the hundredth where that says enough.
fn brief(lang: Language, mm: f64) -> String {
    lang.decimal(mm, if mm < 0.05 { 3 } else { 2 })
}

/// A bore in words: how it is, where it is tight, what that does to a bearing.
pub(super) fn sentences(lang: Language, job: &JobView, bore: &ExaminedBore) -> String {
    let mut said = vec![form_and_size(lang, job, bore)];
    let axis = job
        .sections
        .iter()
        .filter(|s| s.phase == Phase::AsFound && s.numbers.bore == bore.bore)
        .filter(|s| s.numbers.verdict.form.decision == Decision::DoesNotConform)
        .max_by(|a, b| {
            let of = |s: &Section| s.out_of_round_mm.unwrap_or(0.0);
            of(&a.numbers.numbers).total_cmp(&of(&b.numbers.numbers))
        })
        .and_then(|s| s.numbers.numbers.oval?.tight_axis_deg);
    if let Some(axis) = axis {
        said.push(lang.fill("findings.tight", &[("axis", &lang.axis(axis))]));
    }
    let shown = bore
        .shown
        .iter()
        .map(|why| words::sentence(&lang.reason(why)));
    said.extend(shown);
    said.extend(bore.fit.as_ref().and_then(|fit| bearing(lang, fit)));
    tied(&said.join(" "))
}

/// How round and how large a bore is at its worst.
fn form_and_size(lang: Language, job: &JobView, bore: &ExaminedBore) -> String {
    let name = words::bore(lang, &bore.bore);
    let seat = words::bore_of(&job.seat, &bore.bore);
    let sections = of_bore(job, Phase::AsFound, &bore.bore);
    let fails = |d: Decision| d == Decision::DoesNotConform;
    let out = sections
        .iter()
        .filter(|s| fails(s.verdict.form.decision))
        .filter_map(|s| s.numbers.out_of_round_mm)
        .reduce(f64::max);
    // By how much the worst mean lies beyond its limit; negative: under it.
    let off = seat.and_then(|seat| {
        sections
            .iter()
            .filter(|s| fails(s.verdict.size.decision))
            .filter_map(|s| s.numbers.mean_diameter_mm)
            .map(|mean| {
                if mean < seat.lower_mm {
                    mean - seat.lower_mm
                } else {
                    mean - seat.upper_mm
                }
            })
            .max_by(|a, b| a.abs().total_cmp(&b.abs()))
    });
    let out = out.map(|out| brief(lang, out));
    let by = off.map(|off| brief(lang, off.abs())).unwrap_or_default();
    let under = off.is_some_and(|off| off < 0.0);
    let key = match (&out, off) {
        (Some(_), Some(_)) if under => "findings.round-under",
        (Some(_), Some(_)) => "findings.round-over",
        (Some(_), None) => "findings.out-of-round",
        (None, Some(_)) if under => "findings.under",
        (None, Some(_)) => "findings.over",
        (None, None) => {
            let worst = worst(lang, job, Phase::AsFound, &bore.bore);
            let good = worst
                .as_ref()
                .is_some_and(|(words, _)| words.standing == Standing::Inside);
            if good && !bore.shown.is_empty() {
                return lang.fill("findings.each-depth", &[("bore", &name)]);
            }
            let headline = worst.map(|(words, _)| words.headline).unwrap_or_default();
            return format!("{name}: {headline}.");
        }
    };
    let out = out.unwrap_or_default();
    lang.fill(key, &[("bore", &name), ("out", &out), ("by", &by)])
}

/// What becomes of a bearing pressed into the bore as it is.
fn bearing(lang: Language, fit: &Fit) -> Option<String> {
    if fit.meets == Meets::Clearance {
        let by = brief(lang, -fit.interference_mm);
        return Some(lang.fill("findings.loose", &[("by", &by)]));
    }
    let clearance = fit.clearance?;
    let left = clearance.tight_axis_um.unwrap_or(clearance.mean_um);
    Some(match (left.least < 0.0, left.greatest < 0.0) {
        (_, true) => lang.say("findings.loses-all").to_owned(),
        (true, false) => lang.say("findings.may-lose").to_owned(),
        (false, _) => {
            let least = lang.decimal(left.least, 0);
            lang.fill("findings.keeps", &[("um", &least)])
        }
    })
}
