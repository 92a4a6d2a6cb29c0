//! The lines of the table, as text and in a document.

use super::Machine;

/// Whether a line holds what is promised.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Held {
    /// It does.
    Yes,
    /// It does not.
    No,
    /// Nothing is promised: it is for information.
    Told,
    /// It was not measured, for this reason.
    NotMeasured(String),
}

/// One line of the table.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// What was measured.
    pub what: String,
    /// Our figure, with its unit.
    pub ours: String,
    /// The yardstick's, with its name.
    pub yardstick: String,
    /// Ours through the yardstick's.
    pub ratio: Option<f64>,
    /// What is to be reached.
    pub reach: String,
    /// Whether it is.
    pub held: Held,
}

impl Line {
    /// A line with our figure alone, and nothing promised.
    pub(super) fn told(what: impl Into<String>, ours: impl Into<String>) -> Self {
        Self {
            what: what.into(),
            ours: ours.into(),
            yardstick: String::new(),
            ratio: None,
            reach: String::new(),
            held: Held::Told,
        }
    }

    /// A line that was not measured.
    pub(super) fn missing(what: impl Into<String>, why: impl Into<String>) -> Self {
        Self {
            held: Held::NotMeasured(why.into()),
            ..Self::told(what, "")
        }
    }

    /// Ours was measured, and what stands beside it was not: that is no success.
    pub(super) fn without_yardstick(self, why: impl Into<String>) -> Self {
        Self {
            held: Held::NotMeasured(why.into()),
            ..self
        }
    }

    /// With the yardstick's figure.
    pub(super) fn beside(mut self, yardstick: impl Into<String>, ratio: f64) -> Self {
        self.yardstick = yardstick.into();
        self.ratio = Some(ratio);
        self
    }

    /// With what is promised, and whether it holds.
    pub(super) fn reach(mut self, reach: impl Into<String>, holds: bool) -> Self {
        self.reach = reach.into();
        self.held = if holds { Held::Yes } else { Held::No };
        self
    }

    /// Its six cells.
    fn cells(&self) -> [String; 6] {
        let held = match &self.held {
            Held::Yes => "yes".to_owned(),
            Held::No => "NO".to_owned(),
            Held::Told => String::new(),
            Held::NotMeasured(why) => format!("not measured: {why}"),
        };
        [
            self.what.clone(),
            self.ours.clone(),
            self.yardstick.clone(),
            self.ratio.map_or(String::new(), |ratio| match ratio {
                10.0.. => format!("{ratio:.0}"),
                0.1.. => format!("{ratio:.2}"),
                _ => format!("{ratio:.2e}"),
            }),
            self.reach.clone(),
            held,
        ]
    }
}

const HEAD: [&str; 6] = ["what", "ours", "yardstick", "ratio", "to reach", "held"];

/// The lines in columns, for a terminal.
#[must_use]
pub fn text(lines: &[Line]) -> String {
    let rows: Vec<[String; 6]> = std::iter::once(HEAD.map(str::to_owned))
        .chain(lines.iter().map(Line::cells))
        .collect();
    let width = |column: usize| rows.iter().map(|row| row[column].chars().count()).max();
    let widths: [usize; 6] = std::array::from_fn(|column| width(column).unwrap_or(0));
    let mut text = String::new();
    for row in &rows {
        let cells = row.iter().zip(widths);
        let padded: Vec<String> = cells.map(|(cell, w)| format!("{cell:w$}")).collect();
        text += padded.join("  ").trim_end();
        text.push('\n');
    }
    text
}

/// The lines as a table of a document, under the machine and the day.
#[must_use]
pub fn markdown(machine: &Machine, day: &str, lines: &[Line]) -> String {
    let mut text = format!("Measured on {day}: {machine}.\n\n");
    let row = |cells: &[String]| format!("| {} |\n", cells.join(" | "));
    text += &row(&HEAD.map(str::to_owned));
    text += &format!("|{}\n", "---|".repeat(HEAD.len()));
    for line in lines {
        text += &row(&line.cells().map(|cell| cell.replace('|', "\\|")));
    }
    text
}

/// A document with a part between two lines replaced; `None` when it does not have both.
#[must_use]
pub fn put_between(document: &str, begin: &str, end: &str, part: &str) -> Option<String> {
    let (before, rest) = document.split_once(begin)?;
    let (_, after) = rest.split_once(end)?;
    Some(format!("{before}{begin}\n{part}{end}{after}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_part_between_the_lines_is_replaced_and_nothing_else() {
        let page = "a\n<!-- b -->\nold\n<!-- e -->\nz\n";
        let new = put_between(page, "<!-- b -->", "<!-- e -->", "new\n").unwrap();
        assert_eq!(new, "a\n<!-- b -->\nnew\n<!-- e -->\nz\n");
        assert_eq!(
            put_between(&new, "<!-- b -->", "<!-- e -->", "new\n"),
            Some(new)
        );
        assert_eq!(put_between(page, "<!-- b -->", "<!-- x -->", ""), None);
    }

    #[test]
    fn what_was_not_measured_never_counts_as_held() {
        let line = Line::missing("latency", "gpsd is not here");
        assert_eq!(line.held, Held::NotMeasured("gpsd is not here".to_owned()));
        assert!(text(&[line]).contains("not measured: gpsd is not here"));
    }
}
