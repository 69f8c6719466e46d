//! A file of readings and what is said of the gauge become a profile, for every command alike: the
//! same file gets the same verdict everywhere.

use std::path::{Path, PathBuf};

use super::profile::positive;
use super::profile::readings;
use super::profile::setting::{Correction, SettingArgs};
use super::{Failure, input};
use crate::bore::{self, Basis, Contact, Located, Profile, Readings, Repeatability, profile};
use crate::job::Seat;
use crate::uncertainty::study::Study;

/// What is said of the gauge, as arguments.
#[derive(Debug, clap::Args)]
pub(super) struct GaugedArgs {
    /// How the gauge touched the bore.
    #[arg(long, value_enum, default_value_t = Contact::TwoPoint)]
    pub contact: Contact,
    /// The gauge's digit step, mm; left out: at least the last digit of the readings.
    #[arg(long, value_name = "MM", value_parser = positive)]
    resolution: Option<f64>,
    /// The gauge's repeatability from a study (the JSON of `borewright study --json`), for sections
    /// too sparse to show it.
    #[arg(long, value_name = "FILE")]
    study: Option<PathBuf>,
    #[command(flatten)]
    pub setting: SettingArgs,
}

/// A file as it was gauged.
pub(super) struct Gauged {
    pub profile: Profile,
    /// The readings, corrected.
    pub readings: Vec<Located>,
    /// What they state, after the correction.
    pub stated: Readings,
    pub correction: Option<Correction>,
}

impl GaugedArgs {
    /// The profile of `file`. `said`: what its readings state; where that is left out, their signs
    /// tell.
    ///
    /// # Errors
    /// [`Failure::Wrong`] where the file, the study or the setting can't be used, with the place.
    pub(super) fn read(
        &self,
        file: &Path,
        seat: Option<&Seat>,
        said: Option<Readings>,
    ) -> Result<Gauged, Failure> {
        let (name, text) = input(file)?;
        let mut table =
            readings::parse(&name, &text, said.is_some(), seat).map_err(Failure::wrong)?;
        let due = self.setting.due(seat);
        table
            .check_unit(&name, self.contact, said.is_some(), &due)
            .map_err(Failure::wrong)?;
        let by_sign = if table.deviations {
            Readings::DeviationFromUnknown
        } else {
            Readings::Size
        };
        let mut basis = Basis {
            readings: said.unwrap_or(by_sign),
            resolution_mm: self.resolution,
            last_digit_mm: table.last_digit_mm,
            repeatability: self.study.as_deref().map(repeatability).transpose()?,
            ..Basis::default()
        };
        let deviations = basis.readings != Readings::Size;
        let correction = self.setting.correction(
            self.contact,
            seat,
            deviations,
            table.typical_mm(),
            self.resolution,
        )?;
        if let Some(correction) = &correction {
            if deviations && !correction.has_ring() {
                return Err(Failure::wrong(format!(
                    "{name}: --temperature corrects sizes, and these are deviations; add --ring"
                )));
            }
            for reading in &mut table.all {
                let value = &mut reading.observation.reading_mm;
                *value = correction.apply(*value);
            }
            basis.readings = Readings::Size;
            basis.setting = Some(correction.setting());
        }
        let profile = profile(self.contact, &table.all, &basis)
            .map_err(|error: bore::Error| Failure::wrong(error))?;
        Ok(Gauged {
            profile,
            readings: table.all,
            stated: basis.readings,
            correction,
        })
    }
}

fn repeatability(file: &Path) -> Result<Repeatability, Failure> {
    let (name, text) = input(file)?;
    let study: Study = serde_json::from_slice(&text).map_err(|error| {
        Failure::wrong(format!(
            "{name} is no study: {error}; give what `borewright study --json` writes"
        ))
    })?;
    study
        .repeatability()
        .filter(|&(standard, degrees)| standard.is_finite() && standard >= 0.0 && degrees >= 1.0)
        .map(|(standard_mm, degrees_of_freedom)| Repeatability {
            standard_mm,
            degrees_of_freedom,
        })
        .ok_or_else(|| Failure::wrong(format!("{name} holds no repeatability")))
}
