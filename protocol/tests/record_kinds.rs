//! A record of every kind of step keeps to the published schema, and agrees with its readings.

#![allow(
    clippy::too_many_lines,
    reason = "a job, or a table of cases, is read from top to bottom"
)]
#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

mod written;

use conewright_protocol::evidence::{Evidence, Mark, MarkSource, Place, Reading, Time};
use conewright_protocol::pass;
use conewright_protocol::plan::{
    AnglesFrom, Condition, DialPlan, Plan, RunoutPlan, SizeBy, SizePlan, StepKind, SweepPlan, Work,
};
use conewright_protocol::record::{Record, StepRecord, Thinned, Verified, verify};
use metrology::contact::Zones;
use metrology::dial::IndicatorCheck;
use metrology::setup::{Indicator, Setup, Station};
use metrology::sweep::{PositionsFrom, SweepOptions};
use metrology::{Angle, Length};
use serde_json::Value;

const S: i64 = 1_000_000_000;

fn setup() -> Setup {
    let station = |name: &str, um| Station {
        name: name.into(),
        position: Length::from_um(um),
    };
    let taper =
        metrology::taper::Taper::from_half_angle("1:12", Angle::half_of_ratio(12.0), "the user")
            .unwrap();
    Setup {
        taper: Some(taper),
        length: Some(Length::from_um(60_000)),
        stations: vec![station("A", 0), station("B", 80_000)],
        pass: ["A", "B", "A"].map(String::from).to_vec(),
        tolerance: Some("20arcsec".parse().unwrap()),
        indicator: Indicator {
            cable: Some("bench".into()),
            ..Indicator::default()
        },
        ..Setup::default()
    }
}

/// Marks at whatever comes next, of typed values.
fn typed(plan: &Plan, values_um: &[i64]) -> Evidence {
    let mut marks: Vec<Mark> = Vec::new();
    for (number, um) in values_um.iter().enumerate() {
        let next = pass::next(plan, &setup(), &marks, 0);
        marks.push(Mark {
            number: number as u32 + 1,
            t: Time(number as i64 * S),
            place: next.place.unwrap(),
            round: next.round,
            clamped: false,
            setting: 0,
            source: MarkSource::Typed {
                value: Length::from_um(*um),
                resolution: Length::from_um(1),
                shown: None,
            },
            taken_back: false,
        });
    }
    Evidence {
        ground_before: Vec::new(),
        marks: marks.into(),
        ..Evidence::default()
    }
}

/// Readings of 20 s at 50 a second, marked whenever something is to be marked.
fn recorded(plan: &Plan, at_s: &[i64]) -> Evidence {
    let mut evidence = typed(plan, &vec![0; at_s.len()]);
    for (mark, at) in evidence.marks.iter_mut().zip(at_s) {
        mark.t = Time(at * S);
        mark.source = MarkSource::Moment {
            cable: "bench".into(),
        };
    }
    let of = |value: &dyn Fn(f64) -> f64| -> Vec<Reading> {
        (0..1_000)
            .map(|i: i64| Reading {
                seq: i as u64,
                t: Time(i * S / 50),
                value: Length::from_mm((value(i as f64 / 50.0) * 1e4).round() * 1e-4).unwrap(),
                resolution: Length::from_pm(100_000),
            })
            .collect()
    };
    let part = |s: f64| 0.005 * (std::f64::consts::TAU * s / 2.0).cos() + 0.0001 * (7.0 * s).sin();
    evidence.readings.insert("bench".into(), of(&part).into());
    evidence
        .readings
        .insert("scale".into(), of(&|s| 4.0 * s).into());
    evidence
}

fn plans() -> Vec<(Plan, Evidence)> {
    let um = Length::from_um;
    let sweep = |positions, cable: Option<&str>| {
        Plan::of(Work::Sweep(SweepPlan {
            sweep: SweepOptions {
                positions,
                ..SweepOptions::default()
            },
            position_cable: cable.map(str::to_owned),
        }))
    };
    let runout = |angles, planes: &[i64], reversal| {
        Plan::of(Work::Runout(RunoutPlan {
            angles,
            per_turn: 6,
            planes: planes.iter().copied().map(um).collect(),
            reversal,
            ..RunoutPlan::default()
        }))
    };
    let size = |by, at: &[i64]| {
        Plan::of(Work::Size(SizePlan {
            by,
            at: at.iter().copied().map(um).collect(),
            size: metrology::size::SizeOptions {
                wheel_width: Some(um(20_000)),
                lead_out: Some(um(2_000)),
                blend_radius: Some(um(500)),
                ..metrology::size::SizeOptions::default()
            },
            ..SizePlan::default()
        }))
    };
    let mut all = Vec::new();
    let zero = Plan {
        condition: Some(Condition::Found),
        indicator: Some(Indicator {
            check: Some(IndicatorCheck {
                u_um: 0.5,
                correction: Vec::new(),
                repeatability_sd_um: Some(0.2),
                repeatability_degrees_of_freedom: Some(22.0),
                checked_utc_ns: Some(1_700_000_000_000_000_000),
            }),
            ..setup().indicator
        }),
        ..Plan::usual(StepKind::Zero)
    };
    let turn = [3, 5, 4, 0, -3, -1];
    for (plan, values) in [
        (zero, &[0, 4, 0, 0, 5, 1][..]),
        (sweep(PositionsFrom::Stations, None), &[0, 3, 1, 4]),
        (runout(AnglesFrom::Clock, &[], false), &turn),
        (
            runout(AnglesFrom::Clock, &[5_000, 45_000], false),
            &[3, 5, 4, 0, -3, -1, 6, 8, 5, 1, -5, -3],
        ),
        (
            runout(AnglesFrom::Clock, &[], true),
            &[3, 5, 4, 0, -3, -1, -3, -4, -3, 1, 4, 2],
        ),
        (size(SizeBy::Sections, &[0, 48_000]), &[40_000, 36_000]),
        (size(SizeBy::StandOff, &[]), &[120]),
        (
            size(SizeBy::Rollers { radius: um(3_000) }, &[0, 24_000]),
            &[46_200, 48_200],
        ),
        (
            Plan::of(Work::Dial(DialPlan {
                nominals: vec![Length::ZERO, um(1_000), um(2_000)],
                ..DialPlan::default()
            })),
            &[0, 1_003, 2_001, 2_002, 1_005, 1],
        ),
    ] {
        let evidence = typed(&plan, values);
        all.push((plan, evidence));
    }
    for (plan, at_s) in [
        (sweep(PositionsFrom::Cable, Some("scale")), &[1, 18][..]),
        (sweep(PositionsFrom::Feed, None), &[1, 9, 11, 19]),
        (runout(AnglesFrom::Turns, &[], false), &[2, 4, 6, 8]),
        (runout(AnglesFrom::Steady, &[5_000], false), &[1, 19]),
    ] {
        let evidence = recorded(&plan, at_s);
        all.push((plan, evidence));
    }
    let contact = Plan::usual(StepKind::Contact);
    let mut print = typed(&Plan::usual(StepKind::Zero), &[0]);
    print.marks[0].source = MarkSource::Judged;
    print.marks[0].place = Place::Print(Zones {
        big_percent: 90.0,
        middle_percent: 40.0,
        small_percent: 0.0,
    });
    all.push((contact, print));
    all
}

fn record() -> Record {
    let steps = plans()
        .into_iter()
        .zip(1..)
        .map(|((plan, evidence), number)| {
            let step = StepRecord::computed(number, plan, (Time(0), None), &setup(), evidence);
            assert!(step.outcome.is_some(), "{number}: {:?}", step.no_outcome);
            step
        });
    written::record("spindle seat", setup(), steps.collect())
}

#[test]
fn every_kind_of_step_keeps_to_the_schema_and_a_wrong_one_does_not() {
    let record = record();
    let last = record.steps.len() - 1;
    let bearing = format!("/steps/{last}/outcome/bearing");
    let percent = format!("/steps/{last}/marks/0/place/big_percent");
    let wrong = [
        ("/steps/0/condition", Value::from("lost")),
        ("/steps/0/indicator/check/u_um", Value::from("small")),
        ("/steps/1/outcome/straightness_mz_um", Value::from(-1.0)),
        ("/steps/2/outcome/high_spot_deg", Value::from(400)),
        ("/steps/2/marks/0/place/angle_deg", Value::from(400)),
        ("/steps/5/outcome/verdict", Value::from("perhaps")),
        ("/steps/8/marks/0/place/direction", Value::from("sideways")),
        ("/steps/9/marks/0/place/at", Value::from("start")),
        ("/steps/9/marks/0/source/from", Value::from("hearsay")),
        (&*bearing, Value::from("somewhere")),
        (&*percent, Value::from(101)),
    ];
    let written = written::keeps_to_the_schema(record, &wrong);
    let steps = written["steps"].as_array().unwrap();
    for kind in StepKind::ALL {
        let of_kind = steps.iter().any(|step| step["kind"] == kind.name());
        assert!(of_kind, "no {} step is checked", kind.name());
    }
}

#[test]
fn every_kind_of_step_is_read_by_piece_as_it_is_read_whole() {
    let text = record().write();
    let (by_piece, _) = Record::read_by_piece(text.as_bytes(), |_| Ok(Thinned::default())).unwrap();
    assert_eq!(by_piece, Record::read(&text).unwrap());
}

#[test]
fn every_kind_of_step_is_written_read_and_computed_again() {
    let text = record().write();
    assert_eq!(Record::read(&text).unwrap().write(), text);
    assert!(matches!(verify(&text), Ok(Verified::Agrees { .. })));
}
