//! The readings of a study, from CSV.

use crate::commands::profile::readings::{
    an_inch_apart, decimals_of, last_digit_mm, median, mixed, other_unit, reading, reading_mm,
};
use crate::commands::table::{Column, Error, Row, Table};
use crate::job::BELONGS_WITHIN_MM;
use crate::uncertainty::study::Trial;
use crate::units::LengthUnit;

/// What a file holds.
pub(super) enum Readings {
    OnePart(Vec<f64>),
    Crossed(Vec<Trial>),
}

impl Readings {
    /// Where the readings lie further from the `reference` than the bench allows, mm: about 25.4 times
    /// under or over it, or of another part.
    pub(super) fn check_unit(&self, file: &str, reference: Option<f64>) -> Result<(), String> {
        let values = match self {
            Self::OnePart(values) => values.clone(),
            Self::Crossed(trials) => trials.iter().map(|trial| trial.value_mm).collect(),
        };
        let typical = median(values);
        let Some(due) = reference.filter(|due| (typical - due).abs() > BELONGS_WITHIN_MM) else {
            return Ok(());
        };
        let what = other_unit(typical, due).unwrap_or_else(|| {
            format!(
                "readings of about {typical} mm where --reference says {due} mm differ by more than {BELONGS_WITHIN_MM} mm: state the part's size as the gauge reads it, half of it for one that reads radii"
            )
        });
        Err(format!("{file}: {what}"))
    }
}

/// A value larger than this is a bore's size, in inches or millimetres, and no deviation.
const GREATEST_DEVIATION_IN: f64 = 0.2;

/// Reads `text`, which came from `file`: the readings, and the gauge's digit step, mm.
pub(super) fn read(file: &str, text: &[u8]) -> Result<(Readings, Option<f64>), Error> {
    let table = Table::read(
        file,
        text,
        "reading_mm (or reading_in), and operator and part for a crossed study",
    )?;
    let value = match table.find("value")? {
        Some(column) => (column, LengthUnit::Mm),
        None => reading(&table)?,
    };
    match (table.find("operator")?, table.find("part")?) {
        (None, None) => {
            let rows: Vec<Row<'_>> = table.rows()?.collect();
            let step = step_mm(&table, &rows, &value)?;
            Ok((Readings::OnePart(numbers(&rows, &value)?), step))
        }
        (operator, Some(part)) => {
            let rows: Vec<Row<'_>> = table.rows()?.collect();
            let values = numbers(&rows, &value)?;
            let trials: Result<Vec<Trial>, Error> = rows
                .iter()
                .zip(values)
                .map(|(row, value_mm)| {
                    Ok(Trial {
                        operator: match &operator {
                            Some(column) => row.text(column)?.to_owned(),
                            None => "operator".to_owned(),
                        },
                        part: row.text(&part)?.to_owned(),
                        value_mm,
                    })
                })
                .collect();
            let step = step_mm(&table, &rows, &value)?;
            Ok((Readings::Crossed(trials?), step))
        }
        (Some(_), None) => Err(table.wrong_header("the column `part` is missing")),
    }
}

/// The gauge's digit step, mm, where a column says it; else what the last decimal place that any row uses
/// is worth, `None` where none is written plainly.
fn step_mm(
    table: &Table<'_>,
    rows: &[Row<'_>],
    (column, unit): &(Column, LengthUnit),
) -> Result<Option<f64>, Error> {
    if let Some(column) = table.find("resolution_mm")? {
        let mut step_mm = 0.0_f64;
        for row in rows {
            step_mm = step_mm.max(row.number(&column)?);
        }
        return Ok((step_mm > 0.0).then_some(step_mm));
    }
    let mut decimals: Option<i32> = None;
    for row in rows {
        decimals = decimals.max(decimals_of(row.text(column)?));
    }
    Ok(decimals.map(|decimals| last_digit_mm(decimals, *unit)))
}

/// The values, all of one unit: what a gauge repeats doesn't differ 25.4 times.
fn numbers(rows: &[Row<'_>], (column, unit): &(Column, LengthUnit)) -> Result<Vec<f64>, Error> {
    let values: Vec<f64> = rows
        .iter()
        .map(|row| reading_mm(row, column, *unit))
        .collect::<Result<_, _>>()?;
    // Deviations may differ by any ratio.
    if values.iter().all(|&value| value > GREATEST_DEVIATION_IN) {
        let middle = median(values.clone());
        for (row, &value) in rows.iter().zip(&values) {
            if an_inch_apart(value, middle) {
                return Err(row.wrong(column, mixed(value, middle)));
            }
        }
    }
    Ok(values)
}
