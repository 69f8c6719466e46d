//! The gauges: their calibration, how they repeat, what they can tell of the form.

use borewright::bore::Contact;
use borewright::display::Language;
use borewright::job::{Calibration, Record};
use borewright::report::{Report, Source, Units};

use crate::support::{KINDS, WAYS, job, rows, style, text};

const ENGLISH: (Language, Units) = (Language::En, Units::Mm);
const GERMAN: (Language, Units) = (Language::De, Units::Mm);

fn html(record: &Record, way: (Language, Units)) -> String {
    let source = Source {
        record,
        sha256: Some("00"),
    };
    Report::of(&source, &style(way)).html()
}

#[test]
fn a_gauge_stands_with_its_number_its_days_and_its_study() {
    let job = job("swept");
    let html = job.report(ENGLISH).html();
    let rows = rows(&html, "gauges");
    let row = &rows[0];
    assert!(
        row[0].contains("swept-indicator") && row[0].contains("no. 07-113"),
        "{row:?}"
    );
    assert!(
        row[1].contains("2024-05-02") && row[1].contains("until 2025-05-02, had run out"),
        "{row:?}"
    );
    assert!(row[1].contains('\u{2717}'), "{row:?}");
    assert!(row[2].contains("0.0003\u{a0}mm"), "{row:?}");
    assert!(
        row[2].contains("25 readings of one part, 2024-06-03"),
        "{row:?}"
    );
    assert_eq!(row[3], "not set");
    let text = text(&html);
    assert!(
        text.contains(
            "The calibration of the gauge had run out when it measured: swept-indicator."
        )
    );
    assert!(text.contains("Repeatability: standard deviation of single readings"));
}

/// The day on which the newest reading was taken counts, not the one on which the job was closed.
#[test]
fn a_calibration_has_run_out_from_the_day_after_it_was_due() {
    let mut record = job("swept").record;
    let stations = record.phases.iter().flat_map(|phase| &phase.stations);
    let readings = stations.flat_map(|place| &place.readings);
    let day = readings.map(|reading| reading.at).max().unwrap();
    let day = borewright::units::Day(jiff::tz::Offset::UTC.to_datetime(day.0).date());
    for (due, ran_out) in [(day.0, false), (day.0.yesterday().unwrap(), true)] {
        let known = Calibration {
            due: Some(borewright::units::Day(due)),
            ..Calibration::default()
        };
        record
            .calibrations
            .insert("swept-indicator".to_owned(), known);
        let html = html(&record, ENGLISH);
        assert_eq!(html.contains("had run out"), ran_out);
        assert!(rows(&html, "gauges")[0][1].contains(&format!("until {due}")));
    }
}

/// The angle gauge of a hang test stands with the others, with its own days and without a ring.
#[test]
fn the_angle_gauge_of_a_hang_test_is_among_the_gauges() {
    let mut record = job("repair").record;
    let day = |text: &str| Some(borewright::units::Day(text.parse().unwrap()));
    record.hang_tests[0].gauge = Some("arm-level".to_owned());
    record.hang_tests[0].calibration = Some(Calibration {
        serial: Some("A-12".to_owned()),
        calibrated: day("2020-01-02"),
        due: day("2021-01-02"),
    });
    let html = html(&record, ENGLISH);
    let rows = rows(&html, "gauges");
    let row = rows.iter().find(|row| row[0].contains("arm-level"));
    let row = row.unwrap_or_else(|| panic!("{rows:?}"));
    assert!(row[0].contains("no. A-12"), "{row:?}");
    assert!(row[1].contains("until 2021-01-02, had run out"), "{row:?}");
    assert!(row[2..].iter().all(|cell| cell == "\u{2014}"), "{row:?}");
    let said = "The calibration of the gauge had run out when it measured: arm-level.";
    assert!(text(&html).contains(said));
}

#[test]
fn a_ring_past_due_is_said_with_the_answer() {
    let mut record = job("clean").record;
    for setting in record.gauges.values_mut().flatten() {
        setting.ring_due = Some(borewright::units::Day("2020-01-31".parse().unwrap()));
    }
    for (way, said) in [
        (
            ENGLISH,
            "The calibration of the setting ring had run out when the gauge measured: typed by hand.",
        ),
        (
            GERMAN,
            "Die Kalibrierung des Einstellrings war bei der Messung abgelaufen: von Hand getippt.",
        ),
    ] {
        let text = text(&html(&record, way));
        let told = text.find(said).expect(&text);
        assert!(
            told < text.find("Corner Wheel Works, ").unwrap(),
            "it stands before who may be asked"
        );
    }
}

/// A gauge set in two rings in one job: each stands with what it says, and one past due counts.
#[test]
fn every_setting_that_a_reading_rests_on_is_named() {
    let mut record = job("clean").record;
    let (gauge, newest) = record.gauges.iter().next().unwrap();
    let newest = newest.clone().unwrap();
    let mut earlier = newest.clone();
    earlier.ring_mm = 45.5;
    earlier.ring_due = Some(borewright::units::Day("2020-01-31".parse().unwrap()));
    earlier.at = record.opened_at;
    record.settings = [(gauge.clone(), vec![earlier, newest])].into();
    let page = html(&record, ENGLISH);
    let rings: Vec<String> = rows(&page, "gauges")
        .iter()
        .map(|row| row[3].clone())
        .collect();
    assert!(
        rings.len() == 2 && rings[0].starts_with("45.500"),
        "{rings:?}"
    );
    assert!(rings[1].starts_with("46.000"), "{rings:?}");
    let said = "The calibration of the setting ring had run out when the gauge measured";
    assert!(text(&page).contains(said));
    // A record of an older version holds the newest alone.
    record.settings.clear();
    assert_eq!(rows(&html(&record, ENGLISH), "gauges").len(), 1);
}

/// A bore gauged at one of its depths is good there, and that is all that is said.
#[test]
fn a_bore_gauged_at_one_depth_is_not_called_good() {
    let mut record = job("clean").record;
    let good = text(&html(&record, ENGLISH));
    assert!(good.contains("Drive side: round and to size."), "{good}");
    for phase in &mut record.phases {
        let mut depths = 0;
        phase.sections.retain(|section| {
            depths += u32::from(section.bore == "drive side");
            section.bore != "drive side" || depths == 1
        });
    }
    let partly = text(&html(&record, ENGLISH));
    let said = "Drive side: round and to size where it was gauged, at";
    assert!(partly.contains(said), "{partly}");
    assert!(
        partly.contains("not at every depth that the seat asks for."),
        "{partly}"
    );
}

/// Records of versions that knew no calibration of a gauge.
#[test]
fn where_nothing_is_known_of_a_calibration_that_is_said() {
    for kind in ["clean", "repair"] {
        let rows = rows(&job(kind).report(ENGLISH).html(), "gauges");
        assert_eq!(rows.len(), 1);
        assert_eq!(
            (rows[0][1].as_str(), rows[0][2].as_str()),
            ("not stated", "\u{2014}")
        );
    }
    assert!(rows(&job("no-ring").report(ENGLISH).html(), "gauges").is_empty());
}

/// ISO 12181-1: RONt about the least-squares circle and by minimum zone, of a swept radius alone.
#[test]
fn iso_roundness_stands_in_the_table_of_a_swept_bore_and_nowhere_else() {
    let job = job("swept");
    assert_eq!(job.record.contact, Contact::Radius);
    for (way, mark) in [(ENGLISH, "."), (GERMAN, ",")] {
        let html = job.report(way).html();
        let rows = rows(&html, "as-found");
        let sections = job.json["phases"][0]["sections"].as_array().unwrap();
        assert_eq!(rows.len(), sections.len());
        for (row, section) in rows.iter().zip(sections) {
            for (cell, circle) in row[3..5].iter().zip(["least_squares", "minimum_zone"]) {
                let zone = section["roundness"][circle]["zone_mm"].as_f64().unwrap();
                let field = format!("roundness.{circle}.zone_mm");
                let expanded = section["uncertainty"][&field]["expanded"].as_f64().unwrap();
                let up = (expanded * 1e3 - 1e-6).ceil() / 1e3;
                let wanted = format!("{zone:.3}\u{a0}±\u{a0}{up:.3}").replace('.', mark);
                assert!(cell.starts_with(&wanted), "{wanted}: {row:?}");
            }
        }
        assert!(html.matches("<th scope=\"col\">RONt, ").count() == 2);
    }
    let text = text(&job.report(ENGLISH).html());
    // Twice the radial zone is what the limit is held to: 2 x 0.0208 mm at the worst depth.
    assert!(text.contains("0.042\u{a0}mm out of round (0.025\u{a0}mm allowed)"));
    assert!(
        !text.contains("can’t see"),
        "a swept radius sees every lobe"
    );
    for kind in KINDS {
        let html = job_html(kind);
        assert!(
            !html.contains("RONt") && html.contains("nor give ISO roundness"),
            "{kind}"
        );
    }
}

fn job_html(kind: &str) -> String {
    job(kind).report(ENGLISH).html()
}

/// A station of a gauge that sends deviations is drawn where it was gauged: the same drawing as by
/// sizes from a ring, whatever the ring's size.
#[test]
fn what_was_gauged_without_a_ring_is_drawn_as_gauged() {
    let drawn = |record: &Record| {
        let html = html(record, ENGLISH);
        let svg = html.split_once("<svg").unwrap().1;
        svg.split_once("</svg>").unwrap().0.to_owned()
    };
    let by_deviations = job("swept").record;
    let mut by_sizes = by_deviations.clone();
    let mut without = by_deviations.clone();
    let readings = |record: &mut Record, change: &dyn Fn(&mut borewright::job::RecordedReading)| {
        let stations = record
            .phases
            .iter_mut()
            .flat_map(|phase| &mut phase.stations);
        stations
            .flat_map(|place| &mut place.readings)
            .for_each(change);
    };
    readings(&mut by_sizes, &|reading| {
        reading.corrected_mm = reading.deviation_mm.map(|deviation| 2.0 * deviation);
    });
    // As a record of an older version is: nothing tells where the stations lie.
    readings(&mut without, &|reading| reading.deviation_mm = None);
    assert_eq!(drawn(&by_deviations), drawn(&by_sizes));
    assert_ne!(drawn(&by_deviations), drawn(&without));
}

/// The taper over the 7 mm that were gauged, from 2.5 to 9.5 mm deep, and the narrowest section, as the record has them.
#[test]
fn what_the_sections_say_together_is_said_of_each_bore() {
    let job = job("repair");
    let text = text(&job.report(ENGLISH).html());
    for bore in job.json["phases"][0]["bores"].as_array().unwrap() {
        let taper = bore["taper_mm_per_mm"].as_f64().unwrap() * 7.0;
        let within = &bore["uncertainty"]["taper_mm_per_mm"]["expanded"];
        let within = (within.as_f64().unwrap() * 7e3).ceil() / 1e3;
        // As they are written.
        let words = match taper {
            _ if (taper.abs() * 1e3).round() <= (within * 1e3).round() => "no taper seen",
            _ if taper > 0.0 => "wider inside",
            _ => "tighter inside",
        };
        let taper = taper.abs();
        let said =
            format!("taper {taper:.3}\u{a0}±\u{a0}{within:.3}\u{a0}mm over 7\u{a0}mm, {words}");
        assert!(text.contains(&said), "{said} in {text}");
        let waist = bore["waist"]["diameter_mm"].as_f64().unwrap();
        assert!(
            text.contains(&format!("narrowest {waist:.3}\u{a0}mm at 2.5\u{a0}mm.")),
            "{text}"
        );
    }
    let not_set = crate::support::text(&job_html("no-ring"));
    assert!(
        !not_set.contains("narrowest"),
        "a size was stated without a ring"
    );
}

/// In inches a depth has its millimetres beside it, a line of its own in a table; and one sign for a
/// minus everywhere.
#[test]
fn a_depth_has_its_millimetres_and_a_minus_is_a_minus() {
    let mut seen = 0;
    for way @ (language, units) in WAYS {
        for kind in KINDS {
            let text = text(&job(kind).report(way).html());
            let letters: Vec<char> = text.chars().collect();
            let hyphen = letters
                .windows(3)
                .find(|w| !w[0].is_alphanumeric() && w[1] == '-' && w[2].is_ascii_digit());
            assert_eq!(hyphen, None, "{kind} {way:?}: {text}");
            let fitted = ["of the fitted oval", "des angepassten Ovals"];
            assert!(text.contains(fitted[usize::from(language == Language::De)]));
            let mut lines = text
                .lines()
                .map(str::trim)
                .filter(|l| !l.is_empty())
                .peekable();
            while let Some(line) = lines.next() {
                // A depth has three digits in inches, a size four.
                for (number, after) in line.split("\u{a0}in").zip(line.split("\u{a0}in").skip(1)) {
                    let digits = number.rsplit(['.', ',']).next().unwrap();
                    if digits.len() != 3 || !digits.bytes().all(|b| b.is_ascii_digit()) {
                        continue;
                    }
                    seen += 1;
                    let below = lines.peek().is_some_and(|next| next.ends_with("\u{a0}mm"));
                    assert!(
                        after.starts_with(" (") || after.is_empty() && below,
                        "{line}"
                    );
                    assert_eq!(units, Units::Inch);
                }
            }
        }
    }
    assert!(seen > 40, "{seen}");
}

/// A second revision names itself, and the file that it amends.
#[test]
fn an_amended_record_names_both_revisions() {
    let first = job("repair");
    let mut record = first.record.clone();
    record.revision = 2;
    record.amends = Some(first.hash.clone());
    let source = Source {
        record: &record,
        sha256: Some("5ec0d"),
    };
    for (way, revision, amends) in [
        (
            ENGLISH,
            "revision 2 of the record",
            "It amends the record with SHA-256",
        ),
        (
            GERMAN,
            "Fassung 2 des Protokolls",
            "Es berichtigt das Protokoll mit SHA-256",
        ),
    ] {
        let text = text(&Report::of(&source, &style(way)).html());
        for said in [revision, amends, &first.hash, "5ec0d", &record.version] {
            assert!(text.contains(said), "{said}");
        }
        assert!(text.contains("ISO 14253-1") && text.contains("555-0100"));
    }
}
