//! A bore's taper in words: page, drawing and report say the same of the same number.

use super::Style;
use crate::bore::{BoreNumbers, Section, telling};
use crate::display::Language;

/// How much a bore's mean diameter changes over the depth that was gauged.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Taper {
    /// Innermost less outermost, mm: positive where wider inside.
    pub change_mm: f64,
    /// Its expanded uncertainty, mm; `None` where not known.
    pub expanded_mm: Option<f64>,
    /// Over so much depth, mm.
    pub over_mm: f64,
}

impl Taper {
    /// Of a bore and its sections; none where no taper is known.
    pub fn of<'a>(
        numbers: &BoreNumbers,
        sections: impl Iterator<Item = &'a Section> + Clone,
    ) -> Option<Self> {
        let per_mm = numbers.taper_mm_per_mm?;
        let depths = telling(sections).map(|section| section.depth_mm);
        let (least, greatest) = depths.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, g), depth| {
            (l.min(depth), g.max(depth))
        });
        let over_mm = (greatest - least).max(0.0);
        let known = numbers.uncertainty.get("taper_mm_per_mm");
        Some(Self {
            change_mm: per_mm * over_mm,
            expanded_mm: known.map(|known| known.expanded * over_mm),
            over_mm,
        })
    }

    /// Which way it goes; none is seen within its uncertainty, both as they are written, to a
    /// micrometre.
    pub fn said(&self, language: Language) -> &'static str {
        let change_um = (self.change_mm.abs() * 1e3).round();
        let seen = |within_mm: f64| change_um > (within_mm * 1e3 - 1e-6).ceil().max(0.0);
        language.say(match self.expanded_mm {
            None => "drawn.taper-unsure",
            Some(within) if !seen(within) => "drawn.straight",
            Some(_) if self.change_mm < 0.0 => "drawn.tighter",
            Some(_) => "drawn.wider",
        })
    }

    /// Its size and how well that is known: `0.012 ±0.003`.
    pub fn size(&self, style: Style) -> String {
        let size = style.size(self.change_mm.abs());
        match self.expanded_mm {
            Some(within) => format!("{size} ±{}", style.uncertainty(within)),
            None => size,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A change within its own uncertainty is none to see, whatever the means at the ends are known to;
    /// nor one that is written as large as its uncertainty.
    #[test]
    fn a_taper_is_seen_beyond_its_own_uncertainty() {
        let said = |change_mm: f64, expanded_mm: Option<f64>| {
            let taper = Taper {
                change_mm,
                expanded_mm,
                over_mm: 7.0,
            };
            (taper.said(Language::En), taper.size(Style::default()))
        };
        let both = |said: &'static str, size: &str| (said, size.to_owned());
        assert_eq!(
            said(-0.004, Some(0.001)),
            both("tighter inside", "0.004 ±0.001")
        );
        assert_eq!(
            said(0.119, Some(0.003)),
            both("wider inside", "0.119 ±0.003")
        );
        assert_eq!(
            said(-0.004, Some(0.0051)),
            both("no taper seen", "0.004 ±0.006")
        );
        assert_eq!(
            said(0.001_1, Some(0.000_6)),
            both("no taper seen", "0.001 ±0.001")
        );
        assert_eq!(
            said(0.000_4, Some(0.000_1)),
            both("no taper seen", "0.000 ±0.001")
        );
        assert_eq!(said(0.119, None), both("not known how well", "0.119"));
    }
}
