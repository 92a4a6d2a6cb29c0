//! A table of readings from a file: columns by the names in its first line, every mistake with its place.
//!
//! Spreadsheets write semicolons and decimal commas where the country does, and a byte order mark; programs
//! write `-3.2e-05`. All of these are read. What is not read is told with line and column, and nothing of
//! the table is used then.

mod row;

pub(super) use row::Row;

use crate::Failure;
use csv::{Position, ReaderBuilder, StringRecord, Trim};
use metrology::Length;
use protocol::api::Refusal;
use protocol::plan::StepKind;
use protocol::typed;
use std::fmt;
use std::fs::File;
use std::io::Read;
use std::path::Path;

/// The columns of what an instrument shows.
const READINGS: [&str; 5] = [
    "reading_mm",
    "diameter_mm",
    "stand_off_mm",
    "over_mm",
    "depth_mm",
];

/// A column that a table may have.
#[derive(Debug, Clone, Copy)]
pub(super) struct Column {
    pub name: &'static str,
    pub required: bool,
}

impl Column {
    /// A column that must be there.
    pub(super) const fn needed(name: &'static str) -> Self {
        Self {
            name,
            required: true,
        }
    }

    /// A column that may be there.
    pub(super) const fn optional(name: &'static str) -> Self {
        Self {
            name,
            required: false,
        }
    }
}

/// A table that has been read, before its cells are. A table may hold a million rows: their cells stand one behind the
/// other in one text, and not each by itself.
#[derive(Debug)]
pub(super) struct Table {
    name: String,
    columns: &'static [Column],
    /// For each known column, where it stands.
    places: Vec<Option<usize>>,
    cells: String,
    /// Where each cell ends, row by row.
    ends: Vec<usize>,
    /// Cells of a row.
    width: usize,
    /// The line of each row in the file, from 1.
    lines: Vec<u64>,
    semicolons: bool,
}

impl Table {
    /// Reads a file.
    pub(super) fn read(path: &Path, columns: &'static [Column]) -> Result<Self, Failure> {
        let mut text = String::new();
        File::open(path)
            .and_then(|mut file| file.read_to_string(&mut text))
            .map_err(|e| {
                Failure::new(
                    "cannot_read",
                    format!("the table {} cannot be read: {e}", path.display()),
                )
            })?;
        Self::parse(&path.display().to_string(), &text, columns)
    }

    pub(super) fn parse(
        name: &str,
        text: &str,
        columns: &'static [Column],
    ) -> Result<Self, Failure> {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let header_line = text.lines().find(|l| !l.trim().is_empty()).unwrap_or("");
        let semicolons = header_line.contains(';');
        let mut reader = ReaderBuilder::new()
            .delimiter(if semicolons { b';' } else { b',' })
            .trim(Trim::All)
            .from_reader(text.as_bytes());
        let broken = |e: csv::Error| malformed(name, text, &e);
        let header = reader.headers().map_err(broken)?.clone();
        let mut table = Self {
            name: name.to_owned(),
            columns,
            places: places(name, &header, columns)?,
            cells: String::with_capacity(text.len()),
            ends: Vec::new(),
            width: header.len(),
            lines: Vec::new(),
            semicolons,
        };
        let mut record = StringRecord::new();
        while reader.read_record(&mut record).map_err(broken)? {
            // Spreadsheets leave rows of nothing but separators.
            if record.iter().all(str::is_empty) {
                continue;
            }
            for cell in &record {
                table.cells.push_str(cell);
                table.ends.push(table.cells.len());
            }
            table
                .lines
                .push(record.position().map_or(0, |p| line(text, p)));
        }
        if table.lines.is_empty() {
            return Err(bad(format!("{name}: the table has no rows"))
                .hint(format!("its columns are {}", names(columns))));
        }
        Ok(table)
    }

    /// Its name, for what is said of the whole table.
    pub(super) fn name(&self) -> &str {
        &self.name
    }

    /// How many rows.
    pub(super) const fn len(&self) -> usize {
        self.lines.len()
    }

    /// The rows, in order.
    pub(super) fn rows(&self) -> impl Iterator<Item = Row<'_>> {
        (0..self.len()).map(|index| Row { table: self, index })
    }

    /// The line in the file of a row, counted from 1.
    pub(super) fn line_of(&self, row: usize) -> Option<u64> {
        self.lines.get(row.checked_sub(1)?).copied()
    }

    /// Whether it has this column.
    pub(super) fn has(&self, column: &str) -> bool {
        self.place(column).is_some()
    }

    /// Refuses readings that no instrument shows; and, where the display's step is not `stated`, one with fewer digits than a
    /// reading before it. What cannot be read is told where it is used.
    pub(super) fn check_readings(&self, kind: StepKind, stated: bool) -> Result<(), Failure> {
        for column in READINGS.iter().filter(|column| self.has(column)) {
            let mut finest: Option<Length> = None;
            for row in self.rows() {
                let Ok(shown) = row.length(column) else {
                    continue;
                };
                let cell = row.cell(column);
                let told = |refusal: Refusal| {
                    row.wrong(column, refusal.message)
                        .hint(refusal.hint.unwrap_or_default())
                };
                typed::within_reach(kind, cell, shown.value).map_err(told)?;
                // A number from a program shows no digits of a display.
                if stated || shown.resolution <= Length::from_pm(1) {
                    continue;
                }
                typed::all_digits(cell, shown, finest).map_err(told)?;
                let step = shown.resolution;
                finest = Some(finest.map_or(step, |finest| finest.min(step)));
            }
        }
        Ok(())
    }

    /// A failure about the whole table.
    pub(super) fn wrong(&self, what: impl fmt::Display) -> Failure {
        bad(format!("{}: {what}", self.name))
    }

    fn place(&self, column: &str) -> Option<usize> {
        let known = self.columns.iter().position(|c| c.name == column)?;
        self.places.get(known).copied().flatten()
    }
}

fn places(
    name: &str,
    header: &StringRecord,
    columns: &'static [Column],
) -> Result<Vec<Option<usize>>, Failure> {
    let mut places = vec![None; columns.len()];
    for (place, written) in header.iter().enumerate() {
        let wanted = written.to_lowercase();
        let Some(known) = columns.iter().position(|c| c.name == wanted) else {
            let near = config::near::nearest(&wanted, columns.iter().map(|c| c.name));
            return Err(
                bad(format!("{name}: unknown column `{written}`")).hint(near.map_or_else(
                    || format!("the columns are {}", names(columns)),
                    |near| format!("did you mean `{near}`?"),
                )),
            );
        };
        if places[known].replace(place).is_some() {
            return Err(bad(format!("{name}: column `{written}` is there twice")));
        }
    }
    for (column, place) in columns.iter().zip(&places) {
        if column.required && place.is_none() {
            return Err(
                bad(format!("{name}: column `{}` is missing", column.name)).hint(format!(
                    "the first line names the columns: {}",
                    names(columns)
                )),
            );
        }
    }
    Ok(places)
}

fn names(columns: &[Column]) -> String {
    let names: Vec<String> = columns
        .iter()
        .map(|c| {
            if c.required {
                c.name.to_owned()
            } else {
                format!("{} (optional)", c.name)
            }
        })
        .collect();
    names.join(", ")
}

/// The line that a row stands on. The reader counts from where the row before ended, blank lines included.
fn line(text: &str, position: &Position) -> u64 {
    let from = usize::try_from(position.byte()).unwrap_or(usize::MAX);
    let blank = text.as_bytes().get(from..).unwrap_or_default();
    let blank = blank.iter().take_while(|b| matches!(b, b'\r' | b'\n'));
    position.line() + blank.filter(|&&b| b == b'\n').count() as u64
}

fn malformed(name: &str, text: &str, error: &csv::Error) -> Failure {
    if let csv::ErrorKind::UnequalLengths {
        pos,
        expected_len,
        len,
    } = error.kind()
    {
        let line = pos
            .as_ref()
            .map_or(String::new(), |p| format!(", line {}", line(text, p)));
        return bad(format!(
            "{name}{line}: {len} cells, and the first line names {expected_len} columns"
        ));
    }
    bad(format!("{name}: {error}"))
}

fn bad(message: String) -> Failure {
    Failure::new("bad_table", message)
}

#[cfg(test)]
mod tests;
