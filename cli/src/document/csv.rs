//! A record's readings as a table that opens in a spreadsheet.

use metrology::{Length, Unit};
use protocol::evidence::{Mark, MarkSource, Reading, Time};
use protocol::record::{Record, StepRecord};

/// How the table is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Decimal {
    /// `1.5`, columns parted by commas.
    Point,
    /// `1,5`, columns parted by semicolons, as spreadsheets of such regions expect.
    Comma,
}

const COLUMNS: [&str; 11] = [
    "step",
    "kind",
    "cable",
    "seq",
    "utc",
    "time_s",
    "reading_mm",
    "resolution_mm",
    "mark",
    "station",
    "round",
];

/// The readings of every step in order, one row each, with the marks that use them; a typed mark is a row of its own.
///
/// A cell of text never starts a formula: one that begins with `=`, `+`, `-`, `@`, a tab or a line end gets an apostrophe
/// in front, which spreadsheets take for "this is text". Times count from the opening of the session.
#[must_use]
pub fn write(record: &Record, decimal: Decimal) -> String {
    let start = record.steps.first().map_or(Time(0), |step| step.opened);
    let mut table = ::csv::WriterBuilder::new()
        .delimiter(if decimal == Decimal::Comma {
            b';'
        } else {
            b','
        })
        .terminator(::csv::Terminator::CRLF)
        .from_writer(Vec::new());
    // Writing into memory does not fail.
    let mut put = |row: &[String]| drop(table.write_record(row));
    put(&COLUMNS.map(String::from));
    for step in &record.steps {
        for (cable, readings) in &step.evidence.readings {
            for reading in readings {
                let Reading {
                    seq,
                    t,
                    value,
                    resolution,
                } = *reading;
                let mark = mark_of(step, cable, reading);
                let value = Value {
                    cable,
                    seq: Some(seq),
                    t,
                    value,
                    resolution,
                    mark,
                };
                put(&row(step, &value, start, decimal));
            }
        }
        for mark in &step.evidence.marks {
            if let MarkSource::Typed { value, resolution } = mark.source {
                let (cable, t, mark) = ("typed", mark.t, Some(mark));
                let value = Value {
                    cable,
                    seq: None,
                    t,
                    value,
                    resolution,
                    mark,
                };
                put(&row(step, &value, start, decimal));
            }
        }
    }
    let bytes = table.into_inner().unwrap_or_default();
    String::from_utf8(bytes).unwrap_or_default()
}

fn number(value: String, decimal: Decimal) -> String {
    if decimal == Decimal::Comma {
        value.replace('.', ",")
    } else {
        value
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

fn mark_cells(mark: Option<&Mark>) -> [String; 3] {
    mark.map_or_else(Default::default, |mark| {
        let taken_back = if mark.taken_back { " (taken back)" } else { "" };
        [
            format!("{}{taken_back}", mark.number),
            text(&mark.place.to_string()),
            mark.round.to_string(),
        ]
    })
}

/// What a row says about one value, typed or read.
struct Value<'a> {
    cable: &'a str,
    seq: Option<u64>,
    t: Time,
    value: Length,
    resolution: Length,
    mark: Option<&'a Mark>,
}

fn row(step: &StepRecord, value: &Value<'_>, start: Time, decimal: Decimal) -> [String; 11] {
    let mm = |length: Length| number(length.decimal(Unit::Mm), decimal);
    let [mark, station, round] = mark_cells(value.mark);
    [
        step.number.to_string(),
        step.plan.kind().name().to_owned(),
        text(value.cable),
        value.seq.map_or_else(String::new, |seq| seq.to_string()),
        super::utc(value.t),
        number(format!("{:.3}", value.t.since_s(start)), decimal),
        mm(value.value),
        mm(value.resolution),
        mark,
        station,
        round,
    ]
}

/// The mark whose dwell holds a reading.
fn mark_of<'a>(step: &'a StepRecord, cable: &str, reading: &Reading) -> Option<&'a Mark> {
    step.evidence.marks.iter().find(|mark| match &mark.source {
        MarkSource::Dwell {
            cable: of,
            first_seq,
            last_seq,
        } => of == cable && (*first_seq..=*last_seq).contains(&reading.seq),
        MarkSource::Typed { .. } | MarkSource::Moment { .. } | MarkSource::Judged => false,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::example;

    fn rows(text: &str, delimiter: u8) -> Vec<Vec<String>> {
        ::csv::ReaderBuilder::new()
            .delimiter(delimiter)
            .has_headers(false)
            .from_reader(text.as_bytes())
            .records()
            .map(|row| row.unwrap().iter().map(String::from).collect())
            .collect()
    }

    #[test]
    fn a_row_for_every_reading_and_typed_mark() {
        let record = example::record();
        let rows = rows(&write(&record, Decimal::Point), b',');
        let readings: usize = record.steps[0]
            .evidence
            .readings
            .values()
            .map(Vec::len)
            .sum();
        assert_eq!(rows.len(), 1 + readings + 1);
        assert_eq!(rows[0], COLUMNS);
        // The first dwell's first reading: -0.0120 mm would be a formula in nobody's eyes.
        let first = rows.iter().find(|row| row[8] == "1").unwrap();
        assert_eq!((first[9].as_str(), first[10].as_str()), ("A", "1"));
        assert!(first[6].parse::<f64>().is_ok());
        assert!(
            rows.iter()
                .any(|row| row[2] == "typed" && row[3].is_empty())
        );
        assert!(rows.iter().any(|row| row[8].ends_with("(taken back)")));
    }

    #[test]
    fn a_comma_for_the_point_and_semicolons_between() {
        let rows = rows(&write(&example::record(), Decimal::Comma), b';');
        assert!(
            rows[1..]
                .iter()
                .all(|row| row.len() == COLUMNS.len() && !row[6].contains('.'))
        );
        assert!(rows[1..].iter().any(|row| row[6].contains(',')));
    }

    #[test]
    fn no_text_cell_starts_a_formula() {
        let mut record = example::record();
        let step = &mut record.steps[0];
        let readings = step.evidence.readings.remove("bench").unwrap();
        step.evidence
            .readings
            .insert("=HYPERLINK(\"x\")".into(), readings);
        if let protocol::evidence::Place::Station(station) = &mut step.evidence.marks[0].place {
            station.name = "@A".into();
        }
        for row in &rows(&write(&record, Decimal::Point), b',')[1..] {
            for (cell, column) in row.iter().zip(COLUMNS) {
                let formula = cell.starts_with(['=', '+', '-', '@', '\t', '\r']);
                assert!(!formula || cell.parse::<f64>().is_ok(), "{column}: {cell}");
            }
        }
    }
}
