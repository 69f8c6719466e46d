//! A study as text.

use std::fmt::Write as _;

use crate::bore::Contact;
use crate::uncertainty::rounded_up;
use crate::uncertainty::study::{Method, Study};

/// The study as a person reads it. `least` is what Cg and Cgk must reach.
pub(super) fn text_of(study: &Study, least: f64) -> String {
    let mut out = String::new();
    if let Some(short) = &study.short {
        let _ = writeln!(
            out,
            "{} readings on one part: mean {:.5} mm, repeatability {:.2} µm ({} degrees of freedom)",
            short.readings,
            short.mean_mm,
            short.repeatability_mm * 1e3,
            short.degrees_of_freedom
        );
        if let (Some(bias), Some(real)) = (short.bias_mm, short.bias_is_real) {
            let reach = short.bias_uncertainty_mm.map_or_else(String::new, |mm| {
                format!(" ± {:.2}", rounded_up(mm * 1e3, 2))
            });
            let _ = writeln!(
                out,
                "bias against the reference {:+.2}{reach} µm, {}",
                bias * 1e3,
                if real {
                    "more than chance: set the gauge again"
                } else {
                    "no more than chance gives"
                }
            );
        }
        for (name, value) in [("Cg", short.cg), ("Cgk", short.cgk)] {
            if let Some(value) = value {
                let _ = writeln!(
                    out,
                    "{name} {value:.2}: {} ({least} or more is asked for)",
                    if value >= least {
                        "good enough"
                    } else {
                        "not good enough"
                    }
                );
            }
        }
    }
    if let Some(why) = study.short.as_ref().and_then(|s| s.withheld.as_ref()) {
        let _ = writeln!(out, "{why}");
    }
    if study.contact == Some(Contact::Radius) {
        out.push_str(
            "of the radius, as the gauge reads; a tolerance of the diameter counts half\n",
        );
    }
    if let Some(crossed) = &study.crossed {
        let _ = writeln!(
            out,
            "{} parts, {} operator{}, {} trials; standard deviations in µm",
            crossed.parts,
            crossed.operators,
            if crossed.operators == 1 { "" } else { "s" },
            crossed.trials
        );
        let _ = writeln!(
            out,
            "  {:<22} {:>9} {:>9} {:>9} {:>9} {:>9} {:>8} {:>10} {:>4}",
            "", "EV", "AV", "GRR", "PV", "TV", "% of TV", "% of tol.", "ndc"
        );
        if let Some(by_range) = &crossed.average_range {
            row(&mut out, "average and range", &by_range.method);
        }
        row(&mut out, "analysis of variance", &crossed.anova.method);
        // One operator shows nothing of operators.
        if crossed.operators > 1 {
            let _ = writeln!(
                out,
                "  the interaction of operator and part {}",
                if crossed.anova.pooled {
                    "is no more than chance gives, and is pooled with the repeatability"
                } else {
                    "is real, and is part of GRR"
                }
            );
        }
    }
    out
}

fn row(out: &mut String, name: &str, method: &Method) {
    let percent = |value: Option<f64>| value.map_or_else(|| "-".to_owned(), |v| format!("{v:.1}"));
    let _ = writeln!(
        out,
        "  {:<22} {:>9.2} {:>9.2} {:>9.2} {:>9.2} {:>9.2} {:>8} {:>10} {:>4}",
        name,
        method.ev_mm * 1e3,
        method.av_mm * 1e3,
        method.grr_mm * 1e3,
        method.pv_mm * 1e3,
        method.tv_mm * 1e3,
        percent(method.grr_percent),
        percent(method.grr_of_tolerance_percent),
        method
            .ndc
            .map_or_else(|| "-".to_owned(), |ndc| ndc.to_string()),
    );
}
