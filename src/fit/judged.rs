//! What the decision rule says of each thing that can be wrong with a seat, with the sentence that
//! quotes the numbers. Diagnosis and plan are built on these and on nothing else.

use super::along::Along;
use crate::bore::{Bore, Form, Oval, Section, Shape};
use crate::job::SeatBore;
use crate::uncertainty::{Decision, Estimate, Limits, guard_band, rounded_up};

/// One thing judged.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// Conforms: it is not wrong. Does not conform: it is.
    pub decision: Decision,
    /// Why, a sentence with the numbers.
    pub why: String,
    /// Whether a number was judged; where not, the sentence says what is missing.
    pub measured: bool,
}

/// A bore's seat judged thing by thing.
#[derive(Debug, Clone, PartialEq)]
pub struct JudgedBore {
    /// The bore's name.
    pub name: String,
    /// The mean diameters against the lower limit.
    pub not_undersize: Judged,
    /// The mean diameters against the upper limit.
    pub not_oversize: Judged,
    /// Out-of-round against its limit.
    pub round: Judged,
    /// How much of the greatest out-of-round is an oval, 0 to 1; `None` where no oval is known.
    pub oval_share: Option<f64>,
    /// Where the bore is tightest, degrees in [0, 180), in the section that is most out of round.
    pub tight_axis_deg: Option<f64>,
    /// Change of mean diameter along the depth against the same limit.
    pub straight: Judged,
    /// A raised spot: a diameter smaller than the oval explains.
    pub no_spot: Judged,
}

impl JudgedBore {
    /// Judges `bore` by `seat`.
    pub fn of(bore: &Bore, seat: &SeatBore) -> Self {
        let forms = bore.sections.iter();
        let worst_form = forms
            .filter_map(|section| Some((section, section.form()?.out_of_round_mm)))
            .max_by(|a, b| a.1.total_cmp(&b.1));
        Self {
            name: bore.bore.clone(),
            not_undersize: worst(bore, |section| undersize(&bore.bore, section, seat)),
            not_oversize: worst(bore, |section| oversize(&bore.bore, section, seat)),
            round: worst(bore, |section| round(&bore.bore, section, seat)),
            oval_share: worst_form
                .filter(|(_, out)| *out > 0.0)
                .and_then(|(section, out)| Some((section.oval?.size_mm / out).min(1.0))),
            tight_axis_deg: worst_form
                .and_then(|(section, _)| section.oval)
                .and_then(|oval| oval.tight_axis_deg),
            straight: straight(bore, seat),
            no_spot: worst(bore, |section| no_spot(&bore.bore, section, seat)),
        }
    }

    /// A bore of the seat of which nothing is known.
    pub(super) fn not_gauged(name: &str) -> Self {
        let open = || unknown(format!("{name} was not gauged"));
        Self {
            name: name.to_owned(),
            not_undersize: open(),
            not_oversize: open(),
            round: open(),
            oval_share: None,
            tight_axis_deg: None,
            straight: open(),
            no_spot: open(),
        }
    }

    /// Whether everything judged conforms.
    pub fn conforms(&self) -> bool {
        self.all()
            .iter()
            .all(|judged| judged.decision == Decision::Conforms)
    }

    /// Whether anything judged does not conform.
    pub fn fails(&self) -> bool {
        self.all()
            .iter()
            .any(|judged| judged.decision == Decision::DoesNotConform)
    }

    /// Everything judged.
    pub const fn all(&self) -> [&Judged; 5] {
        [
            &self.not_undersize,
            &self.not_oversize,
            &self.round,
            &self.straight,
            &self.no_spot,
        ]
    }
}

/// Rank for picking the worst: what is shown wrong weighs most, then what was measured and can't be
/// told, then what isn't known.
const fn rank(judged: &Judged) -> u8 {
    match (judged.decision, judged.measured) {
        (Decision::DoesNotConform, _) => 3,
        (Decision::CantTell, true) => 2,
        (Decision::CantTell, false) => 1,
        (Decision::Conforms, _) => 0,
    }
}

fn worst(bore: &Bore, of: impl Fn(&Section) -> (f64, Judged)) -> Judged {
    bore.sections
        .iter()
        .map(of)
        .max_by(|(amount_a, a), (amount_b, b)| {
            rank(a).cmp(&rank(b)).then(amount_a.total_cmp(amount_b))
        })
        .map_or_else(
            || unknown(format!("{}: no section was gauged", bore.bore)),
            |(_, judged)| judged,
        )
}

fn unknown(why: String) -> Judged {
    Judged {
        decision: Decision::CantTell,
        why,
        measured: false,
    }
}

/// Decides, and ends the sentence with what the guard band makes of it.
fn judge(
    sentence: String,
    value: f64,
    estimate: Option<&Estimate>,
    limits: Limits,
    rule: Option<f64>,
) -> Judged {
    let Some(estimate) = estimate else {
        return unknown(format!(
            "{sentence}, how well that is known is not known yet: gauge on"
        ));
    };
    let decision = limits.decide(value, estimate, rule);
    let why = if decision == Decision::CantTell {
        let guard = guard_band(estimate, rule).unwrap_or(2.0 * estimate.standard);
        format!("{sentence}, too close to tell with a guard band of {guard:.4} mm")
    } else {
        sentence
    };
    Judged {
        decision,
        why,
        measured: true,
    }
}

/// The mean of a section whose size counts.
fn size(name: &str, section: &Section) -> Result<(f64, String), Judged> {
    let at = format!("{name} at {} mm", section.depth_mm);
    let Some(mean) = section.mean_diameter_mm else {
        let why = section
            .why_withheld("mean_diameter_mm")
            .unwrap_or("unknown");
        return Err(unknown(format!("{at}: {why}")));
    };
    if !section.size_set {
        return Err(unknown(format!(
            "{at}: mean {mean:.3} mm, but {}",
            section.why_not_set()
        )));
    }
    if let Some(why) = section.mean_unproven(mean) {
        return Err(unknown(format!("{at}: {why}")));
    }
    Ok((mean, at))
}

/// Where a value `over` a limit, mm, lies.
fn place(over: f64) -> String {
    if over.abs() < 0.000_5 {
        "on".to_owned()
    } else if over > 0.0 {
        format!("{over:.3} mm over")
    } else {
        format!("{:.3} mm under", -over)
    }
}

fn undersize(name: &str, section: &Section, seat: &SeatBore) -> (f64, Judged) {
    let (mean, at) = match size(name, section) {
        Ok(known) => known,
        Err(judged) => return (0.0, judged),
    };
    let under = seat.lower_mm - mean;
    let place = place(-under);
    let sentence = format!(
        "{at}: mean {mean:.3} mm is {place} the lower limit {:.3} mm",
        seat.lower_mm
    );
    let limits = Limits {
        lower: Some(seat.lower_mm),
        upper: None,
    };
    let estimate = section.uncertainty.get("mean_diameter_mm");
    (
        under,
        judge(sentence, mean, estimate, limits, seat.decision_factor),
    )
}

fn oversize(name: &str, section: &Section, seat: &SeatBore) -> (f64, Judged) {
    let (mean, at) = match size(name, section) {
        Ok(known) => known,
        Err(judged) => return (0.0, judged),
    };
    let over = mean - seat.upper_mm;
    let place = place(over);
    let sentence = format!(
        "{at}: mean {mean:.3} mm is {place} the upper limit {:.3} mm",
        seat.upper_mm
    );
    let limits = Limits {
        lower: None,
        upper: Some(seat.upper_mm),
    };
    let estimate = section.uncertainty.get("mean_diameter_mm");
    (
        over,
        judge(sentence, mean, estimate, limits, seat.decision_factor),
    )
}

fn round(name: &str, section: &Section, seat: &SeatBore) -> (f64, Judged) {
    let at = format!("{name} at {} mm", section.depth_mm);
    let Some(form) = section.form() else {
        let why = section
            .why_no_form()
            .unwrap_or("fewer than 3 directions were gauged");
        return (
            0.0,
            unknown(format!("{at}: out of round is not known, {why}")),
        );
    };
    let limit = seat.out_of_round_limit_mm;
    let out = form.out_of_round_mm;
    let how = if form.of_radii {
        " (twice the radial zone)"
    } else {
        ""
    };
    let sentence = format!("{at}: out of round {out:.3} mm{how}, limit {limit:.3} mm");
    let limits = Limits {
        lower: None,
        upper: Some(limit),
    };
    let judged = judge(
        sentence,
        out,
        form.estimate.as_ref(),
        limits,
        seat.decision_factor,
    );
    match section.form_unproven(limit) {
        Some(why) if judged.decision != Decision::DoesNotConform => {
            let why = format!("{at}: out of round {out:.3} mm where it was gauged, but {why}");
            (out, unknown(why))
        }
        _ => (out, judged),
    }
}

/// Share of the depth that a seat asks for over which its taper shows (judgement: about half).
const SPANNED: f64 = 0.49;

/// Change of mean diameter over the depth gauged; the seat's form limit holds along the depth as
/// it does round it (a seat's cylindricity covers both: bearing catalogue, table of form
/// tolerances).
fn straight(bore: &Bore, seat: &SeatBore) -> Judged {
    let name = &bore.bore;
    let limit = seat.out_of_round_limit_mm;
    if bore.sections.is_empty() {
        return unknown(format!("{name}: no section was gauged"));
    }
    let Some(along) = Along::of(bore) else {
        return unknown(format!("{name}: taper is not known, gauge a second depth"));
    };
    let limits = Limits {
        lower: None,
        upper: Some(limit),
    };
    let taper = judge(
        along.sentence(name, limit),
        along.by_mm,
        along.estimate.as_ref(),
        limits,
        seat.decision_factor,
    );
    let span = along.span_mm();
    match seat.depths_between_mm() {
        Some([least, most])
            if taper.decision != Decision::DoesNotConform && span < SPANNED * (most - least) =>
        {
            let over = (span * 100.0).round() / 100.0;
            unknown(format!(
                "{name}: taper is not known over {over} mm of depth: gauge from {least} to {most} mm"
            ))
        }
        _ => taper,
    }
}

/// A diameter smaller than mean and oval explain, where the form is out of its limit: a spot of
/// more than half the limit. Where the form is within its limit, so is every spot.
fn no_spot(name: &str, section: &Section, seat: &SeatBore) -> (f64, Judged) {
    let at = format!("{name} at {} mm", section.depth_mm);
    let (_, round) = round(name, section, seat);
    if round.decision == Decision::Conforms {
        let why = format!("{at}: the form is within its limit, so is every spot");
        return (
            0.0,
            Judged {
                decision: Decision::Conforms,
                why,
                measured: true,
            },
        );
    }
    let Some(form) = section.form() else {
        return (0.0, round);
    };
    let Some(oval) = section.oval.filter(|_| section.stations >= 5) else {
        let why = "gauge 5 directions or more to tell a raised spot from an oval";
        return (0.0, unknown(format!("{at}: {why}")));
    };
    let spot = (form.inward_mm - oval.size_mm / 2.0).max(0.0);
    let limit = seat.out_of_round_limit_mm / 2.0;
    let across = section
        .shape
        .as_ref()
        .and_then(|shape| {
            let turn = if form.of_radii { 360 } else { 180_u32 };
            (0..turn)
                .map(|at| (f64::from(at), shape.deviation_mm(f64::from(at))))
                .min_by(|a, b| a.1.total_cmp(&b.1))
        })
        .map(|(angle, _)| {
            if form.of_radii {
                format!(" at {angle:.0}°")
            } else {
                format!(" across {angle:.0}°-{:.0}°", angle + 180.0)
            }
        })
        .unwrap_or_default();
    let sentence = if spot < 0.000_5 {
        format!(
            "{at}: no diameter is smaller than mean and oval explain, half the form limit is \
             {limit:.4} mm"
        )
    } else {
        format!(
            "{at}: the smallest diameter{across} is {spot:.3} mm smaller than mean and oval \
             explain, half the form limit is {limit:.4} mm"
        )
    };
    let limits = Limits {
        lower: None,
        upper: Some(limit),
    };
    let judged = judge(
        sentence,
        spot,
        form.estimate.as_ref(),
        limits,
        seat.decision_factor,
    );
    // What scatter may have made is no wave.
    let shows = form.estimate.is_none_or(|known| spot > known.expanded);
    if let Some(known) = form
        .estimate
        .filter(|_| judged.decision == Decision::CantTell && !shows)
    {
        let unseen = rounded_up(known.expanded, 3);
        let why = format!("{at}: no raised spot shows, but scatter may hide one of {unseen:.3} mm");
        return (spot, Judged { why, ..judged });
    }
    if judged.decision != Decision::Conforms
        && shows
        && let Some(lobed) = lobed(section, &form, &oval)
    {
        let why = format!("{at}: {lobed}, so a raised spot can't be told from lobes");
        return (spot, unknown(why));
    }
    (spot, judged)
}

/// Share of the depth from which on another place is as tight (judgement).
const AS_TIGHT: f64 = 0.7;
/// How far away it is another place, degrees (judgement).
const ELSEWHERE_DEG: f64 = 30.0;

/// Whether the wall is lobed rather than raised at one place, as words: it goes out beyond the oval
/// as far as it comes in, or is as tight at another place. A spot comes in alone.
fn lobed(section: &Section, form: &Form, oval: &Oval) -> Option<String> {
    let half = oval.size_mm / 2.0;
    let outward = form.out_of_round_mm - form.inward_mm;
    let as_far_out = outward - half >= AS_TIGHT * (form.inward_mm - half);
    let shape = section.shape.as_ref()?;
    let places = tight_places(shape, oval, form.of_radii);
    // With one lobe count beside the oval every fitted wall has its tight places evenly spread.
    let shows_places = shape.counts().len() > 2 && places > 1;
    if !as_far_out && !shows_places {
        return None;
    }
    Some(match places {
        0 | 1 => "lobed: it goes out beyond the oval as far as it comes in".to_owned(),
        places => format!("lobed: {places} tight places"),
    })
}

/// How many places of the fitted wall, its oval taken off, are about as tight as the tightest.
fn tight_places(shape: &Shape, oval: &Oval, of_radii: bool) -> usize {
    let turn = if of_radii { 360 } else { 180_u32 };
    let off = |at: u32| {
        let angle = f64::from(at);
        let lobe = oval.long_axis_deg.map_or(0.0, |axis| {
            oval.size_mm / 4.0 * (2.0 * (angle - axis)).to_radians().cos()
        });
        shape.deviation_mm(angle) - lobe
    };
    let wall: Vec<f64> = (0..turn).map(off).collect();
    let count = wall.len();
    let least = wall.iter().copied().fold(0.0, f64::min);
    let mut minima: Vec<(usize, f64)> = (0..count)
        .map(|at| (at, wall[at]))
        .filter(|&(at, value)| {
            value <= AS_TIGHT * least
                && value < wall[(at + count - 1) % count]
                && value <= wall[(at + 1) % count]
        })
        .collect();
    minima.sort_by(|a, b| a.1.total_cmp(&b.1));
    let mut places: Vec<usize> = Vec::new();
    for (at, _) in minima {
        #[expect(clippy::cast_precision_loss, reason = "at most 360")]
        let far = |&other: &usize| {
            let apart = at.abs_diff(other);
            apart.min(count - apart) as f64 > ELSEWHERE_DEG
        };
        if places.iter().all(far) {
            places.push(at);
        }
    }
    places.len()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bore::{Basis, Contact, Observation, bore, section};
    use crate::job::Seats;

    /// A round bore read with 8 µm of scatter is no wavy one.
    #[test]
    fn scatter_is_called_no_waves() {
        let readings: Vec<Observation> = [3.0, -8.0, 6.0, 9.0, -5.0, -9.0, 8.0, -2.0]
            .iter()
            .zip(0_u32..)
            .map(|(um, at)| Observation {
                angle_deg: f64::from(at) * 22.5,
                reading_mm: 45.97 + um / 1000.0,
            })
            .collect();
        let basis = Basis {
            resolution_mm: Some(0.001),
            ..Basis::default()
        };
        let section = section(Contact::TwoPoint, 6.0, &readings, &basis).unwrap();
        let seats = Seats::built_in();
        let seat = &seats.get("pressfit-46").unwrap().bores[0];
        let judged = JudgedBore::of(&bore("drive side", vec![section]), seat);
        let spot = judged.no_spot;
        assert_eq!(spot.decision, Decision::CantTell, "{}", spot.why);
        assert!(spot.why.contains("no raised spot shows"), "{}", spot.why);
    }
}
