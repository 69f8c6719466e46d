//! The answer in words.

use std::fmt::Write as _;

use super::hang::Hang;
use crate::fit::plan::{Choice, Plan, Work};
use crate::fit::{Examined, ExaminedBore, Fit, Outcome, Standing};
use crate::uncertainty::{Decision, rounded_up};

/// Everything, one idea a line.
pub(super) fn write(
    examined: &Examined,
    hang: Option<&Hang>,
    outcomes: Option<&[Outcome]>,
) -> String {
    let mut text = String::new();
    let _ = writeln!(text, "{}", examined.diagnosis.summary);
    if let Some(hang) = hang {
        write_hang(&mut text, hang);
    }
    for bore in &examined.bores {
        write_bore(&mut text, bore);
    }
    for bore in &examined.not_gauged {
        let _ = writeln!(text, "\n{bore} was not gauged");
    }
    let _ = writeln!(text, "\nwhat can be the cause");
    for cause in &examined.diagnosis.causes {
        let name = word(&cause.cause);
        let _ = writeln!(text, "  {:<11} {name}", standing(cause.standing));
        for reason in &cause.reasons_for {
            let _ = writeln!(text, "              for: {reason}");
        }
        for reason in &cause.against {
            let _ = writeln!(text, "              against: {reason}");
        }
    }
    for outcome in outcomes.unwrap_or_default() {
        write_outcome(&mut text, outcome);
    }
    text
}

fn write_hang(text: &mut String, hang: &Hang) {
    let _ = writeln!(text, "\nhang test");
    for (when, friction) in [("free", hang.free), ("fitted", hang.fitted)] {
        let Some(friction) = friction else { continue };
        let _ = match friction.uncertainty {
            Some(u) => writeln!(
                text,
                "  {when:<8}{:.4} ± {:.4} N·m",
                friction.torque_nm,
                rounded_up(u.expanded, 4)
            ),
            None => writeln!(text, "  {when:<8}at least {:.4} N·m", friction.torque_nm),
        };
    }
}

fn write_bore(text: &mut String, bore: &ExaminedBore) {
    let _ = writeln!(text, "\n{}", bore.bore);
    match (&bore.fit, &bore.no_fit) {
        (Some(fit), _) => write_fit(text, fit),
        (None, why) => {
            let _ = writeln!(text, "  no fit: {}", why.as_deref().unwrap_or("unknown"));
        }
    }
    write_plan(text, &bore.plan);
    let _ = writeln!(text, "  steps");
    for step in &bore.checklist {
        let mark = if step.caution { "!" } else { "-" };
        let _ = writeln!(text, "    {mark} {}", step.text);
    }
}

fn write_fit(text: &mut String, fit: &Fit) {
    let reach = fit
        .uncertainty
        .get("interference_mm")
        .map_or_else(String::new, |u| {
            format!(" ± {:.4}", rounded_up(u.expanded, 4))
        });
    let _ = writeln!(
        text,
        "  {} {:.4} mm ({}): interference {:+.4}{reach} mm",
        fit.insert, fit.insert_mm, fit.insert_from, fit.interference_mm
    );
    let line = |text: &mut String, what: &str, value: Option<String>, field: &str| {
        let value = value.unwrap_or_else(|| {
            fit.withheld
                .iter()
                .find(|withheld| withheld.field == field)
                .map_or_else(|| "not known".to_owned(), |withheld| withheld.why.clone())
        });
        let _ = writeln!(text, "    {what:<24}{value}");
    };
    let mm = |value: f64| format!("{value:.4} mm");
    line(
        text,
        "round the bore",
        fit.spread_round_mm.map(mm),
        "spread_round_mm",
    );
    line(
        text,
        "along the depth",
        fit.spread_depth_mm.map(mm),
        "spread_depth_mm",
    );
    line(
        text,
        "pressure",
        fit.pressure_mpa.map(|r| match r.greatest {
            0.0 => "none: it sits loose".to_owned(),
            greatest => format!("{:.2} to {greatest:.2} MPa", r.least),
        }),
        "pressure_mpa",
    );
    // What sits loose needs no force, strains nothing and presses nothing smooth.
    let pressed = fit.pressure_mpa.is_none_or(|r| r.greatest > 0.0);
    if pressed {
        line(text, "hoop stress", hoop_stress(fit), "hoop_stress_mpa");
        line(
            text,
            "press-in force",
            fit.press_force_n
                .map(|r| format!("{:.0} to {:.0} N", r.least, r.greatest)),
            "press_force_n",
        );
    }
    let contraction = fit.raceway_contraction_mm.filter(|r| r.greatest > 0.0);
    if let Some(by) = contraction {
        let by = tenths(by.least * 1e3, by.greatest * 1e3);
        line(
            text,
            "raceway contraction",
            Some(by),
            "raceway_contraction_mm",
        );
    }
    let clearance = fit.clearance.map(|clearance| {
        let range = |r: crate::fit::Range| tenths(r.least, r.greatest);
        let tight = clearance.tight_axis_um.map_or_else(String::new, |r| {
            format!(", across the tight axis {}", range(r))
        });
        format!(
            "{} before, {} after{tight}",
            range(clearance.initial_um),
            range(clearance.mean_um)
        )
    });
    line(text, "internal clearance", clearance, "clearance");
    if let Some(lost) = fit.smoothing_mm.filter(|_| pressed) {
        let lost = format!("{:.4} to {:.4} mm of it", lost.least, lost.greatest);
        line(text, "pressed smooth", Some(lost), "smoothing_mm");
    }
    for at in &fit.service {
        let clearance = at.clearance_um.map_or_else(String::new, |r| {
            format!(", internal clearance {}", tenths(r.least, r.greatest))
        });
        let what = format!(
            "interference {:+.4} mm, {:.2} to {:.2} MPa{clearance}",
            at.interference_mm, at.pressure_mpa.least, at.pressure_mpa.greatest
        );
        line(
            text,
            &format!("at {:.0} °C", at.celsius),
            Some(what),
            "service",
        );
    }
    let asked = fit
        .withheld
        .iter()
        .find(|withheld| withheld.field == "service");
    if let Some(why) = asked {
        line(text, "in service", Some(why.why.clone()), "service");
    }
}

/// From least to greatest, µm; nothing is no minus zero.
fn tenths(least: f64, greatest: f64) -> String {
    let round = |um: f64| (um * 10.0).round() / 10.0 + 0.0;
    format!("{:.1} to {:.1} µm", round(least), round(greatest))
}

/// The hoop stress, and the yield strength where it is stated.
fn hoop_stress(fit: &Fit) -> Option<String> {
    let hoop = fit.hoop_stress_mpa?;
    let against = match (fit.yield_mpa, fit.below_yield) {
        (Some(limit), Some(decision)) => {
            let says = match decision {
                Decision::Conforms => "below",
                Decision::DoesNotConform => "above",
                Decision::CantTell => "can't tell whether below",
            };
            format!(", {says} the yield strength of {limit:.0} MPa")
        }
        _ => String::new(),
    };
    Some(format!(
        "{:.0} to {:.0} MPa{against}",
        hoop.least, hoop.greatest
    ))
}

fn write_plan(text: &mut String, plan: &Plan) {
    let with = plan
        .with
        .as_ref()
        .map_or_else(String::new, |with| format!(" with {with}"));
    let _ = writeln!(text, "  advice: {}{with}: {}", work(plan.advice), plan.why);
    for option in &plan.options {
        write_choice(text, option);
    }
}

fn write_choice(text: &mut String, option: &Choice) {
    let with = option
        .with
        .as_ref()
        .map_or_else(String::new, |with| format!(" with {with}"));
    let name = format!("{}{with}", work(option.work));
    match &option.refused {
        Some(why) => {
            let _ = writeln!(text, "    {name}: no, {why}");
        }
        None => {
            let _ = writeln!(text, "    {name}: {}", option.reasons.join("; "));
        }
    }
}

fn write_outcome(text: &mut String, outcome: &Outcome) {
    let verdict = match outcome.accepted {
        Decision::Conforms => "accepted",
        Decision::DoesNotConform => "not accepted",
        Decision::CantTell => "can't tell",
    };
    let _ = writeln!(text, "\n{} as left: {verdict}", outcome.bore);
    if let Some(why) = &outcome.not_compared {
        let _ = writeln!(text, "  {why}");
    }
    for change in &outcome.changes {
        let value = |mm: Option<f64>, signed: bool| match mm {
            Some(mm) if signed => format!("{mm:+.4} mm"),
            Some(mm) => format!("{mm:.4} mm"),
            None => "not known".to_owned(),
        };
        let _ = writeln!(
            text,
            "  at {} mm: mean {}, out of round {} before, {} after",
            change.depth_mm,
            value(change.mean_change_mm, true),
            value(change.out_of_round_before_mm, false),
            value(change.out_of_round_after_mm, false)
        );
    }
    if let Some(preview) = outcome.preview {
        let mut line = |what: &str, held: bool, [foreseen, measured, within]: [f64; 3]| {
            let held = if held { "held" } else { "did not hold" };
            let _ = writeln!(
                text,
                "  the preview {held}: {what} {foreseen:.4} mm foreseen, {measured:.4} mm \
                 measured, within {within:.4} mm",
            );
        };
        let mean = [preview.predicted_mm, preview.measured_mm, preview.within_mm];
        line("mean", preview.mean_held(), mean);
        if let Some(form) = preview.out_of_round {
            let of = [form.predicted_mm, form.measured_mm, form.within_mm];
            line("out of round", form.held(), of);
        }
    }
    for why in &outcome.why {
        let _ = writeln!(text, "  {why}");
    }
}

/// The words of a kebab-case name.
fn word(value: &impl serde::Serialize) -> String {
    serde_json::to_value(value)
        .ok()
        .and_then(|value| value.as_str().map(|name| name.replace('_', " ")))
        .unwrap_or_default()
}

const fn standing(standing: Standing) -> &'static str {
    match standing {
        Standing::Shown => "shown",
        Standing::Likely => "likely",
        Standing::Possible => "possible",
        Standing::NotKnown => "not known",
        Standing::Unlikely => "unlikely",
        Standing::RuledOut => "ruled out",
    }
}

const fn work(work: Work) -> &'static str {
    match work {
        Work::Press => "press as it is",
        Work::GaugeAgain => "gauge again",
        Work::Bond => "bond",
        Work::Ream => "ream",
        Work::ReamAndBond => "ream and bond",
        Work::Sleeve => "sleeve",
        Work::OtherInsert => "take another insert",
        Work::Refer => "refer to the maker",
    }
}
