//! Whatever little was marked or recorded, an outcome that is computed is written and read again: JSON has no number for what is not
//! finite, and a record that holds one cannot be read by anybody.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_protocol::evidence::{Evidence, Mark, MarkSource, Place, Reading, Time};
use conewright_protocol::fold::{self, Outcome};
use conewright_protocol::plan::{AnglesFrom, Plan, RunoutPlan, StepKind, SweepPlan, Work};
use metrology::random::Random;
use metrology::setup::{Indicator, Setup, Station};
use metrology::sweep::PositionsFrom;
use metrology::{Angle, Length};

fn station(name: &str, mm: i64) -> Station {
    serde_json::from_value(serde_json::json!({ "name": name, "position_mm": mm })).unwrap()
}

fn setup() -> Setup {
    Setup {
        stations: vec![station("A", 0), station("B", 80)],
        indicator: Indicator {
            cable: Some("bench".into()),
            ..Indicator::default()
        },
        ..Setup::default()
    }
}

/// Few readings of few values, several of them at one time.
fn readings(random: &mut Random, most: usize) -> Vec<Reading> {
    let mut t = 0;
    let moves = random.below(2);
    (1..=random.below(most))
        .map(|seq| {
            t += random.below(3) as i64 * 1_000_000;
            Reading {
                seq: seq as u64,
                t: Time(t),
                value: Length::from_um((random.below(1 + moves * 3)) as i64),
                resolution: Length::from_um(1),
            }
        })
        .collect()
}

fn marks(
    random: &mut Random,
    place: impl Fn(&mut Random, usize) -> Place,
    moment: bool,
) -> Vec<Mark> {
    let mut t = 0;
    (0..random.below(7))
        .map(|n| {
            t += 1 + random.below(8) as i64 * if moment { 20_000_000 } else { 1_000_000 };
            let value = Length::from_um(random.below(3) as i64);
            Mark {
                number: n as u32 + 1,
                t: Time(t),
                place: place(random, n),
                round: 1 + (n / 3) as u32,
                clamped: false,
                setting: 0,
                source: if moment {
                    MarkSource::Moment {
                        cable: "bench".into(),
                    }
                } else {
                    MarkSource::Typed {
                        value,
                        resolution: Length::from_um(1),
                        shown: None,
                    }
                },
                taken_back: false,
            }
        })
        .collect()
}

fn begin_or_end(n: usize, placed: bool) -> Place {
    let at = |name, mm| placed.then(|| station(name, mm));
    if n.is_multiple_of(2) {
        Place::Begin {
            station: at("A", 0),
            plane: None,
        }
    } else {
        Place::End {
            station: at("B", 80),
        }
    }
}

fn recorded(kind: u64, random: &mut Random) -> (Plan, Vec<Mark>) {
    let sweep = |from, cable: Option<&str>| {
        let mut plan = SweepPlan::default();
        plan.sweep.positions = from;
        plan.position_cable = cable.map(str::to_owned);
        Plan::of(Work::Sweep(plan))
    };
    let runout = |angles| {
        Plan::of(Work::Runout(RunoutPlan {
            angles,
            ..RunoutPlan::default()
        }))
    };
    match kind {
        0 => (
            sweep(PositionsFrom::Feed, None),
            marks(random, |_, n| begin_or_end(n, true), true),
        ),
        1 => (
            sweep(PositionsFrom::Cable, Some("table")),
            marks(random, |_, n| begin_or_end(n, false), true),
        ),
        2 => (
            runout(AnglesFrom::Turns),
            marks(random, |_, _| Place::Turn { plane: None }, true),
        ),
        3 => (
            runout(AnglesFrom::Steady),
            marks(random, |_, n| begin_or_end(n, false), true),
        ),
        4 => (
            runout(AnglesFrom::Clock),
            marks(
                random,
                |random, _| Place::Angle {
                    angle: Angle::from_deg(random.below(12) as f64 * 30.0),
                    plane: None,
                },
                false,
            ),
        ),
        5 => (
            Plan::usual(StepKind::Size),
            marks(
                random,
                |random, _| Place::Plane {
                    plane: Length::from_um(random.below(3) as i64 * 10_000),
                },
                false,
            ),
        ),
        6 => (
            Plan::usual(StepKind::Sweep),
            marks(
                random,
                |random, _| Place::Station(station("A", random.below(3) as i64)),
                false,
            ),
        ),
        _ => (
            Plan::usual(StepKind::Zero),
            marks(
                random,
                |random, _| Place::Station(station("A", random.below(2) as i64 * 80)),
                false,
            ),
        ),
    }
}

#[test]
fn an_outcome_of_little_is_written_and_read_again() {
    let mut setup = setup();
    let mut computed = [0; 8];
    for seed in 0..12_000 {
        let mut random = Random::new(seed);
        // Without a limit of error, with a usual one, and with one beside which every scatter is nothing.
        setup.indicator.error_limit =
            [None, Some(1), Some(500_000)][random.below(3)].map(Length::from_um);
        let kind = seed % 8;
        let (plan, marks) = recorded(kind, &mut random);
        let mut evidence = Evidence {
            ground_before: Vec::new(),
            marks: marks.into(),
            ..Evidence::default()
        };
        // A period is found only in many.
        let most = if kind == 3 { 400 } else { 40 };
        for cable in ["bench", "table"] {
            let read = readings(&mut random, most);
            evidence.readings.insert(cable.to_owned(), read.into());
        }
        let Ok(outcome) = fold::outcome(&plan, &setup, &evidence) else {
            continue;
        };
        computed[kind as usize] += 1;
        let text = serde_json::to_string(&outcome).unwrap();
        let again = serde_json::from_str::<Outcome>(&text);
        assert_eq!(
            again.as_ref().ok(),
            Some(&outcome),
            "{kind}: {again:?}\n{text}\n{evidence:?}"
        );
    }
    // The rarest kind comes to an outcome in one of a hundred.
    assert!(computed.iter().all(|n| *n > 10), "{computed:?}");
}
