//! What is advised for invented bores, through the command line: nothing dangerous, nothing that
//! contradicts its own numbers, and what would help where nothing can be done.

#![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]

use std::fmt::Write as _;
use std::process::Command;

use borewright::display::Language;
use serde_json::Value;

const SHELL: [&str; 8] = [
    "--seat",
    "pressfit-46",
    "--ring",
    "46",
    "--ring-uncertainty",
    "0.001",
    "--resolution",
    "0.0001",
];
const CUP: [&str; 4] = ["--insert", "30x42x7", "--cup", "aluminium"];

/// Readings of `bores` at three depths, six directions, each from both ends, with a scatter of
/// half a micrometre.
fn readings(bores: [&str; 2], depths: [f64; 3], diameter: impl Fn(f64, f64) -> f64) -> String {
    let mut csv = "bore,depth_mm,angle_deg,reading_mm\n".to_owned();
    for bore in bores {
        for depth in depths {
            for at in 0..12_u32 {
                let angle = f64::from(at) * 30.0;
                let scatter = 0.0005 * f64::from(at * 7 % 5).mul_add(0.5, -1.0);
                let reading = diameter(depth, angle % 180.0) + scatter;
                let _ = writeln!(csv, "{bore},{depth},{angle},{reading:.4}");
            }
        }
    }
    csv
}

fn shell(diameter: impl Fn(f64, f64) -> f64) -> String {
    readings(["drive side", "non-drive side"], [2.5, 6.0, 9.5], diameter)
}

fn run(csv: &str, args: &[&[&str]], shop: &str) -> (Option<i32>, String) {
    let folder = tempfile::tempdir().unwrap();
    let (file, tools) = (folder.path().join("a.csv"), folder.path().join("shop.toml"));
    std::fs::write(&file, csv).unwrap();
    std::fs::write(&tools, shop).unwrap();
    let out = Command::new(env!("CARGO_BIN_EXE_borewright"))
        .arg("fit")
        .arg(file)
        .args(args.concat())
        .arg("--shop")
        .arg(tools)
        .output()
        .unwrap();
    let text = String::from_utf8(out.stdout).unwrap() + &String::from_utf8(out.stderr).unwrap();
    (out.status.code(), text)
}

/// The answer, every sentence of whose plan and diagnosis has its German.
fn fit(csv: &str, args: &[&[&str]], shop: &str) -> Value {
    let (code, text) = run(csv, &[&args.concat(), &["--json"]], shop);
    assert_eq!(code, Some(0), "{text}");
    let json: Value = serde_json::from_str(&text).unwrap();
    for bore in json["bores"].as_array().unwrap() {
        let plan = &bore["plan"];
        let options = plan["options"].as_array().unwrap().iter();
        let said = options.flat_map(|option| {
            let reasons = option["reasons"].as_array().unwrap().iter();
            reasons.chain([&option["refused"]])
        });
        for english in said.chain([&plan["why"]]).filter_map(Value::as_str) {
            assert!(Language::De.told(english).is_some(), "no German: {english}");
        }
    }
    json
}

fn option<'a>(json: &'a Value, work: &str) -> &'a Value {
    let options = json["bores"][0]["plan"]["options"].as_array().unwrap();
    options
        .iter()
        .find(|option| option["work"] == work)
        .unwrap()
}

/// 46 s6 is +59/+43 µm (ISO 286-2), 24 s6 +48/+35, so H7/s6 has 0.059 and 0.048 mm at most.
#[test]
fn no_interference_beyond_a_press_fit_is_pressed_whatever_is_unknown() {
    let clean = shell(|_, _| 45.975);
    for known in [
        &[&CUP[..], &["--insert-diameter", "46.9"]].concat()[..],
        &[
            &CUP[..],
            &["--insert-diameter", "46.9", "--material", "laminate"],
        ]
        .concat(),
        &[
            "--cup",
            "aluminium",
            "--insert-diameter",
            "46.9",
            "--insert-length",
            "7",
        ],
        &[
            "--cup",
            "polymer",
            "--insert-diameter",
            "46.05",
            "--insert-length",
            "7",
        ],
    ] {
        let json = fit(&clean, &[&SHELL, known], "");
        let plan = &json["bores"][0]["plan"];
        assert_eq!(plan["advice"], "other_insert", "{known:?}: {plan}");
        let refused = option(&json, "press")["refused"].as_str().unwrap();
        assert!(
            refused.contains("0.059 mm that a medium drive fit"),
            "{refused}"
        );
        assert_eq!(json["diagnosis"]["at_fault"], "insert");
    }
    // Nor is an undersize bore reamed for it.
    let tight = shell(|_, _| 45.93);
    let shop = "[[reamer]]\nname = \"R\"\ndiameter_mm = 45.975\n";
    let args = [
        "--insert-diameter",
        "46.9",
        "--material",
        "steel",
        "--wall",
        "3",
    ];
    let json = fit(
        &tight,
        &[&SHELL, &CUP[..2], &["--cup", "polymer"], &args],
        shop,
    );
    assert_ne!(json["bores"][0]["plan"]["advice"], "ream");
}

/// What can't be told of the clearance stands in the advice itself, not only among the reasons.
#[test]
fn the_advice_to_press_says_what_is_unknown_of_the_clearance() {
    let clean = shell(|_, _| 45.975);
    let why = |known: &[&str]| {
        let json = fit(
            &clean,
            &[&SHELL, known, &["--insert-diameter", "46.02"]],
            "",
        );
        let plan = &json["bores"][0]["plan"];
        assert_eq!(plan["advice"], "press");
        plan["why"].as_str().unwrap().to_owned()
    };
    let no_wall = why(&CUP);
    assert!(
        no_wall.contains("turn it in the hand before and after"),
        "{no_wall}"
    );
    let no_bearing = why(&["--cup", "aluminium", "--insert-length", "7"]);
    assert!(
        no_bearing.contains("can't be told, the bearing is not known"),
        "{no_bearing}"
    );
}

/// ISO 492 Normal lets an outer ring of 42 mm deviate by 11 µm, one of 24 mm by 9.
#[test]
fn a_bare_bearing_has_its_own_diameter_and_goes_into_its_cup() {
    let clean = shell(|_, _| 45.975);
    let refused = |args: &[&str], says: &str| {
        let (code, text) = run(&clean, &[&SHELL, args], "");
        assert_eq!(code, Some(2), "{text}");
        let text = text.split_once(": ").map_or(&*text, |(_, text)| text);
        assert!(text.contains(says), "{text}");
    };
    refused(
        &["--insert", "30x42x7", "--insert-diameter", "46.02"],
        "name the cup",
    );
    refused(
        &["--insert", "30x42x7", "--insert-class", "p6"],
        "name the cup",
    );
    refused(
        &[
            "--insert",
            "30x48x7",
            "--cup",
            "steel",
            "--insert-diameter",
            "46.02",
        ],
        "does not go into a cup of 46.020 mm outside",
    );
    refused(
        &[
            "--insert",
            "30x48x7",
            "--cup",
            "steel",
            "--insert-class",
            "p6",
        ],
        "does not go into a cup of 46.034 mm outside",
    );
    let hub = readings(["left", "right"], [1.0, 2.5, 4.0], |_, _| 23.98);
    let seat = [
        "--seat",
        "hub-15x24x5",
        "--ring",
        "24",
        "--ring-uncertainty",
        "0.001",
    ];
    let (code, text) = run(&hub, &[&seat, &["--insert-diameter", "24.9"]], "");
    assert_eq!(code, Some(2), "{text}");
    let json = fit(&hub, &[&seat, &["--insert", "17x24.9x5"]], "");
    assert_eq!(json["bores"][0]["plan"]["advice"], "other_insert");
}
