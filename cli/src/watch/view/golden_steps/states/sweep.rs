use super::common::{mark, next, opened, so_far, station, with};
use crate::watch::state::Watch;
use crate::watch::view::golden::watching;
use metrology::sweep::{PositionsFrom, Subject, SweepOptions, SweepPoint};
use protocol::api::{SoFar, Status};
use protocol::evidence::Place;
use protocol::plan::SweepPlan;
use protocol::step::SweepInputs;

fn options(positions: PositionsFrom, subject: Subject) -> SweepPlan {
    SweepPlan {
        sweep: SweepOptions {
            positions,
            subject,
            ..SweepOptions::default()
        },
        position_cable: None,
    }
}

fn recording() -> Status {
    let mut status = opened(options(PositionsFrom::Feed, Subject::Setup));
    status.recording = true;
    status.no_outcome = Some("it is being recorded: mark its end".to_owned());
    let end = station("B", "80");
    next(status, Place::End { station: Some(end) })
}

/// A seat that is 12 µm over 80 mm off, hollow by 2 µm, with one reading far from the rest.
fn swept(subject: Subject) -> Status {
    let point = |i: u32| {
        let position_mm = f64::from(i);
        let hollow = 0.002 * (1.0 - ((position_mm - 40.0) / 40.0).powi(2));
        let chip = if i == 57 { 0.009 } else { 0.0 };
        let noise = 0.0003 * f64::from((i * 7) % 5);
        SweepPoint {
            position_mm,
            reading_mm: 0.1 + position_mm * 1.5e-4 - hollow + chip + noise,
        }
    };
    let inputs = SweepInputs {
        points: (0..=80).map(point).collect(),
        unplaced: 0,
    };
    let step = options(PositionsFrom::Feed, subject);
    let mut status = with(opened(step.clone()), &step, &inputs);
    assert_eq!(status.no_outcome, None);
    let (a, b) = (station("A", "0"), station("B", "80"));
    status.marks = vec![
        mark(
            1,
            Place::Begin {
                station: Some(a.clone()),
                plane: None,
            },
            None,
        ),
        mark(2, Place::End { station: Some(b) }, None),
    ];
    next(
        status,
        Place::Begin {
            station: Some(a),
            plane: None,
        },
    )
}

fn by_stations(count: usize) -> Status {
    let readings = [("A", "0", 0.0125), ("C", "40", 0.0165), ("B", "80", 0.0211)];
    let step = options(PositionsFrom::Stations, Subject::Setup);
    let mut status = opened(step.clone());
    let taken = &readings[..count];
    status.marks = (1..)
        .zip(taken)
        .map(|(n, (name, at, value))| mark(n, Place::Station(station(name, at)), Some(*value)))
        .collect();
    let points = taken.iter().map(|(_, at, value)| SweepPoint {
        position_mm: at.parse().unwrap(),
        reading_mm: *value,
    });
    if count > 1 {
        let inputs = SweepInputs {
            points: points.collect(),
            unplaced: 0,
        };
        status = with(status, &step, &inputs);
    }
    let (name, at, _) = readings[count % 3];
    next(status, Place::Station(station(name, at)))
}

pub fn states() -> Vec<(&'static str, Watch)> {
    let mut recording = watching(recording(), "0.106", false);
    so_far(
        &mut recording,
        "0.107",
        SoFar::Sweep {
            points: 1_204,
            range_um: 7.3,
            slope: Some(1.4e-4),
            bow_um: Some(-1.2),
        },
    );
    let mut tapping = watching(swept(Subject::Setup), "0.118", true);
    tapping.went_to = Some("B".to_owned());
    let of_the_part = watching(swept(Subject::Part), "0.112", true);
    let stations = |count, reading, settled| watching(by_stations(count), reading, settled);
    vec![
        ("sweep_first_station", stations(0, "0.013", true)),
        ("sweep_stations_so_far", stations(2, "0.021", false)),
        ("sweep_stations", stations(3, "0.021", true)),
        ("sweep_recording", recording),
        ("sweep_tap", tapping),
        ("sweep_of_the_part", of_the_part),
    ]
}
