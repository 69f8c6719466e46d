//! Report numbers equal the record's, at the digits shown.

use borewright::display::Language;
use borewright::report::Units;
use serde_json::Value;

use crate::support::{KINDS, WAYS, job, rows, text};

/// As the report writes it: point or comma, a true minus sign.
fn written(language: Language, value: f64, digits: usize) -> String {
    let text = format!("{value:.digits$}").replace('-', "\u{2212}");
    match language {
        Language::En => text,
        Language::De => text.replace('.', ","),
    }
}

/// An uncertainty, rounded up.
fn up(language: Language, value: f64, digits: usize) -> String {
    let unit = 10_f64.powi(i32::try_from(digits).unwrap());
    written(language, (value * unit - 1e-9).ceil() / unit, digits)
}

fn with_uncertainty(
    language: Language,
    section: &Value,
    field: &str,
    scale: f64,
    digits: usize,
) -> String {
    let value = section[field].as_f64().unwrap();
    let mut text = written(language, value * scale, digits);
    if let Some(expanded) = section["uncertainty"][field]["expanded"].as_f64() {
        text += &format!("\u{a0}±\u{a0}{}", up(language, expanded * scale, digits));
    }
    text
}

#[test]
fn every_section_stands_in_its_table_with_its_numbers_and_their_uncertainty() {
    for kind in KINDS {
        let job = job(kind);
        for way @ (language, units) in WAYS {
            let html = job.report(way).html();
            let mut seen = 0;
            for phase in job.json["phases"].as_array().unwrap() {
                let rows = rows(&html, phase["phase"].as_str().unwrap());
                let sections = phase["sections"].as_array().unwrap();
                assert_eq!(rows.len(), sections.len());
                for (row, section) in rows.iter().zip(sections) {
                    let ways = match units {
                        Units::Mm => vec![(1.0, 3)],
                        Units::Inch => vec![(1.0, 3), (1.0 / 25.4, 4)],
                    };
                    let bore = section["bore"].as_str().unwrap();
                    let named = match (language, bore) {
                        (Language::En, bore) => bore,
                        (Language::De, "drive side") => "antriebsseite",
                        (Language::De, _) => "gegenseite",
                    };
                    assert_eq!(row[0].to_lowercase(), named);
                    for (scale, digits) in ways {
                        if section["size_set"] == true {
                            let mean = with_uncertainty(
                                language,
                                section,
                                "mean_diameter_mm",
                                scale,
                                digits,
                            );
                            assert!(row[2].contains(&mean), "{mean} in {row:?}");
                        } else {
                            assert!(!row[2].contains('±'), "{row:?}");
                        }
                        for field in ["smallest_mm", "largest_mm"] {
                            let size = section[field].as_f64().unwrap() * scale;
                            let size = written(language, size, digits);
                            assert!(row[3].contains(&size), "{size} in {row:?}");
                        }
                        let form =
                            with_uncertainty(language, section, "out_of_round_mm", scale, digits);
                        assert!(row[4].contains(&form), "{form} in {row:?}");
                    }
                    if let Some(tight) = section["oval"]["tight_axis_deg"].as_f64() {
                        assert!(
                            row[5].starts_with(&format!("{:.0}°", tight.round())),
                            "{tight} in {row:?}"
                        );
                    } else {
                        assert_eq!(row[5], "—");
                    }
                    seen += 1;
                }
            }
            assert!(seen >= 2, "{kind}");
        }
    }
}

/// Every number in the JSON, and what a report may make of it: differences to limits, ends of an
/// oval.
fn candidates(value: &Value, into: &mut Vec<f64>) {
    match value {
        Value::Number(number) => into.extend(number.as_f64()),
        Value::Array(values) => values.iter().for_each(|value| candidates(value, into)),
        Value::Object(fields) => fields.values().for_each(|value| candidates(value, into)),
        _ => {}
    }
}

/// Numbers of three and four digits behind the mark, as they are written.
fn lengths(text: &str) -> Vec<String> {
    let is_number = |c: char| c.is_ascii_digit() || c == '.' || c == ',';
    text.split(|c| !is_number(c))
        .map(|token| token.trim_matches(['.', ',']))
        .filter(|token| {
            let mut parts = token.split(['.', ',']);
            let (whole, behind) = (parts.next().unwrap_or(""), parts.next().unwrap_or(""));
            !whole.is_empty() && (3..=4).contains(&behind.len()) && parts.next().is_none()
        })
        .map(str::to_owned)
        .collect()
}

#[test]
fn no_length_stands_in_a_report_that_the_record_does_not_hold() {
    for kind in KINDS {
        let job = job(kind);
        let mut known = Vec::new();
        candidates(&job.json, &mut known);
        for phase in job.json["phases"].as_array().unwrap() {
            // A taper is stated over the depth gauged, from 2.5 to 9.5 mm.
            for bore in phase["bores"].as_array().unwrap() {
                let taper = &bore["uncertainty"]["taper_mm_per_mm"]["expanded"];
                for value in [&bore["taper_mm_per_mm"], taper] {
                    known.extend(value.as_f64().map(|taper| taper * 7.0));
                }
            }
            for section in phase["sections"].as_array().unwrap() {
                let mean = section["mean_diameter_mm"].as_f64().unwrap_or(0.0);
                let oval = section["oval"]["size_mm"].as_f64().unwrap_or(0.0) / 2.0;
                known.extend([mean + oval, mean - oval, oval]);
                for bore in job.json["seat"]["bore"].as_array().unwrap() {
                    for limit in ["lower_mm", "upper_mm"] {
                        known.push(mean - bore[limit].as_f64().unwrap());
                    }
                }
            }
        }
        for way @ (language, _) in WAYS {
            let text = text(&job.report(way).html());
            let shown = lengths(&text);
            assert!(shown.len() > 10, "{kind}: {shown:?}");
            for number in shown {
                let digits = number.split(['.', ',']).nth(1).unwrap().len();
                let held = known.iter().any(|value| {
                    [value.abs(), value.abs() / 25.4].into_iter().any(|value| {
                        written(language, value, digits) == number
                            || up(language, value, digits) == number
                    })
                });
                // Reamers' names hold numbers, and clearances are micrometres in inches.
                let named = job.json.to_string().contains(&number);
                let um = known
                    .iter()
                    .any(|um| written(language, um.abs() / 25_400.0, 4) == number);
                assert!(held || named || um, "{kind} {way:?}: {number}");
            }
        }
    }
}
