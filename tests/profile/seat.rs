//! What a seat lets say of a bore.

use serde_json::Value;

use crate::{json, profile};

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

/// Bores swept round from one axis at the depths 2, 7 and 12 mm: centre and radius by depth.
fn sweeps(bores: &[(&str, [(f64, f64); 3])]) -> String {
    let mut rows = "bore,depth_mm,angle_deg,reading_mm\n".to_owned();
    for (name, sections) in bores {
        for (depth, (beside, radius)) in [2, 7, 12].into_iter().zip(sections) {
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

/// By hand: diameters of 45.945, 45.97, 45.97 mm at 2, 7, 12 mm lie within pressfit-46's limits from
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
    // 45.945 mm at 2 mm, 45.97 mm from 7 mm on.
    let enters = 2.0 + 5.0 * ((lower - 45.945) / 0.025).clamp(0.0, 1.0);
    assert!(lower < 45.97 && upper > 45.97, "{lower} to {upper}");
    let length = straight["straight_length_mm"].as_f64().unwrap();
    assert!((length - (12.0 - enters)).abs() < 0.1, "{length}");
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
        .find(|line| line.trim_start().starts_with("2 "));
    assert_eq!(centre.unwrap().matches('±').count(), 5, "{said}");

    let one = sweeps(&[("drive side", radii.map(|radius| (0.0, radius)))]);
    let alone = json(&one, &arguments);
    assert_eq!(alone["alignment"], Value::Null);
    let why = alone["withheld"][0]["why"].as_str().unwrap();
    assert_eq!(why, "gauge both drive side and non-drive side");
    assert!(text(&one, &arguments).contains("no coaxiality: gauge both"));
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
