//! What each thing on a drawing is, and how that looks.

use super::theme::Tone;

/// What an item of a drawing is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum Role {
    /// Between the limits.
    Band,
    /// The limits themselves.
    Limit,
    /// The size to aim at.
    Target,
    /// The marks of an angle or a scale, and the frame round a plot.
    Mark,
    /// What a mark stands for.
    MarkLabel,
    /// The part's landmark at 0°.
    Landmark,
    /// Its name.
    LandmarkName,
    /// What a drawing's signs mean.
    Legend,
    /// The wall as it was found, beside the one as left.
    Before,
    /// A mean as it was found.
    BeforeMean,
    /// From smallest to largest diameter as it was found.
    BeforeBar,
    /// From smallest to largest diameter.
    ProfileBar,
    /// How well the wall is known: as thick as its uncertainty.
    Known,
    /// The fitted wall.
    Profile,
    /// A mean.
    ProfileMean,
    /// What a reamer takes away.
    Cut,
    /// Hatching of what a reamer takes away, for eyes and printers without colour.
    Hatch,
    /// The circle that a reamer cuts.
    Reamer,
    /// The tight axis.
    TightAxis,
    /// Its size.
    TightLabel,
    /// The long axis.
    LongAxis,
    /// Its size.
    LongLabel,
    /// Where the hand feels it tight.
    Felt,
    /// A station that is gauged.
    Measured,
    /// The same station from the gauge's other ends.
    Twin,
    /// Stations too close to be told apart.
    Dense,
    /// Stations to gauge, too close to be told apart.
    DenseToDo,
    /// A station to gauge.
    ToDo,
    /// The station to gauge now.
    Next,
    /// Points at it.
    NextPointer,
    /// A station passed over.
    Skipped,
    /// The scale bar.
    Scale,
    /// Its length.
    ScaleLabel,
    /// How much is magnified.
    Factor,
    /// What the gauge cannot see.
    Blind,
    /// A chart's point.
    Point,
    /// From the first to the third quartile.
    Quartiles,
    /// The median.
    Median,
}

/// How a role looks before a theme gives it colours.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Look {
    pub(super) fill: Option<Tone>,
    pub(super) fill_opacity: f64,
    pub(super) line: Option<Line>,
}

/// How a line looks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Line {
    pub(super) tone: Tone,
    pub(super) width: f64,
    /// Lengths of dashes and gaps; empty: an unbroken line.
    pub(super) dashes: &'static [f64],
    /// Round ends, without which a line of no length isn't seen.
    pub(super) round: bool,
}

const fn filled(tone: Tone) -> Look {
    Look {
        fill: Some(tone),
        fill_opacity: 1.0,
        line: None,
    }
}

const fn lined(tone: Tone, width: f64, dashes: &'static [f64]) -> Look {
    Look {
        fill: None,
        fill_opacity: 1.0,
        line: Some(Line {
            tone,
            width,
            dashes,
            round: false,
        }),
    }
}

const fn rimmed(tone: Tone, rim: Tone, width: f64) -> Look {
    Look {
        fill: Some(tone),
        ..lined(rim, width, &[])
    }
}

/// Dots: lines of no length with round ends.
const fn dotted(tone: Tone) -> Look {
    Look {
        fill: None,
        fill_opacity: 1.0,
        line: Some(Line {
            tone,
            width: 2.5,
            dashes: &[],
            round: true,
        }),
    }
}

impl Role {
    /// Its name in an SVG's `class`.
    pub const fn class(self) -> &'static str {
        match self {
            Self::Band => "band",
            Self::Limit => "limit",
            Self::Target => "target",
            Self::Mark => "marks",
            Self::MarkLabel => "mark-label",
            Self::Landmark => "landmark",
            Self::LandmarkName => "landmark-name",
            Self::Legend => "legend",
            Self::Before => "before",
            Self::BeforeMean => "before-mean",
            Self::BeforeBar => "before-bar",
            Self::ProfileBar => "profile-bar",
            Self::Known => "known",
            Self::Profile => "profile",
            Self::ProfileMean => "profile-mean",
            Self::Cut => "cut",
            Self::Hatch => "hatch",
            Self::Reamer => "reamer",
            Self::TightAxis => "tight-axis",
            Self::TightLabel => "tight-label",
            Self::LongAxis => "long-axis",
            Self::LongLabel => "long-label",
            Self::Felt => "felt",
            Self::Measured => "measured",
            Self::Twin => "twin",
            Self::Dense => "dense",
            Self::DenseToDo => "dense-to-do",
            Self::ToDo => "to-do",
            Self::Next => "next",
            Self::NextPointer => "next-pointer",
            Self::Skipped => "skipped",
            Self::Scale => "scale",
            Self::ScaleLabel => "scale-label",
            Self::Factor => "factor",
            Self::Blind => "blind",
            Self::Point => "point",
            Self::Quartiles => "quartiles",
            Self::Median => "median",
        }
    }

    /// The role of the bars of a run of means.
    pub(super) const fn bar(self) -> Self {
        match self {
            Self::Before => Self::BeforeBar,
            _ => Self::ProfileBar,
        }
    }

    /// The role of the label of an axis.
    pub(super) const fn label(self) -> Self {
        match self {
            Self::TightAxis => Self::TightLabel,
            _ => Self::LongLabel,
        }
    }

    /// Height of its type, and whether it's bold.
    pub(super) const fn type_size(self) -> (f64, bool) {
        match self {
            Self::TightLabel | Self::LongLabel => (26.0, true),
            Self::Blind => (14.0, false),
            _ => (15.0, false),
        }
    }

    pub(super) const fn look(self) -> Look {
        use Tone::{Band, Cut, Ground, Ink, Long, Mark, Soft, Tight};
        match self {
            Self::Band => filled(Band),
            Self::Limit => lined(Soft, 1.0, &[]),
            Self::Target => lined(Soft, 1.0, &[5.0, 4.0]),
            Self::Mark => lined(Soft, 1.5, &[]),
            Self::Scale | Self::Skipped => lined(Soft, 2.0, &[]),
            Self::MarkLabel
            | Self::LandmarkName
            | Self::Legend
            | Self::ScaleLabel
            | Self::Factor
            | Self::Blind => filled(Soft),
            Self::Landmark | Self::NextPointer => filled(Mark),
            Self::Before => lined(Soft, 2.0, &[2.0, 4.0]),
            Self::BeforeMean => rimmed(Ground, Soft, 2.0),
            Self::BeforeBar => lined(Soft, 2.0, &[]),
            Self::ProfileBar => lined(Ink, 2.5, &[]),
            Self::Known => Look {
                fill_opacity: 0.24,
                ..filled(Ink)
            },
            Self::Profile => lined(Ink, 3.0, &[]),
            Self::ProfileMean => filled(Ink),
            Self::Cut => Look {
                fill_opacity: 0.25,
                ..filled(Cut)
            },
            Self::Hatch => lined(Cut, 1.5, &[]),
            Self::Reamer => lined(Cut, 2.0, &[9.0, 4.0]),
            Self::TightAxis => lined(Tight, 2.5, &[]),
            Self::TightLabel => filled(Tight),
            Self::LongAxis => lined(Long, 2.5, &[]),
            Self::LongLabel => filled(Long),
            Self::Felt => lined(Tight, 6.0, &[]),
            Self::Measured => rimmed(Ink, Ground, 1.5),
            Self::Twin => filled(Soft),
            Self::Dense => dotted(Ink),
            Self::DenseToDo => dotted(Soft),
            Self::ToDo => rimmed(Ground, Soft, 1.5),
            Self::Next => rimmed(Ground, Mark, 3.0),
            Self::Point => rimmed(Ink, Ground, 1.0),
            Self::Quartiles => rimmed(Band, Ink, 1.5),
            Self::Median => lined(Ink, 3.0, &[]),
        }
    }
}
