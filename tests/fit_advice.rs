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

/// 45.930 mm is under 45.950; the form limit is 0.025 mm.
#[test]
fn a_shop_without_the_reamer_is_told_which_would_help() {
    let under = shell(|_, _| 45.93);
    let cut = ["--material", "aluminium", "--wall", "3"];
    let json = fit(&under, &[&SHELL, &cut], "");
    let plan = &json["bores"][0]["plan"];
    assert_eq!(plan["advice"], "refer");
    let why = plan["why"].as_str().unwrap();
    assert!(
        why.starts_with(
            "nothing else that can be judged yet is left that the numbers allow: drive side at"
        ),
        "{why}"
    );
    assert!(
        why.ends_with("describe a reamer that brings it to size, then reaming can be judged"),
        "{why}"
    );
    let wanted = "no reamer is described: one that cuts 45.959 to 45.991 mm would bring it to size";
    assert_eq!(option(&json, "ream")["refused"], wanted);
    // An arc of an oval that stays uncut keeps to the form limit: 46.005 less 0.025 mm.
    let oval = shell(|_, angle| 45.975 + 0.030 * (2.0 * (angle - 30.0)).to_radians().cos());
    let json = fit(&oval, &[&SHELL, &cut], "");
    let refused = option(&json, "ream")["refused"].as_str().unwrap();
    assert!(
        refused.contains("45.98") && refused.contains("to 45.99"),
        "{refused}"
    );
    // Where nothing may be cut, no reamer is asked for.
    for shell in [&["--material", "laminate"][..], &["--material", "steel"]] {
        let json = fit(&under, &[&SHELL, shell], "");
        let options = json["bores"][0]["plan"]["options"].as_array().unwrap();
        assert!(options.iter().all(|option| option["work"] != "ream"));
    }
    let over = shell(|_, _| 46.04);
    let shop = "[[compound]]\nname = \"C\"\nleast_gap_mm = 0.0\ngreatest_gap_mm = 0.15\n";
    let json = fit(&over, &[&SHELL, &cut], shop);
    let why = json["bores"][0]["plan"]["why"].as_str().unwrap();
    assert!(
        why.ends_with("name and measure the insert, then bonding can be judged"),
        "{why}"
    );
    assert!(!why.contains("nothing else is left"), "{why}");
}

/// A sleeve that the numbers allow is judged and open: it is only not advised while a reamer may do.
#[test]
fn an_open_sleeve_is_not_said_to_be_not_judged_or_not_allowed() {
    let under = shell(|_, _| 45.93);
    let cut = ["--material", "steel", "--wall", "4"];
    for (sleeve_mm, open) in [("1.0", true), ("3.0", false)] {
        let json = fit(
            &under,
            &[&SHELL, &cut],
            &format!("sleeve_wall_mm = {sleeve_mm}\n"),
        );
        let plan = &json["bores"][0]["plan"];
        assert_eq!(plan["advice"], "refer");
        assert_eq!(option(&json, "sleeve")["refused"].is_null(), open);
        let why = plan["why"].as_str().unwrap();
        let said = if open {
            "no other work is advised yet: "
        } else {
            "nothing else that can be judged yet is left that the numbers allow: "
        };
        assert!(why.starts_with(said), "{why}");
        assert!(why.ends_with("then reaming can be judged"), "{why}");
    }
}

#[test]
fn what_pressing_would_come_to_agrees_with_the_fit() {
    let press = |bore: f64, insert: &str| {
        let cut = [
            "--material",
            "aluminium",
            "--wall",
            "3",
            "--insert-diameter",
            insert,
        ];
        let json = fit(&shell(|_, _| bore), &[&SHELL, &CUP, &cut], "");
        option(&json, "press")["refused"]
            .as_str()
            .unwrap()
            .to_owned()
    };
    let squeezed = press(46.04, "46.10");
    assert!(
        squeezed.ends_with("the bearing would be squeezed"),
        "{squeezed}"
    );
    let held = press(46.04, "46.05");
    assert!(held.ends_with("it has 0.010 mm of interference"), "{held}");
    assert!(press(46.04, "46.02").ends_with("it would sit loose"));
    assert!(press(45.93, "45.90").ends_with("it would sit loose"));
    assert!(press(45.93, "46.00").ends_with("the bearing would be squeezed"));
    assert!(press(45.93, "45.93").ends_with("whether it holds can't be told"));
}

/// A turned seat loses 5 to 7 µm (bearing catalogue): of 10 µm 3 are left, less than is known.
#[test]
fn what_is_pressed_smooth_holds_nothing() {
    let clean = shell(|_, _| 45.975);
    let known = [
        "--material",
        "aluminium",
        "--wall",
        "3",
        "--finish",
        "turned",
        "--service-from",
        "-20",
        "--service-to",
        "60",
    ];
    let at = |insert: &str| {
        let args = [&known[..], &["--insert-diameter", insert]].concat();
        let json = fit(&clean, &[&SHELL, &CUP, &args], "");
        let (_, words) = run(&clean, &[&SHELL, &CUP, &args], "");
        assert!(
            !words.contains("-0.0 ") && !words.contains("-0 to"),
            "{words}"
        );
        json
    };
    let json = at("45.985");
    let fit = &json["bores"][0]["fit"];
    assert_eq!(fit["meets"], "cant_tell");
    assert!(fit["service"][1]["meets"] != "interference", "{fit}");
    let why = json["bores"][0]["plan"]["why"].as_str().unwrap();
    assert!(
        why.contains("pressing smooths 0.005 to 0.007 mm of it away: whether it holds"),
        "{why}"
    );
    assert!(why.contains("too little to tell whether it holds"), "{why}");
    let least = &fit["raceway_contraction_mm"]["least"];
    assert!(!least.as_f64().unwrap().is_sign_negative(), "{least}");
    // With more of it, what is left is said less what is smoothed, and the cold clearance with it.
    let json = at("46.000");
    let reasons = option(&json, "press")["reasons"].to_string();
    assert!(
        reasons.contains("pressing smooths 0.005 to 0.007 mm of it away"),
        "{reasons}"
    );
    assert!(
        reasons.contains("at 60 °C 0.018 mm of it is left"),
        "{reasons}"
    );
    assert!(
        reasons.contains("at -20 °C ") && reasons.contains("clearance is left on average"),
        "{reasons}"
    );
}

#[test]
fn a_reamed_seat_is_told_with_its_fit_and_what_stays_open() {
    let oval = shell(|_, angle| 45.975 + 0.030 * (2.0 * (angle - 30.0)).to_radians().cos());
    let known = [
        "--material",
        "aluminium",
        "--wall",
        "3",
        "--insert-diameter",
        "46.02",
    ];
    let shop = "[[reamer]]\nname = \"R\"\ndiameter_mm = 45.98\n";
    let json = fit(&oval, &[&SHELL, &CUP, &known], shop);
    let plan = &json["bores"][0]["plan"];
    assert_eq!(plan["advice"], "ream");
    let why = plan["why"].as_str().unwrap();
    assert!(
        why.ends_with("whether it then conforms can't be told"),
        "{why}"
    );
    let reasons = option(&json, "ream")["reasons"].to_string();
    assert!(
        reasons.contains("has 0.03") && reasons.contains("mm of interference"),
        "{reasons}"
    );
    assert!(
        reasons.contains("of internal clearance where it is tightest"),
        "{reasons}"
    );
}

/// By hand: where a reamer of 45.985 mm runs 0.02 mm off, one end of each diameter lies at 23.0125 mm and the
/// other stays as it is, 22.9925 mm on average: 46.005 mm, and 46.000 is allowed. Held to 0.002 mm it cuts
/// 22.9945 mm there, under the limit.
#[test]
fn the_advice_to_ream_says_that_off_the_axis_the_seat_may_come_out_too_large() {
    let oval = shell(|_, angle| 45.985 + 0.015 * (2.0 * (angle - 30.0)).to_radians().cos());
    let known = ["--material", "aluminium", "--wall", "3"];
    for (off, over) in [("0.02", true), ("0.002", false)] {
        let shop =
            format!("off_centre_mm = {off}\n[[reamer]]\nname = \"R\"\ndiameter_mm = 45.985\n");
        let json = fit(&oval, &[&SHELL, &known], &shop);
        let plan = &json["bores"][0]["plan"];
        assert_eq!(plan["advice"], "ream", "{plan}");
        let why = plan["why"].as_str().unwrap();
        let reasons = option(&json, "ream")["reasons"].to_string();
        assert_eq!(reasons.matches("off the axis").count(), 1, "{reasons}");
        let said = "run 0.02 mm off the axis it leaves a mean of 46.005 mm at most, 0.005 mm over the \
                    upper limit";
        assert_eq!(why.contains(said), over, "{why}");
        assert_eq!(why.contains("off the axis"), over, "{why}");
    }
}

/// 46.2 less 46.0 mm is 0.2 over the limit, for an insert that no press fit of this seat takes.
#[test]
fn no_seat_is_cut_far_beyond_its_size_where_another_reamer_would_mend_it() {
    let under = shell(|_, _| 45.93);
    let known = [
        "--material",
        "aluminium",
        "--wall",
        "3",
        "--insert-diameter",
        "46.10",
    ];
    let shop = "[[reamer]]\nname = \"R\"\ndiameter_mm = 46.2\ngreatest_stock_mm = 0.5\n\
                [[compound]]\nname = \"C\"\nleast_gap_mm = 0.0\ngreatest_gap_mm = 0.15\n";
    let json = fit(&under, &[&SHELL, &CUP, &known], shop);
    assert_eq!(json["bores"][0]["plan"]["advice"], "refer");
    let bonded = option(&json, "ream_and_bond")["reasons"][0]
        .as_str()
        .unwrap();
    assert!(
        bonded.ends_with("it leaves the seat 0.200 mm over its limit"),
        "{bonded}"
    );
    let wanted = option(&json, "ream")["refused"].as_str().unwrap();
    assert!(
        wanted.contains("one that cuts 45.959 to 45.991 mm would"),
        "{wanted}"
    );
}

/// A spot of 0.03 mm and 15° half-width in a wall swept once: cut to 45.975 mm the deepest cut is
/// 0.0231 mm about the least-squares centre (brute force over 3600 points, apart from the program).
#[test]
fn a_narrow_spot_swept_once_is_cut_as_deep_as_it_stands_in() {
    let mut csv = "bore,depth_mm,angle_deg,reading_mm\n".to_owned();
    for depth in [2.5, 6.0, 9.5] {
        for at in 0..36_u32 {
            let angle = f64::from(at) * 10.0;
            let spot = 0.03 * (-((angle - 90.0) / 15.0).powi(2)).exp();
            let _ = writeln!(csv, "drive side,{depth},{angle},{:.4}", 22.99 - spot);
        }
    }
    let known = [
        "--material",
        "aluminium",
        "--wall",
        "3",
        "--insert-diameter",
        "46.02",
        "--contact",
        "radius",
    ];
    let shop = "[[reamer]]\nname = \"R\"\ndiameter_mm = 45.975\n";
    let json = fit(&csv, &[&SHELL, &CUP, &known], shop);
    let ream = option(&json, "ream");
    let deepest = ream["predicted"]["reamed"]["deepest_cut_mm"]
        .as_f64()
        .unwrap();
    assert!((deepest - 0.0231).abs() < 0.0005, "{deepest}");
    let spread = json["bores"][0]["fit"]["spread_round_mm"].as_f64().unwrap();
    assert!((spread - 0.030).abs() < 0.002, "{spread}");
    assert!(
        ream["reasons"].to_string().contains("sweep a second turn"),
        "{ream}"
    );
}
