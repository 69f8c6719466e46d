//! The PDF, read back by poppler: text to select, fonts in it, the drawing there, its pages.

use std::path::{Path, PathBuf};
use std::process::Command;

use borewright::display::Language;
use borewright::job::Record;
use borewright::report::{Logo, Paper, Report, Source, Units};
use serde_json::Value;

use crate::poppler::{count, have_poppler, run, text, words_inside};
use crate::support::{KINDS, WAYS, job, style};

const PAPERS: [Paper; 2] = [Paper::A4, Paper::Letter];

fn written(folder: &Path, report: &Report, paper: Paper) -> PathBuf {
    let file = folder.join("report.pdf");
    std::fs::write(&file, report.pdf(paper).unwrap()).unwrap();
    file
}

/// With `BOREWRIGHT_PICTURES=1` the reports stay in `target/report/`, to be looked at.
fn keep(name: &str, pdf: &Path, report: &Report) {
    if std::env::var_os("BOREWRIGHT_PICTURES").is_some() {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("target/report");
        std::fs::create_dir_all(&folder).unwrap();
        std::fs::copy(pdf, folder.join(format!("{name}.pdf"))).unwrap();
        std::fs::write(folder.join(format!("{name}.html")), report.html()).unwrap();
    }
}

#[test]
fn a_clean_job_takes_one_page_and_a_repair_two_with_their_fonts_in_them() {
    if !have_poppler() {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    for (kind, pages) in [("clean", 1), ("no-ring", 1), ("swept", 1), ("repair", 2)] {
        for way in WAYS {
            for paper in PAPERS {
                let report = job(kind).report(way);
                let file = written(folder.path(), &report, paper);
                keep(
                    &format!("{kind}-{:?}-{:?}-{paper:?}", way.0, way.1),
                    &file,
                    &report,
                );
                let info = run("pdfinfo", &[], &file, &[]);
                // Twelve directions of six sections that don't conform, each number in inches and in
                // mm: where words are long, a second page is better than type that nobody reads.
                let most = pages + usize::from(kind == "swept" && way.1 == Units::Inch);
                let taken = count(&file);
                assert!(
                    (pages..=most).contains(&taken),
                    "{kind} {way:?} {paper:?}: {taken}"
                );
                let size = match paper {
                    Paper::A4 => "595.276 x 841.89 pts (A4)",
                    Paper::Letter => "612 x 792 pts (letter)",
                };
                assert!(info.contains(size), "{info}");
                let fonts = run("pdffonts", &[], &file, &[]);
                let fonts: Vec<&str> = fonts.lines().skip(2).collect();
                assert_eq!(fonts.len(), 2, "{fonts:?}");
                for font in fonts {
                    // Columns: name type encoding emb sub uni object ID.
                    let flags: Vec<&str> = font.split_whitespace().rev().take(5).collect();
                    assert!(font.contains("DejaVuSans"), "{font}");
                    assert_eq!(flags[2..5], ["yes", "yes", "yes"], "{font}");
                }
            }
        }
    }
}

/// The same numbers in the same words as in the record, from the text that a reader selects.
#[test]
fn its_text_can_be_selected_and_holds_every_section() {
    if !have_poppler() {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    for kind in KINDS {
        let job = job(kind);
        for (way, mark) in [
            ((Language::En, Units::Mm), "."),
            ((Language::De, Units::Mm), ","),
        ] {
            let text = text(&written(folder.path(), &job.report(way), Paper::A4));
            let text: String = text.replace('\u{a0}', " ");
            let lines: Vec<Vec<&str>> = text
                .lines()
                .map(|line| line.split_whitespace().collect())
                .collect();
            let number =
                |value: &Value| format!("{:.3}", value.as_f64().unwrap()).replace('.', mark);
            let phases = job.json["phases"].as_array().unwrap();
            for section in phases
                .iter()
                .flat_map(|phase| phase["sections"].as_array().unwrap())
            {
                let wanted = [
                    "mean_diameter_mm",
                    "smallest_mm",
                    "largest_mm",
                    "out_of_round_mm",
                ]
                .map(|field| number(&section[field]));
                let depth = section["depth_mm"]
                    .to_string()
                    .trim_end_matches(".0")
                    .replace('.', mark);
                let found = lines.iter().any(|line| {
                    line.contains(&depth.as_str())
                        && wanted.iter().all(|number| line.contains(&number.as_str()))
                });
                assert!(found, "{kind} {depth} {wanted:?}\n{text}");
            }
            let hash = job.hash.clone();
            assert!(
                text.split_whitespace()
                    .collect::<String>()
                    .contains(&hash[..40]),
                "{text}"
            );
        }
    }
}

/// A picture as rows of grey, from the PGM that poppler writes (P5, 8 bits).
fn picture(file: &Path, page: &str) -> (usize, Vec<u8>) {
    let output = Command::new("pdftoppm")
        .args(["-gray", "-r", "300", "-f", page, "-l", page])
        .arg(file)
        .output()
        .unwrap();
    assert!(output.status.success());
    let bytes = output.stdout;
    let mut ends = bytes
        .iter()
        .enumerate()
        .filter(|(_, byte)| **byte == b'\n')
        .map(|(at, _)| at);
    let (_, size, start) = (
        ends.next().unwrap(),
        ends.next().unwrap(),
        ends.next().unwrap(),
    );
    let head = String::from_utf8(bytes[..size].to_vec()).unwrap();
    let width = head
        .lines()
        .last()
        .unwrap()
        .split_whitespace()
        .next()
        .unwrap()
        .parse()
        .unwrap();
    (width, bytes[start + 1..].to_vec())
}

#[test]
fn the_drawing_is_there_and_the_code_can_be_read_from_the_paper() {
    if !have_poppler() {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let job = job("repair");
    let file = written(folder.path(), &job.report(WAYS[0]), Paper::Letter);
    for page in ["1", "2"] {
        let (width, grey) = picture(&file, page);
        let height = grey.len() / width;
        // Within the page's third from the top, where the bore's face is drawn: ink of its lines,
        // and the grey of its band.
        let area: Vec<u8> = (height / 12..height / 2)
            .flat_map(|y| grey[y * width + width / 10..y * width + width / 2].to_vec())
            .collect();
        let share = |is: &dyn Fn(u8) -> bool| {
            let count = area.iter().filter(|grey| is(**grey)).count();
            f64::from(u32::try_from(count).unwrap()) / f64::from(u32::try_from(area.len()).unwrap())
        };
        assert!(
            share(&|grey| grey < 96) > 0.01,
            "page {page} shows no lines"
        );
        assert!(
            share(&|grey| (200..250).contains(&grey)) > 0.01,
            "page {page} shows no band"
        );
    }
    let (width, grey) = picture(&file, "2");
    let mut image =
        rqrr::PreparedImage::prepare_from_greyscale(width, grey.len() / width, |x, y| {
            grey[y * width + x]
        });
    let grids = image.detect_grids();
    let said = grids
        .first()
        .expect("no code was found")
        .decode()
        .unwrap()
        .1;
    assert_eq!(said, format!("job {}\nsha256 {}", job.record.job, job.hash));
}

#[test]
fn the_same_record_gives_the_same_bytes() {
    let job = job("repair");
    let pdf = || job.report(WAYS[0]).pdf(Paper::A4).unwrap();
    assert_eq!(pdf(), pdf());
}

#[test]
fn what_people_write_neither_breaks_it_nor_runs_off_the_page() {
    let mut record: Record = job("repair").record;
    record.part = "🚲 語 \u{202e}\u{0}\n<x> ".repeat(40) + &"W".repeat(500);
    record.notes = vec![record.notes[0].clone(); 60];
    for note in &mut record.notes {
        note.text = "long words ".repeat(30);
    }
    let source = Source {
        record: &record,
        sha256: Some("00"),
    };
    for way in WAYS {
        let report = Report::of(&source, &style(way));
        let pdf = report.pdf(Paper::A4).unwrap();
        if have_poppler() {
            let folder = tempfile::tempdir().unwrap();
            let file = folder.path().join("report.pdf");
            std::fs::write(&file, pdf).unwrap();
            assert!(count(&file) > 2);
            let words = words_inside(&file, [39.0, 25.0, 556.5, 835.0]);
            assert!(words > 500);
        }
    }
}

/// A logo of either kind is on the paper: poppler finds the one picture in it.
#[test]
fn the_shops_logo_is_on_it() {
    if !have_poppler() {
        return;
    }
    let svg = "<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 40 10'>\
               <path d='M0 0H40V10H0Z' fill='#123456'/></svg>";
    let png = tiny_skia::Pixmap::new(8, 4).unwrap().encode_png().unwrap();
    let folder = tempfile::tempdir().unwrap();
    let job = job("clean");
    for bytes in [svg.as_bytes().to_vec(), png] {
        let source = Source {
            record: &job.record,
            sha256: Some(&job.hash),
        };
        let mut style = style(WAYS[0]);
        style.logo = Logo::of(bytes);
        let report = Report::of(&source, &style);
        assert!(
            report
                .html()
                .contains("<img class=\"logo\" src=\"data:image/")
        );
        let file = written(folder.path(), &report, Paper::A4);
        let pictures = run("pdfimages", &["-list"], &file, &[]);
        assert!(pictures.lines().count() > 2, "{pictures}");
        assert_eq!(count(&file), 1);
    }
}
