//! Each option by its own numbers.

mod bond;
mod press;
mod ream;

pub(super) use press::pressed_then;

use super::{Choice, Ground, Predicted, Work};
use crate::bore::Contact;
use crate::fit::assess::assess;
use crate::fit::expected::{Fit, Range};
use crate::fit::judged::Judged;
use crate::fit::material::Material;
use crate::fit::seat::{SeatForm, sizes_known};
use crate::job::{Judgement, Verdict};
use crate::uncertainty::{Decision, Estimates, Limits};

/// What is open of a seat.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Open {
    /// Why, as a sentence.
    pub(super) why: String,
    /// No gauging settles it.
    for_good: bool,
}

pub(in crate::fit::plan) fn refused(
    work: Work,
    with: Option<&str>,
    why: impl Into<String>,
) -> Choice {
    Choice {
        work,
        with: with.map(str::to_owned),
        refused: Some(why.into()),
        reasons: Vec::new(),
        predicted: None,
    }
}

impl Ground<'_> {
    /// Gauge again: where nothing is shown wrong but something is open, and where no size is known to
    /// plan a repair by.
    pub(in crate::fit::plan) fn gauge_again(&self) -> Choice {
        let no = |why| refused(Work::GaugeAgain, None, why);
        let again = |reasons| Choice {
            work: Work::GaugeAgain,
            with: None,
            refused: None,
            reasons,
            predicted: None,
        };
        if self.misaligned.is_some() || self.first(Decision::DoesNotConform).is_some() {
            return match sizes_known(self.bore) {
                Err(unset) if self.misaligned.is_none() => again(vec![unset.to_string()]),
                _ => no("what is wrong is shown already; gauge again after the work"),
            };
        }
        let open = self.open();
        match open.first() {
            None => no("everything asked of the seat is known"),
            Some(open) if open.for_good => refused(Work::GaugeAgain, None, open.why.clone()),
            Some(_) => again(open.into_iter().map(|open| open.why).collect()),
        }
    }

    /// What is open of the seat, each thing once; what no gauge settles comes last.
    pub(super) fn open(&self) -> Vec<Open> {
        let judged = self.judged;
        let size: fn(Verdict) -> Judgement = |verdict| verdict.size;
        let by_verdict = [
            (&judged.not_undersize, size),
            (&judged.not_oversize, size),
            (&judged.round, |verdict| verdict.form),
        ];
        let told = by_verdict.map(|(judged, of)| (judged, self.told(judged, of)));
        // A contact that is blind to the form is so to a spot, and that is said of the form.
        let seen = self.contact != Contact::ThreePoint;
        let as_judged = [Some(&judged.straight), seen.then_some(&judged.no_spot)];
        let as_judged = as_judged.into_iter().flatten().map(|judged| {
            let (why, for_good) = (judged.why.clone(), false);
            (judged, Open { why, for_good })
        });
        let mut open: Vec<Open> = Vec::new();
        for (judged, one) in told.into_iter().chain(as_judged) {
            if judged.decision == Decision::CantTell && !open.contains(&one) {
                open.push(one);
            }
        }
        open.sort_by_key(|open| open.for_good);
        open
    }

    /// What is open of a section, as its verdict tells it: with what would settle it.
    fn told(&self, judged: &Judged, of: fn(Verdict) -> Judgement) -> Open {
        let sections = self.bore.sections.iter().map(|section| {
            let at = format!("{} at {} mm: ", self.bore.bore, section.depth_mm);
            (at, section)
        });
        let found = sections
            .filter(|(at, _)| judged.why.starts_with(at.as_str()))
            .map(|(at, section)| (at, of(Verdict::of(section, self.seat))))
            .find(|(_, judgement)| judgement.decision == Decision::CantTell);
        match found {
            Some((at, judgement)) => Open {
                why: format!("{at}{}", judgement.why),
                for_good: judgement.stays_open(),
            },
            None => Open {
                why: judged.why.clone(),
                for_good: false,
            },
        }
    }

    pub(super) fn first(&self, decision: Decision) -> Option<&str> {
        self.judged
            .all()
            .into_iter()
            .find(|judged| judged.decision == decision)
            .map(|judged| judged.why.as_str())
    }

    /// What the seat comes to as it is, its form judged as the diagnosis judges it.
    pub(in crate::fit::plan) fn as_it_is(
        &self,
        form: &SeatForm,
        fit: Option<Fit>,
        gap_mm: Option<Range>,
    ) -> Predicted {
        let judged = self.judged;
        Predicted {
            form: judged.round.decision.max(judged.straight.decision),
            ..self.predicted(form, fit, gap_mm)
        }
    }

    /// What the seat comes to in this `form`; `fit` where it is known already.
    pub(in crate::fit::plan) fn predicted(
        &self,
        form: &SeatForm,
        fit: Option<Fit>,
        gap_mm: Option<Range>,
    ) -> Predicted {
        let (size, shape) = self.judge(form);
        let out_of_round_mm = form.out_of_round_mm();
        let along_depth_mm = form.along_depth_mm();
        let mut uncertainty = Estimates::from([("mean_diameter_mm".to_owned(), form.uncertainty)]);
        if let Some(estimate) = form
            .out_of_round_uncertainty
            .filter(|_| out_of_round_mm.is_some())
        {
            uncertainty.insert("out_of_round_mm".to_owned(), estimate);
        }
        Predicted {
            mean_diameter_mm: form.mean_mm,
            out_of_round_mm,
            along_depth_mm,
            uncertainty,
            size,
            form: shape,
            fit: fit.or_else(|| self.insert.map(|insert| assess(form, insert, self.housing))),
            gap_mm,
            wall_left_mm: None,
            bored_mm: None,
            cut: None,
            reamed: None,
        }
    }

    /// Size and form of a seat that would be left so.
    pub(super) fn judge(&self, form: &SeatForm) -> (Decision, Decision) {
        let size = Limits {
            lower: Some(self.seat.lower_mm),
            upper: Some(self.seat.upper_mm),
        };
        let within = Limits {
            lower: None,
            upper: Some(self.seat.out_of_round_limit_mm),
        };
        let rule = self.seat.decision_factor;
        let round = form
            .out_of_round_mm()
            .zip(form.out_of_round_uncertainty)
            .map_or(Decision::CantTell, |(out, u)| within.decide(out, &u, rule));
        let straight = form.along_depth_mm().map_or(Decision::Conforms, |along| {
            within.decide(along, &form.uncertainty, rule)
        });
        (
            size.decide(form.mean_mm, &form.uncertainty, rule),
            round.max(straight),
        )
    }

    /// The wall that may be cut, or why nothing may.
    pub(in crate::fit::plan) fn may_cut(&self) -> Result<f64, String> {
        match self.housing.material {
            Some(Material::Laminate) => {
                Err("a laminate shell is never cut: cut fibres lose their strength".to_owned())
            }
            None => Err(
                "the material is not known, and a laminate shell is never cut: state the material"
                    .to_owned(),
            ),
            Some(_) => self
                .housing
                .wall_mm
                .filter(|wall| wall.is_finite())
                .ok_or_else(|| "the wall is not known: nothing is cut before it is".to_owned()),
        }
    }
}
