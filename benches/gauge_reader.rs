//! Bytes to readings, next to the least that any reader of such lines would do: split at line ends
//! and parse the number as a double.

#![allow(clippy::unwrap_used, reason = "a bench may stop where it stands")]

use std::sync::Arc;

use borewright::gauge::{Content, Description, Reader};
use borewright::units::{Length, LengthUnit};

fn main() {
    divan::main();
}

const FRAMES: usize = 10_000;

fn stream(form: &Description) -> Vec<u8> {
    let size = |i: usize| Length::from_decimal(459_000 + i as i64 % 1_000, 4, LengthUnit::Mm);
    (0..FRAMES)
        .flat_map(|i| form.encode(size(i).unwrap()).unwrap())
        .collect()
}

/// As a serial driver hands the bytes on: in chunks of 64.
#[divan::bench]
fn reader(bencher: divan::Bencher<'_, '_>) {
    let form = Arc::new(Description::named("plain-mm", None).unwrap());
    let stream = stream(&form);
    bencher
        .counter(divan::counter::ItemsCount::new(FRAMES))
        .bench_local(|| {
            let mut reader = Reader::new(form.clone());
            let mut contents = Vec::with_capacity(FRAMES);
            for chunk in stream.chunks(64) {
                reader.push(chunk, &mut contents);
            }
            assert!(matches!(contents.last(), Some(Content::Reading { .. })));
            contents.len()
        });
}

#[divan::bench]
fn split_and_parse(bencher: divan::Bencher<'_, '_>) {
    let form = Description::named("plain-mm", None).unwrap();
    let stream = stream(&form);
    bencher
        .counter(divan::counter::ItemsCount::new(FRAMES))
        .bench_local(|| {
            let text = std::str::from_utf8(&stream).unwrap();
            let numbers = text
                .lines()
                .map(|line| line.trim_end_matches(" mm").parse::<f64>().unwrap());
            numbers.fold(0.0, f64::max)
        });
}
