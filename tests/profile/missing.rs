//! What is missing of a part or can't be so, for `profile` and `fit` alike: a bore, a depth, what is known of the
//! gauge.

use std::process::Command;

use serde_json::Value;

const RING: [&str; 6] = [
    "--seat",
    "pressfit-46",
    "--ring",
    "46",
    "--ring-uncertainty",
    "0.001",
];
const BOTH: [&str; 2] = ["drive side", "non-drive side"];

/// Rows of a bore at these depths, twelve directions each, by the angle.
fn bore(name: &str, depths: &[f64], size: impl Fn(f64) -> f64) -> String {
    let mut rows = String::new();
    for depth in depths {
        for angle in (0..12).map(|turn| f64::from(30 * turn)) {
            rows += &format!("{name},{depth},{angle},{:.3}\n", size(angle));
        }
    }
    rows
}

fn file(bores: &[String]) -> String {
    "bore,depth_mm,angle_deg,reading_mm\n".to_owned() + &bores.concat()
}

/// A command on a file, and on one of the same bores as left: exit code, and all that it says.
fn ran(command: &str, found: &str, left: Option<&str>, more: &[&str]) -> (Option<i32>, String) {
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, rows: &str| {
        let file = folder.path().join(name);
        std::fs::write(&file, rows).unwrap();
        file
    };
    let mut asked = Command::new(env!("CARGO_BIN_EXE_borewright"));
    asked.arg(command).arg(write("found.csv", found));
    if let Some(left) = left {
        asked.arg("--as-left").arg(write("left.csv", left));
    }
    let out = asked.args(RING).args(more).output().unwrap();
    let text = String::from_utf8(out.stdout).unwrap() + &String::from_utf8(out.stderr).unwrap();
    (out.status.code(), text)
}

const DEPTHS: [f64; 3] = [2.5, 6.0, 9.5];
const GAUGE: [&str; 3] = ["--resolution", "0.001", "--strict"];

/// A wall 0.025 mm out of round lies on the limit of 0.025 mm: nobody can tell, whatever is said of the
/// gauge, and least of all where its digit step was left out.
#[test]
fn fit_and_profile_judge_the_same_file_alike() {
    let wall = |low: f64| move |angle: f64| if angle % 180.0 == 30.0 { low } else { 45.980 };
    let study = tempfile::NamedTempFile::new().unwrap();
    let readings = tempfile::NamedTempFile::new().unwrap();
    let in_ring = ["46.000", "46.001", "46.000", "45.999", "46.000"]
        .repeat(3)
        .join("\n");
    std::fs::write(readings.path(), "reading_mm\n".to_owned() + &in_ring + "\n").unwrap();
    let studied = Command::new(env!("CARGO_BIN_EXE_borewright"))
        .args(["study", readings.path().to_str().unwrap(), "--json"])
        .output()
        .unwrap();
    assert!(
        studied.status.success(),
        "{}",
        String::from_utf8_lossy(&studied.stderr)
    );
    std::fs::write(study.path(), studied.stdout).unwrap();
    let study = ["--study", study.path().to_str().unwrap()];
    for (low, code) in [(45.980, 0), (45.955, 1), (45.900, 1)] {
        let rows = file(&BOTH.map(|name| bore(name, &DEPTHS, wall(low))));
        for said in [&[][..], &["--resolution", "0.001"], &study] {
            for command in ["profile", "fit"] {
                let asked = [said, &["--strict"]].concat();
                let (got, text) = ran(command, &rows, None, &asked);
                assert_eq!(got, Some(code), "{command} {said:?} {low}\n{text}");
            }
        }
    }
}

/// What a gauge can't show, or no gauge can, is told by both in the same words, and nobody is sent to gauge
/// on what no gauging settles.
#[test]
fn fit_and_profile_say_alike_what_would_tell() {
    let blind = "a three-point gauge measures no diameter across the bore, and an oval reads as round: \
                 gauge with two points";
    let on_limit = "it lies on the limit: no gauge can tell";
    for (mm, contact, said, advice) in [
        (45.975, "three-point", &[blind][..], "gauge again"),
        (45.950, "three-point", &[blind, on_limit], "gauge again"),
        (45.950, "two-point", &[on_limit], "refer to the maker"),
    ] {
        let rows = file(&BOTH.map(|name| bore(name, &DEPTHS, |_| mm)));
        let more = [&GAUGE[..], &["--contact", contact]].concat();
        for command in ["profile", "fit"] {
            let (code, text) = ran(command, &rows, None, &more);
            assert_eq!(code, Some(1), "{text}");
            for said in said {
                assert!(text.contains(said), "{command} {contact}: {said}\n{text}");
            }
        }
        let (_, text) = ran("fit", &rows, None, &more);
        let lines: Vec<&str> = text.lines().map(str::trim).collect();
        let advised = lines.iter().find_map(|line| line.strip_prefix("advice: "));
        let why = advised.unwrap().strip_prefix(advice).unwrap();
        assert!(why.ends_with(said[0]), "{why}");
        let again = lines.iter().find(|line| line.starts_with("gauge again: "));
        assert!(
            again.is_none_or(|row| !row.contains("raised spot")),
            "{text}"
        );
    }
}

/// One bore of two says nothing of the other.
#[test]
fn a_bore_that_was_not_gauged_is_told_and_is_not_good() {
    let round = |_| 45.975;
    let one = file(&[bore(BOTH[0], &DEPTHS, round)]);
    let both = file(&BOTH.map(|name| bore(name, &DEPTHS, round)));
    for command in ["profile", "fit"] {
        let (code, text) = ran(command, &one, None, &GAUGE);
        assert_eq!(code, Some(1), "{text}");
        assert!(text.contains("non-drive side was not gauged\n"), "{text}");
        assert_eq!(ran(command, &both, None, &GAUGE).0, Some(0));
    }
    let (_, text) = ran("fit", &one, None, &["--resolution", "0.001", "--json"]);
    let json: Value = serde_json::from_str(&text).unwrap();
    assert_eq!(json["not_gauged"], serde_json::json!(["non-drive side"]));
    assert_eq!(json["diagnosis"]["at_fault"], "cant_tell");
    let summary = "It can't be told yet: non-drive side was not gauged.";
    assert_eq!(json["diagnosis"]["summary"], summary);
}

/// As left is asked of every bore that was not shown good as found.
#[test]
fn as_left_misses_no_bore_and_no_depth_that_was_bad() {
    let (bad, good) = (|_| 45.900, |_| 45.975);
    let [drive, _] = BOTH;
    let as_left =
        |found: &[String], left: &[String]| ran("fit", &file(found), Some(&file(left)), &GAUGE);
    let [bad_one, bad_two] = BOTH.map(|name| bore(name, &DEPTHS, bad));
    let [good_one, good_two] = BOTH.map(|name| bore(name, &DEPTHS, good));
    let both_bad = [bad_one, bad_two.clone()];
    // One side of two bad ones.
    let (code, text) = as_left(&both_bad, std::slice::from_ref(&good_one));
    assert_eq!(code, Some(1), "{text}");
    assert!(text.contains("drive side as left: accepted"), "{text}");
    assert!(
        text.contains("non-drive side was not gauged as left"),
        "{text}"
    );
    // Both sides; one of which was good, and left alone.
    let both_good = [good_one.clone(), good_two.clone()];
    let (code, text) = as_left(&both_bad, &both_good);
    assert_eq!(code, Some(0), "{text}");
    assert!(!text.contains("as found"), "{text}");
    let one_good = [good_one.clone(), bad_two];
    assert_eq!(
        as_left(&one_good, std::slice::from_ref(&good_two)).0,
        Some(0)
    );
    // Never gauged before: judged as it is.
    let (code, text) = as_left(
        std::slice::from_ref(&good_one),
        std::slice::from_ref(&good_two),
    );
    assert_eq!(code, Some(0), "{text}");
    let said = "non-drive side as left: accepted\n  non-drive side was not gauged as found";
    assert!(text.contains(said), "{text}");
    // A depth that was bad.
    let part = [bore(drive, &[2.5, 9.5], good), good_two.clone()];
    let (code, text) = as_left(&[bore(drive, &DEPTHS, bad), good_two], &part);
    assert_eq!(code, Some(1), "{text}");
    assert!(
        text.contains("drive side at 6 mm was not gauged as left"),
        "{text}"
    );
}

/// A tenth of a millimetre of depth shows no taper; half of what the seat asks for does.
#[test]
fn no_taper_is_judged_over_a_short_stretch() {
    let [drive, other] = BOTH;
    for (depths, code) in [(&[2.5, 2.6][..], 1), (&[4.0, 10.0], 0), (&[2.5, 6.0], 0)] {
        let rows = file(&[drive, other].map(|name| bore(name, depths, |_| 45.975)));
        let (got, text) = ran("fit", &rows, None, &GAUGE);
        assert_eq!(got, Some(code), "{depths:?}\n{text}");
        let open = "taper is not known over 0.1 mm of depth: gauge from 2.5 to 9.5 mm";
        assert_eq!(text.contains(open), code == 1, "{text}");
    }
}

/// The seat is 12 mm long.
#[test]
fn a_depth_outside_the_seat_is_refused_where_it_stands() {
    for (depth, why) in [
        (-3.0, "from the face inwards: 0 mm or more"),
        (40.0, "40 mm is behind the seat, which is 12 mm long"),
    ] {
        let rows = file(&[bore(BOTH[0], &[6.0, depth], |_| 45.975)]);
        for command in ["profile", "fit"] {
            let (code, text) = ran(command, &rows, None, &[]);
            assert_eq!(code, Some(2), "{text}");
            assert!(text.contains("line 14, column 2 (depth_mm)"), "{text}");
            assert!(text.contains(why), "{text}");
        }
    }
}

/// What can't be so is refused as it is at the bench, by what holds.
#[test]
fn what_cannot_be_so_is_refused() {
    let rows = file(&BOTH.map(|name| bore(name, &DEPTHS, |_| 45.975)));
    let arm = ["--arm-mass", "1", "--arm-centre", "100"];
    let stays = [&arm[..], &["--hang-fitted", "100"]].concat();
    let heavy = [
        "--arm-mass",
        "1000",
        "--arm-centre",
        "100",
        "--hang-fitted",
        "9",
    ];
    let warm_first = ["--service-from", "60", "--service-to", "-20"];
    let hot = ["--service-from", "-20", "--service-to", "300"];
    let refused: [(&[&str], &str); 11] = [
        (&["--tight-towards", "nan"], "an angle lies in [0, 360)"),
        (&["--tight-towards", "1000"], "an angle lies in [0, 360)"),
        (&["--wall", "1e9"], "a wall is 0.3 to 100 mm thick"),
        (&["--wall", "1e-9"], "a wall is 0.3 to 100 mm thick"),
        (&["--yield-strength", "1e300"], "is 10 to 3000 MPa"),
        (&["--roughness-sum", "1e300"], "between 0.01 and 200 µm"),
        (&warm_first, "-60 to 200 °C, the coldest first"),
        (&hot, "-60 to 200 °C, the coldest first"),
        (
            &heavy,
            "no arm on an axle has a moment of more than 100 N·m",
        ),
        (&arm, "an arm alone shows no friction"),
        (&stays, "100°: an arm stays or slips between 0° and 90°"),
    ];
    for (said, why) in refused {
        let (code, text) = ran("fit", &rows, None, said);
        assert_eq!(code, Some(2), "{said:?}\n{text}");
        assert!(text.contains(why), "{text}");
    }
}
