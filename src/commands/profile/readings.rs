//! The readings of a profile, from CSV.

use std::collections::BTreeMap;

use crate::bore::{Contact, GREATEST_MM, Located, Observation};
use crate::commands::table::{Column, Error, Row, Table};
use crate::job::{Seat, depth_or_refuse};
use crate::units::{INCH_MM, Length, LengthUnit};

/// What a file holds.
pub(in crate::commands) struct Readings {
    pub all: Vec<Located>,
    /// The last decimal place that any reading uses, mm; `None` where none is written plainly.
    pub last_digit_mm: Option<f64>,
    /// Whether the values can only be deviations: some are 0 or less, and all are small.
    pub deviations: bool,
}

impl Readings {
    /// The median, mm.
    pub(in crate::commands) fn typical_mm(&self) -> f64 {
        let values = self.all.iter().map(|at| at.observation.reading_mm);
        median(values.collect())
    }

    /// Whether the readings of each bore can be of the sizes that are `due`: not further off than the
    /// bench allows, about 25.4 times under or over them, or diameters where radii are due or the other
    /// way round. `deviations`: the user says that they are such.
    pub(in crate::commands) fn check_unit(
        &self,
        file: &str,
        contact: Contact,
        deviations: bool,
        due: &[Due],
    ) -> Result<(), String> {
        let mut bores: BTreeMap<&str, Vec<f64>> = BTreeMap::new();
        for at in &self.all {
            let of_bore = bores.entry(&at.bore).or_default();
            of_bore.push(at.observation.reading_mm);
        }
        let deviations = deviations || self.deviations;
        let mut bores = bores.into_values().map(median);
        let wrong = bores.find_map(|typical| {
            let mut wrong = due.iter().filter_map(|due| {
                if deviations {
                    due.too_far_for_deviations(contact, typical)
                } else {
                    due.unlike(contact, typical)
                }
            });
            wrong.next()
        });
        wrong.map_or(Ok(()), |what| Err(format!("{file}: {what}")))
    }
}

/// Sizes that a bore is due to have.
pub(in crate::commands) struct Due {
    /// Diameters, mm: one of them.
    pub sizes_mm: Vec<f64>,
    /// What can belong differs from that by no more, mm.
    pub within_mm: f64,
    /// Whether it is the ring that deviations count from.
    pub ring: bool,
}

impl Due {
    /// What is said of readings of about `typical` mm that can't be of these sizes.
    fn unlike(&self, contact: Contact, typical: f64) -> Option<String> {
        let across = contact.diameter_per_reading();
        let off = |size: f64| (across * typical - size).abs();
        let sizes = self.sizes_mm.iter().copied();
        let nearest = sizes.min_by(|&a, &b| off(a).total_cmp(&off(b)))?;
        let due = nearest / across;
        (off(nearest) > self.within_mm).then(|| {
            other_unit(typical, due)
                .or_else(|| half(contact, typical, due))
                .unwrap_or_else(|| self.further_off(typical, due))
        })
    }

    /// The same of deviations.
    fn too_far_for_deviations(&self, contact: Contact, typical: f64) -> Option<String> {
        let off = (contact.diameter_per_reading() * typical).abs();
        (self.ring && off > self.within_mm).then(|| {
            format!(
                "deviations of about {typical} mm are more than the {} mm of diameter by which a bore can differ from the ring: check the ring's mark and the unit",
                self.within_mm
            )
        })
    }

    fn further_off(&self, typical: f64, due: f64) -> String {
        let check = if self.ring {
            "check the ring's mark"
        } else {
            "check which seat it is"
        };
        format!(
            "readings of about {typical} mm where {due} mm are due differ by more than the {} mm of diameter that can belong: {check}, or, where they are deviations, say so with --deviations-from",
            self.within_mm
        )
    }
}

/// What is said of readings that are in another unit than the size that they are due to have, mm;
/// `None` where they are not.
pub(in crate::commands) fn other_unit(typical_mm: f64, due_mm: f64) -> Option<String> {
    if !(typical_mm > 0.0 && due_mm > 0.0 && an_inch_apart(typical_mm, due_mm)) {
        return None;
    }
    let hint = if typical_mm < due_mm {
        "these look like inches: name the column reading_in"
    } else {
        "one of the two looks like inches: state both in millimetres, or name the column reading_in"
    };
    Some(format!(
        "readings of about {typical_mm} mm where {due_mm} mm are due: {hint}"
    ))
}

/// What is said of readings about half or twice as large as they are due to be, mm: within 5 %, as
/// no gauge is set in a ring of half or twice the bore. Judgement.
fn half(contact: Contact, typical_mm: f64, due_mm: f64) -> Option<String> {
    let (times, hint) = match contact {
        Contact::Radius => (
            2.0,
            "these look like diameters, and `--contact radius` reads radii: say how the gauge touched",
        ),
        Contact::TwoPoint | Contact::ThreePoint => {
            (0.5, "these look like radii: say so with `--contact radius`")
        }
    };
    ((typical_mm / due_mm / times - 1.0).abs() < 0.05)
        .then(|| format!("readings of about {typical_mm} mm where {due_mm} mm are due: {hint}"))
}

/// Whether two sizes greater than 0 differ by about as much as inches and millimetres do.
pub(in crate::commands) fn an_inch_apart(a: f64, b: f64) -> bool {
    let ratio = (a / b).max(b / a);
    (ratio / INCH_MM - 1.0).abs() < 0.15
}

/// What is said of a value among others of the other unit.
pub(in crate::commands) fn mixed(value: f64, median: f64) -> String {
    format!(
        "{value} mm and the other readings, about {median} mm, differ by about 25.4 times: millimetres and inches are mixed"
    )
}

/// The middle one of `values`, the upper of two; 0 of none.
pub(in crate::commands) fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or(0.0)
}

/// A reading larger than this is no deviation, mm.
const GREATEST_DEVIATION_MM: f64 = 5.0;

/// The columns that a profile needs.
struct Columns {
    bore: Column,
    depth: Column,
    angle: Column,
    reading: Column,
    unit: LengthUnit,
}

impl Columns {
    fn of(table: &Table<'_>) -> Result<Self, Error> {
        let (bore, depth, angle) = (
            table.need("bore")?,
            table.need("depth_mm")?,
            table.need("angle_deg")?,
        );
        let (reading, unit) = reading(table)?;
        Ok(Self {
            bore,
            depth,
            angle,
            reading,
            unit,
        })
    }
}

/// The column of the readings, and their unit.
pub(in crate::commands) fn reading(table: &Table<'_>) -> Result<(Column, LengthUnit), Error> {
    match (table.find("reading_mm")?, table.find("reading_in")?) {
        (Some(column), None) => Ok((column, LengthUnit::Mm)),
        (None, Some(column)) => Ok((column, LengthUnit::In)),
        (None, None) => Err(table.wrong_header("the column `reading_mm` is missing")),
        (Some(_), Some(_)) => {
            let what = "`reading_mm` and `reading_in` are both there, and only one may be";
            Err(table.wrong_header(what))
        }
    }
}

/// A row's reading, mm.
pub(in crate::commands) fn reading_mm(
    row: &Row<'_>,
    column: &Column,
    unit: LengthUnit,
) -> Result<f64, Error> {
    let value = row.number(column)?;
    Ok(match unit {
        LengthUnit::Mm => value,
        LengthUnit::In => inches(row.text(column)?).unwrap_or(value * INCH_MM),
    })
}

/// Reads `text`, which came from `file`. `said_deviations`: the user says that the values are
/// deviations, so that any sign and size may be. No depth lies outside `seat`.
pub(in crate::commands) fn parse(
    file: &str,
    text: &[u8],
    said_deviations: bool,
    seat: Option<&Seat>,
) -> Result<Readings, Error> {
    let needs = "bore, depth_mm, angle_deg and reading_mm (or reading_in)";
    let table = Table::read(file, text, needs)?;
    let columns = Columns::of(&table)?;
    let mut rows = Vec::new();
    let mut decimals: Option<i32> = None;
    for row in table.rows()? {
        rows.push((row, located(row, &columns, seat)?));
        decimals = decimals.max(decimals_of(row.text(&columns.reading)?));
    }
    let last_digit_mm = decimals.map(|decimals| last_digit_mm(decimals, columns.unit));
    let deviations = !said_deviations && check_together(&rows, &columns.reading)?;
    Ok(Readings {
        last_digit_mm,
        all: rows.into_iter().map(|(_, located)| located).collect(),
        deviations,
    })
}

/// What the last of so many decimal places is worth, mm.
pub(in crate::commands) fn last_digit_mm(decimals: i32, unit: LengthUnit) -> f64 {
    let place = 10.0_f64.powi(-decimals);
    match unit {
        LengthUnit::Mm => place,
        LengthUnit::In => INCH_MM * place,
    }
}

fn located(row: Row<'_>, columns: &Columns, seat: Option<&Seat>) -> Result<Located, Error> {
    let bore = row.text(&columns.bore)?;
    if bore.is_empty() {
        return Err(row.wrong(&columns.bore, "the bore has no name"));
    }
    let depth_mm = row.number(&columns.depth)?;
    if depth_mm.abs() > GREATEST_MM {
        return Err(row.wrong(
            &columns.depth,
            format!(
                "a depth of `{}` mm is longer than any bore",
                row.text(&columns.depth)?
            ),
        ));
    }
    let length_mm = seat.and_then(|seat| seat.length_mm(bore));
    depth_or_refuse(depth_mm, length_mm).map_err(|why| row.wrong(&columns.depth, why))?;
    let angle_deg = row.number(&columns.angle)?;
    if !(0.0..360.0).contains(&angle_deg) {
        return Err(row.wrong(&columns.angle, format!("{angle_deg}° is not in [0, 360)")));
    }
    let reading_mm = reading_mm(&row, &columns.reading, columns.unit)?;
    if reading_mm.abs() > GREATEST_MM {
        return Err(row.wrong(
            &columns.reading,
            format!(
                "`{}` is larger than any bore gauge reads",
                row.text(&columns.reading)?
            ),
        ));
    }
    Ok(Located {
        bore: bore.to_owned(),
        depth_mm,
        observation: Observation {
            angle_deg,
            reading_mm,
        },
    })
}

/// How many digits stand behind the decimal point (or comma), of `4.598e1` two; `None` for other forms
/// of number.
pub(in crate::commands) fn decimals_of(text: &str) -> Option<i32> {
    let (mantissa, exponent) = match text.split_once(['e', 'E']) {
        Some((mantissa, exponent)) => (mantissa, exponent.parse().ok()?),
        None => (text, 0),
    };
    let (_, decimals) = mantissa.split_once(['.', ',']).unwrap_or((mantissa, ""));
    let plain = decimals.bytes().all(|byte| byte.is_ascii_digit());
    let decimals = i32::try_from(decimals.len()).ok().filter(|_| plain)?;
    decimals.checked_sub(exponent)
}

/// Decimal text in inches, rounded once; `None` for other forms of number.
fn inches(text: &str) -> Option<f64> {
    let (whole, fraction) = text.split_once('.').unwrap_or((text, ""));
    let decimals = u32::try_from(fraction.len()).ok()?;
    let mantissa: i64 = format!("{whole}{fraction}").parse().ok()?;
    Length::from_decimal(mantissa, decimals, LengthUnit::In).map(Length::mm)
}

/// What no row shows alone: signs that no size has, and units mixed up. Whether the values can
/// only be deviations.
fn check_together(rows: &[(Row<'_>, Located)], column: &Column) -> Result<bool, Error> {
    let value = |located: &Located| located.observation.reading_mm;
    if let Some((row, located)) = rows.iter().find(|(_, located)| value(located) <= 0.0) {
        if rows
            .iter()
            .all(|(_, located)| value(located).abs() <= GREATEST_DEVIATION_MM)
        {
            return Ok(true);
        }
        return Err(row.wrong(
            column,
            format!(
                "{} mm is no size of a bore; where readings are deviations, say so with --deviations-from",
                value(located)
            ),
        ));
    }
    let median = median(rows.iter().map(|(_, located)| value(located)).collect());
    for (row, located) in rows {
        let value = value(located);
        if an_inch_apart(value, median) {
            return Err(row.wrong(column, mixed(value, median)));
        }
    }
    Ok(false)
}
