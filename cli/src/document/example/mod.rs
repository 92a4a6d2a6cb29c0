//! An invented record for the tests of the documents: two rounds at a 1:12 seat, one typed mark, one taken back.

#![allow(
    clippy::too_many_lines,
    reason = "a job, or a table of cases, is read from top to bottom"
)]

use metrology::setup::{Setup, Station};
use metrology::taper::Taper;
use metrology::{Angle, Length};
use protocol::evidence::{Evidence, Mark, MarkSource, Place, Reading, Time};
use protocol::plan::{Plan, StepKind};
use protocol::record::{
    CableSettings, Event, EventKind, FORMAT, Record, SessionInfo, StepRecord, VERSION,
};

mod job;

pub use job::{ROUND, SWEPT, job, step_of};

const START: i64 = 1_772_360_000_000_000_000;

fn station(name: &str, mm: i64) -> Station {
    Station {
        name: name.into(),
        position: Length::from_um(mm * 1000),
    }
}

/// When a reading comes that is the `seq`th at 20 a second.
fn t(seq: u64) -> Time {
    Time(START + 50_000_000 * seq as i64)
}

/// The 1:12 seat of a spindle: 40 mm at the gauge plane, 30 mm long, good to 5″ of the half angle.
fn setup(stations: &[Station]) -> Setup {
    Setup {
        taper: Some(Taper {
            name: "1:12".into(),
            half_angle: Angle::half_of_ratio(12.0),
            gauge_diameter: Some(Length::from_um(40_000)),
            small_diameter: None,
            length: Some(Length::from_um(30_000)),
            source: "ISO 1119".into(),
        }),
        tolerance: "5arcsec".parse().ok(),
        stations: stations.to_vec(),
        pass: ["A", "B", "A"].map(String::from).to_vec(),
        ..Setup::default()
    }
}

pub fn record() -> Record {
    let (a, b) = (station("A", 0), station("B", 80));
    let levels = [
        (&a, -12),
        (&b, 288),
        (&a, -11),
        (&a, -10),
        (&b, 4),
        (&a, -10),
    ];
    let readings = (0..240_u64)
        .map(|seq| Reading {
            seq,
            t: t(seq),
            value: Length::from_um(levels[seq as usize / 40].1 + (seq % 2) as i64),
            resolution: Length::from_um(1),
        })
        .collect();
    let mut marks: Vec<Mark> = (0..6_u64)
        .map(|i| Mark {
            number: i as u32 + 1,
            t: t(i * 40 + 39),
            place: Place::Station(levels[i as usize].0.clone()),
            round: i as u32 / 3 + 1,
            clamped: false,
            setting: 0,
            source: MarkSource::Dwell {
                cable: "bench".into(),
                first_seq: i * 40 + 20,
                last_seq: i * 40 + 39,
            },
            taken_back: i == 3,
        })
        .collect();
    marks.push(Mark {
        number: 7,
        t: t(240),
        round: 2,
        source: MarkSource::Typed {
            value: Length::from_um(-10),
            resolution: Length::from_um(1),
            shown: None,
        },
        ..marks[5].clone()
    });
    let setup = setup(&[a.clone(), b.clone()]);
    let evidence = Evidence {
        ground_before: Vec::new(),
        marks: marks.into(),
        readings: [("bench".to_owned(), readings)].into(),
    };
    let closed = Some(t(260));
    let step = StepRecord::computed(
        1,
        Plan::usual(StepKind::Zero),
        (t(0), closed),
        &setup,
        evidence,
    );
    Record {
        format: FORMAT.into(),
        version: VERSION,
        program: "0.1.0".into(),
        session: SessionInfo {
            id: 7,
            name: "spindle seat 1:12".into(),
            opened_utc_ns: t(0),
            closed_utc_ns: closed,
        },
        setup,
        cables: vec![CableSettings {
            instrument: None,
            name: "bench".into(),
            port: "/dev/ttyUSB0".into(),
            settings: "9600 8N1".into(),
            cadence: "streams".into(),
            frame: "text".into(),
            other: vec![],
        }],
        steps: vec![step],
        events: vec![Event {
            t: t(10),
            utc_ns: t(10),
            what: EventKind::Note,
            text: "wheel dressed".into(),
        }],
        cautions: vec!["Stop the wheel before hands go in.".into()],
        digest: String::new(),
        signature: None,
    }
}
