//! A reading typed by hand, or by a gauge that types like a keyboard.

use crate::units::{Length, LengthUnit};

/// Reads `45.963`, `45,963`, `+45.963 mm` or `1.8095 in`.
///
/// # Errors
/// A sentence that says what was expected.
pub(super) fn parse(text: &str) -> Result<Length, String> {
    let expected = || {
        let shown: String = text.chars().take(24).collect();
        format!("`{shown}` is not a reading: type a number such as 45.963, or 1.8095 in")
    };
    let text = text.trim();
    let (number, unit) = match text.find(|c: char| c.is_alphabetic() || c == '"') {
        None => (text, LengthUnit::Mm),
        Some(start) => {
            let unit = match &text[start..] {
                "mm" => LengthUnit::Mm,
                "in" | "\"" => LengthUnit::In,
                _ => return Err(expected()),
            };
            (text[..start].trim_end(), unit)
        }
    };
    let (negative, digits) = match number.strip_prefix(['+', '-']) {
        Some(rest) => (number.starts_with('-'), rest),
        None => (false, number),
    };
    let (whole, fraction) = digits.split_once(['.', ',']).unwrap_or((digits, ""));
    let all_digits = whole
        .bytes()
        .chain(fraction.bytes())
        .all(|byte| byte.is_ascii_digit());
    if !all_digits || whole.len() + fraction.len() == 0 {
        return Err(expected());
    }
    let mantissa: i64 = format!("{whole}{fraction}")
        .parse()
        .map_err(|_| expected())?;
    let decimals = u32::try_from(fraction.len()).map_err(|_| expected())?;
    Length::from_decimal(if negative { -mantissa } else { mantissa }, decimals, unit)
        .ok_or_else(expected)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reading_is_understood_as_people_write_it() {
        for (text, mm) in [
            ("45.963", 45.963),
            (" 45,963 ", 45.963),
            ("+45.963 mm", 45.963),
            ("-0,012", -0.012),
            ("1.610 in", 40.894),
            ("1.615\"", 41.021),
            ("46", 46.0),
            (".5", 0.5),
        ] {
            assert_eq!(parse(text).map(Length::mm), Ok(mm), "{text}");
        }
    }

    #[test]
    fn what_is_no_reading_is_refused_with_an_example() {
        for text in [
            "",
            "mm",
            "4 5",
            "45.9.3",
            "1e3",
            "NaN",
            "45 cm",
            "99999999999999999999",
            "--1",
        ] {
            assert!(parse(text).unwrap_err().contains("such as"), "{text}");
        }
    }
}
