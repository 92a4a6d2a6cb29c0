use super::*;
use metrology::Length;
use metrology::setup::Indicator;
use protocol::evidence::{MarkSource, Place};
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

fn step(marks: Vec<Mark>) -> Step {
    let mut step = Step::new(1, 1, plan(), &setup());
    step.evidence.marks = marks;
    step
}

/// A recording of few readings, begun at 10.
fn recording(most: usize, step: &Step) -> Recording {
    let mut recording = Recording::new(1, &plan(), &setup());
    recording.most = most;
    Recording::settle(Some(recording), Some(step)).unwrap()
}

#[test]
fn at_the_limit_it_is_said_once_and_nothing_is_computed_from_a_part() {
    let mut step = step(vec![begin(1, 10)]);
    let mut recording = recording(100, &step);
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
    step.evidence
        .marks
        .push(mark(2, 120, Place::End { station: None }));
    let told = recording.is_whole(&step.evidence.marks).unwrap_err();
    assert!(
        told.contains("100 readings") && told.contains("stored"),
        "{told}"
    );
    // A stretch that ended before the limit is whole.
    step.evidence.marks[1].t = Time(105);
    assert_eq!(recording.is_whole(&step.evidence.marks), Ok(()));
}

#[test]
fn what_lay_between_two_stretches_makes_room_for_the_second() {
    let mut marks = vec![begin(1, 10), mark(2, 30, Place::End { station: None })];
    let first = step(marks.clone());
    let mut recording = recording(100, &first);
    for seq in 10..200 {
        recording.take("bench", &reading(seq));
    }
    assert_eq!(
        recording.is_whole(&marks),
        Ok(()),
        "the limit lies after the end"
    );
    recording.make_room(&marks, Time(200));
    marks.push(begin(3, 200));
    let second = step(marks.clone());
    let mut recording = Recording::settle(Some(recording), Some(&second)).unwrap();
    for seq in 200..260 {
        assert!(!recording.take("bench", &reading(seq)), "there is room");
    }
    assert_eq!(recording.is_whole(&marks), Ok(()));
    assert!(matches!(
        recording.so_far(),
        Some(SoFar::Runout { points: 81, .. })
    ));
    // Second beginning and first end taken back: what was between them is in the store alone.
    for taken_back in &mut marks[1..] {
        taken_back.taken_back = true;
    }
    assert!(recording.is_whole(&marks).is_err());
}

#[test]
fn a_step_that_has_begun_nothing_records_nothing() {
    let mut marks = vec![begin(1, 10)];
    marks[0].taken_back = true;
    let recording = || Some(Recording::new(1, &plan(), &setup()));
    assert!(Recording::settle(recording(), Some(&step(marks))).is_none());
    assert!(Recording::settle(recording(), None).is_none());
    let mut other = step(vec![begin(1, 10)]);
    other.id = 2;
    assert!(Recording::settle(recording(), Some(&other)).is_none());
}

/// The time of a thousand readings on top of many: the best of some, since the machine has other work.
fn cost(before: u64) -> Duration {
    let begun = step(vec![begin(1, 0)]);
    let mut recording = recording(MOST_HELD, &begun);
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
