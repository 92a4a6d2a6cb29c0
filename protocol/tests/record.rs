//! A record survives being written and read, and no digit of it can be changed unseen.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

mod written;

use conewright_protocol::evidence::{Evidence, Mark, MarkSource, Place, Reading, Readings, Time};
use conewright_protocol::plan::{Plan, StepKind};
use conewright_protocol::record::{
    Difference, Event, EventKind, PieceError, ReadError, Record, StepRecord, Taker, Verified,
    later, verify,
};
use metrology::Length;
use metrology::setup::{Setup, Station};
use serde_json::Value;
use std::io;

fn mark(number: u32, round: u32, station: (&str, i64), seq: (u64, u64)) -> Mark {
    Mark {
        number,
        t: Time(1_000_000_000 * i64::from(number)),
        place: Place::Station(Station {
            name: station.0.into(),
            position: Length::from_um(station.1),
        }),
        round,
        clamped: false,
        setting: 0,
        source: MarkSource::Dwell {
            cable: "bench".into(),
            first_seq: seq.0,
            last_seq: seq.1,
        },
        taken_back: number == 4,
    }
}

/// Two rounds of A B A with ten readings a dwell, and a reading that no mark uses.
fn record() -> Record {
    let readings = (0..61)
        .map(|seq: u64| Reading {
            seq,
            t: Time(100_000_000 * seq as i64),
            value: Length::from_um(((seq / 10) * 37 % 11 + seq % 2) as i64),
            resolution: Length::from_um(1),
        })
        .collect();
    let places = [("A", 0), ("B", 80_000), ("A", 0)];
    let marks = (0..6)
        .map(|i: u32| {
            let first = u64::from(i) * 10;
            mark(i + 1, i / 3 + 1, places[i as usize % 3], (first, first + 9))
        })
        .collect();
    let setup = Setup {
        tolerance: Some("5arcsec".parse().unwrap()),
        ..Setup::default()
    };
    let evidence = Evidence {
        ground_before: Vec::new(),
        marks,
        readings: [("bench".to_owned(), readings)].into(),
    };
    let step = StepRecord::computed(
        1,
        Plan::usual(StepKind::Zero),
        (Time(0), None),
        &setup,
        evidence,
    );
    assert!(step.outcome.is_some());
    Record {
        events: vec![Event {
            t: Time(5),
            utc_ns: Time(5),
            what: EventKind::Note,
            text: "wheel dressed".into(),
        }],
        cautions: vec!["Stop the wheel before hands go in.".into()],
        ..written::record("spindle seat \"digest\": 1:12", setup, vec![step])
    }
}

#[test]
fn what_is_written_is_read_back_and_agrees() {
    let text = record().write();
    let read = Record::read(&text).unwrap();
    assert_eq!(
        Record {
            digest: String::new(),
            ..read.clone()
        },
        record()
    );
    assert_eq!(read.write(), text);
    assert_eq!(
        verify(&text),
        Ok(Verified::Agrees {
            steps: 1,
            marks: 6,
            readings: 61,
            signed: None,
        })
    );
}

#[test]
fn a_record_laid_out_anew_keeps_its_seal() {
    let text = record().write();
    let value: Value = serde_json::from_str(&text).unwrap();
    assert!(
        text.lines().count() > 80,
        "readings and marks are a line each"
    );
    let squeezed: String = text.split('\n').map(str::trim_start).collect();
    assert_eq!(serde_json::from_str::<Value>(&squeezed).unwrap(), value);
    assert!(matches!(verify(&squeezed), Ok(Verified::Agrees { .. })));
}

#[test]
fn every_single_digit_that_is_changed_is_noticed() {
    let text = record().write();
    let digits: Vec<usize> = text
        .bytes()
        .enumerate()
        .filter(|(_, b)| b.is_ascii_digit())
        .map(|(i, _)| i)
        .collect();
    assert!(digits.len() > 1_000);
    for at in digits {
        let mut changed = text.clone().into_bytes();
        changed[at] = if changed[at] == b'9' {
            b'8'
        } else {
            changed[at] + 1
        };
        let changed = String::from_utf8(changed).unwrap();
        let found = verify(&changed);
        assert!(
            !matches!(found, Ok(Verified::Agrees { .. })),
            "byte {at} unnoticed"
        );
    }
}

fn difference(text: &str) -> Difference {
    match verify(text) {
        Ok(Verified::Differs(difference)) => difference,
        other => panic!("a difference, not {other:?}"),
    }
}

#[test]
fn the_first_difference_is_named_where_it_is() {
    let text = record().write();
    let read = Record::read(&text).unwrap();
    let mut reading_changed = read.clone();
    reading_changed.steps[0]
        .evidence
        .readings
        .get_mut("bench")
        .unwrap()[12]
        .value += Length::from_um(1);
    let difference = difference(&reading_changed.write());
    assert!(
        difference.place.starts_with("steps[0].values[1]."),
        "{difference}"
    );

    let slope = read.steps[0].outcome.clone();
    let json = serde_json::to_string(&slope).unwrap();
    let slope = json
        .split("\"slope\":")
        .nth(1)
        .unwrap()
        .split(',')
        .next()
        .unwrap();
    let forged = text.replacen(slope, "0.5", 1);
    let Ok(Verified::Differs(difference)) = verify(&forged) else {
        panic!("noticed")
    };
    assert_eq!(
        (difference.place.as_str(), difference.recorded.as_str()),
        ("steps[0].outcome.rounds[0].slope", "0.5")
    );
}

#[test]
fn what_is_no_record_is_said_to_be_none() {
    let newer = record()
        .write()
        .replacen("\"version\": 1", "\"version\": 2", 1);
    assert_eq!(verify(&newer), Err(ReadError::Newer(2)));
    assert!(matches!(
        verify("{\"format\": \"x\"}"),
        Err(ReadError::OtherFormat(_))
    ));
    assert!(matches!(verify("{"), Err(ReadError::Malformed(_))));
    assert!(matches!(verify(""), Err(ReadError::Malformed(_))));
    let cut = record().write();
    assert!(matches!(
        verify(&cut[..cut.len() / 2]),
        Err(ReadError::Malformed(_))
    ));
}

#[test]
fn a_record_keeps_to_its_published_schema_and_a_wrong_one_does_not() {
    let wrong = [
        ("/version", Value::from(2)),
        ("/digest", Value::from("sha256:00")),
        ("/steps/0/kind", Value::from("sweeping")),
        ("/steps/0/marks/0/source/from", Value::from("guess")),
        ("/steps/0/readings/bench/0/3", Value::from(-1.0)),
        ("/steps/0/outcome/verdict", Value::from("perhaps")),
    ];
    written::keeps_to_the_schema(record(), &wrong);
}

#[test]
fn the_seal_is_told_without_writing_the_record() {
    let mut record = record();
    let seal = record.seal();
    let written = Record::read(&record.clone().write()).unwrap();
    assert_eq!(written.digest, seal);
    // Whatever stands in its place, and not whatever else is changed.
    record.digest = "sha256:0".into();
    assert_eq!(record.seal(), seal);
    record.session.name.push('x');
    assert_ne!(record.seal(), seal);
}

/// Counts what it is given, and reports a fault at a reading.
#[derive(Debug)]
struct Counts {
    told: String,
    ends_at: u64,
}

impl Taker for Counts {
    fn step(&mut self, step: &StepRecord) -> io::Result<()> {
        let (marks, readings) = (step.evidence.marks.len(), step.evidence.readings.len());
        self.told += &format!("step {}, {marks} marks, {readings} cables;", step.number);
        Ok(())
    }

    fn cable(&mut self, cable: &str) -> io::Result<()> {
        self.told += &format!(" {cable}:");
        Ok(())
    }

    fn reading(&mut self, reading: &Reading) -> io::Result<()> {
        if reading.seq == self.ends_at {
            return Err(io::Error::other("no room"));
        }
        self.told += ".";
        Ok(())
    }

    fn step_ends(&mut self) -> io::Result<Readings> {
        self.told += " end";
        Ok(Readings::new())
    }
}

fn counted(text: &str, ends_at: u64) -> Result<(Record, String), PieceError> {
    Record::read_by_piece(text.as_bytes(), |head| {
        assert_eq!(
            (head.session.id, head.steps.len()),
            (record().session.id, 0)
        );
        assert!(head.setup.tolerance.is_some());
        let told = String::new();
        Ok(Counts { told, ends_at })
    })
    .map(|(record, counts)| (record, counts.told))
}

#[test]
fn readings_are_handed_on_behind_the_marks_of_their_step() {
    let text = record().write();
    let (read, told) = counted(&text, u64::MAX).unwrap();
    let readings = ".".repeat(61);
    assert_eq!(
        told,
        format!("step 1, 6 marks, 0 cables; bench:{readings} end")
    );
    let mut whole = Record::read(&text).unwrap();
    whole.steps[0].evidence.readings.clear();
    assert_eq!(read, whole);
}

#[test]
fn what_cannot_be_read_or_passed_on_ends_reading_by_piece() {
    let text = record().write();
    let not_read = |text: &str| match counted(text, u64::MAX) {
        Err(PieceError::Read(why)) => why,
        other => panic!("{other:?}"),
    };
    assert!(
        matches!(counted(&text, 30), Err(PieceError::Out(why)) if why.to_string() == "no room")
    );
    let newer = text.replacen("\"version\": 1", "\"version\": 2", 1);
    assert_eq!(not_read(&newer), ReadError::Newer(2));
    assert_eq!(
        not_read("{\"format\": \"x\"}"),
        ReadError::OtherFormat("x".into())
    );
    // Cut anywhere, with more behind it, and with the readings before the marks.
    let more = text.clone() + "{}";
    let marks_later = text.replacen("\"marks\"", "\"later\"", 1);
    for cut in (0..text.len() - 2)
        .step_by(97)
        .map(|end| &text[..end])
        .chain([&*more, &*marks_later])
    {
        assert!(matches!(not_read(cut), ReadError::Malformed(_)), "{cut}");
    }
}

/// A record whose readings come one by one is the record that holds them, to the last byte, and so is its seal.
#[test]
fn a_record_that_is_written_piece_by_piece_is_the_same() {
    let record = record();
    let whole = record.clone().write();
    let mut bare = record.clone();
    for step in &mut bare.steps {
        for readings in step.evidence.readings.values_mut() {
            *readings = later();
        }
    }
    let mut out = Vec::new();
    bare.write_to::<io::Error>(&mut out, |step, cable, each| {
        let readings = &record.steps[step].evidence.readings[cable];
        readings.iter().try_for_each(|reading| each(*reading))
    })
    .unwrap();
    assert_eq!(String::from_utf8(out).unwrap(), whole);
    assert!(whole.matches("bench").count() > 1);
}
