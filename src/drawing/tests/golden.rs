//! Drawings against those kept in `fixtures/drawings`, element by element.
//!
//! `BOREWRIGHT_UPDATE=1 cargo test --lib drawing::tests::golden` renews them: look at the new ones
//! before they are kept.

use std::path::{Path, PathBuf};

use roxmltree::Document;

use super::cases;
use crate::drawing::{Drawing, Label, Shape, Theme, canvas};

/// How far a thing may have moved, drawing units: less than anyone sees.
const NEAR: f64 = 0.25;

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/drawings")
}

/// What an element means: its kind, what it is, what it says, and its numbers.
#[derive(Debug, PartialEq)]
struct Meaning {
    tag: String,
    role: String,
    text: String,
    numbers: Vec<f64>,
}

/// The numbers of a path or a coordinate, in order.
fn numbers(text: &str) -> Vec<f64> {
    text.split(|c: char| !(c.is_ascii_digit() || matches!(c, '-' | '.')))
        .filter(|number| !number.is_empty())
        .map(|number| number.parse().unwrap())
        .collect()
}

fn meaning(svg: &str) -> Vec<Meaning> {
    let document = Document::parse(svg).unwrap();
    let elements = document.descendants().filter(|node| node.is_element());
    elements
        .map(|node| {
            let of = |name| node.attribute(name).unwrap_or_default();
            let places = [
                "viewBox",
                "d",
                "x",
                "y",
                "cx",
                "cy",
                "r",
                "data-deg",
                "data-factor",
            ];
            Meaning {
                tag: node.tag_name().name().to_owned(),
                role: format!("{} {}", of("class"), of("text-anchor")),
                text: node.text().unwrap_or_default().trim().to_owned(),
                numbers: places.iter().flat_map(|name| numbers(of(name))).collect(),
            }
        })
        .collect()
}

fn differs(now: &Meaning, kept: &Meaning) -> bool {
    let apart = |(a, b): (&f64, &f64)| (a - b).abs() > NEAR;
    (&now.tag, &now.role, &now.text) != (&kept.tag, &kept.role, &kept.text)
        || now.numbers.len() != kept.numbers.len()
        || now.numbers.iter().zip(&kept.numbers).any(apart)
}

#[test]
fn each_drawing_means_what_the_kept_one_means() {
    let update = std::env::var_os("BOREWRIGHT_UPDATE").is_some();
    let mut wrong = Vec::new();
    for (name, drawing) in cases::all() {
        let svg = drawing.svg(Theme::Page).into_string();
        let file = folder().join(format!("{name}.svg"));
        if update {
            std::fs::write(&file, svg.replace("><", ">\n<") + "\n").unwrap();
            continue;
        }
        let kept = std::fs::read_to_string(&file).unwrap_or_else(|why| {
            panic!(
                "{}: {why}; renew the drawings and look at them",
                file.display()
            )
        });
        let (now, kept) = (meaning(&svg), meaning(&kept));
        if now.len() != kept.len() {
            wrong.push(format!(
                "{name}: {} elements, {} kept",
                now.len(),
                kept.len()
            ));
        }
        for (now, kept) in now.iter().zip(&kept).filter(|(a, b)| differs(a, b)) {
            wrong.push(format!("{name}: {now:?}\n  kept: {kept:?}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// A policy without inline style, and no network, find nothing to object to.
#[test]
fn a_drawing_needs_nothing_and_has_no_style_of_its_own() {
    for (name, drawing) in cases::all() {
        for svg in [drawing.svg(Theme::Page).into_string(), drawing.svg_file()] {
            let document = Document::parse(&svg).unwrap();
            for node in document.descendants().filter(|node| node.is_element()) {
                let tag = node.tag_name().name();
                assert!(
                    ["svg", "title", "path", "circle", "g", "text"].contains(&tag),
                    "{name}: {tag}"
                );
                for attribute in node.attributes() {
                    let (key, value) = (attribute.name(), attribute.value());
                    assert!(
                        !key.starts_with("on") && !["style", "href", "src"].contains(&key),
                        "{name}: {key}"
                    );
                    assert!(!value.contains("url("), "{name}: {value}");
                }
            }
        }
    }
}

#[test]
fn equal_input_gives_equal_bytes() {
    let bytes = || -> Vec<String> {
        let drawings = cases::all().into_iter();
        drawings.map(|(_, drawing)| drawing.svg_file()).collect()
    };
    assert_eq!(bytes(), bytes());
}

#[test]
fn every_element_of_a_page_has_an_id_of_its_own() {
    for (name, drawing) in cases::all() {
        let mut keys: Vec<&str> = drawing.items.iter().map(|item| item.key.as_str()).collect();
        let all = keys.len();
        keys.sort_unstable();
        keys.dedup();
        assert_eq!(keys.len(), all, "{name}");
    }
}

fn labels(drawing: &Drawing) -> impl Iterator<Item = &Label> {
    drawing.items.iter().filter_map(|item| match &item.shape {
        Shape::Text(label) => Some(label),
        _ => None,
    })
}

/// By the metrics of the shipped font. A page's own font may be a little wider: its tests look at
/// that.
#[test]
fn labels_are_seen_whole_and_never_touch() {
    for (name, drawing) in cases::all() {
        let [left, top, width, height] = drawing.view;
        let all: Vec<(&str, canvas::Bounds)> = labels(&drawing)
            .map(|label| (label.text.as_str(), label.bounds()))
            .collect();
        assert!(all.len() > 5, "{name}: it explains itself");
        for (index, (text, a)) in all.iter().enumerate() {
            assert!(
                a[0] >= left && a[1] >= top && a[2] <= left + width && a[3] <= top + height,
                "{name}: {text} is cut off: {a:?}"
            );
            for (other, b) in &all[index + 1..] {
                let apart = a[2] <= b[0] || b[2] <= a[0] || a[3] <= b[1] || b[3] <= a[1];
                assert!(apart, "{name}: {text} {a:?} touches {other} {b:?}");
            }
        }
    }
}

#[test]
fn no_path_has_more_points_than_720() {
    for (name, drawing) in cases::all() {
        for item in &drawing.items {
            let points = match &item.shape {
                // A dot is one point though it takes two steps.
                Shape::Path(steps) => {
                    let dots = steps.windows(2).filter(|pair| match pair {
                        [canvas::Step::Move(a), canvas::Step::Line(b)] => a == b,
                        _ => false,
                    });
                    let ends = steps.iter().filter(|s| **s != canvas::Step::Close);
                    ends.count() - dots.count()
                }
                Shape::Circles { at, .. } => at.len(),
                Shape::Text(_) => 1,
            };
            assert!(points <= 722, "{name}: {} has {points}", item.key);
        }
    }
}
