//! Each option by its own numbers.

use super::{Choice, Compound, Cut, Ground, Predicted, Reamer, Work};
use crate::bore::Contact;
use crate::bore::reaming::{NoPreview, Reamed, Wall, ream};
use crate::fit::assess::{Fit, Meets, Range, assess};
use crate::fit::judged::Judged;
use crate::fit::material::Material;
use crate::fit::seat::{NoSeat, SeatForm, together};
use crate::uncertainty::{Decision, Estimates, Limits, behind};

pub(super) fn refused(work: Work, with: Option<&str>, why: impl Into<String>) -> Choice {
    Choice {
        work,
        with: with.map(str::to_owned),
        refused: Some(why.into()),
        reasons: Vec::new(),
        predicted: None,
    }
}

/// A cut that is permitted.
struct Ream<'a> {
    reamer: &'a Reamer,
    cut: Cut,
    reamed: Reamed,
    /// Least wall left, the reamer as far off the axis as the shop allows for, mm.
    wall_left: f64,
    /// How far a spot stands in beyond the fitted wall, mm; `None` where none does by much.
    spot_mm: Option<f64>,
}

/// A spot that stands in farther than the fitted wall makes share and mean doubtful, mm (judgement:
/// half a usual form limit of 0.01 mm).
const SPOT_MM: f64 = 0.005;

impl Ream<'_> {
    /// What to know of it, as sentences.
    fn reasons(&self, predicted: &Predicted) -> Vec<String> {
        let reamed = &self.reamed;
        let reach = |field: &str| behind(predicted.uncertainty.get(field), 3);
        let mut reasons = vec![
            format!(
                "it leaves a mean of {:.3}{} mm, out of round {:.3}{} mm",
                reamed.mean_diameter_mm,
                reach("mean_diameter_mm"),
                reamed.out_of_round_mm,
                reach("out_of_round_mm")
            ),
            self.cut.sentence(),
        ];
        let chips = reamed
            .chips_mm3
            .map_or_else(String::new, |mm3| format!(", {mm3:.0} mm³ of chips"));
        if let Some(largest) = reamed.uncut_unseen_mm {
            reasons.push(format!(
                "it doesn't cut all round, since {largest:.3} mm was measured, but how much stays \
                 uncut can't be told from so few directions: gauge more of them"
            ));
            reasons.push(format!(
                "it cuts {:.3} mm deep at most{chips}",
                reamed.deepest_cut_mm
            ));
        } else {
            reasons.push(format!(
                "it cuts {:.0} % of the surface, {:.3} mm deep at most{chips}",
                100.0 * reamed.share_cut,
                reamed.deepest_cut_mm
            ));
            match reamed.longest_uncut_deg {
                0.0 => reasons.push("no arc stays uncut".to_owned()),
                360.0.. => reasons.push("at some depth it stays uncut all round".to_owned()),
                arc => reasons.push(format!("the longest arc that stays uncut is {arc:.0}°")),
            }
        }
        if let Some(spot) = self.spot_mm {
            reasons.push(format!(
                "a spot stands {spot:.3} mm in beyond the wall fitted through one turn, so share and \
                 mean are less sure: sweep a second turn"
            ));
        }
        let off = reamed.off_centre;
        reasons.push(format!(
            "run {:.2} mm off the axis it leaves a mean of {:.3} mm at most",
            off.offset_mm, off.mean_diameter_up_to_mm
        ));
        reasons.push(format!(
            "{:.2} mm of wall is left where it cuts deepest",
            self.wall_left
        ));
        reasons
    }
}

impl Ground<'_> {
    /// Press as it is: where nothing is shown wrong, nothing is open, and clearance may be left.
    pub(super) fn press(&self, fit: Option<&Fit>) -> Choice {
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
        if let Some(open) = self.first(Decision::CantTell) {
            return no(format!("not before it is known: {open}"));
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
    pub(super) fn other_insert(&self, fit: Option<&Fit>) -> Option<Choice> {
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

    /// Gauge again: where nothing is shown wrong but something is open.
    pub(super) fn gauge_again(&self) -> Choice {
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

    fn first(&self, decision: Decision) -> Option<&str> {
        self.judged
            .all()
            .into_iter()
            .find(|judged| judged.decision == decision)
            .map(|judged| judged.why.as_str())
    }

    /// Bond with each compound; one refusal where there is none, or no gap to judge.
    pub(super) fn bonds(&self, form: Option<&SeatForm>) -> Vec<Choice> {
        if self.shop.compounds.is_empty() {
            return vec![refused(
                Work::Bond,
                None,
                "no compound is described: state the gap that its maker allows",
            )];
        }
        let gap = form.and_then(|form| self.gap(form));
        let option = |compound: &Compound| {
            let no = |why: String| refused(Work::Bond, Some(&compound.name), why);
            if let Some(why) = self.misaligned {
                return no(format!(
                    "{why}; a compound does not bring the bores onto one axis"
                ));
            }
            let Some((gap, form)) = gap.zip(form) else {
                return no(
                    "the gap is not known: it needs the bore's form and the insert's diameter"
                        .to_owned(),
                );
            };
            Choice {
                predicted: Some(self.predicted(form, None, Some(gap))),
                ..bond(compound, gap)
            }
        };
        self.shop.compounds.iter().map(option).collect()
    }

    /// Diametral gap between bore and insert at its least and greatest, with what is not known of
    /// both (95 %).
    fn gap(&self, form: &SeatForm) -> Option<Range> {
        let insert = self.insert?;
        let bore = &form.uncertainty;
        let parts = [
            (bore.standard, bore.degrees()),
            (insert.outside.standard_mm, f64::INFINITY),
        ];
        let reach = together(&parts)?.expanded;
        Some(Range {
            least: form.smallest_mm()? - insert.outside.mean_mm - reach,
            greatest: form.largest_mm()? - insert.outside.mean_mm + reach,
        })
    }

    /// Ream with one reamer.
    pub(super) fn ream(
        &self,
        reamer: &Reamer,
        form: Result<&SeatForm, &NoSeat>,
        walls: Result<&[Wall], &NoPreview>,
    ) -> Choice {
        let no = |why: String| refused(Work::Ream, Some(&reamer.name), why);
        if let Some(why) = self.misaligned {
            return no(format!(
                "{why}; reaming to size does not bring the bores onto one axis"
            ));
        }
        let wall = match self.may_cut() {
            Ok(wall) => wall,
            Err(why) => return no(why),
        };
        let form = match form {
            Ok(form) => form,
            Err(error) => return no(error.to_string()),
        };
        let cut = reamer.cut();
        let reamed = walls.map_err(Clone::clone).and_then(|walls| {
            let length = self.housing.length_mm.or(self.seat.length_mm);
            ream(
                self.contact,
                walls,
                cut.diameter_mm,
                length,
                self.shop.off_centre_mm,
            )
        });
        let reamed = match reamed {
            Ok(reamed) => reamed,
            Err(error) => return no(error.to_string()),
        };
        if reamed.deepest_cut_mm <= 0.0 {
            return no(format!(
                "it cuts {:.3} mm and the bore is larger everywhere: it takes nothing",
                cut.diameter_mm
            ));
        }
        let stock = 2.0 * reamed.deepest_cut_mm;
        if stock > reamer.greatest_stock_mm {
            return no(format!(
                "{stock:.3} mm of stock is beyond the {:.3} mm that this reamer takes sensibly",
                reamer.greatest_stock_mm
            ));
        }
        let wall_left = wall - reamed.off_centre.deepest_cut_up_to_mm;
        if wall_left < self.shop.least_wall_mm {
            return no(format!(
                "{wall_left:.2} mm of wall would be left where it cuts deepest, less than {:.2} mm",
                self.shop.least_wall_mm
            ));
        }
        let spot_mm = walls.map_or(0.0, |walls| {
            let beyond = walls.iter().map(Wall::unfitted_mm);
            beyond.fold(0.0, f64::max)
        });
        let spot_mm = (self.contact == Contact::Radius && spot_mm > SPOT_MM).then_some(spot_mm);
        let Some(after) = form.reamed(&reamed, &cut.uncertainty) else {
            return no("what it would leave can't be computed".to_owned());
        };
        let ream = Ream {
            reamer,
            cut,
            reamed,
            wall_left,
            spot_mm,
        };
        self.outcome(&ream, &after)
    }

    /// What a reamer would have to cut to bring the seat to size, where none that is described does
    /// and a cut may be made: from the lower limit, or so much below the largest diameter that the
    /// form keeps to its limit, up to the upper limit.
    pub(super) fn missing_reamer(&self, form: Option<&SeatForm>) -> Option<Choice> {
        let failing = self.judged.fails() && self.misaligned.is_none();
        let form = form.filter(|_| failing)?;
        let (smallest, largest) = (form.smallest_mm()?, form.largest_mm()?);
        let from = (largest - self.seat.out_of_round_limit_mm).max(self.seat.lower_mm);
        let to = self.seat.upper_mm;
        let left = self.may_cut().ok()? - (from - smallest) / 2.0 - self.shop.off_centre_mm;
        let possible = from < to && smallest < from && left >= self.shop.least_wall_mm;
        possible.then(|| {
            let why = if self.shop.reamers.is_empty() {
                format!(
                    "no reamer is described: one that cuts {from:.3} to {to:.3} mm would bring it to \
                     size"
                )
            } else {
                format!(
                    "no reamer described brings it to size: one that cuts {from:.3} to {to:.3} mm would"
                )
            };
            refused(Work::Ream, None, why)
        })
    }

    /// What a permitted cut comes to: pressed, bonded, or refused for its size.
    fn outcome(&self, ream: &Ream, after: &SeatForm) -> Choice {
        let gap = self.gap(after);
        let mut predicted = self.predicted(after, None, gap);
        predicted.wall_left_mm = Some(ream.wall_left);
        predicted.cut = Some(ream.cut);
        predicted.reamed = Some(ream.reamed.clone());
        let mut reasons = ream.reasons(&predicted);
        let no = |why: String, predicted: Predicted| Choice {
            predicted: Some(predicted),
            ..refused(Work::Ream, Some(&ream.reamer.name), why)
        };
        let loose = predicted
            .fit
            .as_ref()
            .is_some_and(|fit| fit.meets == Meets::Clearance);
        let over = after.mean_mm > self.seat.upper_mm && predicted.size == Decision::DoesNotConform;
        if over && self.judged.conforms() {
            let why = format!(
                "the bore conforms as it is, and reamed to {:.3} mm it would be too large",
                after.mean_mm
            );
            return no(why, predicted);
        }
        let work = if loose || over {
            let bonded = gap.and_then(|gap| {
                self.shop
                    .compounds
                    .iter()
                    .map(|compound| (compound, bond(compound, gap)))
                    .find(|(_, option)| option.refused.is_none())
            });
            let Some((compound, bonded)) = bonded else {
                let why = format!(
                    "it would leave the bore at {:.3} mm, too large to press and beyond what a \
                     compound of the shop fills",
                    after.mean_mm
                );
                return no(why, predicted);
            };
            if over {
                reasons[0].push_str(&format!(
                    "; it leaves the seat {:.3} mm over its limit",
                    after.mean_mm - self.seat.upper_mm
                ));
            }
            reasons.push(format!("then bonded with {}", compound.name));
            reasons.extend(bonded.reasons);
            Work::ReamAndBond
        } else if after.mean_mm < self.seat.lower_mm && predicted.size == Decision::DoesNotConform {
            let why = format!(
                "it would still leave the bore undersize, {:.3} mm",
                after.mean_mm
            );
            return no(why, predicted);
        } else {
            match predicted.size.max(predicted.form) {
                Decision::Conforms => {}
                Decision::CantTell => {
                    reasons[0].push_str("; whether it then conforms can't be told");
                }
                Decision::DoesNotConform => {
                    reasons[0].push_str("; its form would still not conform");
                }
            }
            reasons.extend(predicted.fit.iter().flat_map(pressed_then));
            Work::Ream
        };
        Choice {
            work,
            with: Some(ream.reamer.name.clone()),
            refused: None,
            reasons,
            predicted: Some(predicted),
        }
    }

    /// What the seat comes to in this `form`; `fit` where it is known already.
    pub(super) fn predicted(
        &self,
        form: &SeatForm,
        fit: Option<Fit>,
        gap_mm: Option<Range>,
    ) -> Predicted {
        let size = Limits {
            lower: Some(self.seat.lower_mm),
            upper: Some(self.seat.upper_mm),
        };
        let within = Limits {
            lower: None,
            upper: Some(self.seat.out_of_round_limit_mm),
        };
        let rule = self.seat.decision_factor;
        let out_of_round_mm = form.out_of_round_mm();
        let along_depth_mm = form.along_depth_mm();
        let round = out_of_round_mm
            .zip(form.out_of_round_uncertainty)
            .map_or(Decision::CantTell, |(out, u)| within.decide(out, &u, rule));
        let straight = along_depth_mm.map_or(Decision::Conforms, |along| {
            within.decide(along, &form.uncertainty, rule)
        });
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
            size: size.decide(form.mean_mm, &form.uncertainty, rule),
            form: round.max(straight),
            fit: fit.or_else(|| self.insert.map(|insert| assess(form, insert, self.housing))),
            gap_mm,
            wall_left_mm: None,
            bored_mm: None,
            cut: None,
            reamed: None,
        }
    }

    /// The wall that may be cut, or why nothing may.
    pub(super) fn may_cut(&self) -> Result<f64, String> {
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

/// What the insert comes to in a reamed seat, as sentences.
fn pressed_then(fit: &Fit) -> Vec<String> {
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

/// Whether a compound fills a gap at both its ends.
fn bond(compound: &Compound, gap: Range) -> Choice {
    let no = |why: String| refused(Work::Bond, Some(&compound.name), why);
    if gap.greatest <= 0.0 {
        return no(format!(
            "there is no gap: the insert is {:.3} mm larger than the bore or more",
            -gap.greatest
        ));
    }
    if gap.least < compound.least_gap_mm {
        return no(format!(
            "where the bore is smallest the gap may be {:+.3} mm, it needs {:.3} mm",
            gap.least, compound.least_gap_mm
        ));
    }
    if gap.greatest > compound.greatest_gap_mm {
        return no(format!(
            "where the bore is largest the gap may be {:.3} mm, it fills {:.3} mm at most",
            gap.greatest, compound.greatest_gap_mm
        ));
    }
    Choice {
        work: Work::Bond,
        with: Some(compound.name.clone()),
        refused: None,
        reasons: vec![format!(
            "the gap is {:.3} to {:.3} mm, within the {:.3} to {:.3} mm that it fills",
            gap.least, gap.greatest, compound.least_gap_mm, compound.greatest_gap_mm
        )],
        predicted: None,
    }
}
