//! Readings from CSV, with the line and column of what is wrong.

use csv::{ByteRecord, ReaderBuilder};

use crate::bore::{Located, Observation};
use crate::units::{INCH_MM, Length, LengthUnit};

/// What a file holds.
pub(in crate::commands) struct Table {
    pub readings: Vec<Located>,
    /// Whether the values can only be deviations: some are 0 or less, and all are small.
    pub deviations: bool,
}

/// Why a file of readings can't be used.
#[derive(Debug, PartialEq, thiserror::Error)]
pub(in crate::commands) enum Error {
    #[error(
        "{file}, line 1: {what}; the header must name bore, depth_mm, angle_deg and reading_mm (or reading_in)"
    )]
    Header { file: String, what: String },
    #[error("{file}, line {line}, column {column} ({name}): {what}")]
    Field {
        file: String,
        line: u64,
        column: usize,
        name: &'static str,
        what: String,
    },
    #[error("{file}, line {line}: {what}")]
    Row {
        file: String,
        line: u64,
        what: String,
    },
    #[error("{file} holds no readings; give at least one row below the header")]
    Empty { file: String },
}

/// A reading larger than this is no deviation, mm.
const GREATEST_DEVIATION_MM: f64 = 5.0;

/// Where the columns stand.
struct Columns {
    bore: usize,
    depth: usize,
    angle: usize,
    reading: usize,
    unit: LengthUnit,
}

impl Columns {
    const fn reading_name(&self) -> &'static str {
        match self.unit {
            LengthUnit::Mm => "reading_mm",
            LengthUnit::In => "reading_in",
        }
    }
}

/// Reads `text`, which came from `file`. `said_deviations`: the user says that the values are
/// deviations, so that any sign and size may be.
pub(in crate::commands) fn parse(
    file: &str,
    text: &[u8],
    said_deviations: bool,
) -> Result<Table, Error> {
    // Spreadsheets put a byte-order mark before the first name.
    let text = text.strip_prefix(b"\xef\xbb\xbf").unwrap_or(text);
    let mut reader = ReaderBuilder::new()
        .trim(csv::Trim::All)
        .flexible(true)
        .from_reader(text);
    let header = reader.byte_headers().map_err(|error| Error::Header {
        file: file.to_owned(),
        what: error.to_string(),
    })?;
    let columns = columns(file, header)?;

    let mut rows: Vec<(usize, Located)> = Vec::new();
    let mut record = ByteRecord::new();
    loop {
        match reader.read_byte_record(&mut record) {
            Ok(true) => {}
            Ok(false) => break,
            Err(error) => {
                return Err(Error::Row {
                    file: file.to_owned(),
                    line: line_of(text, error.position().map_or(0, at_byte)),
                    what: error.to_string(),
                });
            }
        }
        let start = record.position().map_or(0, at_byte);
        let located = row(&record, &columns).map_err(|(at, name, what)| Error::Field {
            file: file.to_owned(),
            line: line_of(text, start),
            column: at + 1,
            name,
            what,
        })?;
        rows.push((start, located));
    }
    if rows.is_empty() {
        return Err(Error::Empty {
            file: file.to_owned(),
        });
    }
    let deviations =
        check_together(&rows, said_deviations).map_err(|(start, what)| Error::Field {
            file: file.to_owned(),
            line: line_of(text, start),
            column: columns.reading + 1,
            name: columns.reading_name(),
            what,
        })?;
    Ok(Table {
        readings: rows.into_iter().map(|(_, located)| located).collect(),
        deviations,
    })
}

fn columns(file: &str, header: &ByteRecord) -> Result<Columns, Error> {
    let wrong = |what: String| Error::Header {
        file: file.to_owned(),
        what,
    };
    let find = |name: &str| -> Result<Option<usize>, Error> {
        let mut places = header
            .iter()
            .enumerate()
            .filter(|(_, field)| field.eq_ignore_ascii_case(name.as_bytes()))
            .map(|(at, _)| at);
        let first = places.next();
        match places.next() {
            Some(_) => Err(wrong(format!("the column `{name}` is there twice"))),
            None => Ok(first),
        }
    };
    let need =
        |name: &str| find(name)?.ok_or_else(|| wrong(format!("the column `{name}` is missing")));
    let (bore, depth, angle) = (need("bore")?, need("depth_mm")?, need("angle_deg")?);
    let (reading, unit) = match (find("reading_mm")?, find("reading_in")?) {
        (Some(at), None) => (at, LengthUnit::Mm),
        (None, Some(at)) => (at, LengthUnit::In),
        (None, None) => return Err(wrong("the column `reading_mm` is missing".to_owned())),
        (Some(_), Some(_)) => {
            return Err(wrong(
                "`reading_mm` and `reading_in` are both there, and only one may be".to_owned(),
            ));
        }
    };
    Ok(Columns {
        bore,
        depth,
        angle,
        reading,
        unit,
    })
}

/// Where the reader stood when it began a record.
fn at_byte(position: &csv::Position) -> usize {
    usize::try_from(position.byte()).unwrap_or(usize::MAX)
}

/// The line, from 1, of the record that begins at or after byte `start`: empty lines, which the
/// reader passes over, come before it.
fn line_of(text: &[u8], start: usize) -> u64 {
    let start = start.min(text.len());
    let begins = text[start..]
        .iter()
        .position(|byte| !b"\r\n".contains(byte))
        .map_or(text.len(), |skipped| start + skipped);
    let before = &text[..begins];
    let ends = before
        .iter()
        .zip(before.iter().skip(1).chain(b" "))
        .filter(|&(&byte, &next)| byte == b'\n' || (byte == b'\r' && next != b'\n'));
    1 + ends.count() as u64
}

/// A field's place, its name, and what is wrong with it.
type Wrong = (usize, &'static str, String);

fn row(record: &ByteRecord, columns: &Columns) -> Result<Located, Wrong> {
    let wrong = |at: usize, name: &'static str, what: String| (at, name, what);
    let text = |at: usize, name: &'static str| {
        let field = record
            .get(at)
            .ok_or_else(|| wrong(at, name, "the row ends before this column".to_owned()))?;
        std::str::from_utf8(field).map_err(|_| wrong(at, name, "this is not UTF-8 text".to_owned()))
    };
    let number = |at: usize, name: &'static str| {
        let field = text(at, name)?;
        let value: f64 = field.parse().map_err(|_| {
            let hint = if field.contains(',') {
                "; write a decimal point"
            } else {
                ""
            };
            wrong(at, name, format!("`{field}` is not a number{hint}"))
        })?;
        if value.is_finite() {
            Ok(value)
        } else {
            Err(wrong(at, name, format!("`{field}` is not finite")))
        }
    };

    let bore = text(columns.bore, "bore")?;
    if bore.is_empty() {
        return Err(wrong(
            columns.bore,
            "bore",
            "the bore has no name".to_owned(),
        ));
    }
    let depth_mm = number(columns.depth, "depth_mm")?;
    let angle_deg = number(columns.angle, "angle_deg")?;
    if !(0.0..360.0).contains(&angle_deg) {
        return Err(wrong(
            columns.angle,
            "angle_deg",
            format!("{angle_deg}° is not in [0, 360)"),
        ));
    }
    let value = number(columns.reading, columns.reading_name())?;
    let reading_mm = match columns.unit {
        LengthUnit::Mm => value,
        LengthUnit::In => inches(text(columns.reading, "reading_in")?).unwrap_or(value * INCH_MM),
    };
    Ok(Located {
        bore: bore.to_owned(),
        depth_mm,
        observation: Observation {
            angle_deg,
            reading_mm,
        },
    })
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
fn check_together(
    rows: &[(usize, Located)],
    said_deviations: bool,
) -> Result<bool, (usize, String)> {
    if said_deviations {
        return Ok(false);
    }
    let value = |row: &(usize, Located)| row.1.observation.reading_mm;
    if let Some(row) = rows.iter().find(|row| value(row) <= 0.0) {
        if rows.iter().all(|r| value(r).abs() <= GREATEST_DEVIATION_MM) {
            return Ok(true);
        }
        return Err((
            row.0,
            format!(
                "{} mm is no size of a bore; where readings are deviations, say so with --deviations-from",
                value(row)
            ),
        ));
    }
    let mut sorted: Vec<f64> = rows.iter().map(value).collect();
    sorted.sort_by(f64::total_cmp);
    let median = sorted[sorted.len() / 2];
    for row in rows {
        let ratio = (value(row) / median).max(median / value(row));
        if (ratio / INCH_MM - 1.0).abs() < 0.15 {
            return Err((
                row.0,
                format!(
                    "{} mm and the other readings, about {median} mm, differ by about 25.4 times: millimetres and inches are mixed",
                    value(row)
                ),
            ));
        }
    }
    Ok(false)
}
