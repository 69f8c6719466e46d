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
            let _ = write!(
                out,
                "   mean {mean:.4}{} mm",
                plus_minus(numbers.uncertainty.get("mean_diameter_mm"), 1.0, 4)
            );
        }
        None => out.push_str("   mean withheld"),
    }
    if let Some(taper) = numbers.taper_mm_per_mm {
        let _ = write!(
            out,
            "   taper {:+.2}{} µm/mm{}",
            taper * 1e3,
            plus_minus(numbers.uncertainty.get("taper_mm_per_mm"), 1e3, 2),
            match numbers.uncertainty.get("taper_mm_per_mm") {
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
            let _ = write!(
                out,
                "   {what} {:+.1}{} µm",
                value * 1e3,
                plus_minus(numbers.uncertainty.get(field), 1e3, 1)
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
    let wide = if radius { 16 } else { 9 };
    let _ = writeln!(
        out,
        "  {:>8}  {:>9}  {:>18}  {:>wide$}  {:>wide$}  {:>16}  {:>16}  tight across",
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
            "  {:>8}  {:>10}  {:>18}  {third:>wide$}  {fourth:>wide$}  {form:>16}  {:>16}  {}",
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
        |value| format!("{value:.4}{}", plus_minus(estimate, 1.0, 4)),
    )
}

/// ± the expanded uncertainty, 95 %.
fn plus_minus(estimate: Option<&Estimate>, scale: f64, digits: usize) -> String {
    estimate.map_or_else(String::new, |estimate| {
        format!(" ± {:.digits$}", estimate.expanded * scale)
    })
}

fn number(value: Option<f64>, digits: usize) -> String {
    value.map_or_else(|| "-".to_owned(), |value| format!("{value:.digits$}"))
}
