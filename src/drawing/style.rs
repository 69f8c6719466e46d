//! In which language and unit a drawing speaks.

use crate::display::Language;

/// The unit of the lengths that a drawing states.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Unit {
    /// Millimetres, to 0.001.
    #[default]
    Mm,
    /// Inches, to 0.0001.
    Inch,
    /// Micrometres, to 0.1: for differences.
    Micrometre,
}

/// How a drawing speaks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Style {
    /// Its language.
    pub language: Language,
    /// Its unit.
    pub unit: Unit,
}

/// Millimetres in an inch, exactly (ISO 31-1).
const INCH: f64 = 25.4;

impl Style {
    /// In `language`, in millimetres.
    pub const fn mm(language: Language) -> Self {
        Self {
            language,
            unit: Unit::Mm,
        }
    }

    /// The unit's sign.
    pub const fn sign(self) -> &'static str {
        match self.unit {
            Unit::Mm => "mm",
            Unit::Inch => "in",
            Unit::Micrometre => "µm",
        }
    }

    /// Millimetres in one unit.
    pub const fn unit_mm(self) -> f64 {
        match self.unit {
            Unit::Mm => 1.0,
            Unit::Inch => INCH,
            Unit::Micrometre => 1e-3,
        }
    }

    /// A size: `45.950`, `1.8091`.
    pub fn size(self, mm: f64) -> String {
        self.language.decimal(mm / self.unit_mm(), self.digits())
    }

    /// A limit: a size, with one digit more where it was set that finely.
    pub(super) fn limit(self, mm: f64) -> String {
        let scaled = mm / self.unit_mm() * 1e3;
        let fine = self.unit == Unit::Mm && (scaled - scaled.round()).abs() > 0.05;
        let digits = self.digits() + usize::from(fine);
        self.language.decimal(mm / self.unit_mm(), digits)
    }

    /// An uncertainty, rounded up (JCGM 100:2008, 7.2.6): none is ever shown as nought.
    pub fn uncertainty(self, mm: f64) -> String {
        self.language.up(mm / self.unit_mm(), self.digits())
    }

    /// A difference with its sign: `+0.050`.
    pub fn difference(self, mm: f64) -> String {
        self.language.signed(mm / self.unit_mm(), self.digits())
    }

    /// A round number of units as short as it can be said: `0.05`, `10`.
    pub(super) fn round(self, units: f64) -> String {
        short(self.language.decimal(units, 5), self.language)
    }

    /// The same with its sign, and nought without: `+0.05`, `0`.
    pub(super) fn signed_round(self, units: f64) -> String {
        let text = short(self.language.signed(units, 5), self.language);
        if text == "+0" { "0".to_owned() } else { text }
    }

    const fn digits(self) -> usize {
        match self.unit {
            Unit::Mm => 3,
            Unit::Inch => 4,
            Unit::Micrometre => 1,
        }
    }
}

/// Without noughts at the end.
fn short(text: String, language: Language) -> String {
    let point = language.point();
    if text.contains(point) {
        text.trim_end_matches('0')
            .trim_end_matches(point)
            .to_owned()
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 45.95 / 25.4 = 1.80906 (by hand).
    #[test]
    fn lengths_are_written_in_the_unit_and_the_language() {
        let inch = Style {
            language: Language::De,
            unit: Unit::Inch,
        };
        assert_eq!(inch.size(45.95), "1,8091");
        let mm = Style::default();
        assert_eq!(mm.size(45.95), "45.950");
        assert_eq!(mm.difference(-0.05), "\u{2212}0.050");
        assert_eq!(mm.uncertainty(0.000_2), "0.001");
        assert_eq!(mm.uncertainty(0.004), "0.004");
        assert_eq!(inch.uncertainty(0.001), "0,0001");
        assert_eq!(mm.limit(45.999_5), "45.9995");
        assert_eq!(mm.limit(45.95), "45.950");
        assert_eq!(mm.round(0.05), "0.05");
        assert_eq!(mm.round(10.0), "10");
        assert_eq!(mm.signed_round(0.0), "0");
        assert_eq!(mm.signed_round(0.1 + 0.2), "+0.3");
    }
}
