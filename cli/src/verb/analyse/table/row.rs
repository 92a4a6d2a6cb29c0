//! A row of a table: its cells, read as what they should be.

use super::{Table, bad};
use crate::Failure;
use metrology::{Length, QuantityError, Shown, Unit};
use std::fmt;

/// One row of a [`Table`].
#[derive(Debug, Clone, Copy)]
pub struct Row<'t> {
    pub(super) table: &'t Table,
    pub(super) index: usize,
}

impl Row<'_> {
    /// The cell of a column; empty when the column is absent.
    pub fn cell(&self, column: &str) -> &str {
        let Some(place) = self.table.place(column) else {
            return "";
        };
        let end = self.index * self.table.width + place;
        let ends = &self.table.ends;
        let start = end.checked_sub(1).and_then(|before| ends.get(before));
        let from = start.copied().unwrap_or(0);
        let cell = ends.get(end).and_then(|to| self.table.cells.get(from..*to));
        cell.unwrap_or("")
    }

    /// Its line in the file.
    pub fn line(&self) -> u64 {
        self.table.lines.get(self.index).copied().unwrap_or(0)
    }

    /// A failure about this row's cell.
    pub fn wrong(&self, column: &str, what: impl fmt::Display) -> Failure {
        bad(format!(
            "{}, line {}, column {column}: {what}",
            self.table.name,
            self.line()
        ))
    }

    /// A length in mm with the step that its decimals show. A number written with an exponent, or with more
    /// decimals than a picometre has, comes from a program and not from a display: it is rounded to the
    /// picometre, and shows no step.
    pub fn length(&self, column: &str) -> Result<Shown, Failure> {
        let cell = self.cell(column);
        if cell.is_empty() {
            return Err(self.wrong(column, "the cell is empty"));
        }
        self.refuse_comma(column)?;
        match Shown::parse(cell, Unit::Mm, None) {
            Ok(shown) => Ok(shown),
            Err(error) => {
                let Some(mm) = self.float(cell) else {
                    return Err(self.wrong(column, reason(&error, cell)));
                };
                let value = Length::from_mm(mm).ok_or_else(|| {
                    self.wrong(
                        column,
                        format!("`{cell}` is out of range: within 1 km of zero"),
                    )
                })?;
                Ok(Shown {
                    value,
                    resolution: Length::from_pm(1),
                })
            }
        }
    }

    /// A number.
    pub fn number(&self, column: &str) -> Result<f64, Failure> {
        let cell = self.cell(column);
        if cell.is_empty() {
            return Err(self.wrong(column, "the cell is empty"));
        }
        self.refuse_comma(column)?;
        self.float(cell)
            .ok_or_else(|| self.wrong(column, format!("`{cell}` is not a number")))
    }

    /// A count from 1.
    pub fn count(&self, column: &str) -> Result<u32, Failure> {
        let cell = self.cell(column);
        cell.parse()
            .ok()
            .filter(|&n| n > 0)
            .ok_or_else(|| self.wrong(column, format!("`{cell}` is not a whole number from 1")))
    }

    /// Yes or no; no when the cell is empty or absent.
    pub fn flag(&self, column: &str) -> Result<bool, Failure> {
        let cell = self.cell(column);
        match cell.to_lowercase().as_str() {
            "" | "0" | "no" | "false" => Ok(false),
            "1" | "yes" | "true" => Ok(true),
            _ => Err(self.wrong(column, format!("`{cell}` is neither 0 nor 1"))),
        }
    }

    fn float(&self, cell: &str) -> Option<f64> {
        let decimal = if self.table.semicolons {
            cell.replace(',', ".")
        } else {
            cell.to_owned()
        };
        decimal.parse::<f64>().ok().filter(|x| x.is_finite())
    }

    /// Between commas a comma in a cell could part thousands as well as decimals.
    fn refuse_comma(&self, column: &str) -> Result<(), Failure> {
        let cell = self.cell(column);
        if cell.contains(',') && !self.table.semicolons {
            return Err(self
                .wrong(column, format!("`{cell}` has a decimal comma"))
                .hint("with decimal commas, separate the columns with semicolons"));
        }
        Ok(())
    }
}

/// Why a cell is not a length, in the words for a table.
fn reason(error: &QuantityError, cell: &str) -> String {
    match error {
        QuantityError::Unreadable { .. } => format!("`{cell}` is not a number in mm"),
        error => error.to_string(),
    }
}
