//! What is in a file, and what is wrong with it.

use serde_json::Value;

use crate::{json, profile};

#[test]
fn what_is_wrong_with_a_file_is_said_with_line_and_column() {
    let header = "bore,depth_mm,angle_deg,reading_mm\n";
    for (input, sentence) in [
        (
            "bore,depth_mm,reading_mm\nleft,3,45.9\n".to_owned(),
            "standard input, line 1: the column `angle_deg` is missing; the header must name bore, depth_mm, angle_deg and reading_mm (or reading_in)",
        ),
        (
            "bore,depth_mm,angle_deg,reading_mm,reading_in\n".to_owned(),
            "line 1: `reading_mm` and `reading_in` are both there, and only one may be",
        ),
        (
            format!("{header}left,3,0,45.9\nleft,3,45,wide\n"),
            "line 3, column 4 (reading_mm): `wide` is not a number",
        ),
        (
            format!("{header}left,3,0,NaN\n"),
            "line 2, column 4 (reading_mm): `NaN` is not finite",
        ),
        (
            format!("{header}left,3,0,inf\n"),
            "line 2, column 4 (reading_mm): `inf` is not finite",
        ),
        (
            format!("{header}left,3,0,45.9\n\nleft,3,360,45.9\n"),
            "line 4, column 3 (angle_deg): 360° is not in [0, 360)",
        ),
        (
            format!("{header}left,3,-1,45.9\n"),
            "line 2, column 3 (angle_deg): -1° is not in [0, 360)",
        ),
        (
            format!("{header}left,3,0\n"),
            "line 2, column 4 (reading_mm): the row ends before this column",
        ),
        (header.to_owned(), "holds no readings"),
        (
            String::new(),
            "standard input is empty; its first line must name bore, depth_mm, angle_deg and reading_mm",
        ),
        (
            format!("{header}left,3,0,45,963\n"),
            "line 2: 5 fields stand where the header names 4 columns; where commas are decimal, write points, or part the columns with semicolons",
        ),
        (
            format!("{header}left,1e308,0,45.9\nleft,-1e308,0,45.9\n"),
            "line 2, column 2 (depth_mm): a depth of `1e308` mm is longer than any bore",
        ),
        (
            format!("{header}left,3,0,1e300\n"),
            "line 2, column 4 (reading_mm): `1e300` is larger than any bore gauge reads",
        ),
        (
            format!("{header}left,3,0,45.9\nleft,3,45,1.807\nleft,3,90,45.9\n"),
            "line 3, column 4 (reading_mm): 1.807 mm and the other readings, about 45.9 mm, differ by about 25.4 times: millimetres and inches are mixed",
        ),
        (
            format!("{header}left,3,0,45.9\nleft,3,45,-45.9\n"),
            "line 3, column 4 (reading_mm): -45.9 mm is no size of a bore",
        ),
    ] {
        let output = profile(&input, &["--json"]);
        let said = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(2), "{input}");
        assert!(said.contains(sentence), "{said}\nlacks\n{sentence}");
        assert!(output.stdout.is_empty());
    }
}

/// As spreadsheets write where a comma is decimal, with a byte-order mark and line ends of two.
#[test]
fn semicolons_and_decimal_commas_give_the_same_profile() {
    let plain = "bore,depth_mm,angle_deg,reading_mm\na,3.5,0,46.01\na,3.5,45,46.00\na,3.5,90,45.98\na,3.5,135,46.00\n";
    let spreadsheet = format!(
        "\u{feff}{}",
        plain
            .replace(',', ";")
            .replace('.', ",")
            .replace('\n', "\r\n")
    );
    assert!(spreadsheet.contains("a;3,5;90;45,98\r\n"));
    assert_eq!(json(&spreadsheet, &[]), json(plain, &[]));
}

/// Common practice, no source: a bore that reads 1.610 in and, a quarter turn on, 1.615 in is
/// 0.127 mm out of round. Two directions show no oval.
#[test]
fn two_directions_in_inches_give_out_of_round_and_say_what_is_missing() {
    let profile = json(
        "bore,depth_mm,angle_deg,reading_in\nshell,5,0,1.610\nshell,5,90,1.615\n",
        &[],
    );
    let section = &profile["bores"][0]["sections"][0];
    assert_eq!(section["smallest_mm"], 40.894);
    assert_eq!(section["largest_mm"], 41.021);
    assert!((section["out_of_round_mm"].as_f64().unwrap() - 0.127).abs() < 1e-9);
    assert_eq!(section["form_unknown"], true);
    assert_eq!(section["oval"], Value::Null);
    let withheld = section["withheld"].as_array().unwrap();
    assert!(
        withheld
            .iter()
            .any(|w| w["field"] == "oval" && w["why"] == "needs 3 directions, has 2")
    );
}

/// Four angles over a full turn are two directions to a two-point gauge, and its twins show how
/// well it repeats: by hand, 1 µm apart twice is a standard deviation of 1/√2 µm.
#[test]
fn an_angle_and_its_opposite_are_repeats() {
    let profile = json(
        "bore,depth_mm,angle_deg,reading_mm\na,5,0,46.000\na,5,90,46.100\na,5,180,46.001\na,5,270,46.101\n",
        &[],
    );
    let section = &profile["bores"][0]["sections"][0];
    assert_eq!(section["readings"], 4);
    assert_eq!(section["stations"], 2);
    let repeatability = section["repeatability_mm"].as_f64().unwrap();
    assert!((repeatability - 0.001 / 2.0_f64.sqrt()).abs() < 1e-9);
}

#[test]
fn deviations_give_differences_but_no_size() {
    let rows = "bore,depth_mm,angle_deg,reading_mm\na,5,0,-0.010\na,5,45,0.010\na,5,90,0.030\na,5,135,0.010\n";
    let unknown = json(rows, &["--deviations-from", "unknown"]);
    let section = &unknown["bores"][0]["sections"][0];
    assert_eq!(section["mean_diameter_mm"], Value::Null);
    assert_eq!(section["largest_mm"], Value::Null);
    assert!((section["out_of_round_mm"].as_f64().unwrap() - 0.04).abs() < 1e-9);
    assert!((section["oval"]["size_mm"].as_f64().unwrap() - 0.04).abs() < 1e-9);
    assert!((section["oval"]["tight_axis_deg"].as_f64().unwrap()).abs() < 1e-6);

    let known = json(rows, &["--deviations-from", "23"]);
    let section = &known["bores"][0]["sections"][0];
    assert!((section["mean_diameter_mm"].as_f64().unwrap() - 46.01).abs() < 1e-9);
}

#[test]
fn inches_in_a_millimetre_column_are_named_where_seat_or_ring_say_the_size() {
    let rows = "bore,depth_mm,angle_deg,reading_mm\na,5,0,1.811\na,5,45,1.812\na,5,90,1.811\n";
    let named = rows.replace("reading_mm", "reading_in");
    for due in [
        &["--seat", "pressfit-46"][..],
        &["--ring", "46", "--ring-uncertainty", "0.001"],
    ] {
        let output = profile(rows, due);
        assert_eq!(output.status.code(), Some(2));
        let said = String::from_utf8(output.stderr).unwrap();
        assert!(
            said.contains("these look like inches: name the column reading_in"),
            "{said}"
        );
        let output = profile(&named, due);
        assert_eq!(output.status.code(), Some(0));
    }
}
