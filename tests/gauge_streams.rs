//! Byte logs of gauges, each replayed in several chunkings and compared to what stands beside it.
//! `fixtures/streams/README.md` says how to add one.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a test may stop where it stands"
)]

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

use borewright::gauge::{Content, Description, Reader};
use serde::Deserialize;

#[derive(Deserialize)]
struct Chunk {
    /// Of what `listen` writes only the bytes as they came; lines made by hand leave it out.
    #[serde(default = "bytes")]
    kind: String,
    since_start_ms: f64,
    hex: String,
}

fn bytes() -> String {
    "bytes".to_owned()
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Fixture {
    about: String,
    form: String,
    expected: Vec<Expected>,
}

#[derive(Deserialize)]
#[serde(untagged, deny_unknown_fields)]
enum Expected {
    Reading {
        reading: Option<String>,
        value_mm: f64,
        raw_hex: Option<String>,
    },
    Noise {
        noise: Option<String>,
        why: String,
    },
}

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/streams")
}

/// Time and bytes of each chunk.
fn log(path: &Path) -> Vec<(f64, Vec<u8>)> {
    let bytes = |hex: &str| {
        let pairs = hex.as_bytes().chunks(2);
        pairs
            .map(|p| u8::from_str_radix(std::str::from_utf8(p).unwrap(), 16).unwrap())
            .collect()
    };
    let text = std::fs::read_to_string(path).unwrap();
    text.lines()
        .map(|line| serde_json::from_str::<Chunk>(line).unwrap())
        .filter(|chunk| chunk.kind == "bytes")
        .map(|chunk| (chunk.since_start_ms, bytes(&chunk.hex)))
        .collect()
}

/// What a reader makes of the chunks, given the silences between them.
fn replay(form: &Arc<Description>, chunks: &[(f64, Vec<u8>)]) -> Vec<Content> {
    let mut reader = Reader::new(form.clone());
    let mut contents = Vec::new();
    let mut last = 0.0;
    for (at, bytes) in chunks {
        let gap = Duration::from_secs_f64((at - last) / 1e3);
        if reader.patience().is_some_and(|patience| gap >= patience) {
            reader.quiet(&mut contents);
        }
        reader.push(bytes, &mut contents);
        last = *at;
    }
    if reader.patience().is_some() {
        reader.quiet(&mut contents);
    }
    contents
}

fn compare(name: &str, how: &str, contents: &[Content], expected: &[Expected]) {
    for (index, (content, expected)) in contents.iter().zip(expected).enumerate() {
        let place = format!("{name}, {how}, number {}: {content:?}", index + 1);
        match (content, expected) {
            (
                Content::Reading { raw, value },
                Expected::Reading {
                    reading,
                    value_mm,
                    raw_hex,
                },
            ) => {
                assert_eq!(value.mm(), *value_mm, "{place}");
                assert!(
                    reading.as_ref().is_none_or(|text| *text == raw.text()),
                    "{place}"
                );
                assert!(
                    raw_hex.as_ref().is_none_or(|hex| *hex == raw.hex()),
                    "{place}"
                );
            }
            (Content::Noise { raw, why }, Expected::Noise { noise, why: part }) => {
                assert!(
                    noise.as_ref().is_none_or(|text| *text == raw.text()),
                    "{place}"
                );
                assert!(why.contains(part.as_str()), "{place}");
            }
            _ => panic!("{place}: a reading for noise, or noise for a reading"),
        }
    }
    assert_eq!(
        contents.len(),
        expected.len(),
        "{name}, {how}: {contents:?}"
    );
}

#[test]
fn each_log_is_read_as_it_says_beside_it() {
    let mut logs: Vec<PathBuf> = std::fs::read_dir(folder())
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| {
            path.extension()
                .is_some_and(|extension| extension == "ndjson")
        })
        .collect();
    logs.sort();
    assert!(!logs.is_empty());
    for path in logs {
        let beside = std::fs::read_to_string(path.with_extension("json")).unwrap();
        let fixture: Fixture = serde_json::from_str(&beside).unwrap();
        let name = format!(
            "{} ({})",
            path.file_stem().unwrap().display(),
            fixture.about
        );
        let form = match fixture.form.strip_prefix("own:") {
            Some(file) => {
                let text = std::fs::read_to_string(folder().join(file)).unwrap();
                Description::parse(&text, file)
            }
            None => Description::named(&fixture.form, None),
        };
        let form = Arc::new(form.unwrap());
        let recorded = log(&path);
        compare(
            &name,
            "as recorded",
            &replay(&form, &recorded),
            &fixture.expected,
        );

        let single: Vec<_> = recorded
            .iter()
            .flat_map(|(at, bytes)| bytes.iter().map(|byte| (*at, vec![*byte])))
            .collect();
        compare(
            &name,
            "byte by byte",
            &replay(&form, &single),
            &fixture.expected,
        );

        let patience = form.frame.idle.unwrap_or(form.frame.unfinished);
        let silences = recorded.windows(2).any(|pair| {
            let mut reader = Reader::new(form.clone());
            reader.push(&pair[0].1, &mut Vec::new());
            let gap = Duration::from_secs_f64((pair[1].0 - pair[0].0) / 1e3);
            reader.patience().is_some() && gap >= patience
        });
        if !silences {
            let whole: Vec<u8> = recorded.into_iter().flat_map(|(_, bytes)| bytes).collect();
            compare(
                &name,
                "in one piece",
                &replay(&form, &[(0.0, whole)]),
                &fixture.expected,
            );
        }
    }
}
