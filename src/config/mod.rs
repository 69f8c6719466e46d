//! Files to types: the configuration, with errors that point at file, line and key.

mod calibration;
mod shop;

use std::collections::BTreeSet;
use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use serde::Deserialize;
use toml::Spanned;

pub use calibration::{WrittenDay, calibration_warnings};
pub use shop::Shop;

use crate::fit::plan::Shop as Workshop;
use crate::gauge::{self, Capture, Description, DescriptionError, Gauge, NotAPort, Trigger};
use crate::job::{Gauges, Role, Seats, Sends, Traits};
use crate::mistake::Mistake;
use crate::uncertainty::wrong_factor;

/// The built-in configuration; the file in `config/` is the documentation of every key.
pub const DEFAULT: &str = include_str!("../../config/borewright.toml");

/// The whole configuration, every key with a default.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Config {
    /// Where records are kept.
    pub data: Data,
    /// The feed for other programs.
    pub feed: Feed,
    /// The bench page.
    pub page: Page,
    /// The user's own gauge descriptions and seats.
    pub folders: Folders,
    /// How numbers are judged by their limits.
    pub verdict: Verdict,
    /// The shop's reamers and compounds.
    pub workshop: Workshop,
    /// Who makes the reports.
    pub shop: Shop,
    /// The gauges on the bench.
    pub gauge: Vec<GaugeEntry>,
    /// Where all this was read, for errors that are found later.
    #[serde(skip)]
    source: Source,
}

#[derive(Debug, Clone, Default)]
struct Source {
    file: String,
    text: String,
}

/// `[data]`.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Data {
    /// The data folder; left out: `$XDG_STATE_HOME/borewright`, else `~/.local/state/borewright`.
    pub folder: Option<PathBuf>,
}

/// `[feed]`.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Feed {
    /// Where the NDJSON feed listens.
    pub tcp: SocketAddr,
}

impl Default for Feed {
    fn default() -> Self {
        Self {
            tcp: SocketAddr::from(([127, 0, 0, 1], 4771)),
        }
    }
}

/// `[page]`.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Page {
    /// Where the page, `/feed`, `/state` and `/commands` listen.
    pub listen: SocketAddr,
}

impl Default for Page {
    fn default() -> Self {
        Self {
            listen: SocketAddr::from(([127, 0, 0, 1], 4770)),
        }
    }
}

/// `[folders]`: files here win over the built-in ones of the same name.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Folders {
    /// The user's own gauge descriptions.
    pub gauges: Option<PathBuf>,
    /// The user's own seats.
    pub seats: Option<PathBuf>,
}

/// `[verdict]`.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Verdict {
    /// How many standard uncertainties wide the guard band beside each limit is, where a seat does
    /// not say; left out: one-sided 95 %.
    pub decision_factor: Option<Spanned<f64>>,
}

/// One `[[gauge]]`.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct GaugeEntry {
    /// The gauge's name in events and on the page.
    pub name: Spanned<String>,
    /// What it is used for.
    #[serde(default)]
    pub role: Role,
    /// A device path, `usb:VENDOR:PRODUCT[:SERIAL]`, or `tcp://host:port`.
    pub port: Spanned<String>,
    /// The name of a gauge description.
    pub form: Spanned<String>,
    /// Its serial number.
    pub serial: Option<Spanned<String>>,
    /// The day on which it was calibrated, by its certificate.
    pub calibrated: Option<Spanned<WrittenDay>>,
    /// The last day on which that holds.
    pub due: Option<Spanned<WrittenDay>>,
}

/// Why a configuration can't be used.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// The file can't be read.
    #[error("{}: can't be read; check the path and its permissions", .0.display())]
    Unreadable(PathBuf, #[source] std::io::Error),
    /// The file was read, but says something that can't be.
    #[error("{0}")]
    Mistake(Mistake),
    /// There is no place for data.
    #[error(
        "no data folder: neither XDG_STATE_HOME nor HOME is set; name one with --data DIR or \
         [data] folder"
    )]
    NoDataFolder,
}

impl Config {
    /// Reads `file`.
    ///
    /// # Errors
    /// [`Error::Unreadable`] or the first [`Error::Mistake`] found.
    pub fn read(file: &Path) -> Result<Self, Error> {
        let text = std::fs::read_to_string(file)
            .map_err(|error| Error::Unreadable(file.to_owned(), error))?;
        Self::parse(&file.display().to_string(), &text).map_err(Error::Mistake)
    }

    /// Parses `text`, which came from `file`, and checks what can be checked without opening
    /// anything.
    ///
    /// # Errors
    /// The first [`Mistake`] found.
    pub fn parse(file: &str, text: &str) -> Result<Self, Mistake> {
        let mut config: Self =
            toml::from_str(text).map_err(|error| Mistake::toml(file, text, &error))?;
        let mut names = BTreeSet::new();
        for entry in &config.gauge {
            let GaugeEntry { name, port, .. } = entry;
            if name.get_ref().trim().is_empty() {
                return Err(Mistake::at(file, text, name.span(), "a gauge needs a name"));
            }
            if !names.insert(name.get_ref().clone()) {
                let what = format!(
                    "two gauges are called `{}`; a name says which gauge a reading came from, \
                     so give this one another",
                    name.get_ref()
                );
                return Err(Mistake::at(file, text, name.span(), what));
            }
            if port.get_ref().trim().is_empty() {
                let what = "a gauge needs a port; `borewright ports` lists what is plugged in";
                return Err(Mistake::at(file, text, port.span(), what));
            }
            if let Some(mistake) = entry.calibration_mistake(file, text) {
                return Err(mistake);
            }
        }
        let factor = config.verdict.decision_factor.as_ref();
        if let Some((factor, what)) = factor.zip(factor.and_then(|f| wrong_factor(*f.get_ref()))) {
            return Err(Mistake::at(file, text, factor.span(), what));
        }
        if let Some(what) = config.workshop.mistake() {
            let at = text.find("[workshop").or_else(|| text.find("[[workshop"));
            let start = at.unwrap_or(0);
            return Err(Mistake::at(file, text, start..start, what));
        }
        config.source = Source {
            file: file.to_owned(),
            text: text.to_owned(),
        };
        Ok(config)
    }

    /// The data folder: the configured one, or the user's state folder.
    ///
    /// # Errors
    /// [`Error::NoDataFolder`].
    pub fn data_folder(&self) -> Result<PathBuf, Error> {
        if let Some(folder) = &self.data.folder {
            return Ok(folder.clone());
        }
        let from = |name| {
            std::env::var_os(name)
                .map(PathBuf::from)
                .filter(|p| p.is_absolute())
        };
        from("XDG_STATE_HOME")
            .or_else(|| from("HOME").map(|home| home.join(".local").join("state")))
            .map(|state| state.join("borewright"))
            .ok_or(Error::NoDataFolder)
    }

    /// The gauges to link, and what the job needs to know of each.
    ///
    /// # Errors
    /// A [`Mistake`] in the configuration or in a gauge description, or [`Error::Unreadable`].
    pub fn gauges(&self) -> Result<(Vec<Gauge>, Gauges), Error> {
        let mut links = Vec::new();
        let mut traits = Gauges::new();
        for entry in &self.gauge {
            let here = |span, what: String| {
                Error::Mistake(Mistake::at(
                    &self.source.file,
                    &self.source.text,
                    span,
                    what,
                ))
            };
            let form = Description::named(entry.form.get_ref(), self.folders.gauges.as_deref())
                .map_err(|error| match error {
                    DescriptionError::Unknown { .. } => here(entry.form.span(), error.to_string()),
                    DescriptionError::Unreadable(path, error) => Error::Unreadable(path, error),
                    DescriptionError::Mistake(mistake) => Error::Mistake(mistake),
                })?;
            let port = entry
                .port
                .get_ref()
                .parse()
                .map_err(|error: NotAPort| here(entry.port.span(), error.to_string()))?;
            let name: Arc<str> = entry.name.get_ref().as_str().into();
            let angles = form.sends == gauge::Sends::Angle;
            if angles != (entry.role == Role::Angle) {
                let what = if angles {
                    format!(
                        "`{}` states angles: its gauge needs role = \"angle\"",
                        form.name
                    )
                } else {
                    "a gauge with role = \"angle\" needs a form that states angles, such as \
                     plain-degrees"
                        .to_owned()
                };
                return Err(here(entry.form.span(), what));
            }
            let of_this = Traits {
                calibration: entry.calibration(),
                ..traits_of(&form, entry.role)
            };
            traits.insert(Arc::clone(&name), of_this);
            links.push(Gauge {
                name,
                port,
                form: Arc::new(form),
            });
        }
        Ok((links, traits))
    }

    /// The built-in seats and the user's own, judged as the configuration says.
    ///
    /// # Errors
    /// [`Error::Mistake`] for a file of the user's that can't be used.
    pub fn seats(&self) -> Result<Seats, Error> {
        let mut seats = Seats::built_in();
        if let Some(folder) = &self.folders.seats {
            for (file, text) in toml_files(folder)? {
                seats.add(&file, &text).map_err(Error::Mistake)?;
            }
        }
        let factor = self.verdict.decision_factor.as_ref();
        Ok(seats.decided_by(factor.map(|factor| *factor.get_ref())))
    }
}

/// What the job needs to know of a gauge of this form.
pub fn traits_of(form: &Description, role: Role) -> Traits {
    Traits {
        role,
        sends: match form.sends {
            gauge::Sends::Size => Sends::Size,
            gauge::Sends::Deviation => Sends::Deviation { sign: form.sign() },
            gauge::Sends::Angle => Sends::Angle {
                signed: form.is_signed(),
            },
        },
        contact: form.contact,
        resolution_mm: form.resolution.mm(),
        bounce: (form.trigger == Trigger::Button && !form.bounce.is_zero()).then_some(form.bounce),
        capture: match (form.capture, role) {
            // Where an insert is largest the gauge is right, so the bore's rule is none for it.
            (Capture::TurningPoint, Role::Insert) => Capture::OnCommand,
            (capture, _) => capture,
        },
        calibration: None,
    }
}

/// The TOML files directly in `folder`, by name: path as text, and content.
///
/// # Errors
/// [`Error::Unreadable`] for the folder or a file in it.
pub fn toml_files(folder: &Path) -> Result<Vec<(String, String)>, Error> {
    let unreadable = |path: &Path| {
        let path = path.to_owned();
        move |error| Error::Unreadable(path, error)
    };
    let mut files = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(unreadable(folder))? {
        let path = entry.map_err(unreadable(folder))?.path();
        if path
            .extension()
            .is_some_and(|extension| extension == "toml")
        {
            let text = std::fs::read_to_string(&path).map_err(unreadable(&path))?;
            files.push((path.display().to_string(), text));
        }
    }
    files.sort();
    Ok(files)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_shipped_default_is_the_default() {
        let shipped = Config::parse("config/borewright.toml", DEFAULT).unwrap();
        let default = Config::default();
        assert_eq!(shipped.page.listen, default.page.listen);
        assert_eq!(shipped.feed.tcp, default.feed.tcp);
        assert!(shipped.gauge.is_empty() && shipped.data.folder.is_none());
        assert_eq!(shipped.workshop, default.workshop);
    }

    #[test]
    fn a_wrong_key_is_shown_with_its_line() {
        let text = "[page]\nlisten = \"127.0.0.1:4770\"\nlissen = 1\n";
        let mistake = Config::parse("bench.toml", text).unwrap_err();
        assert_eq!(mistake.line, 3);
        assert!(mistake.what.contains("lissen"), "{mistake}");
    }

    #[test]
    fn a_decision_factor_is_every_seats_and_nonsense_is_shown_where_it_stands() {
        let text = "[verdict]\ndecision_factor = 2\n";
        let seats = Config::parse("bench.toml", text).unwrap().seats().unwrap();
        let bores = |name: &str| seats.find(name).unwrap().bores;
        for bore in bores("pressfit-46").iter().chain(&bores("housing-42-K7")) {
            assert_eq!(bore.decision_factor, Some(2.0));
        }
        for wrong in ["0", "-2.0", "nan", "17"] {
            let text = format!("[verdict]\n\ndecision_factor = {wrong}\n");
            let mistake = Config::parse("bench.toml", &text).unwrap_err();
            assert_eq!((mistake.line, mistake.column), (3, 19), "{mistake}");
            assert!(mistake.what.contains("1 to 5"), "{mistake}");
        }
    }

    #[test]
    fn two_gauges_of_one_name_are_refused_at_the_second() {
        let one = "[[gauge]]\nname = \"a\"\nport = \"/dev/ttyUSB0\"\nform = \"plain-mm\"\n";
        let mistake = Config::parse("bench.toml", &format!("{one}{one}")).unwrap_err();
        assert_eq!((mistake.line, mistake.column), (6, 8));
    }

    #[test]
    fn a_form_that_is_unknown_and_a_port_that_is_none_are_shown_where_they_stand() {
        let text = |port: &str, form: &str| {
            format!("[[gauge]]\nname = \"a\"\nport = \"{port}\"\nform = \"{form}\"\n")
        };
        let error = |text: &str| {
            Config::parse("bench.toml", text)
                .unwrap()
                .gauges()
                .map(|_| ())
                .unwrap_err()
                .to_string()
        };
        let form = error(&text("/dev/ttyUSB0", "spoken"));
        assert!(
            form.starts_with("bench.toml:4:8:") && form.contains("plain-mm"),
            "{form}"
        );
        let port = error(&text("tcp://nowhere", "plain-mm"));
        assert!(port.starts_with("bench.toml:3:8:"), "{port}");
    }

    #[test]
    fn an_angle_gauge_and_its_role_go_together() {
        let error = |role: &str, form: &str| {
            let text = format!(
                "[[gauge]]\nname = \"a\"\nrole = \"{role}\"\nport = \"/dev/ttyUSB0\"\nform = \"{form}\"\n"
            );
            let read = Config::parse("bench.toml", &text).unwrap().gauges();
            read.err().map(|error| error.to_string())
        };
        assert_eq!(error("angle", "plain-degrees"), None);
        let role = error("bore", "plain-degrees").unwrap();
        assert!(role.starts_with("bench.toml:5:8:") && role.contains("role = \"angle\""));
        assert!(
            error("angle", "plain-mm")
                .unwrap()
                .contains("plain-degrees")
        );
    }

    #[test]
    fn an_address_that_is_none_is_a_mistake_not_a_panic() {
        let mistake = Config::parse("bench.toml", "[feed]\ntcp = \"nowhere\"\n").unwrap_err();
        assert_eq!(mistake.line, 2);
    }
}
