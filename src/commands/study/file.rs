//! The readings of a study, from CSV.

use crate::commands::table::{Error, Table};
use crate::uncertainty::study::Trial;

/// What a file holds.
pub(super) enum Readings {
    OnePart(Vec<f64>),
    Crossed(Vec<Trial>),
}

/// Reads `text`, which came from `file`.
pub(super) fn read(file: &str, text: &[u8]) -> Result<Readings, Error> {
    let table = Table::read(
        file,
        text,
        "reading_mm, and operator and part for a crossed study",
    )?;
    let value = match table.find("value")? {
        Some(column) => column,
        None => table.need("reading_mm")?,
    };
    match (table.find("operator")?, table.find("part")?) {
        (None, None) => {
            let readings: Result<Vec<f64>, Error> =
                table.rows()?.map(|row| row.number(&value)).collect();
            Ok(Readings::OnePart(readings?))
        }
        (operator, Some(part)) => {
            let trials: Result<Vec<Trial>, Error> = table
                .rows()?
                .map(|row| {
                    Ok(Trial {
                        operator: match &operator {
                            Some(column) => row.text(column)?.to_owned(),
                            None => "operator".to_owned(),
                        },
                        part: row.text(&part)?.to_owned(),
                        value_mm: row.number(&value)?,
                    })
                })
                .collect();
            Ok(Readings::Crossed(trials?))
        }
        (Some(_), None) => Err(table.wrong_header("the column `part` is missing")),
    }
}
