//! Short aligned lines for people, and how quantities are written in them.

use metrology::{Angle, Length};

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
    pub fn row<const N: usize>(&mut self, cells: [String; N]) {
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
    cell.is_empty() || digits.starts_with(|c: char| c.is_ascii_digit())
}

/// A half or included angle: `2.3859440°  2°23'09.4"`.
#[must_use]
pub fn angle(angle: Angle) -> String {
    format!("{:.7}°  {}", angle.deg(), angle.dms(1))
}

/// An error of an angle with its sign: `-12.3"`.
#[must_use]
pub fn arcsec(arcsec: f64) -> String {
    signed(arcsec, 2) + "\""
}

/// A small length with its sign: `+4.2 µm`.
#[must_use]
pub fn um(um: f64) -> String {
    signed(um, 2) + " µm"
}

/// A reading with its sign and as many places as the display shows: `+0.0042 mm`.
#[must_use]
pub fn reading(value_mm: f64, resolution: Option<Length>) -> String {
    let places = match resolution.map(Length::mm) {
        Some(step) if step > 0.0 => (-step.log10()).ceil().clamp(0.0, 6.0) as usize,
        _ => 4,
    };
    signed(value_mm, places) + " mm"
}

/// A number with its sign; what is rounded to zero has none.
#[must_use]
pub fn signed(value: f64, places: usize) -> String {
    let text = format!("{value:+.places$}");
    let zero = text.bytes().all(|b| matches!(b, b'+' | b'-' | b'0' | b'.'));
    if zero {
        text.trim_start_matches(['+', '-']).to_owned()
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantities_as_they_are_written() {
        assert_eq!(signed(0.004, 2), "0.00");
        assert_eq!(signed(-0.004, 2), "0.00");
        assert_eq!(signed(-0.006, 2), "-0.01");
        let step = |pm| Some(Length::from_pm(pm));
        assert_eq!(reading(0.0042, step(100_000)), "+0.0042 mm");
        assert_eq!(reading(0.0042, step(1_000_000)), "+0.004 mm");
        assert_eq!(reading(0.0125, step(500_000)), "+0.0125 mm");
        assert_eq!(reading(-1.0, step(1_000_000_000)), "-1 mm");
        assert_eq!(reading(0.0042, None), "+0.0042 mm");
    }

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
