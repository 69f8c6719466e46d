//! Each option by its own numbers.

mod bond;
mod press;
mod ream;

pub(super) use press::pressed_then;

use super::{Choice, Ground, Predicted, Work};
use crate::fit::assess::assess;
use crate::fit::expected::{Fit, Range};
use crate::fit::material::Material;
use crate::fit::seat::SeatForm;
use crate::uncertainty::{Decision, Estimates, Limits};

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
    /// Gauge again: where nothing is shown wrong but something is open.
    pub(in crate::fit::plan) fn gauge_again(&self) -> Choice {
        let no = |why| refused(Work::GaugeAgain, None, why);
        if self.misaligned.is_some() || self.first(Decision::DoesNotConform).is_some() {
            return no("what is wrong is shown already; gauge again after the work");
        }
        let mut open: Vec<String> = Vec::new();
        for judged in self.judged.all() {
            // Several things may be open for one reason: it is said once.
            if judged.decision == Decision::CantTell && !open.contains(&judged.why) {
                open.push(judged.why.clone());
            }
        }
        if open.is_empty() {
            return no("everything asked of the seat is known");
        }
        Choice {
            work: Work::GaugeAgain,
            with: None,
            refused: None,
            reasons: open,
            predicted: None,
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
