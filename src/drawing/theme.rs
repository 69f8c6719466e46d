//! Colours: those of a page, which its style sheet overrides, and those of paper.

use super::role::Role;

/// Where a drawing is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Theme {
    /// On the page: each element has classes for the page's style sheet, and colours of its own for
    /// where there is none.
    Page,
    /// On paper: black and greys on white that a printer without colour keeps apart.
    Paper,
}

/// What a colour is for. In SVG for a page `fill-ink` and `line-ink` are the classes of the first.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tone {
    /// What was measured.
    Ink,
    /// What it is compared with, and what explains it.
    Soft,
    /// Between the limits.
    Band,
    /// What the drawing stands on.
    Ground,
    /// Where to gauge.
    Mark,
    /// The tight axis; outside a limit.
    Tight,
    /// The long axis.
    Long,
    /// What a reamer takes away.
    Cut,
}

/// A colour as red, green and blue of sRGB.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Colour(pub u8, pub u8, pub u8);

/// How an item looks: what back ends other than SVG need.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Paint {
    /// Fills what the shape encloses, by the even-odd rule.
    pub fill: Option<Colour>,
    /// How opaque the filling is, 0 to 1.
    pub fill_opacity: f64,
    /// Draws its lines.
    pub pen: Option<Pen>,
}

/// How lines are drawn. Corners are round.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pen {
    /// Their colour.
    pub colour: Colour,
    /// Their width in drawing units.
    pub width: f64,
    /// Lengths of dashes and gaps in drawing units; empty for an unbroken line.
    pub dashes: &'static [f64],
    /// Round ends; else the line ends where its path does.
    pub round: bool,
}

impl Tone {
    /// The second part of its classes.
    pub const fn class(self) -> &'static str {
        match self {
            Self::Ink => "ink",
            Self::Soft => "soft",
            Self::Band => "band",
            Self::Ground => "ground",
            Self::Mark => "mark",
            Self::Tight => "tight",
            Self::Long => "long",
            Self::Cut => "cut",
        }
    }

    /// Its colour. On a page blue and orange, which colour-blind eyes keep apart; each is named and
    /// has a form of its own besides.
    pub const fn colour(self, theme: Theme) -> Colour {
        match (theme, self) {
            (Theme::Page, Self::Ink) => Colour(0x14, 0x25, 0x2a),
            (Theme::Page, Self::Soft) => Colour(0x51, 0x5c, 0x5f),
            (Theme::Page, Self::Band) => Colour(0xd9, 0xe6, 0xe2),
            (_, Self::Ground) => Colour(0xff, 0xff, 0xff),
            (Theme::Page, Self::Mark) => Colour(0x0b, 0x58, 0x66),
            (Theme::Page, Self::Tight) => Colour(0xa8, 0x33, 0x0a),
            (Theme::Page, Self::Long) => Colour(0x14, 0x56, 0x8c),
            (Theme::Page, Self::Cut) => Colour(0x6a, 0x54, 0x00),
            (Theme::Paper, Self::Ink | Self::Mark | Self::Tight | Self::Long) => Colour(0, 0, 0),
            (Theme::Paper, Self::Soft) => Colour(0x50, 0x50, 0x50),
            (Theme::Paper, Self::Band) => Colour(0xde, 0xde, 0xde),
            (Theme::Paper, Self::Cut) => Colour(0x30, 0x30, 0x30),
        }
    }
}

impl Role {
    /// How items of this role look in `theme`.
    pub fn paint(self, theme: Theme) -> Paint {
        let look = self.look();
        Paint {
            fill: look.fill.map(|tone| tone.colour(theme)),
            fill_opacity: look.fill_opacity,
            pen: look.line.map(|line| Pen {
                colour: line.tone.colour(theme),
                width: line.width,
                dashes: line.dashes,
                round: line.round,
            }),
        }
    }
}
