//! The page by itself.

use base64::Engine as _;
use borewright::display::Language;
use borewright::fit::{AtFault, CauseKind, FormHeld, Standing};
use borewright::job::Record;
use borewright::report::{Report, Source, Units};
use sha2::Digest as _;

use crate::support::{KINDS, WAYS, job, rows, style, text};

const ENGLISH: (Language, Units) = (Language::En, Units::Mm);

#[test]
fn it_needs_nothing_from_elsewhere_and_runs_nothing() {
    for kind in KINDS {
        for way in WAYS {
            let html = job(kind).report(way).html();
            for forbidden in [
                "<script",
                " style=",
                "url(",
                "@import",
                "<link",
                "src=\"http",
                "href=",
            ] {
                assert!(!html.contains(forbidden), "{kind}: {forbidden}");
            }
            // Its policy allows its one style sheet by hash (CSP 3, 8.3), and nothing that isn't in
            // it.
            let sheet = html.split_once("<style>").unwrap().1;
            let sheet = sheet.split_once("</style>").unwrap().0;
            let hash = sha2::Sha256::digest(sheet);
            let hash = base64::engine::general_purpose::STANDARD.encode(hash);
            assert!(
                html.contains(&format!("style-src &#39;sha256-{hash}&#39;"))
                    || html.contains(&format!("style-src 'sha256-{hash}'"))
            );
            assert!(!html.contains("unsafe"));
        }
    }
}

/// What a shop named or noted stays as it is; the rest is German, with a decimal comma.
#[test]
fn a_german_report_holds_no_english_and_no_decimal_point() {
    const WORDS: [&str; 14] = [
        "the", "and", "of", "is", "it", "are", "not", "from", "to", "gauge", "seat", "bore",
        "side", "limits",
    ];
    for kind in KINDS {
        let job = job(kind);
        let mut said = text(&job.report((Language::De, Units::Mm)).html());
        // A version has points, and a day.
        let day = |line: &&str| line.starts_with("Borewright ") || line.matches('.').count() == 2;
        let record = &job.record;
        let mut named: Vec<&str> = record.notes.iter().map(|note| note.text.as_str()).collect();
        named.push(&record.part);
        named.extend(record.gauges.keys().map(|gauge| &**gauge));
        named.extend(
            record
                .chosen
                .values()
                .filter_map(|chosen| chosen.with.as_deref()),
        );
        named.extend(record.learned_cuts.iter().map(|cut| cut.reamer.as_str()));
        for name in named {
            said = said.replace(name, "");
        }
        for line in said.lines().filter(|line| !day(line)) {
            let words = line.split(|c: char| !c.is_alphanumeric());
            for word in words {
                assert!(!WORDS.contains(&word), "{kind}: {word}: {line}");
            }
            let point = line
                .as_bytes()
                .windows(3)
                .any(|w| w[0].is_ascii_digit() && w[1] == b'.' && w[2].is_ascii_digit());
            assert!(!point, "{kind}: {line}");
        }
    }
}

/// Sentences that the report doesn't show are held to it too: another may.
#[test]
fn every_sentence_of_a_record_has_its_german() {
    fn look(value: &serde_json::Value, name: &str, left: &mut Vec<String>) {
        const NAMES: [&str; 8] = [
            "why", "summary", "reasons", "refused", "for", "against", "no_fit", "assumes",
        ];
        match value {
            serde_json::Value::String(text)
                if NAMES.contains(&name) && Language::De.told(text).is_none() =>
            {
                left.push(text.clone());
            }
            serde_json::Value::Array(values) => {
                values.iter().for_each(|value| look(value, name, left));
            }
            serde_json::Value::Object(fields) => {
                for (name, value) in fields {
                    look(value, name, left);
                }
            }
            _ => {}
        }
    }
    let mut left = Vec::new();
    for kind in KINDS {
        look(&job(kind).json, "", &mut left);
    }
    assert!(left.is_empty(), "{}", left.join("\n"));
}

#[test]
fn a_clean_job_and_a_repair_are_told_in_words_first() {
    let clean = text(&job("clean").report(ENGLISH).html());
    assert!(clean.contains("As found, every bore is as its seat asks."));
    assert!(clean.contains("Nothing that was looked at is at fault."));
    let repair = text(&job("repair").report(ENGLISH).html());
    for said in [
        "As left, every bore is as its seat asks.",
        "Tight across 35°–215°, from the seat tube.",
        "The seat is at fault.",
        "Drive side: ream with “adjustable, set to 45.984”, then press.",
        // Gauged twice over, as found and as left.
        "72 readings at 36 stations",
        // 0.05 µm are no plus, and one bore teaches little.
        "Drive side: “adjustable, set to 45.984” cut 0.000\u{a0}±\u{a0}0.00",
        "one bore says little of the next.",
        // 0.046 128 to 0.069 034 N·m in the record.
        "0.0461 to 0.0690\u{a0}N·m",
        "Reamed, with oil that suits the material",
        "bearings fitted, as found",
        "bearings fitted, as left",
        "Paint masked inside the shell before reaming.",
        "2027-03-31",
        "ISO 14253-1",
        "can’t see 3, 5, 7",
        "Signature",
    ] {
        assert!(repair.contains(said), "{said}");
    }
    // The usual cautions, once.
    assert_eq!(repair.matches("instructions of the makers").count(), 1);
}

/// A preview is right or wrong about the mean and the form apart: 45.978 against 45.976 mm agree
/// within 0.007 mm, 0.008 against 0.031 mm don't within 0.010 mm.
#[test]
fn a_preview_is_held_to_its_mean_and_to_its_form_each_by_itself() {
    let mut record = job("repair").record;
    let findings = record.findings.as_mut().unwrap();
    findings.outcomes.truncate(1);
    let preview = findings.outcomes[0].preview.as_mut().unwrap();
    (preview.predicted_mm, preview.measured_mm) = (45.978, 45.976);
    (preview.within_mm, preview.held) = (0.0067, false);
    preview.out_of_round = Some(FormHeld {
        predicted_mm: 0.008,
        measured_mm: 0.031,
        within_mm: 0.0096,
    });
    let source = Source {
        record: &record,
        sha256: Some("00"),
    };
    for (way, said) in [
        (
            ENGLISH,
            [
                "predicted mean 45.978\u{a0}mm, measured 45.976\u{a0}mm (± 0.007\u{a0}mm). \
                 The preview held.",
                "predicted out-of-round 0.008\u{a0}mm, measured 0.031\u{a0}mm (± 0.010\u{a0}mm). \
                 The preview did not hold.",
            ],
        ),
        (
            (Language::De, Units::Mm),
            [
                "vorhergesagtes Mittel 45,978\u{a0}mm, gemessen 45,976\u{a0}mm (± 0,007\u{a0}mm). \
                 Die Vorschau stimmte.",
                "vorhergesagte Unrundheit 0,008\u{a0}mm, gemessen 0,031\u{a0}mm (± 0,010\u{a0}mm). \
                 Die Vorschau stimmte nicht.",
            ],
        ),
    ] {
        let text = text(&Report::of(&source, &style(way)).html());
        for said in said {
            assert!(text.contains(said), "{said} in {text}");
        }
    }
}

/// A record holds what was left out by hand; a customer may ask why it is not counted.
#[test]
fn a_reading_that_was_left_out_is_told_with_its_place_and_value() {
    let mut record = job("clean").record;
    let place = &mut record.phases[0].stations[0];
    let mut wild = place.readings[0].clone();
    wild.corrected_mm = Some(46.8125);
    place.dropped.push(wild);
    let at = place.station.clone();
    let source = Source {
        record: &record,
        sha256: Some("00"),
    };
    let page = text(&Report::of(&source, &style(ENGLISH)).html());
    let said = format!(
        "1 reading was left out by hand (Drive side, {}\u{a0}mm, {}°: 46.81",
        at.depth_mm, at.angle_deg
    );
    assert!(page.contains(&said), "{said} in {page}");
    let clean = text(&job("clean").report(ENGLISH).html());
    assert!(!clean.contains("left out"));
}

/// A seat at fault is not all that is said where dirt is likely too.
#[test]
fn what_is_likely_beside_the_seat_stands_with_it() {
    let mut record = job("repair").record;
    let causes = &mut record.findings.as_mut().unwrap().examined.diagnosis.causes;
    let dirt = causes
        .iter_mut()
        .find(|c| c.cause == CauseKind::Contamination);
    dirt.unwrap().standing = Standing::Likely;
    let source = Source {
        record: &record,
        sha256: Some("00"),
    };
    for (way, said) in [
        (ENGLISH, "The seat is at fault. Also likely: dirt."),
        (
            (Language::De, Units::Mm),
            "Der Sitz ist schuld. Wahrscheinlich auch: Schmutz.",
        ),
    ] {
        let page = text(&Report::of(&source, &style(way)).html());
        assert!(page.contains(said), "{said}");
    }
}

/// What the diagnosis calls likely is not told as a fact, and nothing is acquitted by the way.
#[test]
fn no_more_is_blamed_than_the_diagnosis_blames() {
    for (at_fault, english, german) in [
        (
            AtFault::Seat,
            "The seat is at fault.",
            "Der Sitz ist schuld.",
        ),
        (
            AtFault::Bearing,
            "the bearing is likely at fault.",
            "wahrscheinlich ist das Lager schuld.",
        ),
        (
            AtFault::Both,
            "The seat is at fault, and the bearing is likely bad too.",
            "Der Sitz ist schuld, und wahrscheinlich auch das Lager.",
        ),
    ] {
        let mut record = job("repair").record;
        let findings = record.findings.as_mut().unwrap();
        findings.examined.diagnosis.at_fault = at_fault;
        let source = Source {
            record: &record,
            sha256: Some("00"),
        };
        for (way, said) in [(ENGLISH, english), ((Language::De, Units::Mm), german)] {
            let text = text(&Report::of(&source, &style(way)).html());
            assert!(text.contains(said), "{said}");
            for acquitted in [
                "not the bearing",
                "not the seat",
                "nicht am Lager",
                "nicht am Sitz",
            ] {
                assert!(!text.contains(acquitted), "{acquitted}");
            }
        }
    }
}

#[test]
fn without_a_ring_no_size_is_judged_and_nothing_claims_one() {
    let job = job("no-ring");
    let html = job.report(ENGLISH).html();
    let text = text(&html);
    assert!(text.contains("Sizes are not judged: the gauge was not set in a setting ring."));
    for row in rows(&html, "as-found") {
        assert!(row[2].contains("not set"), "{row:?}");
        assert!(row[6].ends_with("not judged"), "{row:?}");
        assert!(row[7].ends_with("round"), "{row:?}");
    }
    assert!(!text.contains("conforms"), "a size was judged");
    assert!(
        !html.contains("class=\"band\""),
        "limits were drawn round a size that isn't set"
    );
    assert!(text.contains("What is pressed in was not named, so no fit is stated."));
}

#[test]
fn an_open_job_is_marked_and_has_no_hash() {
    let mut record = job("repair").record;
    record.closed_at = None;
    let source = Source {
        record: &record,
        sha256: None,
    };
    let text = text(&Report::of(&source, &style(ENGLISH)).html());
    assert!(text.contains("Not closed: the work goes on."));
    assert!(text.contains("none: the job is not closed"));
}

#[test]
fn what_people_write_is_shown_as_text() {
    let mut record: Record = job("repair").record;
    record.part = "<script>alert(1)</script>\n& \u{202e}\u{7} 🚲".to_owned();
    record.notes[0].text = "\"><img src=x onerror=y> ".repeat(40);
    record.gauges = record
        .gauges
        .into_values()
        .map(|setting| ("<b>gauge</b>".to_owned(), setting))
        .collect();
    let source = Source {
        record: &record,
        sha256: Some("00"),
    };
    let html = Report::of(&source, &style(ENGLISH)).html();
    for forbidden in ["<script", "<img src=x", "<b>gauge"] {
        assert!(!html.contains(forbidden), "{forbidden}");
    }
    assert!(text(&html).contains("<script>alert(1)</script> & ▯▯ 🚲"));
}

#[test]
fn a_record_of_nothing_is_still_a_report() {
    let mut record = job("clean").record;
    record.phases.clear();
    record.findings = None;
    record.gauges.clear();
    record.chosen.clear();
    record.ticked.clear();
    let source = Source {
        record: &record,
        sha256: Some("00"),
    };
    let text = text(&Report::of(&source, &style(ENGLISH)).html());
    assert!(text.contains("Nothing was gauged."));
}

#[test]
fn the_same_record_gives_the_same_page() {
    let job = job("repair");
    assert_eq!(job.report(ENGLISH).html(), job.report(ENGLISH).html());
}

/// What was not gauged as found is examined by nobody, and its fit as left is known all the same.
#[test]
fn a_bore_gauged_as_left_only_has_its_fit() {
    let mut record = job("repair").record;
    let of = |record: &Record| {
        let sha256 = Some("00");
        Report::of(
            &Source { record, sha256 },
            &style((Language::En, Units::Mm)),
        )
        .html()
    };
    let before = rows(&of(&record), "fit");
    let findings = record.findings.as_mut().unwrap();
    let left_only = findings.examined.bores.remove(0).bore;
    let outcome = findings.outcomes.iter().find(|of| of.bore == left_only);
    assert!(outcome.unwrap().fit.is_some());
    assert_eq!(rows(&of(&record), "fit"), before);
    assert!(before.len() == 2 && before[0][1] == "as left", "{before:?}");
}
