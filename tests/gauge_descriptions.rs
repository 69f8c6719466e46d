//! Gauge descriptions: those shipped, one's own, and errors that point at the line.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a test may stop where it stands"
)]

use std::time::Duration;

use borewright::bore::Contact;
use borewright::gauge::{Capture, Decoded, Description, DescriptionError, Trigger};
use borewright::units::{Angle, Length, LengthUnit};

const SMALLEST: &str =
    "name = \"own\"\nresolution = 0.001\nlayout = [{ digits = [1, 3], decimals = [3, 3] }]\n";

/// Line, column and text of the mistake in a description.
fn mistake(text: &str) -> (usize, usize, String) {
    match Description::parse(text, "own.toml") {
        Err(DescriptionError::Mistake(mistake)) => (mistake.line, mistake.column, mistake.what),
        other => panic!("{other:?} from {text}"),
    }
}

#[test]
fn every_shipped_description_is_found_by_the_name_it_bears() {
    let names = Description::names(None);
    assert!(
        names.len() >= 3 && names.iter().any(|name| name == "plain-mm"),
        "{names:?}"
    );
    for name in names {
        let form = Description::named(&name, None).unwrap();
        assert_eq!(form.name, name);
        assert!(!form.summary.is_empty(), "{name} has no summary");
    }
}

#[test]
fn the_shipped_files_are_the_embedded_ones() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("config/gauges");
    let mut files: Vec<String> = std::fs::read_dir(folder)
        .unwrap()
        .filter_map(|entry| {
            let name = entry.unwrap().file_name().into_string().unwrap();
            name.strip_suffix(".toml").map(str::to_owned)
        })
        .collect();
    files.sort();
    assert_eq!(files, Description::names(None));
}

/// The explained file in `config/gauges/README.md` has every key, so it is both of two kinds of
/// gauge; less one kind or the other it can be used.
#[test]
fn the_explained_file_can_be_used() {
    let text = include_str!("../config/gauges/README.md");
    let (_, rest) = text.split_once("```toml\n").unwrap();
    let (file, _) = rest.split_once("```").unwrap();
    let (before, rest) = file.split_once("[ask]").unwrap();
    let (_, after) = rest.split_once("[serial]").unwrap();
    let button = Description::parse(&format!("{before}[serial]{after}"), "README.md").unwrap();
    assert!(matches!(
        button.decode(b"D  +45.963mmA"),
        Decoded::Reading { .. }
    ));
    let asked = file.replace("trigger = \"button\"", "trigger = \"ask\"");
    let (before, after) = asked.split_once("bounce_ms").unwrap();
    let (_, after) = after.split_once('\n').unwrap();
    assert!(Description::parse(&format!("{before}{after}"), "README.md").is_ok());
}

#[test]
fn what_a_file_leaves_out_has_a_default() {
    let form = Description::parse(SMALLEST, "own.toml").unwrap();
    assert_eq!(
        (
            form.serial.baud,
            form.serial.data_bits,
            form.serial.stop_bits
        ),
        (9_600, 8, 1)
    );
    assert_eq!(form.serial.to_string(), "9600 8N1");
    assert_eq!(
        form.frame.ends,
        [b"\r\n".to_vec(), b"\r".to_vec(), b"\n".to_vec()]
    );
    assert_eq!(form.trigger, Trigger::Button);
    assert_eq!(form.bounce, Duration::from_millis(150));
    assert_eq!(form.contact, Contact::TwoPoint);
    assert_eq!(form.unit, LengthUnit::Mm);
    assert_eq!(form.resolution.mm(), 0.001);
}

#[test]
fn only_a_button_bounces() {
    for name in ["plain-mm-stream", "polled-inch"] {
        assert_eq!(
            Description::named(name, None).unwrap().bounce,
            Duration::ZERO,
            "{name}"
        );
    }
    let off = format!("bounce_ms = 0\n{SMALLEST}");
    assert_eq!(
        Description::parse(&off, "own.toml").unwrap().bounce,
        Duration::ZERO
    );
}

#[test]
fn which_values_are_readings_follows_from_the_trigger_unless_the_file_says() {
    let capture = |head: &str, tail: &str| {
        let text = format!("{head}\n{SMALLEST}{tail}");
        Description::parse(&text, "own.toml").unwrap().capture
    };
    let ask = |every: u32| format!("[ask]\nsend = \"R\"\nevery_ms = {every}\n");
    assert_eq!(capture("", ""), Capture::Each);
    assert_eq!(capture("trigger = \"stream\"", ""), Capture::TurningPoint);
    assert_eq!(
        capture("trigger = \"ask\"", &ask(100)),
        Capture::TurningPoint
    );
    assert_eq!(capture("trigger = \"ask\"", &ask(500)), Capture::OnCommand);
    let swept = "trigger = \"stream\"\ncontact = \"radius\"";
    assert_eq!(capture(swept, ""), Capture::OnCommand);
    assert_eq!(
        capture("trigger = \"stream\"\ncapture = \"each\"", ""),
        Capture::Each
    );
    for (name, shipped) in [
        ("plain-mm", Capture::Each),
        ("plain-mm-stream", Capture::Each),
        ("polled-inch", Capture::OnCommand),
        ("rocking-mm", Capture::TurningPoint),
    ] {
        assert_eq!(
            Description::named(name, None).unwrap().capture,
            shipped,
            "{name}"
        );
    }
}

#[test]
fn a_turning_point_needs_a_stream_of_values() {
    let (line, column, what) = mistake(&format!("capture = \"turning-point\"\n{SMALLEST}"));
    assert_eq!((line, column), (1, 11), "{what}");
    assert!(what.contains("\"each\""), "{what}");
    let slow = format!(
        "trigger = \"ask\"\ncapture = \"turning-point\"\n{SMALLEST}[ask]\nsend = \"R\"\nevery_ms = 500\n"
    );
    let (line, _, what) = mistake(&slow);
    assert!(line == 2 && what.contains("on-command"), "{line}: {what}");
}

/// 0.00005 in is 1.27 µm.
#[test]
fn a_resolution_in_inches_is_a_length() {
    let form = Description::named("polled-inch", None).unwrap();
    assert_eq!(form.resolution.mm(), 0.00127);
}

/// A ring of 46 mm; a bore of 45.963 mm is 0.037 mm smaller, which the reversed plunger shows as
/// more.
#[test]
fn a_comparator_shows_the_deviation_with_its_own_sign() {
    let mm = |value| Length::from_mm(value).unwrap();
    let form = Description::named("comparator-mm", None).unwrap();
    let shown = form.shown(mm(45.963), mm(46.0)).unwrap();
    assert!((shown.mm() - 0.037).abs() < 1e-12);
    assert_eq!(form.encode(shown).unwrap(), b"dev +0.0370\r\n");
    let size = Description::named("plain-mm", None).unwrap();
    assert_eq!(size.shown(mm(45.963), mm(46.0)), Some(mm(45.963)));
    // An indicator swept from an axis is zeroed 23 mm from it.
    let mut swept = form.clone();
    swept.contact = Contact::Radius;
    let shown = swept.shown(mm(22.98), mm(46.0)).unwrap();
    assert!((shown.mm() - 0.02).abs() < 1e-12);
}

#[test]
fn a_file_of_ones_own_wins_and_joins_the_list() {
    let folder = tempfile::tempdir().unwrap();
    let own = |file: &str, text: &str| std::fs::write(folder.path().join(file), text).unwrap();
    own("plain-mm.toml", &SMALLEST.replace("own", "plain-mm"));
    own("mine.toml", &SMALLEST.replace("own", "mine"));
    own("notes.txt", "no description");
    let form = Description::named("plain-mm", Some(folder.path())).unwrap();
    assert_eq!(form.resolution.mm(), 0.001);
    assert!(Description::named("mine", Some(folder.path())).is_ok());
    assert!(Description::named("comma-status", Some(folder.path())).is_ok());
    assert!(Description::names(Some(folder.path())).contains(&"mine".to_owned()));
}

#[test]
fn an_unknown_name_is_answered_with_those_there_are() {
    for name in ["no-such", "../../etc/passwd", "", "Plain-mm"] {
        let error = Description::named(name, None).unwrap_err().to_string();
        assert!(
            error.contains("plain-mm") && error.contains("comma-status"),
            "{error}"
        );
    }
}

#[test]
fn mistakes_are_shown_where_they_stand() {
    let (line, _, what) = mistake(&format!("{SMALLEST}colour = \"red\"\n"));
    assert_eq!(line, 4);
    assert!(what.contains("colour"), "{what}");

    let (line, column, what) = mistake(&SMALLEST.replace("0.001", "0.0005"));
    assert_eq!((line, column), (2, 14));
    assert!(
        what.contains("`resolution`") && what.contains("fewer decimals"),
        "{what}"
    );

    let (line, column, what) = mistake(&SMALLEST.replace("[1, 3]", "[3, 1]"));
    assert_eq!((line, column), (3, 11));
    assert!(
        what.contains("layout[0]") && what.contains("least not above most"),
        "{what}"
    );

    let (line, _, what) = mistake(&format!("{SMALLEST}[serial]\nbaud = 7\n"));
    assert_eq!(line, 4);
    assert!(what.contains("serial.baud"), "{what}");

    let (line, _, what) = mistake(&format!("{SMALLEST}[serial]\nparity = \"maybe\"\n"));
    assert_eq!(line, 5);
    assert!(what.contains("maybe"), "{what}");

    let (line, _, what) = mistake(&format!("trigger = \"ask\"\n{SMALLEST}"));
    assert_eq!(line, 1);
    assert!(what.contains("[ask]"), "{what}");

    let (line, _, what) = mistake(&format!("trigger = \"stream\"\nbounce_ms = 5\n{SMALLEST}"));
    assert_eq!(line, 2);
    assert!(what.contains("bounce"), "{what}");
}

#[test]
fn what_can_not_be_a_description_is_refused() {
    let layout = |layout: &str| format!("name = \"own\"\nresolution = 0.001\nlayout = {layout}\n");
    let number = "{ digits = [1, 3], decimals = [3, 3] }";
    for (text, part) in [
        (layout("[]"), "exactly one part with `digits`"),
        (
            layout(&format!("[{number}, {number}]")),
            "exactly one part with `digits`",
        ),
        (
            layout("[{ digits = [1, 3], text = \"x\" }]"),
            "exactly one of",
        ),
        (
            layout(&format!("[{{ text = \"\" }}, {number}]")),
            "1 to 64 ASCII",
        ),
        (
            layout(&format!("[{{ text = \"µ\" }}, {number}]")),
            "1 to 64 ASCII",
        ),
        (
            layout(&format!(
                "[{{ sign = \"always\", optional = true }}, {number}]"
            )),
            "optional",
        ),
        (
            layout("[{ digits = [1, 10], decimals = [3, 3] }]"),
            "at most 9",
        ),
        (
            layout("[{ digits = [1, 3], decimals = [1, 3], point = \"implied\" }]"),
            "implied",
        ),
        (
            layout(&format!("[{number}, {{ unit = {{ in = \"in\" }} }}]")),
            "form's own unit",
        ),
        (format!("{SMALLEST}[frame]\nends = []\n"), "frame.ends"),
        (
            format!("{SMALLEST}[frame]\nlongest = 1000000\n"),
            "frame.longest",
        ),
        (SMALLEST.replace("own", "Own Gauge"), "lower-case"),
        (SMALLEST.replace("0.001", "nan"), "resolution"),
        (SMALLEST.replace("0.001", "-0.001"), "resolution"),
    ] {
        let (_, _, what) = mistake(&text);
        assert!(what.contains(part), "{what} from {text}");
    }
}

/// Nine digits and nine decimals are read without overflow; what no bench holds is no length.
#[test]
fn the_longest_number_is_read() {
    let text = SMALLEST
        .replace("0.001", "0.000000001")
        .replace("[1, 3]", "[1, 9]");
    let form = Description::parse(&text.replace("[3, 3]", "[9, 9]"), "own.toml").unwrap();
    match form.decode(b"000999999.123456789") {
        Decoded::Reading { value, .. } => assert_eq!(value.mm(), 999_999.123_456_789),
        other => panic!("{other:?}"),
    }
    for frame in [&b"999999999.999999999"[..], b"9999999999.999999999"] {
        assert!(matches!(form.decode(frame), Decoded::Noise(_)));
    }
}

#[test]
fn an_angle_gauge_states_degrees_and_no_lengths() {
    let form = Description::named("plain-degrees", None).unwrap();
    assert_eq!(form.capture, Capture::TurningPoint);
    let angle = Angle::from_deg(-57.2).unwrap();
    let frame = form.encode_angle(angle).unwrap();
    assert_eq!(frame, b"-057.20 deg\r\n");
    match form.decode(b"-057.20 deg") {
        Decoded::Angle { value, .. } => assert_eq!(value, angle),
        other => panic!("{other:?}"),
    }
    let text = SMALLEST.replace("unit = \"mm\"", "");
    let (line, _, what) = mistake(&format!("unit = \"deg\"\nsends = \"deviation\"\n{text}"));
    assert!(line == 2 && what.contains("sends angles"), "{what}");
}
