//! Ring, digit and temperature.

use serde_json::Value;

use crate::{json, profile};

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

/// By hand: five readings in the ring scatter by 1 µm about 46.001, so their mean is known to 1/√5 µm; of
/// radii twice that. One reading there scatters as the section does, whose four directions leave a residual
/// of 2 µm x 2 and one degree of freedom.
#[test]
fn the_reading_in_the_ring_scatters_too() {
    let rows = "bore,depth_mm,angle_deg,reading_mm\na,5,0,46.012\na,5,45,46.008\na,5,90,46.012\na,5,135,46.008\n";
    let ring = [
        "--ring",
        "46",
        "--ring-uncertainty",
        "0.002",
        "--budget",
        "--resolution",
        "0.001",
    ];
    let scatter = |profile: &Value| {
        let (standard, inputs) = mean_and_budget(profile);
        let squares: f64 = inputs.iter().map(|(_, part)| part * part).sum();
        assert!((squares.sqrt() / standard - 1.0).abs() < 1e-9);
        *of(&inputs, "scatter of the reading in the ring")
    };
    let five = ["--ring-shown", "46,46.002,46,46.002,46.001"];
    let profile = json(rows, &[&ring[..], &five].concat());
    let mean = &profile["bores"][0]["sections"][0]["mean_diameter_mm"];
    assert!((mean.as_f64().unwrap() - 46.009).abs() < 1e-9, "{mean}");
    let found = scatter(&profile);
    assert!((found - 0.001 / 5.0_f64.sqrt()).abs() < 1e-9, "{found}");
    let one = scatter(&json(rows, &ring));
    assert!((one - 0.004).abs() < 1e-9, "{one}");
    let five = [
        "--contact",
        "radius",
        "--ring-shown",
        "23,23.002,23,23.002,23.001",
    ];
    let found = scatter(&json(SWEPT, &[&ring[..], &five].concat()));
    assert!((found - 0.002 / 5.0_f64.sqrt()).abs() < 1e-9, "{found}");
}

/// By hand: a ring whose uncertainty nobody states counts as known to 0.010 mm (k = 2), and it is said.
/// 45.993 lies 7 µm within the seat's limit, less than 1.645 x 5 µm, 46.020 lies 20 µm beyond it.
#[test]
fn a_ring_of_unknown_uncertainty_is_not_exact() {
    let round = |mm: f64| {
        let rows: String = (0..6).map(|n| format!("a,3,{},{mm}\n", n * 30)).collect();
        format!("bore,depth_mm,angle_deg,reading_mm\n{rows}")
    };
    let ring = [
        "--ring",
        "46",
        "--seat",
        "pressfit-46",
        "--resolution",
        "0.001",
    ];
    let of = |mm: f64, more: &[&str]| json(&round(mm), &[&ring[..], more].concat());
    let sentence = "the ring's uncertainty is not stated and counts as ± 0.010 mm";
    let said = |profile: &Value| {
        let withheld = profile["bores"][0]["sections"][0]["withheld"].as_array();
        let mut withheld = withheld.unwrap().iter();
        let found = withheld.find(|of| of["field"] == "uncertainty.setting_ring");
        found.is_some_and(|of| of["why"].as_str().unwrap().contains(sentence))
    };
    let size = |profile: &Value| profile["verdicts"][0]["size"].clone();
    let unknown = of(45.993, &[]);
    assert!(said(&unknown));
    assert_eq!(size(&unknown)["decision"], "cant_tell");
    assert!(size(&unknown)["why"].as_str().unwrap().contains(sentence));
    let standard = &unknown["bores"][0]["sections"][0]["uncertainty"]["mean_diameter_mm"];
    assert!(standard["standard"].as_f64().unwrap() > 0.005);
    let known = of(45.993, &["--ring-uncertainty", "0.001"]);
    assert!(!said(&known));
    assert_eq!(size(&known)["decision"], "conforms");
    assert_eq!(size(&of(46.02, &[]))["decision"], "does_not_conform");
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

/// The bench's bounds: -20 to 60 °C, known to within 20 K, a ring to within 0.1 mm.
#[test]
fn what_no_bench_has_is_refused() {
    for (arguments, sentence) in [
        (
            &["--temperature", "1e9", "--material", "steel"][..],
            "--temperature: temperatures lie between -20 and 60 °C",
        ),
        (
            &["--temperature", "20,-300", "--material", "steel"],
            "--temperature: temperatures lie between -20 and 60 °C",
        ),
        (
            &["--temperature", "20", "--temperature-uncertainty", "21"],
            "known to within 20 K",
        ),
        (
            &["--ring-uncertainty", "5"],
            "--ring-uncertainty: a ring's uncertainty lies between 0 and 0.1 mm",
        ),
    ] {
        let rows = SWEPT.replace("23.0", "46.0");
        let output = profile(&rows, &[&["--ring", "46"], arguments].concat());
        let said = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(2), "{said}");
        assert!(said.contains(sentence), "{said}");
    }
}

/// Readings from 7 to 17 µm are no bores of 46 mm, and 7 to 17 µm from the ring whatever their signs.
/// The radius of another ring contradicts the ring.
#[test]
fn deviations_are_said_to_be_such_and_count_from_the_ring() {
    let rows = "bore,depth_mm,angle_deg,reading_mm\na,5,0,0.007\na,5,45,0.012\na,5,90,0.017\na,5,135,0.012\n";
    let ring = ["--ring", "46", "--ring-uncertainty", "0.001"];
    let with = |more: &[&str]| profile(rows, &[&ring[..], more].concat());
    for (more, sentence) in [
        (
            &[][..],
            "where they are deviations, say so with --deviations-from",
        ),
        (
            &["--deviations-from", "20"],
            "--deviations-from 20 and --ring 46 contradict each other",
        ),
    ] {
        let output = with(more);
        let said = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(2), "{said}");
        assert!(said.contains(sentence), "{said}");
    }
    for from in ["unknown", "23"] {
        let profile = json(rows, &[&ring[..], &["--deviations-from", from]].concat());
        let section = &profile["bores"][0]["sections"][0];
        let mean = section["mean_diameter_mm"].as_f64().unwrap();
        assert!((mean - 46.012).abs() < 1e-9, "{mean}");
        assert_eq!(section["size_set"], true);
    }
    let far = rows.replace("0.0", "3.0");
    let output = profile(
        &far,
        &[&ring[..], &["--deviations-from", "unknown"]].concat(),
    );
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(2), "{said}");
    assert!(
        said.contains("deviations of about 3.012 mm are more than the 2 mm"),
        "{said}"
    );
    // A seat says its size too.
    let output = profile(rows, &["--seat", "pressfit-46"]);
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(2), "{said}");
    assert!(said.contains("where 46 mm are due"), "{said}");
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
        (
            "two-point",
            40.02,
            Some("46.001"),
            "readings of about 40.02 mm where 46 mm are due differ by more than the 2 mm of diameter that can belong: check the ring's mark, or, where they are deviations, say so with --deviations-from",
        ),
        (
            "radius",
            21.9,
            None,
            "readings of about 21.9 mm where 23 mm are due differ",
        ),
        ("two-point", 0.011, None, "say so with --deviations-from"),
        ("radius", 0.011, None, "say so with --deviations-from"),
    ] {
        let said = refused(contact, mm, shown).unwrap();
        assert!(said.contains(sentence), "{said}");
    }
}
