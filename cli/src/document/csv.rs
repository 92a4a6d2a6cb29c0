//! A record's readings as a table that opens in a spreadsheet.

mod belonging;
#[cfg(test)]
mod tests;

use belonging::Belonging;
use metrology::{Length, Unit};
use protocol::evidence::{Mark, MarkSource, Reading, Readings, Time};
use protocol::record::{Record, StepRecord, Taker};
use protocol::said;
use protocol::sheet::words;
use protocol::style::{Decimal, Style};
use std::fmt::Write as _;
use std::io::{self, Write};

/// The names of the columns. They are the same in every language, for what reads the table; those of lengths end in the unit.
fn columns(unit: Unit) -> [String; 11] {
    let length = |of: &str| {
        let unit = match unit {
            Unit::Mm => "mm",
            Unit::Um => "um",
            Unit::In => "in",
        };
        format!("{of}_{unit}")
    };
    [
        "step".to_owned(),
        "kind".to_owned(),
        "cable".to_owned(),
        "seq".to_owned(),
        "utc".to_owned(),
        "time_s".to_owned(),
        length("reading"),
        length("resolution"),
        "mark".to_owned(),
        "station".to_owned(),
        "round".to_owned(),
    ]
}

/// The table of a whole record, as [`Table`] writes it.
#[must_use]
pub fn write(record: &Record, style: Style) -> String {
    let mut bytes = Vec::new();
    // Writing into memory does not fail.
    let _ = Table::begin(&mut bytes, style).and_then(|mut table| {
        record.hand_on(&mut table)?;
        table.finish()
    });
    String::from_utf8(bytes).unwrap_or_default()
}

/// The readings of every step in order, one row each, with the marks that use them: those of a dwell, and within a
/// recorded stretch the mark that began it. A mark without readings of its own (typed, judged by eye, a moment) is a row by
/// itself. Each row is written when its reading comes, and no reading is held.
///
/// A cell of text never starts a formula: one that begins with `=`, `+`, `-`, `@`, a tab or a line end gets an apostrophe
/// in front, which spreadsheets take for "this is text". Times count from the opening of the session. With a decimal comma the
/// columns are parted by semicolons, as spreadsheets of such regions expect.
pub struct Table<W: Write> {
    rows: Rows<W>,
    /// When the first step was opened.
    start: Option<Time>,
    step: Option<StepRecord>,
    cable: String,
    belonging: Belonging,
}

impl<W: Write> Table<W> {
    /// Begins it with the names of the columns.
    ///
    /// # Errors
    /// `out` does not take them.
    pub fn begin(out: W, style: Style) -> io::Result<Self> {
        let delimiter = match style.decimal {
            Decimal::Comma => b';',
            Decimal::Point => b',',
        };
        let table = ::csv::WriterBuilder::new()
            .delimiter(delimiter)
            .terminator(::csv::Terminator::CRLF)
            .from_writer(out);
        let mut rows = Rows {
            table,
            style,
            second: None,
            lengths: [const { None }; 2],
            number: String::new(),
        };
        taken(rows.table.write_record(columns(style.unit)))?;
        Ok(Self {
            rows,
            start: None,
            step: None,
            cable: String::new(),
            belonging: Belonging::default(),
        })
    }

    /// Writes what is left.
    ///
    /// # Errors
    /// It is not taken.
    pub fn finish(mut self) -> io::Result<()> {
        self.rows.table.flush()
    }

    /// A row of a mark that has no readings of its own.
    fn mark(&mut self, step: &StepRecord, mark: &Mark) -> io::Result<()> {
        let (cable, shown) = match &mark.source {
            MarkSource::Dwell { .. } => return Ok(()),
            MarkSource::Typed {
                value, resolution, ..
            } => ("typed".to_owned(), Some((*value, *resolution))),
            MarkSource::Moment { cable } => (text(cable), None),
            MarkSource::Judged => ("judged".to_owned(), None),
        };
        let cells = Cells::of(mark, self.rows.style);
        let time = (mark.t, self.start.unwrap_or_default());
        self.rows.row(step, &cable, None, time, shown, Some(&cells))
    }
}

impl<W: Write> Taker for Table<W> {
    fn step(&mut self, step: &StepRecord) -> io::Result<()> {
        self.start.get_or_insert(step.opened);
        // Its marks and its plan; a copy shares the readings of a record that has them already.
        self.step = Some(step.clone());
        Ok(())
    }

    fn cable(&mut self, cable: &str) -> io::Result<()> {
        self.cable = text(cable);
        if let Some(step) = &self.step {
            self.belonging = Belonging::of(step, cable, self.rows.style);
        }
        Ok(())
    }

    fn reading(&mut self, reading: &Reading) -> io::Result<()> {
        let Some(step) = &self.step else {
            return Ok(());
        };
        let mark = self.belonging.mark(reading);
        let shown = Some((reading.value, reading.resolution));
        let time = (reading.t, self.start.unwrap_or_default());
        self.rows
            .row(step, &self.cable, Some(reading.seq), time, shown, mark)
    }

    fn step_ends(&mut self) -> io::Result<Readings> {
        if let Some(step) = self.step.take() {
            for mark in &step.evidence.marks {
                self.mark(&step, mark)?;
            }
        }
        Ok(Readings::new())
    }
}

/// A cell of text that no spreadsheet takes for a formula.
fn text(cell: &str) -> String {
    if cell.starts_with(['=', '+', '-', '@', '\t', '\r', '\n']) {
        format!("'{cell}")
    } else {
        cell.to_owned()
    }
}

/// What a row says of a mark: number, place, round.
struct Cells([String; 3]);

impl Cells {
    fn of(mark: &Mark, style: Style) -> Self {
        let number = mark.number.to_string();
        Self([
            if mark.taken_back {
                said!(style, "mark-taken-back", mark = number)
            } else {
                number
            },
            text(&words::place(&mark.place, style)),
            mark.round.to_string(),
        ])
    }
}

/// The error of the disk, where the library only hands it on.
fn taken(written: ::csv::Result<()>) -> io::Result<()> {
    written.map_err(|error| match error.into_kind() {
        ::csv::ErrorKind::Io(error) => error,
        other => io::Error::other(format!("the table cannot be made: {other:?}")),
    })
}

/// The table as it grows.
struct Rows<W: Write> {
    table: ::csv::Writer<W>,
    style: Style,
    /// The last second that was put into words: thousands of readings share it.
    second: Option<(i64, String)>,
    /// The last value and the last resolution that were: most readings share the one, and many the other.
    lengths: [Option<(Length, String)>; 2],
    /// Room for a number.
    number: String,
}

impl<W: Write> Rows<W> {
    /// One cell more.
    fn cell(&mut self, cell: &str) -> io::Result<()> {
        taken(self.table.write_field(cell))
    }

    fn utc(&mut self, t: Time) -> io::Result<()> {
        let second = t.0.div_euclid(1_000_000_000);
        if self.second.as_ref().is_none_or(|(of, _)| *of != second) {
            self.second = Some((second, super::utc(t)));
        }
        let words = self.second.as_ref().map_or("", |(_, words)| words);
        taken(self.table.write_field(words))
    }

    /// Exact to the last digit that the unit has for it.
    fn length(&mut self, column: usize, length: Option<Length>) -> io::Result<()> {
        let Some(length) = length else {
            return self.cell("");
        };
        let last = &mut self.lengths[column];
        if last.as_ref().is_none_or(|(of, _)| *of != length) {
            let words = self.style.written(length.decimal(self.style.unit));
            *last = Some((length, words));
        }
        let words = last.as_ref().map_or("", |(_, words)| words);
        taken(self.table.write_field(words))
    }

    fn whole_number(&mut self, number: u64) -> io::Result<()> {
        self.number.clear();
        // Writing into memory does not fail.
        let _ = write!(self.number, "{number}");
        taken(self.table.write_field(&self.number))
    }

    /// `t` is told by the clock, and from `start` on.
    fn row(
        &mut self,
        step: &StepRecord,
        cable: &str,
        seq: Option<u64>,
        (t, start): (Time, Time),
        shown: Option<(Length, Length)>,
        mark: Option<&Cells>,
    ) -> io::Result<()> {
        self.whole_number(u64::from(step.number))?;
        self.cell(step.plan.kind().name())?;
        self.cell(cable)?;
        match seq {
            Some(seq) => self.whole_number(seq)?,
            None => self.cell("")?,
        }
        self.utc(t)?;
        let time_s = self.style.number(t.since_s(start), 3);
        self.cell(&time_s)?;
        self.length(0, shown.map(|(value, _)| value))?;
        self.length(1, shown.map(|(_, resolution)| resolution))?;
        for cell in mark.map_or([""; 3], |Cells(cells)| cells.each_ref().map(String::as_str)) {
            self.cell(cell)?;
        }
        // The end of the row.
        taken(self.table.write_record(None::<&[u8]>))
    }
}
