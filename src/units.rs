//! Units are types at every door: a length knows that it is finite and in millimetres, a moment
//! knows that it is UTC. Inside a calculation plain `f64` millimetres are used, named `…_mm`.

use std::fmt;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Serialize};

/// One inch in millimetres, exact by definition (international inch, 1959).
pub const INCH_MM: f64 = 25.4;

/// The unit in which a gauge or a person states a length.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum LengthUnit {
    /// Millimetre.
    Mm,
    /// International inch, 25.4 mm.
    In,
}

impl LengthUnit {
    /// Picometres in one of this unit; an integer, so that decimal text converts without error.
    const fn picometres(self) -> i128 {
        match self {
            Self::Mm => 1_000_000_000,
            Self::In => 25_400_000_000,
        }
    }
}

impl fmt::Display for LengthUnit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Mm => "mm",
            Self::In => "in",
        })
    }
}

/// A finite length in millimetres.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, JsonSchema)]
#[serde(transparent)]
pub struct Length(f64);

impl Length {
    /// A length of `mm` millimetres; `None` where that is not a finite number.
    pub fn from_mm(mm: f64) -> Option<Self> {
        mm.is_finite().then_some(Self(mm))
    }

    /// The length that decimal text states: `mantissa` x 10^-`decimals` of `unit`, rounded once
    /// (1.610 in is 40.894 mm, not 40.894000000000005). `None` beyond 9 digits behind the point
    /// or a size no bench has.
    pub fn from_decimal(mantissa: i64, decimals: u32, unit: LengthUnit) -> Option<Self> {
        let scaled = i128::from(mantissa).checked_mul(unit.picometres())?;
        let scale = 10_i128.checked_pow(decimals)?;
        if decimals > 9 || scaled.abs() / scale > 1_000_000_000_000_000 {
            return None;
        }
        // scaled / (scale * 1e9) in one rounding: both below 2^53 in every case a gauge can send
        // (9 digits before, 6 behind); beyond that the quotient is still within one ulp.
        #[expect(clippy::cast_precision_loss, reason = "see above")]
        let mm = {
            let divisor = scale * 1_000_000_000;
            let common = gcd(scaled.unsigned_abs(), divisor.unsigned_abs()).max(1);
            (scaled / common.cast_signed()) as f64 / (divisor / common.cast_signed()) as f64
        };
        Self::from_mm(mm)
    }

    /// In millimetres.
    pub const fn mm(self) -> f64 {
        self.0
    }

    /// In `unit`.
    pub fn in_unit(self, unit: LengthUnit) -> f64 {
        match unit {
            LengthUnit::Mm => self.0,
            LengthUnit::In => self.0 / INCH_MM,
        }
    }
}

const fn gcd(mut a: u128, mut b: u128) -> u128 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a
}

impl<'de> Deserialize<'de> for Length {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let mm = f64::deserialize(deserializer)?;
        Self::from_mm(mm).ok_or_else(|| serde::de::Error::custom("a length must be finite"))
    }
}

/// A finite angle in degrees.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Angle(f64);

impl Angle {
    /// An angle of `deg` degrees; `None` where that is not a finite number.
    pub fn from_deg(deg: f64) -> Option<Self> {
        deg.is_finite().then_some(Self(deg))
    }

    /// In degrees.
    pub const fn deg(self) -> f64 {
        self.0
    }
}

/// What a gauge states.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Stated {
    /// A length.
    Length(Length),
    /// An angle.
    Angle(Angle),
}

impl Stated {
    /// The number in millimetres or in degrees.
    pub const fn number(self) -> f64 {
        match self {
            Self::Length(length) => length.mm(),
            Self::Angle(angle) => angle.deg(),
        }
    }
}

/// A moment in UTC, written as RFC 3339 with up to nanoseconds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Moment(pub jiff::Timestamp);

impl Moment {
    /// The present moment of the system's clock. Called at the edges only.
    pub fn now() -> Self {
        Self(jiff::Timestamp::now())
    }

    /// Hours and minutes by the clock of this place, such as `14:02`.
    pub fn time_here(self) -> String {
        let here = jiff::tz::TimeZone::system().to_datetime(self.0);
        format!("{:02}:{:02}", here.hour(), here.minute())
    }

    /// The day on which it falls by the clock of this place.
    pub fn day_here(self) -> Day {
        Day(jiff::tz::TimeZone::system().to_datetime(self.0).date())
    }
}

impl fmt::Display for Moment {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

impl JsonSchema for Moment {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "Moment".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({"type": "string", "format": "date-time"})
    }
}

/// A day of the calendar, written as RFC 3339's full-date.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Day(pub jiff::civil::Date);

impl Day {
    /// Whether it lies before the day on which `moment` falls, UTC.
    pub fn is_before(self, moment: Moment) -> bool {
        self.0 < jiff::tz::Offset::UTC.to_datetime(moment.0).date()
    }
}

impl fmt::Display for Day {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

impl JsonSchema for Day {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "Day".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({"type": "string", "format": "date"})
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Common practice, no source: 1.610 in is 40.894 mm; 1.615 in is 0.127 mm more.
    #[test]
    fn inches_become_the_millimetres_that_a_mechanic_expects() {
        let tight = Length::from_decimal(1_610, 3, LengthUnit::In).unwrap();
        let wide = Length::from_decimal(1_615, 3, LengthUnit::In).unwrap();
        assert_eq!(tight.mm(), 40.894);
        assert_eq!(wide.mm(), 41.021);
        assert!((wide.mm() - tight.mm() - 0.127).abs() < 1e-12);
    }

    #[test]
    fn decimal_text_gives_the_nearest_double() {
        assert_eq!(
            Length::from_decimal(45_963, 3, LengthUnit::Mm)
                .unwrap()
                .mm(),
            45.963
        );
        assert_eq!(
            Length::from_decimal(-1, 4, LengthUnit::Mm).unwrap().mm(),
            -0.0001
        );
        assert_eq!(
            Length::from_decimal(5, 5, LengthUnit::In).unwrap().mm(),
            0.00127
        );
        assert!(Length::from_decimal(i64::MAX, 0, LengthUnit::In).is_none());
    }

    #[test]
    fn not_a_number_is_no_length() {
        assert!(Length::from_mm(f64::NAN).is_none());
        assert!(Length::from_mm(f64::INFINITY).is_none());
    }
}
