//! One event as one line, with its check at the end.

use std::fmt::Write as _;
use std::io;

use serde::{Deserialize, Serialize};

use super::finite;

/// What comes before the eight digits of the check.
const BEFORE: &[u8] = br#","check":""#;
/// What comes after them, the line feed apart.
const AFTER: &[u8] = br#""}"#;
/// All of it: `,"check":"0123abcd"}`.
const LENGTH: usize = BEFORE.len() + 8 + AFTER.len();

/// Appends `object` to `text` as one line with its check. On an error `text` is as it was.
///
/// # Errors
///
/// Where a number in it is not finite (JSON has no word for that and would keep a null), or where
/// it isn't an object.
pub(super) fn write(text: &mut String, object: &impl Serialize) -> io::Result<()> {
    finite::check(object).map_err(io::Error::other)?;
    let start = text.len();
    let json = serde_json::to_string(object).map_err(io::Error::other)?;
    let Some(open) = json.strip_suffix('}').filter(|open| open.len() > 1) else {
        return Err(io::Error::other("not an object with at least one member"));
    };
    text.push_str(open);
    let check = crc32fast::hash(&text.as_bytes()[start..]);
    let _ = writeln!(text, r#","check":"{check:08x}"}}"#);
    Ok(())
}

/// Whether `line`, without its line feed, is whole: its check fits what stands before it.
pub(super) fn is_whole(line: &[u8]) -> bool {
    let Some(at) = line.len().checked_sub(LENGTH) else {
        return false;
    };
    let (body, tail) = line.split_at(at);
    let Some(digits) = tail
        .strip_prefix(BEFORE)
        .and_then(|rest| rest.strip_suffix(AFTER))
    else {
        return false;
    };
    read_hex(digits) == Some(crc32fast::hash(body))
}

/// Eight lower-case digits; upper case is not what was written.
fn read_hex(digits: &[u8]) -> Option<u32> {
    digits.iter().try_fold(0_u32, |value, digit| {
        let digit = match digit {
            b'0'..=b'9' => digit - b'0',
            b'a'..=b'f' => digit - b'a' + 10,
            _ => return None,
        };
        Some(value << 4 | u32::from(digit))
    })
}

/// The `seq` of a whole line, without reading all of it where it stands where we write it.
pub(super) fn seq(line: &[u8]) -> Option<u64> {
    #[derive(Deserialize)]
    struct Numbered {
        seq: u64,
    }
    const START: &[u8] = br#"{"schema":"borewright.feed/1","seq":"#;
    if let Some(rest) = line.strip_prefix(START) {
        let digits = rest.iter().take_while(|byte| byte.is_ascii_digit()).count();
        if rest.get(digits) == Some(&b',') {
            return std::str::from_utf8(&rest[..digits]).ok()?.parse().ok();
        }
    }
    serde_json::from_slice::<Numbered>(line)
        .ok()
        .map(|line| line.seq)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[derive(Serialize)]
    struct Sample {
        schema: &'static str,
        seq: u64,
        value_mm: f64,
    }

    fn sample(value_mm: f64) -> Sample {
        Sample {
            schema: "borewright.feed/1",
            seq: 412,
            value_mm,
        }
    }

    /// The check value of CRC-32/ISO-HDLC for the digits 1 to 9 is cbf43926 (the value listed for
    /// the polynomial of IEEE 802.3 in the catalogue of parametrised CRC algorithms).
    #[test]
    fn the_check_is_the_crc_of_ieee_802_3() {
        assert_eq!(crc32fast::hash(b"123456789"), 0xcbf4_3926);
    }

    #[test]
    fn a_line_is_json_and_whole_and_any_changed_bit_shows() {
        let mut text = String::new();
        write(&mut text, &sample(45.963)).unwrap();
        let line = text.strip_suffix('\n').unwrap().as_bytes();
        assert!(line.starts_with(br#"{"schema":"borewright.feed/1","seq":412,"value_mm":45.963,"#));
        assert!(serde_json::from_slice::<serde_json::Value>(line).is_ok());
        assert!(is_whole(line));
        assert_eq!(seq(line), Some(412));
        for byte in 0..line.len() {
            for bit in 0..8 {
                let mut changed = line.to_vec();
                changed[byte] ^= 1 << bit;
                assert!(!is_whole(&changed), "byte {byte} bit {bit}");
            }
        }
    }

    #[test]
    fn the_number_is_found_wherever_it_stands() {
        assert_eq!(seq(br#"{"kind":"x","seq":7}"#), Some(7));
        assert_eq!(seq(br#"{"kind":"x"}"#), None);
    }

    #[test]
    fn what_is_not_finite_is_not_written() {
        let mut text = String::from("before");
        assert!(write(&mut text, &sample(f64::NAN)).is_err());
        assert!(write(&mut text, &sample(f64::INFINITY)).is_err());
        assert_eq!(text, "before");
    }
}
