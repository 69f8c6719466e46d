//! Properties of framing and decoding: the same readings from any chunking, no byte lost, bounded
//! memory, no panic on anything, and what the simulated gauge says is what is read.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a test may stop where it stands"
)]

use std::sync::Arc;

use borewright::gauge::{Content, Decoded, Description, Framer, Piece, Reader, Sends};
use borewright::units::{Length, LengthUnit};
use proptest::prelude::*;

fn form(name: &str) -> Arc<Description> {
    Arc::new(Description::named(name, None).unwrap())
}

/// Any that states lengths.
fn any_form() -> impl Strategy<Value = Arc<Description>> {
    let forms = Description::names(None).into_iter().map(|name| form(&name));
    let forms: Vec<_> = forms.filter(|form| form.sends != Sends::Angle).collect();
    prop::sample::select(forms)
}

/// Pieces of streams: whole frames, halves, ends, and bytes of every kind.
fn stream_of(form: &Arc<Description>) -> impl Strategy<Value = Vec<u8>> + use<> {
    let frames = form.clone();
    let frame = (-900_000_i64..900_000).prop_map(move |steps| {
        let (step, decimals) = frames.resolution_decimal;
        let value = Length::from_decimal(steps * step, decimals, frames.unit).unwrap();
        frames.encode(value).unwrap_or_default()
    });
    let half = (frame.clone(), 0_usize..20).prop_map(|(mut frame, length)| {
        frame.truncate(length);
        frame
    });
    let piece = prop_oneof![
        4 => frame,
        1 => half,
        1 => prop::sample::select(vec![b"\r".to_vec(), b"\n".to_vec(), b"\r\n".to_vec()]),
        1 => prop::collection::vec(any::<u8>(), 0..12),
        1 => prop::collection::vec(32_u8..127, 0..200),
    ];
    prop::collection::vec(piece, 0..12).prop_map(|pieces| pieces.concat())
}

fn read(form: &Arc<Description>, chunks: &[&[u8]]) -> Vec<Content> {
    let mut reader = Reader::new(form.clone());
    let mut contents = Vec::new();
    for chunk in chunks {
        reader.push(chunk, &mut contents);
        let most = form.frame.longest + 2 * form.frame.ends.iter().map(Vec::len).max().unwrap();
        assert!(reader.held() <= most, "{} bytes are held", reader.held());
    }
    reader.end(&mut contents);
    contents
}

fn raw(contents: &[Content]) -> Vec<u8> {
    let bytes = contents.iter().flat_map(|content| match content {
        Content::Reading { raw, .. } | Content::Angle { raw, .. } | Content::Noise { raw, .. } => {
            raw.0.clone()
        }
        other => panic!("{other:?} from bytes"),
    });
    bytes.collect()
}

proptest! {
    #[test]
    fn any_chunking_gives_the_same(
        (form, stream) in any_form().prop_flat_map(|form| (Just(form.clone()), stream_of(&form))),
        cuts in prop::collection::vec(any::<prop::sample::Index>(), 0..40),
    ) {
        let whole = read(&form, &[&stream]);
        let mut cuts: Vec<usize> = cuts.iter().map(|cut| cut.index(stream.len() + 1)).collect();
        cuts.extend([0, stream.len()]);
        cuts.sort_unstable();
        let chunks: Vec<&[u8]> = cuts.windows(2).map(|w| &stream[w[0]..w[1]]).collect();
        prop_assert_eq!(&whole, &read(&form, &chunks));
        let single: Vec<&[u8]> = stream.chunks(1).collect();
        prop_assert_eq!(&whole, &read(&form, &single));
    }

    /// The oracle splits at every CR and LF, which is what any of CR, LF and CR LF comes to.
    #[test]
    fn frames_are_what_stands_between_line_ends(stream in stream_of(&form("plain-mm"))) {
        let form = form("plain-mm");
        let mut pieces = Vec::new();
        let mut framer = Framer::new(form.frame.clone(), 0xff);
        framer.push(&stream, |piece| pieces.push(piece));
        pieces.extend(framer.give_up());
        let frames: Vec<&[u8]> = pieces.iter().filter_map(|piece| match piece {
            Piece::Frame(bytes) => Some(&bytes[..]),
            _ => None,
        }).collect();
        let mut lines: Vec<&[u8]> = stream.split(|byte| matches!(byte, b'\r' | b'\n')).collect();
        lines.pop(); // what no end followed is no frame
        lines.retain(|line| !line.is_empty() && line.len() <= form.frame.longest);
        prop_assert_eq!(frames, lines);
    }

    #[test]
    fn every_byte_but_the_ends_comes_out_again_in_order(stream in stream_of(&form("plain-mm"))) {
        let kept: Vec<u8> = stream.iter().copied().filter(|b| !matches!(b, b'\r' | b'\n')).collect();
        prop_assert_eq!(raw(&read(&form("plain-mm"), &[&stream])), kept);
    }

    #[test]
    fn random_bytes_are_survived_and_accounted_for(
        form in any_form(),
        chunks in prop::collection::vec(prop::collection::vec(any::<u8>(), 0..300), 0..30),
    ) {
        let slices: Vec<&[u8]> = chunks.iter().map(Vec::as_slice).collect();
        let out = raw(&read(&form, &slices)).len();
        let ends = chunks.concat().iter().filter(|b| matches!(*b & 0x7f, b'\r' | b'\n')).count();
        let sent: usize = chunks.iter().map(Vec::len).sum();
        prop_assert!(out <= sent && out + ends >= sent, "{sent} in, {ends} ends, {out} out");
    }

    /// What a gauge can show it is read to show, exactly.
    #[test]
    fn what_the_simulated_gauge_says_is_what_is_read(
        form in any_form(), steps in -2_000_000_i64..2_000_000,
    ) {
        let (step, decimals) = form.resolution_decimal;
        let value = Length::from_decimal(steps * step, decimals, form.unit).unwrap();
        let Ok(frame) = form.encode(value) else { return Ok(()) };
        let contents = read(&form, &[&frame]);
        prop_assert_eq!(contents.len(), 1);
        let Content::Reading { value: read, .. } = &contents[0] else {
            return Err(TestCaseError::fail(format!("{:?}", contents[0])));
        };
        prop_assert_eq!(read.mm(), value.mm());
    }

    /// Between two steps it shows the nearer.
    #[test]
    fn a_size_is_rounded_to_the_resolution(form in any_form(), size in 0.0_f64..99.0) {
        let frame = form.encode(Length::from_mm(size).unwrap()).unwrap();
        let Content::Reading { value, .. } = &read(&form, &[&frame])[0] else { panic!() };
        prop_assert!((value.mm() - size).abs() <= form.resolution.mm() / 2.0 + 1e-9);
    }

    /// The oracle is the standard library's own formatting.
    #[test]
    fn plain_mm_is_written_as_the_standard_library_would(tenths_of_a_micron in -99_999_999_i32..99_999_999) {
        let text = format!("{:+010.4} mm\r\n", f64::from(tenths_of_a_micron) / 10_000.0);
        let value = Length::from_decimal(tenths_of_a_micron.into(), 4, LengthUnit::Mm).unwrap();
        prop_assert_eq!(String::from_utf8(form("plain-mm").encode(value).unwrap()).unwrap(), text);
    }

    /// One bad byte in a frame never makes another number of it: the frame is noise, or the
    /// number is the one that was sent, or the byte is another digit or sign, or (in a form whose
    /// number of digits is not fixed) a blank for the first digit: what no reader can see.
    #[test]
    fn a_damaged_frame_is_not_read_as_another_number(
        form in any_form(), steps in 0_i64..9_000, at in any::<prop::sample::Index>(), bad in any::<u8>(),
    ) {
        let (step, decimals) = form.resolution_decimal;
        let value = Length::from_decimal(400_000 + steps * step, decimals, form.unit).unwrap();
        let Ok(mut frame) = form.encode(value) else { return Ok(()) };
        frame.truncate(frame.len() - form.frame.ends[0].len());
        let at = at.index(frame.len());
        let original = frame[at];
        frame[at] = bad;
        if let Decoded::Reading { value: read, .. } = form.decode(&frame) {
            let mask = if form.serial.data_bits == 7 { 0x7f } else { 0xff };
            let bad = bad & mask;
            let digit = original.is_ascii_digit() && bad.is_ascii_digit();
            let sign = matches!(original, b'+' | b'-') && matches!(bad, b'+' | b'-');
            let blank = matches!(bad, b' ' | b'\t' | b'+' | b'-')
                && original.is_ascii_digit()
                && form.name != "plain-mm" && form.name != "plain-mm-stream";
            prop_assert!(
                read == value || digit || sign || blank,
                "{} was read from {:?}", read.mm(), frame.escape_ascii().to_string()
            );
        }
    }
}
