//! `[shop]`: who makes the reports, and how their readers count.

use std::path::PathBuf;

use jiff::tz::TimeZone;
use serde::Deserialize;
use toml::Spanned;

use super::{Config, Error};
use crate::display::Language;
use crate::mistake::Mistake;
use crate::report::{Logo, Style, Units};

/// `[shop]`.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Shop {
    /// The shop's name.
    pub name: Option<String>,
    /// Its address, one line a text.
    pub address: Vec<String>,
    /// Its telephone number.
    pub phone: Option<String>,
    /// Its mail address.
    pub mail: Option<String>,
    /// A PNG or SVG file.
    pub logo: Option<Spanned<PathBuf>>,
    /// The language of its page and reports; left out, reports are in English and the page follows
    /// each browser.
    pub language: Option<Language>,
    /// The unit of lengths in its reports.
    pub units: Units,
    /// The paper of its reports as PDF.
    #[cfg(feature = "pdf")]
    pub paper: crate::report::Paper,
}

impl Config {
    /// How reports are made, in the system's time zone.
    ///
    /// # Errors
    /// [`Error::Mistake`] at the logo where its file can't be used.
    pub fn report_style(&self) -> Result<Style, Error> {
        let shop = &self.shop;
        let logo = shop.logo.as_ref().map(|file| {
            Logo::read(file.get_ref()).map_err(|error| {
                let source = &self.source;
                let mistake =
                    Mistake::at(&source.file, &source.text, file.span(), error.to_string());
                Error::Mistake(mistake)
            })
        });
        Ok(Style {
            name: shop.name.clone(),
            address: shop.address.clone(),
            phone: shop.phone.clone(),
            mail: shop.mail.clone(),
            logo: logo.transpose()?,
            language: shop.language.unwrap_or_default(),
            units: shop.units,
            #[cfg(feature = "pdf")]
            paper: shop.paper,
            zone: TimeZone::system(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_shop_says_who_it_is_and_how_it_counts() {
        let text = "[shop]\nname = \"Corner Shop\"\naddress = [\"1 Mill Lane\", \"Oldtown\"]\n\
                    language = \"de\"\nunits = \"inch\"\n";
        let style = Config::parse("bench.toml", text)
            .unwrap()
            .report_style()
            .unwrap();
        assert_eq!(style.name.as_deref(), Some("Corner Shop"));
        assert_eq!((style.language, style.units), (Language::De, Units::Inch));
    }

    #[test]
    fn a_logo_that_is_none_and_a_language_that_is_not_held_are_shown_where_they_stand() {
        let text = "[shop]\nname = \"x\"\nlogo = \"/nowhere/logo.png\"\n";
        let config = Config::parse("bench.toml", text).unwrap();
        let error = config.report_style().unwrap_err().to_string();
        assert!(error.starts_with("bench.toml:3:8:"), "{error}");
        let mistake = Config::parse("bench.toml", "[shop]\nlanguage = \"fr\"\n").unwrap_err();
        assert_eq!((mistake.line, mistake.column), (2, 12));
        assert!(mistake.what.contains("`en`"), "{mistake}");
    }
}
