//! Short aligned lines for people.

use jiff::Timestamp;
use jiff::tz::TimeZone;
use protocol::evidence::Time;

/// Names and values in two columns, indented by two blanks. Entries without value are left out: what is not
/// known is absent.
#[derive(Debug, Default)]
pub struct Pairs {
    lines: Vec<(String, String)>,
}

impl Pairs {
    /// Adds a line.
    pub fn add(&mut self, name: &str, value: impl Into<String>) {
        self.lines.push((name.to_owned(), value.into()));
    }

    /// Adds a line when there is a value.
    pub fn add_some(&mut self, name: &str, value: Option<String>) {
        if let Some(value) = value {
            self.add(name, value);
        }
    }

    /// The lines.
    #[must_use]
    pub fn text(&self) -> String {
        let width = self.lines.iter().map(|(n, _)| width(n)).max().unwrap_or(0);
        self.lines
            .iter()
            .map(|(name, value)| {
                let pad = " ".repeat(width - self::width(name));
                let hanging = format!("\n  {}  ", " ".repeat(width));
                format!("  {name}{pad}  {}\n", value.replace('\n', &hanging))
            })
            .collect()
    }
}

/// Rows of cells under a header, numbers to the right.
#[derive(Debug)]
pub struct Table {
    rows: Vec<Vec<String>>,
}

impl Table {
    /// A table with this header.
    #[must_use]
    pub fn new(header: &[&str]) -> Self {
        Self {
            rows: vec![header.iter().map(|&h| h.to_owned()).collect()],
        }
    }

    /// Adds a row.
    pub fn row(&mut self, cells: impl Into<Vec<String>>) {
        self.rows.push(cells.into());
    }

    /// The lines. A column whose cells all begin like a number stands to the right; one without any content is
    /// left out.
    #[must_use]
    pub fn text(&self) -> String {
        let columns = self.rows.iter().map(Vec::len).max().unwrap_or(0);
        let cell = |row: &Vec<String>, i: usize| row.get(i).cloned().unwrap_or_default();
        let filled = |i: &usize| self.rows.iter().skip(1).any(|r| !cell(r, *i).is_empty());
        let layout: Vec<(usize, usize, bool)> = (0..columns)
            .filter(filled)
            .map(|i| {
                let widest = self.rows.iter().map(|r| width(&cell(r, i))).max();
                let numeric = self.rows.iter().skip(1).all(|r| is_numeric(&cell(r, i)));
                (i, widest.unwrap_or(0), numeric)
            })
            .collect();
        self.rows
            .iter()
            .map(|row| {
                let cells: Vec<String> = layout
                    .iter()
                    .map(|&(i, widest, numeric)| {
                        let cell = cell(row, i);
                        let pad = " ".repeat(widest - width(&cell));
                        if numeric {
                            format!("{pad}{cell}")
                        } else {
                            format!("{cell}{pad}")
                        }
                    })
                    .collect();
                format!("  {}\n", cells.join("  ").trim_end())
            })
            .collect()
    }
}

fn width(text: &str) -> usize {
    // Combining characters and wide scripts do not occur in what is laid out here but in users' names,
    // where a line that is a little off does no harm.
    text.chars().count()
}

fn is_numeric(cell: &str) -> bool {
    let digits = cell.trim_start_matches(['+', '-', '±']);
    matches!(cell, "" | "∞") || digits.starts_with(|c: char| c.is_ascii_digit())
}

/// A moment in the user's own time.
pub fn local_time(utc: Time) -> String {
    match Timestamp::from_nanosecond(i128::from(utc.0)) {
        Ok(at) => at
            .to_zoned_datetime(TimeZone::system())
            .strftime("%Y-%m-%d %H:%M")
            .to_string(),
        Err(_) => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pairs_line_up_and_hang() {
        let mut pairs = Pairs::default();
        pairs.add("a", "1");
        pairs.add("µm", "two\nlines");
        pairs.add_some("none", None);
        assert_eq!(pairs.text(), "  a   1\n  µm  two\n      lines\n");
    }

    #[test]
    fn numbers_stand_to_the_right_words_to_the_left_and_empty_columns_nowhere() {
        let mut table = Table::new(&["name", "bow", "n"]);
        table.row(["a", "", "+1"].map(str::to_owned));
        table.row(["bcdef", "", "-10"].map(str::to_owned));
        assert_eq!(table.text(), "  name     n\n  a       +1\n  bcdef  -10\n");
    }
}
