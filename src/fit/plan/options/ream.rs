//! Ream, with each reamer, and what reamer is missing.

use super::bond::bond;
use super::press::pressed_then;
use super::refused;
use crate::bore::Contact;
use crate::bore::reaming::{NoPreview, Reamed, Wall, ream};
use crate::fit::expected::Meets;
use crate::fit::plan::{Choice, Cut, Ground, Predicted, Reamer, Work};
use crate::fit::seat::{NoSeat, SeatForm};
use crate::uncertainty::{Decision, behind, guard_band, rounded_up};

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

/// What is less than this, mm, is no more than the last digit said.
const SEEN_MM: f64 = 0.000_5;

/// How far beyond the guard band the ends of what another reamer should cut are looked for, µm.
const STEPS: u8 = 6;

impl Ream<'_> {
    /// What to know of it, as sentences; the first is said with the advice.
    fn reasons(&self, predicted: &Predicted, upper_mm: f64) -> Vec<String> {
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
        let most = off.mean_diameter_up_to_mm;
        let off_axis = format!(
            "run {:.2} mm off the axis it leaves a mean of {most:.3} mm at most",
            off.offset_mm
        );
        let over = most - upper_mm;
        if over >= SEEN_MM && reamed.mean_diameter_mm <= upper_mm {
            reasons[0].push_str(&format!("; {off_axis}, {over:.3} mm over the upper limit"));
        } else {
            reasons.push(off_axis);
        }
        reasons.push(format!(
            "{:.2} mm of wall is left where it cuts deepest",
            self.wall_left
        ));
        reasons
    }
}

impl Ground<'_> {
    /// Ream with one reamer.
    pub(in crate::fit::plan) fn ream(
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
    /// form keeps to its limit, up to the upper limit; drawn in by what is not known of the cut of a
    /// reamer that is new to the shop.
    pub(in crate::fit::plan) fn missing_reamer(
        &self,
        form: Option<&SeatForm>,
        walls: Result<&[Wall], &NoPreview>,
    ) -> Option<Choice> {
        let failing = self.judged.fails() && self.misaligned.is_none();
        let (form, walls) = (form.filter(|_| failing)?, walls.ok()?);
        let (smallest, largest) = (form.smallest_mm()?, form.largest_mm()?);
        let from = (largest - self.seat.out_of_round_limit_mm).max(self.seat.lower_mm);
        let to = self.seat.upper_mm;
        let left = self.may_cut().ok()? - (from - smallest) / 2.0 - self.shop.off_centre_mm;
        let possible = from < to && smallest < from && left >= self.shop.least_wall_mm;
        if !possible {
            return None;
        }
        let what = if self.shop.reamers.is_empty() {
            "no reamer is described"
        } else {
            "no reamer described brings it to size"
        };
        let why = match self.surely_cut(form, walls, from, to) {
            Some((from, to)) => {
                format!("{what}: one that cuts {from:.3} to {to:.3} mm would bring it to size")
            }
            None => format!(
                "{what}: one that cuts close to {:.3} mm could, its cut known better than ±{:.3} mm",
                f64::midpoint(from, to),
                rounded_up(Cut::unlearned(to).uncertainty.expanded, 3)
            ),
        };
        Some(refused(Work::Ream, None, why))
    }

    /// The least and the greatest cut between `from` and `to`, whole µm, with which a reamer whose
    /// cut is not learned yet leaves a seat that is shown to conform.
    fn surely_cut(
        &self,
        form: &SeatForm,
        walls: &[Wall],
        from: f64,
        to: f64,
    ) -> Option<(f64, f64)> {
        let conforms = |um: f64| {
            let cut = Cut::unlearned(um / 1e3);
            let reamed = ream(self.contact, walls, cut.diameter_mm, None, 0.0).ok()?;
            let after = form.reamed(&reamed, &cut.uncertainty)?;
            let (size, form) = self.judge(&after);
            (size.max(form) == Decision::Conforms).then_some(um / 1e3)
        };
        let rule = self.seat.decision_factor;
        let guard_um = 1e3 * guard_band(&Cut::unlearned(to).uncertainty, rule)?;
        // What stays uncut may draw the ends in by some more.
        let inward =
            |end: f64, step: f64| (0..STEPS).find_map(|at| conforms(end + step * f64::from(at)));
        let least = inward((1e3 * from + guard_um).ceil(), 1.0)?;
        let most = inward((1e3 * to - guard_um).floor(), -1.0)?;
        (least <= most).then_some((least, most))
    }

    /// What a permitted cut comes to: pressed, bonded, or refused for its size.
    fn outcome(&self, ream: &Ream, after: &SeatForm) -> Choice {
        let gap = self.gap(after);
        let mut predicted = self.predicted(after, None, gap);
        predicted.wall_left_mm = Some(ream.wall_left);
        predicted.cut = Some(ream.cut);
        predicted.reamed = Some(ream.reamed.clone());
        let mut reasons = ream.reasons(&predicted, self.seat.upper_mm);
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
        let bonded = gap.filter(|_| loose || over).and_then(|gap| {
            let mut compounds = self.shop.compounds.iter();
            compounds.find_map(|compound| {
                let option = bond(compound, gap);
                option.refused.is_none().then_some((compound, option))
            })
        });
        let work = if let Some((compound, bonded)) = bonded {
            if over {
                reasons[0].push_str(&format!(
                    "; it leaves the seat {:.3} mm over its limit",
                    after.mean_mm - self.seat.upper_mm
                ));
            }
            reasons.push(format!("then bonded with {}", compound.name));
            reasons.extend(bonded.reasons);
            Work::ReamAndBond
        } else if over {
            let why = format!(
                "it would leave the bore at {:.3} mm, too large to press and beyond what a \
                 compound of the shop fills",
                after.mean_mm
            );
            return no(why, predicted);
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
            let then = predicted.fit.iter().flat_map(pressed_then);
            if loose {
                // The advice itself must not lead to pressing what falls out.
                then.for_each(|why| reasons[0].push_str(&format!("; {why}")));
            } else {
                reasons.extend(then);
            }
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
}
