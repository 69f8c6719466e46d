//! `borewright profile` from a file or a pipe: the contract's numbers, and plain sentences where
//! the file can't be used.
#![allow(clippy::unwrap_used, reason = "a test says what failed by failing")]

use std::io::Write as _;
use std::process::{Command, Output, Stdio};

use serde_json::Value;

fn profile(input: &str, arguments: &[&str]) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_borewright"))
        .arg("profile")
        .arg("-")
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    child
        .stdin
        .take()
        .unwrap()
        .write_all(input.as_bytes())
        .unwrap();
    child.wait_with_output().unwrap()
}

fn json(input: &str, arguments: &[&str]) -> Value {
    let output = profile(input, &[&["--json"], arguments].concat());
    assert_eq!(
        output.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    serde_json::from_slice(&output.stdout).unwrap()
}

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

/// Readings that agree to their last digit are known no better than that: by hand, a step of 0.01
/// mm is 0.01/√12 for one direction, half of that for the mean of four.
#[test]
fn readings_that_all_agree_are_as_uncertain_as_their_last_digit() {
    let profile = json(
        "bore,depth_mm,angle_deg,reading_mm\na,3,0,46.01\na,3,45,46.01\na,3,90,46.01\na,3,135,46.01\n",
        &[],
    );
    let mean = &profile["bores"][0]["sections"][0]["uncertainty"]["mean_diameter_mm"];
    let expected = 0.01 / 12.0_f64.sqrt() / 2.0;
    assert!((mean["standard"].as_f64().unwrap() - expected).abs() < 1e-12);
    assert_eq!(
        mean["degrees_of_freedom"],
        Value::Null,
        "the step is certain"
    );
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

/// Common practice, no source: a 46 mm shell that is 0.1 mm out of round is no seat for a bearing;
/// and no size conforms without a setting ring.
#[test]
fn strict_exits_with_one_where_not_all_conforms() {
    let rows = std::fs::read_to_string(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/fixtures/job-2x3x8/readings.csv"
    ))
    .unwrap();
    let relaxed = profile(&rows, &["--seat", "pressfit-46"]);
    assert_eq!(relaxed.status.code(), Some(0));
    let text = String::from_utf8(relaxed.stdout).unwrap();
    assert!(text.contains("left at 3 mm: form does not conform"));
    assert!(text.contains("left at 3 mm: size can't tell"));
    let strict = profile(&rows, &["--seat", "pressfit-46", "--strict"]);
    assert_eq!(strict.status.code(), Some(1));
    assert_eq!(
        profile(&rows, &["--seat", "no-such"]).status.code(),
        Some(2)
    );
}

/// Three sections of an egged bore, the deepest off the line through the others.
fn egged(contact: &str) -> String {
    let (turn, size) = match contact {
        "two-point" => (180.0, 42.0),
        "three-point" => (120.0, 42.0),
        _ => (360.0, 21.0),
    };
    let mut rows = "bore,depth_mm,angle_deg,reading_mm\n".to_owned();
    for (depth, wider) in [("3", 0.0), ("8", 0.01), ("13", 0.05), ("18", 0.03)] {
        let scatter = [0.001, -0.002, 0.0, 0.002, -0.001, 0.001, -0.001, 0.0];
        for (place, scatter) in (0..).zip(scatter) {
            let angle = turn / 8.0 * f64::from(place);
            let oval = 0.02 * (2.0 * angle.to_radians()).cos();
            rows += &format!("a,{depth},{angle},{:.4}\n", size + wider + oval + scatter);
        }
    }
    rows
}

const BUDGET: [&str; 5] = ["--ring", "42", "--ring-uncertainty", "0.001", "--budget"];

/// Whatever has an uncertainty has one budget that says what it comes to and which input dominates,
/// its contributions adding up as JCGM 100:2008, equation 10, has it; and nothing else has.
#[test]
fn every_number_with_an_uncertainty_has_its_budget() {
    for contact in ["two-point", "three-point", "radius"] {
        let arguments = [&BUDGET[..], &["--contact", contact]].concat();
        let profile = json(&egged(contact), &arguments);
        let bore = &profile["bores"][0];
        let mut stated: Vec<(Value, String, &Value)> = Vec::new();
        let of_bore = (&Value::Null, bore);
        let sections = bore["sections"].as_array().unwrap();
        let of_sections = sections
            .iter()
            .map(|section| (&section["depth_mm"], section));
        for (depth, held) in of_sections.chain([of_bore]) {
            for (field, estimate) in held["uncertainty"].as_object().unwrap() {
                stated.push((depth.clone(), field.clone(), estimate));
            }
        }
        let budgets = profile["budgets"].as_array().unwrap();
        assert_eq!(budgets.len(), stated.len(), "{contact}");
        for field in [
            "mean_diameter_mm",
            "taper_mm_per_mm",
            "barrel_mm",
            "waist.diameter_mm",
        ] {
            assert!(
                stated
                    .iter()
                    .any(|(depth, known, _)| depth.is_null() && known == field)
            );
        }
        for (depth, field, estimate) in stated {
            let of = |budget: &&Value| budget["depth_mm"] == depth && budget["field"] == *field;
            let budget = budgets.iter().find(of).unwrap();
            assert_eq!(budget["combined"], *estimate, "{contact}, {field}");
            adds_up(budget);
            assert!(
                !budget["quantity"].as_str().unwrap().contains('_'),
                "{budget}"
            );
        }
        let of_size = |field: &str| {
            let budget = budgets.iter().find(|budget| budget["field"] == field);
            budget.map(|budget| budget["inputs"].as_array().unwrap().len())
        };
        // Scatter, ring and the gauge's digit in it; what is common to all cancels in a difference.
        assert!(of_size("mean_diameter_mm").unwrap() >= 3);
        assert_eq!(of_size("lobes[0].amplitude_mm"), Some(1));
        if contact == "radius" {
            assert_eq!(of_size("roundness.max_inscribed.radius_mm"), Some(3));
            assert_eq!(of_size("roundness.max_inscribed.x_mm"), Some(1));
        } else {
            assert_eq!(of_size("largest_mm"), Some(3));
        }
    }
    let output = self::profile(&egged("two-point"), &BUDGET);
    let text = String::from_utf8(output.stdout).unwrap();
    for part in [
        "largest diameter, a at 8 mm: ",
        "amplitude of 2 lobes, a at 13 mm: 0.0",
        "taper, a: 0.00",
        "section off the line through the others, a: ",
        "effective degrees of freedom, k =",
    ] {
        assert!(text.contains(part), "{text}\nlacks {part}");
    }
}

fn adds_up(budget: &Value) {
    let number = |of: &Value| of.as_f64().unwrap();
    let inputs = budget["inputs"].as_array().unwrap();
    let part = |input: &Value| number(&input["standard"]) * number(&input["sensitivity"]);
    let parts: Vec<f64> = inputs.iter().map(|input| part(input).powi(2)).collect();
    let whole: f64 = parts.iter().sum();
    let combined = number(&budget["combined"]["standard"]);
    assert!(
        (whole.sqrt() - combined).abs() <= 1e-9 * combined,
        "{budget}"
    );
    let shares = budget["shares"].as_array().unwrap();
    assert_eq!(shares.len(), parts.len());
    let largest = parts.iter().copied().fold(0.0, f64::max);
    for ((share, part), input) in shares.iter().zip(&parts).zip(inputs) {
        assert!(whole == 0.0 || (number(share) - part / whole).abs() < 1e-9);
        // Where two contribute alike either may be named.
        assert!(budget["dominant"] != input["name"] || *part >= largest * (1.0 - 1e-9));
    }
    assert!(
        inputs
            .iter()
            .any(|input| input["name"] == budget["dominant"])
    );
}

/// JSON Schema 2020-12, by a validator of its own.
#[test]
fn the_output_keeps_to_its_schema() {
    let out = Command::new(env!("CARGO_BIN_EXE_borewright"))
        .args(["schema", "profile"])
        .output()
        .unwrap();
    let schema: Value = serde_json::from_slice(&out.stdout).unwrap();
    assert_eq!(
        schema["$schema"],
        "https://json-schema.org/draft/2020-12/schema"
    );
    let schema = jsonschema::validator_for(&schema).unwrap();
    for contact in ["two-point", "three-point", "radius"] {
        for more in [
            &[][..],
            &["--budget"],
            &BUDGET,
            &["--budget", "--seat", "pressfit-46"],
        ] {
            let profile = json(&egged(contact), &[&["--contact", contact], more].concat());
            let errors: Vec<String> = schema
                .iter_errors(&profile)
                .map(|e| e.to_string())
                .collect();
            assert!(errors.is_empty(), "{contact} {more:?}: {errors:?}");
        }
    }
    let mut profile = json(&egged("two-point"), &BUDGET);
    profile["budgets"][0]["combined"]["standard"] = Value::Null;
    assert!(!schema.is_valid(&profile), "a budget comes to something");
}

/// A steel ring of 42 mm, an aluminium bore 10 µm larger by the gauge, both at 25 °C: 42.007458 mm
/// at 20 °C, by hand from JCGM 100:2008, H.1.1 with α = 11.5e-6 and 23.6e-6. The budget's variances
/// add up to the uncertainty that is shown.
#[test]
fn ring_and_temperature_make_sizes_at_20_degrees() {
    let rows = "bore,depth_mm,angle_deg,reading_mm\na,5,0,0.009\na,5,45,0.011\na,5,90,0.009\na,5,135,0.011\na,5,22.5,0.010\n";
    let profile = json(
        rows,
        &[
            "--deviations-from",
            "unknown",
            "--ring",
            "42",
            "--ring-uncertainty",
            "0.001",
            "--temperature",
            "25",
            "--material",
            "aluminium",
            "--resolution",
            "0.001",
            "--budget",
        ],
    );
    let section = &profile["bores"][0]["sections"][0];
    assert_eq!(section["size_set"], true);
    let mean = section["mean_diameter_mm"].as_f64().unwrap();
    assert!((mean - 42.007_458_12).abs() < 1e-4, "{mean}");
    let budget = mean_budget(&profile);
    let variance: f64 = budget["inputs"]
        .as_array()
        .unwrap()
        .iter()
        .map(|input| {
            (input["standard"].as_f64().unwrap() * input["sensitivity"].as_f64().unwrap()).powi(2)
        })
        .sum();
    let shown = section["uncertainty"]["mean_diameter_mm"]["standard"]
        .as_f64()
        .unwrap();
    assert!((variance.sqrt() - shown).abs() < 1e-12);
    // A temperature without a material corrects nothing.
    assert_eq!(
        self::profile(rows, &["--ring", "42", "--temperature", "25"])
            .status
            .code(),
        Some(2)
    );
}

/// The budget of the first section's mean.
fn mean_budget(profile: &Value) -> &Value {
    let mut budgets = profile["budgets"].as_array().unwrap().iter();
    budgets
        .find(|budget| budget["field"] == "mean_diameter_mm")
        .unwrap()
}

/// What a profile states of the mean's uncertainty, and its budget's inputs by name.
fn mean_and_budget(profile: &Value) -> (f64, Vec<(String, f64)>) {
    let standard = &profile["bores"][0]["sections"][0]["uncertainty"]["mean_diameter_mm"];
    let inputs = mean_budget(profile)["inputs"].as_array().unwrap();
    let contribution = |input: &Value| {
        let name = input["name"].as_str().unwrap().to_owned();
        let standard = input["standard"].as_f64().unwrap();
        (
            name,
            standard * input["sensitivity"].as_f64().unwrap().abs(),
        )
    };
    (
        standard["standard"].as_f64().unwrap(),
        inputs.iter().map(contribution).collect(),
    )
}

fn of<'a>(inputs: &'a [(String, f64)], name: &str) -> &'a f64 {
    let found = inputs.iter().find(|(known, _)| known == name);
    &found.unwrap_or_else(|| panic!("no {name} in {inputs:?}")).1
}

const SWEPT: &str = "bore,depth_mm,angle_deg,reading_mm\na,5,0,23.009\na,5,60,23.011\na,5,120,23.009\na,5,180,23.010\na,5,240,23.011\na,5,300,23.010\n";

/// By hand: D = ring + 2 (reading - shown), so the digit in the ring counts twice, 2 x 0.001/√12, and
/// the ring's certificate once, 0.002/2.
#[test]
fn the_digit_in_the_ring_counts_twice_for_a_swept_radius() {
    let ring = ["--ring", "46", "--ring-uncertainty", "0.002", "--budget"];
    let more = ["--contact", "radius", "--resolution", "0.001"];
    let profile = json(SWEPT, &[&ring[..], &more].concat());
    let mean = &profile["bores"][0]["sections"][0]["mean_diameter_mm"];
    assert!((mean.as_f64().unwrap() - 46.02).abs() < 1e-3);
    let (standard, inputs) = mean_and_budget(&profile);
    let digit = of(&inputs, "gauge's digit in the ring");
    assert!((digit - 0.002 / 12.0_f64.sqrt()).abs() < 1e-12, "{digit}");
    assert!((of(&inputs, "setting ring") - 0.001).abs() < 1e-12);
    let squares: f64 = inputs.iter().map(|(_, part)| part * part).sum();
    assert!((squares.sqrt() - standard).abs() < 1e-9);
}

/// By hand: 46 mm of aluminium of 23.6e-6 /K at 25 ± 1 °C is known to 46 x 23.6e-6 / √3 for the
/// temperature and to 46 x 5 x 0.05 x 23.6e-6 / √3 for the expansion.
#[test]
fn a_temperature_without_a_ring_is_uncertain_all_the_same() {
    let rows = "bore,depth_mm,angle_deg,reading_mm\na,5,0,46.001\na,5,45,45.999\na,5,90,46.001\na,5,135,45.999\na,5,22,46.000\n";
    for (rows, contact) in [(rows, "two-point"), (SWEPT, "radius")] {
        let profile = json(
            rows,
            &[
                "--temperature",
                "25",
                "--material",
                "aluminium",
                "--budget",
                "--contact",
                contact,
            ],
        );
        assert_eq!(profile["bores"][0]["sections"][0]["size_set"], false);
        let (standard, inputs) = mean_and_budget(&profile);
        let expected = 46.0 * 23.6e-6 / 3.0_f64.sqrt();
        let temperature = of(&inputs, "temperature of the part");
        assert!((temperature / expected - 1.0).abs() < 1e-3, "{temperature}");
        let expansion = of(&inputs, "expansion of the part");
        assert!((expansion / (expected * 0.25) - 1.0).abs() < 1e-3);
        let squares: f64 = inputs.iter().map(|(_, part)| part * part).sum();
        assert!((squares.sqrt() / standard - 1.0).abs() < 1e-9);
    }
}

/// Bores swept round from one axis at the depths 3, 8 and 13 mm: centre and radius by depth.
fn sweeps(bores: &[(&str, [(f64, f64); 3])]) -> String {
    let mut rows = "bore,depth_mm,angle_deg,reading_mm\n".to_owned();
    for (name, sections) in bores {
        for (depth, (beside, radius)) in [3, 8, 13].into_iter().zip(sections) {
            for place in 0..12 {
                let angle = 30 * place;
                let (sine, cosine) = f64::from(angle).to_radians().sin_cos();
                let wall = beside * cosine + (radius * radius - (beside * sine).powi(2)).sqrt();
                let scatter = 0.0005 * f64::from((place * 7) % 5 - 2);
                rows += &format!("{name},{depth},{angle},{:.6}\n", wall + scatter);
            }
        }
    }
    rows
}

/// By hand: diameters of 45.945, 45.97, 45.97 mm at 3, 8, 13 mm lie within pressfit-46's limits from
/// where the first stretch enters them, and the second bore's axis lies 0.05 mm beside the first's
/// all along, so coaxial within 0.1 mm and not tilted.
#[test]
fn a_seat_lets_say_how_bores_lie_and_how_long_they_are_seats() {
    let radii = [22.9725, 22.985, 22.985];
    let rows = sweeps(&[
        ("drive side", radii.map(|radius| (0.0, radius))),
        ("non-drive side", radii.map(|radius| (0.05, radius))),
    ]);
    let unset = ["--seat", "pressfit-46", "--contact", "radius"];
    let ring = ["--ring", "46", "--ring-uncertainty", "0.001"];
    let arguments = [&unset[..], &ring].concat();
    let found = json(&rows, &arguments);
    let axes = &found["alignment"];
    assert!((axes["coaxiality_mm"].as_f64().unwrap() - 0.1).abs() < 1e-3);
    assert!(axes["tilt_deg"].as_f64().unwrap() < 0.01);
    let straight = &found["straight"][0];
    let (lower, upper) = (
        straight["lower_mm"].as_f64().unwrap(),
        straight["upper_mm"].as_f64().unwrap(),
    );
    // 45.945 mm at 3 mm, 45.97 mm from 8 mm on.
    let enters = 3.0 + 5.0 * ((lower - 45.945) / 0.025).clamp(0.0, 1.0);
    assert!(lower < 45.97 && upper > 45.97, "{lower} to {upper}");
    let length = straight["straight_length_mm"].as_f64().unwrap();
    assert!((length - (13.0 - enters)).abs() < 0.1, "{length}");
    let range = straight["straight_range_mm"].as_array().unwrap();
    let [least, most] = [0, 1].map(|at: usize| range[at].as_f64().unwrap());
    assert!(least < length && length < most, "{least} to {most}");
    // Without a ring no limit says anything.
    let unset = json(&rows, &unset);
    assert_eq!(unset["straight"][0]["straight_length_mm"], Value::Null);
    let why = unset["withheld"][0]["why"].as_str().unwrap();
    assert!(why.contains("never set in a setting ring"), "{why}");

    let text = |rows: &str, arguments: &[&str]| {
        String::from_utf8(profile(rows, arguments).stdout).unwrap()
    };
    let said = text(&rows, &arguments);
    for part in [
        "waist 45.94",
        "minimum zone 0.00",
        " mm) of the gauged length lie within",
        "non-drive side to drive side: coaxiality 0.1",
    ] {
        assert!(said.contains(part), "{said}\nlacks {part}");
    }
    let centre = said
        .lines()
        .find(|line| line.trim_start().starts_with("3 "));
    assert_eq!(centre.unwrap().matches('±').count(), 5, "{said}");

    let one = sweeps(&[("drive side", radii.map(|radius| (0.0, radius)))]);
    let alone = json(&one, &arguments);
    assert_eq!(alone["alignment"], Value::Null);
    let why = alone["withheld"][0]["why"].as_str().unwrap();
    assert_eq!(why, "gauge both drive side and non-drive side");
    assert!(text(&one, &arguments).contains("no coaxiality: gauge both"));
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

#[test]
fn a_ring_makes_sizes_of_deviations_without_a_warning() {
    let rows = "bore,depth_mm,angle_deg,reading_mm\na,5,0,-0.010\na,5,45,0.010\na,5,90,0.030\n";
    let warns = |arguments: &[&str]| {
        let said = String::from_utf8(profile(rows, arguments).stderr).unwrap();
        said.contains("unknown size")
    };
    assert!(warns(&[]));
    assert!(!warns(&["--ring", "46", "--ring-uncertainty", "0.001"]));
}

/// By hand: 46 mm at the upper limit less 1 µm, a ring of 0.5 µm (k = 1): 1.65 u fits between, 4 u
/// doesn't.
#[test]
fn a_configuration_says_how_wide_the_guard_band_is() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("bench.toml");
    let rows = (0..6).map(|step| format!("drive side,6,{},45.9985\n", 30 * step));
    let rows = "bore,depth_mm,angle_deg,reading_mm\n".to_owned() + &rows.collect::<String>();
    let judged = |text: &str| {
        std::fs::write(&file, text).unwrap();
        let ring = ["--ring", "46", "--ring-uncertainty", "0.001"];
        let seat = [
            "--seat",
            "pressfit-46",
            "--resolution",
            "0.0001",
            "--config",
        ];
        profile(
            &rows,
            &[&ring[..], &seat, &[file.to_str().unwrap(), "--json"]].concat(),
        )
    };
    for (text, decision, by) in [
        ("", "conforms", " mm)"),
        ("[verdict]\ndecision_factor = 4\n", "cant_tell", " mm, 4 u)"),
    ] {
        let output = judged(text);
        let profile: Value = serde_json::from_slice(&output.stdout).unwrap();
        let size = &profile["verdicts"][0]["size"];
        assert_eq!(size["decision"], decision, "{size}");
        assert!(size["why"].as_str().unwrap().contains(by), "{size}");
    }
    let output = judged("[verdict]\ndecision_factor = 0.1\n");
    assert_eq!(output.status.code(), Some(2));
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(
        said.contains("bench.toml:2:19") && said.contains("1 to 5"),
        "{said}"
    );
}

/// The bench's rule for what a gauge can show in its ring: within 2 mm of diameter of what is due,
/// which for a gauge that reads radii is half the ring. Readings twice as large as the ring lets a
/// swept gauge read are diameters.
#[test]
fn what_no_gauge_shows_in_the_ring_is_refused() {
    let rows = |mm: f64| {
        let rows: String = (0..8).map(|n| format!("a,3,{},{mm}\n", n * 45)).collect();
        format!("bore,depth_mm,angle_deg,reading_mm\n{rows}")
    };
    let refused = |contact: &str, mm: f64, shown: Option<&str>| {
        let mut arguments = vec![
            "--contact",
            contact,
            "--ring",
            "46",
            "--ring-uncertainty",
            "0.002",
        ];
        arguments.extend(shown.into_iter().flat_map(|shown| ["--ring-shown", shown]));
        let output = profile(&rows(mm), &arguments);
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        match output.status.code() {
            Some(0) => None,
            code => {
                assert_eq!(code, Some(2), "{said}");
                Some(said)
            }
        }
    };
    for (contact, mm, shown) in [
        ("radius", 23.01, Some("22.999")),
        ("radius", 23.01, None),
        ("two-point", 46.02, Some("45.999")),
        ("two-point", 40.02, Some("46.001")),
    ] {
        assert_eq!(refused(contact, mm, shown), None);
    }
    for (contact, mm, shown, sentence) in [
        (
            "radius",
            23.01,
            Some("45.999"),
            "it reads radii, and so half the ring, 23 mm; check the ring's mark",
        ),
        ("radius", 23.01, Some("46"), "half the ring"),
        (
            "two-point",
            46.02,
            Some("1.811"),
            "1.811 mm can't be what the gauge shows in a ring of 46 mm: check the ring's mark, the gauge's seating and the unit",
        ),
        (
            "radius",
            46.02,
            None,
            "readings of about 46.02 mm where 23 mm are due: these look like diameters",
        ),
        (
            "two-point",
            23.01,
            None,
            "these look like radii: say so with `--contact radius`",
        ),
    ] {
        let said = refused(contact, mm, shown).unwrap();
        assert!(said.contains(sentence), "{said}");
    }
}

/// A ring and temperatures known to far more degrees of freedom than the readings: k is the normal
/// distribution's 1.960 from 1e4 on (scipy 1.17, `t.ppf(0.975, 1e5)` = 1.95999).
#[test]
fn the_coverage_factor_holds_at_a_million_degrees_of_freedom() {
    let rows: String = (0..24)
        .map(|n| format!("a,3,{},46.000{}\n", n * 15, [0, 2, 1][n % 3]))
        .collect();
    let input = format!("bore,depth_mm,angle_deg,reading_mm\n{rows}");
    let setting = [
        "--ring",
        "46",
        "--ring-uncertainty",
        "0.0006",
        "--resolution",
        "0.0001",
    ];
    let found = json(&input, &setting);
    let known = &found["bores"][0]["sections"][0]["uncertainty"]["mean_diameter_mm"];
    let degrees = known["degrees_of_freedom"].as_f64().unwrap();
    assert!((1e5..1e9).contains(&degrees), "{degrees}");
    assert!(
        (known["coverage_factor"].as_f64().unwrap() - 1.960).abs() < 1e-3,
        "{known}"
    );
    let text = String::from_utf8(profile(&input, &setting).stdout).unwrap();
    assert!(text.contains("± 0.0006"), "{text}");
}
