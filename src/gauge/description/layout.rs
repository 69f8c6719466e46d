//! What a frame consists of.

/// One part of a frame, in the order in which the parts follow each other.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Part {
    /// These bytes.
    Text {
        /// The bytes.
        bytes: Vec<u8>,
        /// May be missing.
        optional: bool,
    },
    /// Spaces or tabs.
    Blanks {
        /// At least so many; so many are sent by the simulated gauge.
        least: u8,
        /// At most so many.
        most: u8,
    },
    /// The sign of the number.
    Sign(SignRule),
    /// The number.
    Number {
        /// Least and most digits before the decimal point.
        whole: (u8, u8),
        /// How the decimal point is written.
        point: Point,
        /// Least and most digits behind the decimal point.
        decimals: (u8, u8),
    },
    /// The unit.
    Unit {
        /// The text that means millimetres.
        mm: Option<Vec<u8>>,
        /// The text that means inches.
        inch: Option<Vec<u8>>,
        /// May be missing: the number is then in the description's unit.
        optional: bool,
    },
    /// A word on how the gauge is.
    Status {
        /// The texts with which a frame is a reading.
        good: Vec<Vec<u8>>,
        /// The texts with which a frame is no reading, and what each means.
        bad: Vec<(Vec<u8>, String)>,
    },
}

impl Part {
    /// Whether noise before this part can't pass as a piece of it, or be what is left of a longer
    /// one: text, an obligatory sign and a fixed number of digits are so.
    pub(crate) fn starts_firmly(&self) -> bool {
        match self {
            Self::Text { bytes, optional } => !optional && !bytes.is_empty(),
            Self::Sign(rule) => *rule == SignRule::Always,
            Self::Number { whole, .. } => whole.0 == whole.1,
            Self::Unit { .. } | Self::Status { .. } => self.ends_firmly(),
            Self::Blanks { .. } => false,
        }
    }

    /// The same for noise behind this part.
    pub(crate) fn ends_firmly(&self) -> bool {
        match self {
            Self::Text { bytes, optional } => !optional && !bytes.is_empty(),
            Self::Number { decimals, .. } => decimals.0 == decimals.1,
            Self::Unit { mm, inch, optional } => {
                !optional && mm.iter().chain(inch).all(|text| !text.is_empty())
            }
            Self::Status { good, bad } => good
                .iter()
                .chain(bad.iter().map(|(text, _)| text))
                .all(|text| !text.is_empty()),
            Self::Sign(_) | Self::Blanks { .. } => false,
        }
    }
}

/// How the sign is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum SignRule {
    /// `+` or `-`, always.
    Always,
    /// `-`, and `+` or nothing.
    Optional,
}

/// How the decimal point is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Point {
    /// `.`
    Point,
    /// `,`
    Comma,
    /// `.` or `,`; the simulated gauge sends `.`.
    Either,
    /// Not at all: the last digits are the decimals.
    Implied,
}

impl Point {
    pub(crate) const fn accepts(self, byte: u8) -> bool {
        match self {
            Self::Point => byte == b'.',
            Self::Comma => byte == b',',
            Self::Either => matches!(byte, b'.' | b','),
            Self::Implied => false,
        }
    }
}
