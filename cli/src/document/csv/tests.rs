use super::*;
use crate::document::example;
use protocol::evidence::{CableReadings, Place};
use protocol::plan::StepKind;

const COMMA: Style = Style {
    decimal: Decimal::Comma,
    ..Style::of(Unit::Mm)
};

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
    let rows = rows(&write(&record, Style::default()), b',');
    let readings: usize = record.steps[0]
        .evidence
        .readings
        .values()
        .map(CableReadings::len)
        .sum();
    assert_eq!(rows.len(), 1 + readings + 1);
    assert_eq!(rows[0], columns(Unit::Mm));
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
    let rows = rows(&write(&example::record(), COMMA), b';');
    assert!(
        rows[1..]
            .iter()
            .all(|row| row.len() == columns(Unit::Mm).len() && !row[6].contains('.'))
    );
    assert!(rows[1..].iter().any(|row| row[6].contains(',')));
}

/// 0.001 mm is 0.000039370078… in; what was shown in inches comes back as it was shown.
#[test]
fn in_inches_the_header_and_every_length_are_in_inches() {
    let mut record = example::record();
    let readings = record.steps[0].evidence.readings.get_mut("bench").unwrap();
    let mut shown: Vec<_> = readings.iter().copied().collect();
    shown[0].value = "0.0125in".parse().unwrap();
    shown[0].resolution = "0.0005in".parse().unwrap();
    *readings = shown.into_iter().collect();
    let inch = Style::of(Unit::In);
    let rows_of = |record| rows(&write(record, inch), b',');
    let readings = rows_of(&record);
    assert_eq!(readings[0][6..8], ["reading_in", "resolution_in"]);
    assert_eq!(readings[1][6..8], ["0.0125", "0.0005"]);
    let metric = record.steps[0].evidence.readings["bench"][1].value.inches();
    assert!((readings[2][6].parse::<f64>().unwrap() - metric).abs() < 1e-11);
    let whole = write(&example::job(), inch);
    assert!(!whole.contains(" mm"), "a place is told in millimetres");
    assert!(
        rows_of(&example::job())
            .iter()
            .any(|row| row[9] == "plane 0.55118 in")
    );
}

#[test]
fn no_text_cell_starts_a_formula() {
    let mut record = example::record();
    let step = &mut record.steps[0];
    let readings = step.evidence.readings.remove("bench").unwrap();
    step.evidence
        .readings
        .insert("=HYPERLINK(\"x\")".into(), readings);
    if let Place::Station(station) = &mut step.evidence.marks[0].place {
        station.name = "@A".into();
    }
    for row in &rows(&write(&record, Style::default()), b',')[1..] {
        for (cell, column) in row.iter().zip(columns(Unit::Mm)) {
            let formula = cell.starts_with(['=', '+', '-', '@', '\t', '\r']);
            assert!(!formula || cell.parse::<f64>().is_ok(), "{column}: {cell}");
        }
    }
}

#[test]
fn readings_of_a_stretch_belong_to_it_and_moments_and_prints_are_rows() {
    let job = example::job();
    let rows = rows(&write(&job, Style::default()), b',');
    let of = |kind: StepKind, index: usize| {
        let number = example::step_of(&job, kind)[index].number.to_string();
        let of_step = rows.iter().filter(|row| row[0] == number);
        of_step.collect::<Vec<_>>()
    };
    let swept = of(StepKind::Sweep, 1);
    let [read, moments]: [Vec<_>; 2] = [false, true].map(|moment| {
        swept
            .iter()
            .filter(|row| row[3].is_empty() == moment)
            .collect()
    });
    assert_eq!(read.len(), example::SWEPT);
    assert!(
        read.iter()
            .all(|row| (&*row[8], &*row[9]) == ("1", "begin at A"))
    );
    let places: Vec<&str> = moments.iter().map(|row| row[9].as_str()).collect();
    assert_eq!(places, ["begin at A", "end at B"]);
    assert!(
        moments
            .iter()
            .all(|row| row[2] == "bench" && row[6].is_empty())
    );
    let print = of(StepKind::Contact, 0);
    assert_eq!(
        (print[0][2].as_str(), print[0][9].as_str()),
        ("judged", "print 85 / 60 / 5 %")
    );
    // Typed places of every other kind.
    for (kind, place) in [
        (StepKind::Dial, "0.2 mm up"),
        (StepKind::Runout, "30° in plane 5 mm"),
        (StepKind::Size, "plane 14 mm"),
    ] {
        assert!(of(kind, 0).iter().any(|row| row[9] == place), "{place}");
    }
}

#[test]
fn a_turn_is_from_its_mark_to_the_next_and_what_is_outside_belongs_nowhere() {
    let mut job = example::job();
    let mut step = example::step_of(&job, StepKind::Runout)[1].clone();
    let readings = step.evidence.readings["bench"].clone();
    let mut mark = step.evidence.marks[0].clone();
    mark.place = Place::Turn { plane: None };
    step.evidence.marks = [100, 200, 350]
        .iter()
        .enumerate()
        .map(|(index, at)| Mark {
            number: index as u32 + 1,
            t: readings[*at].t,
            ..mark.clone()
        })
        .collect();
    job.steps = vec![step];
    let rows = rows(&write(&job, Style::default()), b',');
    let marks: Vec<&str> = rows[1..=readings.len()]
        .iter()
        .map(|row| row[8].as_str())
        .collect();
    let count = |mark: &str| marks.iter().filter(|of| **of == mark).count();
    // The mark that ends the last turn counts its own reading in.
    assert_eq!((count("1"), count("2"), count("3")), (100, 151, 0));
    assert_eq!(
        (marks[99], marks[100], marks[350], marks[351]),
        ("", "1", "2", "")
    );
}

#[test]
fn a_dwell_marked_again_belongs_to_the_mark_that_counts() {
    let mut record = example::record();
    let marks = &mut record.steps[0].evidence.marks;
    marks[0].taken_back = true;
    let again = Mark {
        number: 9,
        taken_back: false,
        ..marks[0].clone()
    };
    marks.push(again);
    let rows = rows(&write(&record, Style::default()), b',');
    assert_eq!(rows.iter().filter(|row| row[8] == "9").count(), 20);
    assert!(!rows.iter().any(|row| row[8] == "1 (taken back)"));
}
