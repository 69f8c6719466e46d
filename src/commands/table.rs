//! Tables from CSV, with the line and column of what is wrong.

use csv::{ByteRecord, ReaderBuilder};

/// Why a table can't be used.
#[derive(Debug, PartialEq, thiserror::Error)]
pub(super) enum Error {
    #[error("{file}, line 1: {what}; the header must name {needs}")]
    Header {
        file: String,
        what: String,
        needs: &'static str,
    },
    #[error("{file}, line {line}, column {column} ({name}): {what}")]
    Field {
        file: String,
        line: u64,
        column: usize,
        name: String,
        what: String,
    },
    #[error("{file}, line {line}: {what}")]
    Row {
        file: String,
        line: u64,
        what: String,
    },
    #[error("{file} is empty; its first line must name {needs}")]
    Blank { file: String, needs: &'static str },
    #[error("{file} holds no readings; give at least one row below the header")]
    Empty { file: String },
}

/// A column of a table: where it stands, and its name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Column {
    at: usize,
    name: String,
}

/// The rows of a CSV file below its header.
pub(super) struct Table<'a> {
    file: &'a str,
    text: &'a [u8],
    needs: &'static str,
    /// Whether numbers may have a decimal comma: where no comma parts the columns.
    decimal_comma: bool,
    header: ByteRecord,
    /// Where each row starts in the text, and its fields.
    rows: Vec<(usize, ByteRecord)>,
}

/// One row.
#[derive(Clone, Copy)]
pub(super) struct Row<'a> {
    table: &'a Table<'a>,
    start: usize,
    fields: &'a ByteRecord,
}

impl<'a> Table<'a> {
    /// Reads `text`, which came from `file`; `needs` says which columns the header must name.
    pub(super) fn read(file: &'a str, text: &'a [u8], needs: &'static str) -> Result<Self, Error> {
        // Spreadsheets put a byte-order mark before the first name.
        let text = text.strip_prefix(b"\xef\xbb\xbf").unwrap_or(text);
        if text.trim_ascii().is_empty() {
            return Err(Error::Blank {
                file: file.to_owned(),
                needs,
            });
        }
        let delimiter = delimiter_of(text);
        let mut reader = ReaderBuilder::new()
            .delimiter(delimiter)
            .trim(csv::Trim::All)
            .flexible(true)
            .from_reader(text);
        let header = reader
            .byte_headers()
            .map_err(|error| Error::Header {
                file: file.to_owned(),
                what: error.to_string(),
                needs,
            })?
            .clone();
        let mut rows = Vec::new();
        for record in reader.byte_records() {
            let record = record.map_err(|error| Error::Row {
                file: file.to_owned(),
                line: line_of(text, error.position().map_or(0, at_byte)),
                what: error.to_string(),
            })?;
            rows.push((record.position().map_or(0, at_byte), record));
        }
        Ok(Self {
            file,
            text,
            needs,
            decimal_comma: delimiter != b',',
            header,
            rows,
        })
    }

    /// The column called `name`; `None` where there is none.
    pub(super) fn find(&self, name: &str) -> Result<Option<Column>, Error> {
        let mut places = self
            .header
            .iter()
            .enumerate()
            .filter(|(_, field)| field.eq_ignore_ascii_case(name.as_bytes()))
            .map(|(at, _)| at);
        let first = places.next();
        if places.next().is_some() {
            return Err(self.wrong_header(format!("the column `{name}` is there twice")));
        }
        Ok(first.map(|at| Column {
            at,
            name: name.to_owned(),
        }))
    }

    /// The column called `name`.
    pub(super) fn need(&self, name: &str) -> Result<Column, Error> {
        self.find(name)?
            .ok_or_else(|| self.wrong_header(format!("the column `{name}` is missing")))
    }

    pub(super) fn wrong_header(&self, what: impl Into<String>) -> Error {
        Error::Header {
            file: self.file.to_owned(),
            what: what.into(),
            needs: self.needs,
        }
    }

    /// The rows; there is one at least, and none is longer than the header: a decimal comma makes
    /// two fields of one number.
    pub(super) fn rows(&self) -> Result<impl Iterator<Item = Row<'_>>, Error> {
        if self.rows.is_empty() {
            return Err(Error::Empty {
                file: self.file.to_owned(),
            });
        }
        let longer = self.rows.iter().find(|(_, fields)| {
            let mut beyond = fields.iter().skip(self.header.len());
            beyond.any(|field| !field.is_empty())
        });
        if let Some((start, fields)) = longer {
            return Err(Error::Row {
                file: self.file.to_owned(),
                line: line_of(self.text, *start),
                what: format!(
                    "{} fields stand where the header names {} columns; where commas are decimal, write points, or part the columns with semicolons",
                    fields.len(),
                    self.header.len()
                ),
            });
        }
        Ok(self.rows.iter().map(|(start, fields)| Row {
            table: self,
            start: *start,
            fields,
        }))
    }
}

impl<'a> Row<'a> {
    /// The text of a field.
    pub(super) fn text(&self, column: &Column) -> Result<&'a str, Error> {
        let field = self
            .fields
            .get(column.at)
            .ok_or_else(|| self.wrong(column, "the row ends before this column"))?;
        std::str::from_utf8(field).map_err(|_| self.wrong(column, "this is not UTF-8 text"))
    }

    /// The finite number that a field holds.
    pub(super) fn number(&self, column: &Column) -> Result<f64, Error> {
        let field = self.text(column)?;
        let parsed = if self.table.decimal_comma {
            field.replacen(',', ".", 1).parse()
        } else {
            field.parse()
        };
        let value: f64 = parsed.map_err(|_| {
            let hint = if field.contains(',') {
                "; write a decimal point"
            } else {
                ""
            };
            self.wrong(column, format!("`{field}` is not a number{hint}"))
        })?;
        if value.is_finite() {
            Ok(value)
        } else {
            Err(self.wrong(column, format!("`{field}` is not finite")))
        }
    }

    /// What is wrong with a field of this row.
    pub(super) fn wrong(&self, column: &Column, what: impl Into<String>) -> Error {
        Error::Field {
            file: self.table.file.to_owned(),
            line: line_of(self.table.text, self.start),
            column: column.at + 1,
            name: column.name.clone(),
            what: what.into(),
        }
    }
}

/// What parts the columns: a comma, or where the header has none a semicolon or a tab, as
/// spreadsheets write where a comma is decimal.
fn delimiter_of(text: &[u8]) -> u8 {
    let header = text.split(|byte| b"\r\n".contains(byte)).next();
    let has = |delimiter: &u8| header.is_some_and(|header| header.contains(delimiter));
    [b',', b';', b'\t'].into_iter().find(has).unwrap_or(b',')
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
