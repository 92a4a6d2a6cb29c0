use super::*;
use metrology::Length;
use metrology::setup::Indicator;
use protocol::evidence::{Mark, MarkSource, Place};
use protocol::plan::{AnglesFrom, RunoutPlan, Work};
use std::time::{Duration, Instant};

fn setup() -> Setup {
    Setup {
        indicator: Indicator {
            cable: Some("bench".into()),
            ..Indicator::default()
        },
        ..Setup::default()
    }
}

fn plan() -> Plan {
    Plan::of(Work::Runout(RunoutPlan {
        angles: AnglesFrom::Steady,
        ..RunoutPlan::default()
    }))
}

fn reading(seq: u64) -> Reading {
    Reading {
        seq,
        t: Time(seq as i64),
        value: Length::from_um((seq % 7) as i64),
        resolution: Length::from_um(1),
    }
}

fn mark(number: u32, t: i64, place: Place) -> Mark {
    Mark {
        number,
        t: Time(t),
        place,
        round: 1,
        clamped: false,
        setting: 0,
        source: MarkSource::Moment {
            cable: "bench".into(),
        },
        taken_back: false,
    }
}

fn begin(number: u32, t: i64) -> Mark {
    let (station, plane) = (None, None);
    mark(number, t, Place::Begin { station, plane })
}

/// A recording of few readings with these marks.
fn recording(most: usize, marks: &Marks) -> Recording {
    let mut recording = Recording::new(&plan(), &setup());
    recording.most = most;
    recording.with_marks(marks).unwrap()
}

fn end(number: u32, t: i64) -> Mark {
    mark(number, t, Place::End { station: None })
}

#[test]
fn at_the_limit_it_is_said_once_and_nothing_is_computed_from_a_part() {
    let mut marks: Marks = vec![begin(1, 10)].into();
    let mut recording = recording(100, &marks);
    let full: Vec<u64> = (10..200)
        .filter(|seq| recording.take("bench", &reading(*seq)))
        .collect();
    assert_eq!(full, [110], "the first that there is no room for");
    assert!(!recording.take("other", &reading(500)));
    // The sums go on: they need no room.
    assert!(matches!(
        recording.so_far(),
        Some(SoFar::Runout { points: 190, .. })
    ));
    marks.push(end(2, 120));
    let recording = recording.with_marks(&marks).unwrap();
    assert_eq!(recording.whole(), Err(NotHeld { most: 100 }));
    // A stretch that ended before the limit is whole.
    marks[1].t = Time(105);
    let recording = recording.with_marks(&marks).unwrap();
    assert_eq!(recording.whole().map(|all| all["bench"].len()), Ok(100));
}

#[test]
fn what_lay_between_two_stretches_makes_room_for_the_second() {
    let mut marks: Marks = vec![begin(1, 10), end(2, 30)].into();
    let mut recording = recording(100, &marks);
    for seq in 10..200 {
        recording.take("bench", &reading(seq));
    }
    assert!(recording.whole().is_ok(), "the limit lies after the end");
    recording.make_room(&marks, Time(200));
    marks.push(begin(3, 200));
    let mut recording = recording.with_marks(&marks).unwrap();
    for seq in 200..260 {
        assert!(!recording.take("bench", &reading(seq)), "there is room");
    }
    assert!(recording.whole().is_ok());
    assert!(matches!(
        recording.so_far(),
        Some(SoFar::Runout { points: 81, .. })
    ));
    // Second beginning and first end taken back: what was between them is in the store alone.
    for taken_back in marks.iter_mut().skip(1) {
        taken_back.taken_back = true;
    }
    assert!(recording.with_marks(&marks).unwrap().whole().is_err());
}

#[test]
fn a_step_that_has_begun_nothing_records_nothing() {
    let mut marks: Marks = vec![begin(1, 10)].into();
    marks[0].taken_back = true;
    let recording = Recording::new(&plan(), &setup());
    assert!(recording.with_marks(&marks).is_none());
}

#[test]
fn a_copy_takes_its_own_readings() {
    let mut marks: Marks = vec![begin(1, 10)].into();
    let mut in_force = recording(1_000, &marks);
    for seq in 10..300 {
        in_force.take("bench", &reading(seq));
    }
    marks.push(end(2, 300));
    let mut draft = in_force.clone().with_marks(&marks).unwrap();
    // They arrive while the store commits.
    for seq in 300..400 {
        for recording in [&mut in_force, &mut draft] {
            recording.take("bench", &reading(seq));
        }
    }
    let points = |recording: &Recording| match recording.so_far() {
        Some(SoFar::Runout { points, .. }) => points,
        _ => 0,
    };
    assert_eq!((points(&in_force), points(&draft)), (390, 291));
    for recording in [&in_force, &draft] {
        let held = &recording.whole().unwrap()["bench"];
        assert!(held.iter().map(|reading| reading.seq).eq(10..400));
    }
}

/// The time of a thousand readings on top of many: the best of some, since the machine has other work.
fn cost(before: u64) -> Duration {
    let mut recording = recording(MOST_HELD, &vec![begin(1, 0)].into());
    for seq in 0..before {
        recording.take("bench", &reading(seq));
    }
    let mut seq = before;
    (0..20)
        .map(|_| {
            let start = Instant::now();
            for _ in 0..1_000 {
                recording.take("bench", &reading(seq));
                std::hint::black_box(recording.with_reading("bench"));
                seq += 1;
            }
            start.elapsed()
        })
        .min()
        .unwrap_or_default()
}

#[test]
fn one_more_reading_costs_the_same_however_many_there_were() {
    let (few, many) = (cost(1_000), cost(900_000));
    // A cost that grew with their number would be 900 times as large.
    assert!(
        many < 10 * few,
        "{few:?} after 1 000, {many:?} after 900 000"
    );
}
