//! `borewright study`, and what `profile` makes of it.
#![allow(clippy::unwrap_used, reason = "a test says what failed by failing")]

use std::process::Command;

use serde_json::Value;

fn run(arguments: &[&str]) -> (Option<i32>, String, String) {
    let output = Command::new(env!("CARGO_BIN_EXE_borewright"))
        .args(arguments)
        .output()
        .unwrap();
    (
        output.status.code(),
        String::from_utf8(output.stdout).unwrap(),
        String::from_utf8(output.stderr).unwrap(),
    )
}

/// The published study of 10 parts, 3 operators, 3 trials (MSA manual, 4th edition).
#[test]
fn a_crossed_study_from_a_file() {
    let file = concat!(env!("CARGO_MANIFEST_DIR"), "/fixtures/study/grr_10x3x3.csv");
    let (code, out, _) = run(&["study", file, "--json", "--tolerance", "6"]);
    assert_eq!(code, Some(0));
    let study: Value = serde_json::from_str(&out).unwrap();
    let crossed = &study["crossed"];
    assert!((crossed["average_range"]["grr_mm"].as_f64().unwrap() - 0.3058).abs() < 5e-5);
    assert_eq!(crossed["average_range"]["ndc"], 5);
    assert_eq!(crossed["anova"]["ndc"], 4);
    let (_, text, _) = run(&["study", file]);
    assert!(text.contains("analysis of variance"));
}

/// Three directions take up the whole fit, so that only the gauge's study can say how uncertain
/// the mean is: by hand, s/√3 of three readings.
#[test]
fn a_sparse_section_takes_its_scatter_from_the_study() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let repeats: String = (0..10)
        .map(|n| format!("46.00{}\n", if n % 2 == 0 { 1 } else { 3 }))
        .collect();
    std::fs::write(path("repeats.csv"), format!("reading_mm\n{repeats}")).unwrap();
    let (code, out, error) = run(&["study", &path("repeats.csv"), "--json", "--reference", "46"]);
    assert_eq!(code, Some(0), "{error}");
    std::fs::write(path("study.json"), out).unwrap();
    std::fs::write(
        path("readings.csv"),
        "bore,depth_mm,angle_deg,reading_mm\na,3,0,46.000\na,3,60,46.030\na,3,120,46.010\n",
    )
    .unwrap();

    let section = |more: &[&str]| {
        let readings = path("readings.csv");
        let (code, out, error) = run(&[&["profile", &readings, "--json"], more].concat());
        assert_eq!(code, Some(0), "{error}");
        let profile: Value = serde_json::from_str(&out).unwrap();
        profile["bores"][0]["sections"][0]["uncertainty"]["mean_diameter_mm"].clone()
    };
    assert_eq!(section(&[]), Value::Null);
    let with = section(&["--study", &path("study.json")]);
    let expected = 0.001 * (10.0_f64 / 9.0).sqrt() / 3.0_f64.sqrt();
    assert!((with["standard"].as_f64().unwrap() - expected).abs() < 1e-9);
    assert!((with["degrees_of_freedom"].as_f64().unwrap() - 9.0).abs() < 1e-9);
}

#[test]
fn too_few_repeats_are_no_study() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("few.csv");
    std::fs::write(&file, "reading_mm\n46.001\n46.002\n").unwrap();
    let (code, _, error) = run(&["study", file.to_str().unwrap()]);
    assert_eq!(code, Some(2));
    assert!(
        error.contains("repeats of 10 or more are needed, and there are 2; gauge on"),
        "{error}"
    );
}

#[test]
fn a_study_in_two_units_is_refused_with_the_line() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("study.csv");
    let rows = "reading_mm\n46.001\n46.002\n1.811\n46.001\n";
    std::fs::write(&file, rows).unwrap();
    let (code, _, said) = run(&["study", file.to_str().unwrap()]);
    assert_eq!(code, Some(2));
    assert!(said.contains("line 4"), "{said}");
    assert!(said.contains("millimetres and inches are mixed"), "{said}");
}

/// A ring of 46 mm read in inches, 46 / 25.4 = 1.811: in a column of millimetres it is refused by
/// name, in its own it is the same study.
#[test]
fn a_study_wholly_in_inches_is_named_and_read_from_its_own_column() {
    let folder = tempfile::tempdir().unwrap();
    let study = |header: &str, more: &[&str]| {
        let file = folder.path().join("study.csv");
        let rows: String = (0..10)
            .map(|n| format!("{}\n", ["1.8111", "1.8110"][n % 2]))
            .collect();
        std::fs::write(&file, format!("{header}\n{rows}")).unwrap();
        run(&[&["study", file.to_str().unwrap(), "--json"], more].concat())
    };
    let (code, _, said) = study("reading_mm", &["--reference", "46"]);
    assert_eq!(code, Some(2));
    let sentence = "readings of about 1.8111 mm where 46 mm are due: these look like inches: name the column reading_in";
    assert!(said.contains(sentence), "{said}");
    let (code, out, said) = study("reading_in", &["--reference", "46"]);
    assert_eq!(code, Some(0), "{said}");
    let found: Value = serde_json::from_str(&out).unwrap();
    let mean = found["short"]["mean_mm"].as_f64().unwrap();
    assert!((mean - 1.81105 * 25.4).abs() < 1e-9, "{mean}");
    let (code, _, said) = study("reading_in", &["--reference", "1.811"]);
    assert_eq!(code, Some(2));
    assert!(said.contains("one of the two looks like inches"), "{said}");
    let (code, _, said) = study("reading_mm,reading_in", &[]);
    assert_eq!(code, Some(2));
    assert!(said.contains("both there, and only one may be"), "{said}");
}

#[test]
fn so_is_a_crossed_one() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("study.csv");
    let mut rows = "operator,part,reading_mm\n".to_owned();
    for operator in ["a", "b"] {
        for part in 0..3 {
            for trial in 0..2 {
                rows += &format!("{operator},{part},1.81{part}{trial}\n");
            }
        }
    }
    std::fs::write(&file, &rows).unwrap();
    let path = file.to_str().unwrap();
    let (code, _, said) = run(&["study", path, "--reference", "46"]);
    assert_eq!(code, Some(2));
    assert!(said.contains("name the column reading_in"), "{said}");
    std::fs::write(&file, rows.replace("reading_mm", "reading_in")).unwrap();
    let (code, _, said) = run(&["study", path, "--reference", "46"]);
    assert_eq!(code, Some(0), "{said}");
}

/// By hand: 23.001 and 23.003 in turn, ten times, have s = √(10/9) µm and a bias of 2 µm against 23;
/// 25 µm of the diameter are 12.5 µm of the radius. Cg = 0.2 x 12.5 / (6 s) = 0.3953, half of what the
/// whole tolerance would give, and Cgk = (1.25 - 2) / (3 s) = -0.2372.
#[test]
fn the_tolerance_of_a_diameter_is_halved_for_a_gauge_that_reads_radii() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("study.csv");
    let rows: String = (0..10)
        .map(|n| format!("{}\n", ["23.001", "23.003"][n % 2]))
        .collect();
    std::fs::write(&file, format!("reading_mm\n{rows}")).unwrap();
    let study = |more: &[&str]| {
        let path = file.to_str().unwrap();
        let judged = ["study", path, "--tolerance", "0.025", "--reference", "23"];
        let (code, out, said) = run(&[&judged, more].concat());
        assert_eq!(code, Some(0), "{said}");
        out
    };
    let found: Value = serde_json::from_str(&study(&["--json", "--contact", "radius"])).unwrap();
    assert_eq!(found["contact"], "radius");
    let near = |field: &str, expected: f64| {
        let value = found["short"][field].as_f64().unwrap();
        assert!((value - expected).abs() < 1e-6, "{field}: {value}");
    };
    near("cg", 0.395_284_7);
    near("cgk", -0.237_170_8);
    assert_eq!(found["short"]["withheld"], Value::Null);
    let text = study(&["--contact", "radius"]);
    assert!(text.contains("Cg 0.40"), "{text}");
    assert!(text.contains("counts half"), "{text}");
    assert!(study(&[]).contains("Cg 0.79"));
}

#[test]
fn why_there_is_no_cg_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("study.csv");
    let study = |second: &str, more: &[&str]| {
        let rows: String = (0..12)
            .map(|n| format!("{}\n", ["46.00", second][n % 2]))
            .collect();
        std::fs::write(&file, format!("reading_mm\n{rows}")).unwrap();
        let path = file.to_str().unwrap();
        let (code, out, said) = run(&[&["study", path, "--tolerance", "0.025"], more].concat());
        assert_eq!(code, Some(0), "{said}");
        out
    };
    let same = "no Cg and no Cgk: all readings are the same";
    assert!(study("46.00", &["--reference", "46"]).contains(same));
    let found: Value = serde_json::from_str(&study("46.00", &["--json"])).unwrap();
    let why = found["short"]["withheld"].as_str().unwrap();
    assert!(why.contains("finer digit step"), "{why}");
    let text = study("46.01", &[]);
    assert!(text.contains("no Cgk: "), "{text}");
    assert!(text.contains("--reference"), "{text}");
}

fn one_part(readings: &str, more: &[&str]) -> (Option<i32>, String, String) {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("study.csv");
    std::fs::write(&file, format!("reading_mm\n{}", readings.repeat(25))).unwrap();
    run(&[&["study", file.to_str().unwrap()], more].concat())
}

/// By hand: 25 readings of 46.000 at a step of 1 µm are known to 1.96/√12 = 0.566 µm, so that 0.4 µm
/// is no bias, and 0.7 µm is one by a ring that is certain, not by one known to ± 0.5 µm.
#[test]
fn a_bias_within_the_digit_asks_for_no_setting() {
    let said = |more: &[&str]| {
        let (code, out, said) = one_part("46.000\n", more);
        assert_eq!(code, Some(0), "{said}");
        out
    };
    let none = "no more than chance gives";
    let out = said(&["--reference", "46.0004"]);
    assert!(out.contains("-0.40 ± 0.57 µm, no more"), "{out}");
    let out = said(&["--reference", "46.0007"]);
    assert!(out.contains("set the gauge again"), "{out}");
    let out = said(&[
        "--reference",
        "46.0007",
        "--reference-uncertainty",
        "0.0005",
    ]);
    assert!(out.contains(none), "{out}");
    let (code, _, why) = one_part("46.000\n", &["--reference", "23"]);
    assert_eq!(code, Some(2));
    assert!(
        why.contains("where --reference says 23 mm differ by more than 2 mm"),
        "{why}"
    );
}

#[test]
fn one_operator_shows_no_interaction_of_operators() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("study.csv");
    let rows = "part,reading_mm\na,46.001\na,46.002\nb,46.010\nb,46.012\nc,46.021\nc,46.020\n";
    std::fs::write(&file, rows).unwrap();
    let (code, out, said) = run(&["study", file.to_str().unwrap()]);
    assert_eq!(code, Some(0), "{said}");
    assert!(out.contains("3 parts, 1 operator, 2 trials"), "{out}");
    assert!(!out.contains("interaction"), "{out}");
}
