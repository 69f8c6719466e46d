//! A PDF as poppler reads it.

use std::path::Path;
use std::process::Command;

/// Whether poppler's programs are there. Where every part is required, a missing one fails.
pub(crate) fn have_poppler() -> bool {
    let found = ["pdftotext", "pdffonts", "pdfinfo", "pdftoppm"]
        .iter()
        .all(|program| Command::new(program).arg("-v").output().is_ok());
    if !found {
        assert!(
            std::env::var_os("BOREWRIGHT_REQUIRE_ALL").is_none(),
            "poppler-utils is missing"
        );
        eprintln!("skipped: poppler-utils is not installed");
    }
    found
}

/// What `program` prints of `file`, its options before that, where it writes to after it.
pub(crate) fn run(program: &str, options: &[&str], file: &Path, to: &[&str]) -> String {
    let mut command = Command::new(program);
    let output = command.args(options).arg(file).args(to).output().unwrap();
    assert!(
        output.status.success(),
        "{program}: {}",
        String::from_utf8_lossy(&output.stderr)
    );
    String::from_utf8_lossy(&output.stdout).into_owned()
}

/// Its text, as it lies on the page.
pub(crate) fn text(file: &Path) -> String {
    run("pdftotext", &["-layout"], file, &["-"])
}

/// Its pages.
pub(crate) fn count(file: &Path) -> usize {
    let info = run("pdfinfo", &[], file, &[]);
    let pages = info.lines().find_map(|line| line.strip_prefix("Pages:"));
    pages.unwrap().trim().parse().unwrap()
}

/// How many words there are, all of them within left, top, right and bottom, points.
pub(crate) fn words_inside(file: &Path, [left, top, right, bottom]: [f64; 4]) -> usize {
    let boxes = run("pdftotext", &["-bbox"], file, &["-"]);
    let words = boxes
        .lines()
        .filter(|line| line.trim_start().starts_with("<word"));
    let inside = words.map(|line| {
        let value = |name: &str| -> f64 {
            let rest = line.split_once(&format!("{name}=\"")).unwrap().1;
            rest.split_once('"').unwrap().0.parse().unwrap()
        };
        assert!(value("xMin") >= left && value("xMax") <= right, "{line}");
        assert!(value("yMin") >= top && value("yMax") <= bottom, "{line}");
    });
    inside.count()
}
