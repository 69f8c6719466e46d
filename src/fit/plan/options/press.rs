//! Press as it is, or take another insert.

use super::refused;
use crate::fit::expected::{Fit, Meets};
use crate::fit::judged::Judged;
use crate::fit::plan::{Choice, Ground, Work};
use crate::uncertainty::Decision;

impl Ground<'_> {
    /// Press as it is: where nothing is shown wrong, nothing is open, and clearance may be left.
    pub(in crate::fit::plan) fn press(&self, fit: Option<&Fit>) -> Choice {
        let no = |why: String| refused(Work::Press, None, why);
        if let Some(why) = self.misaligned {
            return no(format!(
                "{why}; pressed as it is, the axle forces the bearings"
            ));
        }
        if let Some(fault) = self.first(Decision::DoesNotConform) {
            let then = self.pressed_anyway(fit);
            return no(format!("{fault}; {then}"));
        }
        if let Some(open) = self.open().first() {
            return no(format!("not before it is known: {}", open.why));
        }
        if let Some(foreign) = self.foreign {
            return no(foreign.to_owned());
        }
        let mut reasons = Vec::new();
        // What the mechanic must know before pressing: said with the advice itself.
        let mut cautions = vec!["size and form conform to the seat".to_owned()];
        if let Some(fit) = fit {
            match fit.meets {
                Meets::Clearance => {
                    return no(format!(
                        "{} is {:.3} mm smaller than the bore and would sit loose",
                        fit.insert, -fit.interference_mm
                    ));
                }
                Meets::CantTell => cautions.push(fit.may_be_loose()),
                Meets::Interference => reasons.push(format!(
                    "{} has {:.3} mm of interference",
                    fit.insert, fit.interference_mm
                )),
            }
            reasons.extend(self.insert.and_then(|insert| insert.outside.by_class()));
            let smoothed = fit
                .smoothing_mm
                .filter(|_| fit.meets == Meets::Interference);
            if let Some(lost) = smoothed {
                reasons.push(format!(
                    "pressing smooths {:.3} to {:.3} mm of it away",
                    lost.least, lost.greatest
                ));
            }
            let smoothed_mm = fit.smoothing_mm.map_or(0.0, |lost| lost.greatest);
            for at in &fit.service {
                let place = format!("at {:.0} °C", at.celsius);
                let by = at.interference_mm - smoothed_mm;
                match at.meets {
                    Meets::Clearance => cautions.push(format!(
                        "{place} it sits loose, {:.3} mm smaller than the bore: bond it, or take a \
                         tighter seat",
                        -at.interference_mm
                    )),
                    Meets::CantTell => cautions.push(format!(
                        "{place} {by:+.3} mm is left, too little to tell whether it holds"
                    )),
                    Meets::Interference => {
                        reasons.push(format!("{place} {by:.3} mm of it is left"));
                    }
                }
                if let Some(left) = at.clearance_um {
                    let (least, most) = left.whole();
                    let said = if left.least < 0.0 {
                        &mut cautions
                    } else {
                        &mut reasons
                    };
                    said.push(format!(
                        "{place} {least:.0} to {most:.0} µm of internal clearance is left on average"
                    ));
                }
            }
            if let Some(stress) = fit.stress() {
                match fit.below_yield {
                    Some(Decision::DoesNotConform) => {
                        return no(format!(
                            "it would bring {stress}: the housing yields, take a smaller insert"
                        ));
                    }
                    Some(Decision::CantTell) => cautions.push(format!(
                        "it brings {stress}: whether the housing yields can't be told, a smaller \
                         insert is the safer choice"
                    )),
                    Some(Decision::Conforms) | None => {}
                }
            }
            if let (Some(clearance), Some(left)) = (fit.clearance, fit.clearance_left()) {
                match clearance.left {
                    Decision::DoesNotConform => {
                        return no(format!(
                            "it would leave {left}: take a bearing of a larger clearance group"
                        ));
                    }
                    Decision::CantTell => cautions.push(format!(
                        "{left}: turn it in the hand before and after, a larger clearance group is \
                         the safer choice"
                    )),
                    Decision::Conforms => reasons.push(format!("it leaves {left}")),
                }
            }
            if let Some(why) = fit.unfit() {
                return no(why);
            }
            let why = |field| fit.withheld.iter().find(|withheld| withheld.field == field);
            if let Some(withheld) = why("clearance") {
                cautions.push(format!(
                    "what internal clearance is left can't be told, {}: turn it in the hand before \
                     and after",
                    withheld.why
                ));
            }
            reasons.extend(why("pressure_mpa").map(|withheld| withheld.why.clone()));
        }
        reasons.insert(0, cautions.join("; "));
        Choice {
            work: Work::Press,
            with: None,
            refused: None,
            reasons,
            predicted: None,
        }
    }

    /// What pressing into a seat that is shown wrong would come to: by the fit where there is one,
    /// else by what is wrong.
    fn pressed_anyway(&self, fit: Option<&Fit>) -> String {
        let wrong = |judged: &Judged| judged.decision == Decision::DoesNotConform;
        let size = wrong(&self.judged.not_undersize) || wrong(&self.judged.not_oversize);
        let then = match fit.map(|fit| (fit, fit.meets)) {
            Some((_, Meets::Clearance)) => "it would sit loose",
            Some((_, Meets::CantTell)) if size => "whether it holds can't be told",
            Some((fit, Meets::Interference)) if size => {
                if fit.unfit().is_none() {
                    return format!(
                        "pressed as it is, it has {:.3} mm of interference",
                        fit.interference_mm
                    );
                }
                "the bearing would be squeezed"
            }
            _ if wrong(&self.judged.not_undersize) => "the bearing would be squeezed",
            _ if wrong(&self.judged.not_oversize) => "it would sit loose",
            _ => "the bearing takes that shape",
        };
        format!("pressed as it is, {then}")
    }

    /// Take another insert: where the seat is as it should be, and what goes in is not.
    pub(in crate::fit::plan) fn other_insert(&self, fit: Option<&Fit>) -> Option<Choice> {
        if self.misaligned.is_some() || !self.judged.conforms() {
            return None;
        }
        let why = match (self.foreign, fit) {
            (Some(foreign), _) => foreign.to_owned(),
            (None, Some(fit)) => fit.unfit()?,
            (None, None) => return None,
        };
        Some(Choice {
            work: Work::OtherInsert,
            with: None,
            refused: None,
            reasons: vec![format!("size and form conform to the seat: {why}")],
            predicted: None,
        })
    }
}

/// What the insert comes to in a seat that was worked on, as sentences.
pub(in crate::fit::plan) fn pressed_then(fit: &Fit) -> Vec<String> {
    if let Some(why) = fit.unfit() {
        return vec![why];
    }
    let meets = match fit.meets {
        Meets::Interference => format!(
            "{} has {:.3} mm of interference",
            fit.insert, fit.interference_mm
        ),
        Meets::CantTell | Meets::Clearance => fit.may_be_loose(),
    };
    let left = fit
        .clearance_left()
        .zip(fit.clearance)
        .map(|(left, clearance)| match clearance.left {
            Decision::Conforms => format!("it leaves {left}"),
            _ => format!(
                "{left}: turn it in the hand before and after, a larger clearance group is the \
                 safer choice"
            ),
        });
    [Some(meets), left].into_iter().flatten().collect()
}
