//! What `[[gauge]]` says of a gauge's calibration.

use serde::{Deserialize, Deserializer, de};
use toml::{Spanned, Value};

use super::GaugeEntry;
use crate::job::{Calibration, Gauges};
use crate::mistake::Mistake;
use crate::units::{Day, Moment};

/// A day as a file states it: `2027-03-31`, with quotes or without.
#[derive(Debug, Clone, Copy)]
pub struct WrittenDay(Day);

impl<'de> Deserialize<'de> for WrittenDay {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = match Value::deserialize(deserializer)? {
            Value::String(text) => text,
            other => other.to_string(),
        };
        let day = jiff::civil::Date::strptime("%Y-%m-%d", &text);
        let what = "a day is written as year, month and day: 2027-03-31";
        day.map(|day| Self(Day(day)))
            .map_err(|_| de::Error::custom(what))
    }
}

impl GaugeEntry {
    /// What is said of its calibration; `None` where nothing is.
    pub(super) fn calibration(&self) -> Option<Calibration> {
        let day = |day: &Option<Spanned<WrittenDay>>| day.as_ref().map(|day| day.get_ref().0);
        let said = Calibration {
            serial: (self.serial.as_ref()).map(|serial| serial.get_ref().trim().to_owned()),
            calibrated: day(&self.calibrated),
            due: day(&self.due),
        };
        (said != Calibration::default()).then_some(said)
    }

    /// What can't be of what is said of its calibration.
    pub(super) fn calibration_mistake(&self, file: &str, text: &str) -> Option<Mistake> {
        if let Some(serial) = &self.serial
            && serial.get_ref().trim().is_empty()
        {
            let what = "a serial number is not empty; leave `serial` out if there is none";
            return Some(Mistake::at(file, text, serial.span(), what));
        }
        let (calibrated, due) = self.calibrated.as_ref().zip(self.due.as_ref())?;
        (due.get_ref().0 <= calibrated.get_ref().0).then(|| {
            let what = "a calibration runs out after the day on which it was made: copy \
                        `calibrated` and `due` from the certificate";
            Mistake::at(file, text, due.span(), what)
        })
    }
}

/// What is to be said of the calibration of `gauges` on the day of `now`, a sentence each.
pub fn calibration_warnings(gauges: &Gauges, now: Moment) -> Vec<String> {
    let said = gauges.iter().filter_map(|(name, traits)| {
        let calibration = traits.calibration.as_ref()?;
        if let Some(due) = calibration.due.filter(|due| due.is_before(now)) {
            return Some(format!(
                "{name}: its calibration ran out on {due}: have it calibrated, then write the new \
                 `calibrated` and `due`"
            ));
        }
        let ahead = calibration
            .calibrated
            .filter(|day| day.0 > now.day_here().0);
        ahead.map(|day| {
            format!(
                "{name}: it was calibrated on {day}, says the configuration, and that is still to \
                 come: correct `calibrated`, or this machine's clock"
            )
        })
    });
    said.collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::Config;

    fn gauge(rest: &str) -> String {
        format!("[[gauge]]\nname = \"a\"\nport = \"/dev/ttyUSB0\"\nform = \"plain-mm\"\n{rest}")
    }

    fn traits(rest: &str) -> Gauges {
        let config = Config::parse("bench.toml", &gauge(rest)).unwrap();
        config.gauges().unwrap().1
    }

    #[test]
    fn a_gauge_has_its_serial_number_and_its_days_with_quotes_or_without() {
        let day = |text: &str| Some(Day(text.parse().unwrap()));
        let said = Calibration {
            serial: Some("4711-B".to_owned()),
            calibrated: day("2026-03-31"),
            due: day("2027-03-31"),
        };
        for days in [
            "calibrated = 2026-03-31\ndue = 2027-03-31\n",
            "calibrated = \"2026-03-31\"\ndue = \"2027-03-31\"\n",
        ] {
            let gauges = traits(&format!("serial = \"4711-B\"\n{days}"));
            assert_eq!(gauges["a"].calibration.as_ref(), Some(&said));
        }
        assert_eq!(traits("")["a"].calibration, None);
    }

    #[test]
    fn nonsense_is_shown_where_it_stands() {
        for (rest, line, word) in [
            ("calibrated = 2026-03-31\ndue = 2025-03-31\n", 6, "runs out"),
            ("calibrated = 2026-03-31\ndue = 2026-03-31\n", 6, "runs out"),
            ("due = \"next spring\"\n", 5, "2027-03-31"),
            ("due = \"2027-02-30\"\n", 5, "2027-03-31"),
            ("calibrated = 2026\n", 5, "2027-03-31"),
            ("due = 2027-03-31T10:00:00Z\n", 5, "2027-03-31"),
            ("serial = \" \"\n", 5, "serial"),
            ("calibration = 2026-03-31\n", 5, "calibrated"),
        ] {
            let mistake = Config::parse("bench.toml", &gauge(rest)).unwrap_err();
            assert_eq!(mistake.line, line, "{mistake}");
            assert!(mistake.what.contains(word), "{mistake}");
        }
    }

    #[test]
    fn a_gauge_past_due_is_named_from_the_day_after() {
        let gauges = traits("calibrated = 2026-03-31\ndue = 2027-03-31\n");
        let on = |text: &str| calibration_warnings(&gauges, Moment(text.parse().unwrap()));
        assert!(on("2027-03-31T12:00:00Z").is_empty());
        let late = on("2027-04-01T12:00:00Z");
        assert!(
            late.len() == 1 && late[0].starts_with("a: its calibration ran out on 2027-03-31"),
            "{late:?}"
        );
        assert!(on("2026-01-15T12:00:00Z")[0].contains("still to come"));
    }
}
