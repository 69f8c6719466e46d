//! The profile as a person reads it in a terminal.

use std::fmt::Write as _;

use super::budget::{self, Stated};
use super::sketch::sketch;
use super::verdict::Judged;
use super::whole::Whole;
use crate::bore::{Bore, Contact, Profile, Section};
use crate::uncertainty::{Decision, Estimate};

/// The whole text.
pub(super) fn write(
    profile: &Profile,
    verdicts: Option<&[Judged]>,
    whole: Option<&Whole>,
    budgets: Option<&[Stated]>,
) -> String {
    let mut out = String::new();
    for bore in &profile.bores {
        heading(&mut out, bore);
        table(&mut out, profile.contact, &bore.sections);
        drawing(&mut out, &bore.sections);
        reasons(&mut out, profile.contact, &bore.sections);
        out.push('\n');
    }
    let _ = writeln!(out, "{}", profile.contact.blindness());
    if profile
        .bores
        .iter()
        .flat_map(|b| &b.sections)
        .any(|s| !s.size_set)
    {
        out.push_str("No setting ring stands behind the sizes: they are not set, and only differences can be judged.\n");
    }
    for judged in verdicts.into_iter().flatten() {
        let place = format!("{} at {} mm", judged.bore, judged.depth_mm);
        for (what, judgement) in [
            ("size", &judged.verdict.size),
            ("form", &judged.verdict.form),
        ] {
            let word = match judgement.decision {
                Decision::Conforms => "conforms",
                Decision::CantTell => "can't tell",
                Decision::DoesNotConform => "does not conform",
            };
            let _ = writeln!(out, "{place}: {what} {word}: {}", judgement.why);
        }
    }
    if let Some(whole) = whole {
        whole.write(&mut out);
    }
    budget::write(&mut out, budgets.unwrap_or_default());
    out
}

fn heading(out: &mut String, bore: &Bore) {
    let numbers = &bore.numbers;
    let _ = write!(out, "{}", bore.bore);
    match numbers.mean_diameter_mm {
        Some(mean) => {
            let known = numbers.uncertainty.get("mean_diameter_mm");
            let _ = write!(out, "   mean {} mm", with(Some(mean), known));
        }
        None => out.push_str("   mean withheld"),
    }
    if let Some(taper) = numbers.taper_mm_per_mm {
        let known = numbers.uncertainty.get("taper_mm_per_mm");
        let _ = write!(
            out,
            "   taper {:+.*}{} µm/mm{}",
            places(known, 1e3, 2),
            taper * 1e3,
            plus_minus(known, 1e3),
            match known {
                Some(known) if taper.abs() <= known.expanded => ", none that shows",
                _ if taper > 0.0 => ", wider inside",
                _ => ", narrower inside",
            },
        );
    }
    for (what, field, value) in [
        ("barrel", "barrel_mm", numbers.barrel_mm),
        ("bell-mouth", "bell_mouth_mm", numbers.bell_mouth_mm),
    ] {
        if let Some(value) = value {
            let known = numbers.uncertainty.get(field);
            let _ = write!(
                out,
                "   {what} {:+.*}{} µm",
                places(known, 1e3, 1),
                value * 1e3,
                plus_minus(known, 1e3)
            );
        }
    }
    if let Some(waist) = numbers.waist.filter(|_| bore.sections.len() > 1) {
        let _ = write!(
            out,
            "   waist {:.4} mm at {} mm",
            waist.diameter_mm, waist.depth_mm
        );
    }
    out.push('\n');
    let off = numbers.withheld.iter().find(|w| w.field == "disagreeing");
    if let Some(withheld) = off {
        let _ = writeln!(out, "  {}", withheld.why);
    }
    for section in &numbers.disagreeing {
        let _ = writeln!(
            out,
            "  the section at {} mm lies {:+.1} µm off the line through the others",
            section.depth_mm,
            section.by_mm * 1e3
        );
    }
}

fn table(out: &mut String, contact: Contact, sections: &[Section]) {
    let radius = contact == Contact::Radius;
    let wide = if radius { 18 } else { 9 };
    let _ = writeln!(
        out,
        "  {:>8}  {:>9}  {:>20}  {:>wide$}  {:>wide$}  {:>18}  {:>18}  tight across",
        "depth mm",
        "directions",
        "mean mm",
        if radius { "x mm" } else { "largest" },
        if radius { "y mm" } else { "smallest" },
        if radius {
            "roundness mm"
        } else {
            "out-of-round"
        },
        "oval mm",
    );
    for s in sections {
        let circle = s.roundness.map(|r| r.least_squares);
        let known = |field: &str| {
            s.uncertainty
                .get(&format!("roundness.least_squares.{field}"))
        };
        let (third, fourth, form) = if radius {
            (
                with(circle.map(|c| c.x_mm), known("x_mm")),
                with(circle.map(|c| c.y_mm), known("y_mm")),
                with(circle.map(|c| c.zone_mm), known("zone_mm")),
            )
        } else {
            (
                number(s.largest_mm, 4),
                number(s.smallest_mm, 4),
                with(s.out_of_round_mm, s.uncertainty.get("out_of_round_mm")),
            )
        };
        let _ = writeln!(
            out,
            "  {:>8}  {:>10}  {:>20}  {third:>wide$}  {fourth:>wide$}  {form:>18}  {:>18}  {}",
            s.depth_mm,
            s.stations,
            with(s.mean_diameter_mm, s.uncertainty.get("mean_diameter_mm")),
            with(s.oval.map(|o| o.size_mm), s.uncertainty.get("oval.size_mm")),
            s.oval.and_then(|o| o.tight_axis_deg).map_or_else(
                || "-".to_owned(),
                |axis| format!("{axis:.0}°-{:.0}°", axis + 180.0)
            ),
        );
    }
    for s in sections {
        if let Some(zone) = s.roundness.map(|roundness| roundness.minimum_zone.zone_mm) {
            let known = s.uncertainty.get("roundness.minimum_zone.zone_mm");
            let _ = writeln!(
                out,
                "  at {} mm minimum zone {} mm",
                s.depth_mm,
                with(Some(zone), known)
            );
        }
    }
}

/// The section whose wall leaves its mean circle farthest.
fn drawing(out: &mut String, sections: &[Section]) {
    let deviation = |section: &Section| {
        section
            .lobes
            .iter()
            .map(|lobe| lobe.amplitude_mm)
            .fold(0.0, f64::max)
    };
    let Some(worst) = sections
        .iter()
        .max_by(|a, b| deviation(a).total_cmp(&deviation(b)))
    else {
        return;
    };
    let radius = worst.mean_diameter_mm.map_or(20.0, |mean| mean / 2.0);
    if let Some((lines, scale)) = sketch(worst, radius) {
        let _ = writeln!(
            out,
            "  at {} mm, from the face, 0° upwards, deviation magnified {scale} times:",
            worst.depth_mm
        );
        for line in lines {
            let _ = writeln!(out, "    {}", line.trim_end_matches('\u{2800}'));
        }
    }
}

/// Why numbers are missing, each reason once.
fn reasons(out: &mut String, contact: Contact, sections: &[Section]) {
    // What a contact can never give is said once, below the tables.
    let never: &[&str] = match contact {
        Contact::TwoPoint => &["roundness"],
        Contact::ThreePoint => &["roundness", "oval", "out_of_round_mm"],
        Contact::Radius => &["largest_mm", "smallest_mm", "out_of_round_mm"],
    };
    for section in sections {
        if let Some(suspect) = &section.suspect {
            let _ = writeln!(
                out,
                "  at {} mm the reading {} mm at {}° contradicts the others by {:+.4} mm; gauge it again or leave it out. Without it: mean {}, out-of-round {}, oval {}",
                section.depth_mm,
                suspect.reading_mm,
                suspect.angle_deg,
                suspect.residual_mm,
                number(suspect.without.mean_diameter_mm, 4),
                number(suspect.without.out_of_round_mm, 4),
                number(suspect.without.oval.map(|oval| oval.size_mm), 4),
            );
        }
        let arc = section
            .mean_diameter_mm
            .and_then(|mean| section.mean_unproven(mean));
        if let Some(why) = arc {
            let _ = writeln!(out, "  at {} mm {why}", section.depth_mm);
        }
        let mut missing: Vec<(&str, Vec<&str>)> = Vec::new();
        for withheld in &section.withheld {
            let field = withheld.field.as_str();
            if never.contains(&field) {
                continue;
            }
            let Some(name) = name_of(field) else {
                continue;
            };
            let why = withheld.why.as_str();
            match missing.iter_mut().find(|(reason, _)| *reason == why) {
                Some((_, names)) if names.contains(&name) => {}
                Some((_, names)) => names.push(name),
                None => missing.push((why, vec![name])),
            }
        }
        for (why, names) in missing {
            let names = names.join(", no ");
            let _ = writeln!(out, "  at {} mm no {names}: {why}", section.depth_mm);
        }
    }
}

/// What a field is called in the table; `None` for those that are not missed there.
fn name_of(field: &str) -> Option<&'static str> {
    Some(match field {
        "mean_diameter_mm" => "mean diameter",
        "largest_mm" => "largest",
        "smallest_mm" => "smallest",
        "out_of_round_mm" => "out-of-round",
        "oval" => "oval",
        "oval.long_axis_deg" | "oval.tight_axis_deg" => "direction of the oval",
        "lobes" => "lobes",
        "residual_mm" => "residual",
        "roundness" => "roundness",
        "roundness.least_squares.radius_mm" => "radius",
        _ => return None,
    })
}

fn with(value: Option<f64>, estimate: Option<&Estimate>) -> String {
    value.map_or_else(
        || "-".to_owned(),
        |value| {
            let places = places(estimate, 1.0, 4);
            format!("{value:.places$}{}", plus_minus(estimate, 1.0))
        },
    )
}

/// ± the expanded uncertainty, 95 %, of a number in a unit `scale` times smaller.
pub(super) fn plus_minus(estimate: Option<&Estimate>, scale: f64) -> String {
    estimate.map_or_else(String::new, |estimate| {
        format!(" ± {}", two_digits(estimate.expanded * scale))
    })
}

/// How many decimals a number is written with: `least`, or as many as its uncertainty has.
fn places(estimate: Option<&Estimate>, scale: f64, least: usize) -> usize {
    let known = estimate.map(|estimate| two_digits(estimate.expanded * scale));
    let decimals = known.and_then(|known| Some(known.split_once('.')?.1.len()));
    decimals.unwrap_or(0).max(least)
}

/// An uncertainty to two significant digits, rounded up (JCGM 100:2008, 7.2.6).
pub(super) fn two_digits(expanded: f64) -> String {
    if !(expanded.is_finite() && expanded > 0.0) {
        return format!("{expanded}");
    }
    // What rounding left beyond the two digits doesn't round them up.
    let least = expanded * (1.0 - 1e-9);
    #[expect(clippy::cast_possible_truncation, reason = "the exponent of a double")]
    let mut decimals = 1 - least.log10().floor() as i32;
    let mut steps = (least * 10_f64.powi(decimals)).ceil();
    if steps >= 100.0 {
        (steps, decimals) = (steps / 10.0, decimals - 1);
    }
    let places = usize::try_from(decimals).unwrap_or(0);
    format!("{:.places$}", steps / 10_f64.powi(decimals))
}

fn number(value: Option<f64>, digits: usize) -> String {
    value.map_or_else(|| "-".to_owned(), |value| format!("{value:.digits$}"))
}

#[cfg(test)]
mod tests {
    use super::two_digits;

    /// By hand.
    #[test]
    fn an_uncertainty_has_two_digits_and_is_never_made_smaller() {
        for (expanded, shown) in [
            (0.000_013_2, "0.000014"),
            (0.003_3, "0.0033"),
            (0.003_301, "0.0034"),
            (0.009_91, "0.010"),
            (0.1534, "0.16"),
            (12.3, "13"),
            (123.0, "130"),
            (1.0, "1.0"),
            (0.0, "0"),
        ] {
            assert_eq!(two_digits(expanded), shown);
        }
    }
}
