//! A whole job at the invented seat, with a step of every kind, some of them as found and as left.

use super::{record, setup, station, t};
use metrology::contact::{ContactOptions, Zones};
use metrology::dial::{Correction, DialOptions, Direction, IndicatorCheck};
use metrology::runout::RunoutOptions;
use metrology::setup::{BigEnd, Indicator, IndicatorSide, Sense};
use metrology::size::SizeOptions;
use metrology::sweep::{PositionsFrom, SweepOptions};
use metrology::zero::level::LevelOptions;
use metrology::{Angle, Length};
use protocol::evidence::{Evidence, Mark, MarkSource, Place, Reading, Readings};
use protocol::plan::{
    About, AnglesFrom, Condition, DialPlan, Plan, RunoutPlan, SizePlan, StepKind, SweepPlan, Work,
    ZeroPlan,
};
use protocol::record::{Record, StepRecord};
use std::f64::consts::TAU;
use std::sync::LazyLock;

/// Readings are shown to a tenth of a micrometre.
const SHOWN: Length = Length::from_pm(100_000);

/// A length in micrometres as the display shows it.
fn shown(um: f64) -> Length {
    Length::from_pm((um * 10.0).round() as i64 * SHOWN.pm())
}

/// What looks like noise and is the same each time: between -1 and 1.
fn jitter(i: u64) -> f64 {
    ((i * 7_919 + 13) % 2_003) as f64 / 1_001.0 - 1.0
}

fn mark(number: usize, place: Place, round: u32, source: MarkSource) -> Mark {
    Mark {
        number: number as u32,
        t: t(number as u64 * 40),
        place,
        round,
        clamped: false,
        setting: 0,
        source,
        taken_back: false,
    }
}

/// Marks with typed values, each a place, its round and a value in micrometres.
fn typed(marks: Vec<(Place, u32, f64)>) -> Evidence {
    let mark = |(index, (place, round, um))| {
        let source = MarkSource::Typed {
            value: shown(um),
            resolution: SHOWN,
            shown: None,
        };
        mark(index + 1, place, round, source)
    };
    Evidence {
        ground_before: Vec::new(),
        marks: marks.into_iter().enumerate().map(mark).collect(),
        readings: Readings::new(),
    }
}

/// What the bench's cable sent in a stretch from one place to another, with the moments that bound it.
fn recorded(begin: Place, end: Place, um: impl Iterator<Item = f64>) -> Evidence {
    let readings: Vec<Reading> = um
        .enumerate()
        .map(|(i, um)| Reading {
            seq: i as u64 + 10,
            t: t(i as u64 + 1),
            value: shown(um),
            resolution: SHOWN,
        })
        .collect();
    let moment = || MarkSource::Moment {
        cable: "bench".into(),
    };
    let mut marks = vec![mark(1, begin, 1, moment()), mark(2, end, 1, moment())];
    marks[0].t = t(0);
    marks[1].t = t(readings.len() as u64 + 1);
    Evidence {
        ground_before: Vec::new(),
        marks: marks.into(),
        readings: [("bench".to_owned(), readings.into())].into(),
    }
}

fn dial() -> (Plan, Evidence) {
    let errors_um = [0.0, 0.6, 1.4, 0.9, -0.4, -1.1];
    let mut marks = Vec::new();
    for pass in 0..2_u32 {
        let at = |step: usize, direction| Place::Nominal {
            nominal: Length::from_um(step as i64 * 200),
            direction,
        };
        let again = f64::from(pass) * 0.2;
        for (step, error) in errors_um.iter().enumerate() {
            let um = step as f64 * 200.0 + error + again;
            marks.push((at(step, Direction::Up), pass + 1, um));
        }
        for (step, error) in errors_um.iter().enumerate().rev() {
            let um = step as f64 * 200.0 + error - 0.7 - again;
            marks.push((at(step, Direction::Down), pass + 1, um));
        }
    }
    let plan = Plan::of(Work::Dial(DialPlan {
        dial: DialOptions { correct: true },
        nominals: Vec::new(),
    }));
    (plan, typed(marks))
}

fn level() -> (Plan, Evidence) {
    let (a, b) = (
        Place::Station(station("A", 0)),
        Place::Station(station("B", 80)),
    );
    let marks = vec![(a.clone(), 1, 0.0), (b, 1, 21.0), (a, 1, 0.4)];
    let plan = Plan::of(Work::Zero(ZeroPlan {
        about: About::Level,
        level: LevelOptions {
            wheel: Some(Length::from_um(300_000)),
            ..LevelOptions::default()
        },
    }));
    (plan, typed(marks))
}

/// By stations, out of angle and hollow.
fn sweep_found() -> (Plan, Evidence) {
    let marks = (0..9)
        .map(|i| {
            let x = f64::from(i) / 8.0;
            let um = 60.0 * x - 24.0 * x * (1.0 - x) + jitter(i as u64) * 0.4;
            (
                Place::Station(station(&format!("S{i}"), i64::from(i) * 10)),
                1,
                um,
            )
        })
        .collect();
    let plan = Plan {
        condition: Some(Condition::Found),
        ..Plan::of(Work::Sweep(SweepPlan::default()))
    };
    (plan, typed(marks))
}

/// Readings of the sweep as left.
pub const SWEPT: usize = 600;

/// At a steady feed: a slight bow, chatter, and a grain of grit.
fn sweep_left() -> (Plan, Evidence) {
    let um = (0..SWEPT as u64).map(|i| {
        let x = i as f64 / SWEPT as f64;
        let grit = if i == 217 { 6.0 } else { 0.0 };
        1.0 * x + 4.8 * x * (1.0 - x) + 0.25 * (x * TAU * 40.0).sin() + 0.3 * jitter(i) + grit
    });
    let begin = Place::Begin {
        station: Some(station("A", 0)),
        plane: None,
    };
    let end = Place::End {
        station: Some(station("B", 80)),
    };
    let plan = Plan {
        condition: Some(Condition::Left),
        ..Plan::of(Work::Sweep(SweepPlan {
            sweep: SweepOptions {
                filter: Some(Length::from_um(8_000)),
                positions: PositionsFrom::Feed,
                ..SweepOptions::default()
            },
            position_cable: None,
        }))
    };
    (plan, recorded(begin, end, um))
}

/// By the clock in two planes, twice round, off centre and leaning.
fn runout_found() -> (Plan, Evidence) {
    let planes = [5_000_i64, 25_000];
    let mut marks = Vec::new();
    for (index, plane) in planes.iter().enumerate() {
        for place in 0..24_u32 {
            let deg = f64::from(place % 12) * 30.0;
            let angle = deg.to_radians();
            let e = 14.0 + 3.0 * index as f64;
            let um = 50.0
                + e * (angle - TAU / 3.0).cos()
                + 1.6 * (2.0 * angle).cos()
                + jitter(u64::from(place) + 31 * index as u64) * 0.5;
            let place = Place::Angle {
                angle: Angle::from_deg(deg),
                plane: Some(Length::from_um(*plane)),
            };
            marks.push((place, 1, um));
        }
    }
    let plan = Plan {
        condition: Some(Condition::Found),
        ..Plan::of(Work::Runout(RunoutPlan {
            runout: RunoutOptions {
                limit: Some(Length::from_um(5)),
                at_planes_mm: vec![0.0, 30.0],
                ..RunoutOptions::default()
            },
            planes: planes.map(Length::from_um).to_vec(),
            ..RunoutPlan::default()
        }))
    };
    (plan, typed(marks))
}

/// Readings a turn and turns of the run-out as left.
pub const ROUND: [usize; 2] = [118, 4];

/// Turning steadily: nearly true, three lobes.
fn runout_left() -> (Plan, Evidence) {
    let um = (0..(ROUND[0] * ROUND[1] + 6) as u64).map(|i| {
        let angle = TAU * i as f64 / ROUND[0] as f64;
        let first = 0.9 * (angle - 1.0).cos();
        50.0 + first
            + 0.6 * (3.0 * angle + 0.4).cos()
            + 0.2 * (5.0 * angle).cos()
            + 0.15 * jitter(i)
    });
    let begin = Place::Begin {
        station: None,
        plane: None,
    };
    let end = Place::End { station: None };
    let plan = Plan {
        condition: Some(Condition::Left),
        ..Plan::of(Work::Runout(RunoutPlan {
            runout: RunoutOptions {
                limit: Some(Length::from_um(5)),
                filter_upr: Some(15),
                ..RunoutOptions::default()
            },
            angles: AnglesFrom::Steady,
            ..RunoutPlan::default()
        }))
    };
    (plan, recorded(begin, end, um))
}

/// The part turned half a turn: oval part, three-lobed spindle.
fn reversal() -> (Plan, Evidence) {
    let mut marks = Vec::new();
    for round in 1..=2_u32 {
        for place in 0..24_u32 {
            let deg = f64::from(place) * 15.0;
            let angle = deg.to_radians();
            let spindle = 0.5 * (3.0 * angle).cos() + 0.8 * (angle - 0.5).cos();
            let sign = if round == 1 { 1.0 } else { -1.0 };
            let um = 20.0 + 1.5 * (2.0 * angle).cos() + sign * spindle;
            let place = Place::Angle {
                angle: Angle::from_deg(deg),
                plane: None,
            };
            marks.push((place, round, um));
        }
    }
    let plan = Plan::of(Work::Runout(RunoutPlan {
        per_turn: 24,
        reversal: true,
        ..RunoutPlan::default()
    }));
    (plan, typed(marks))
}

fn size() -> (Plan, Evidence) {
    let wanted_um = |plane_um: f64| 40_000.0 - plane_um / 12.0;
    let planes = [(2_000.0, 61.0), (14_000.0, 59.5), (26_000.0, 58.8)];
    let marks = planes
        .iter()
        .map(|(plane, more)| {
            let place = Place::Plane {
                plane: Length::from_um(*plane as i64),
            };
            (place, 1, wanted_um(*plane) + more)
        })
        .collect();
    let plan = Plan::of(Work::Size(SizePlan {
        size: SizeOptions {
            diameter_u: Some(Length::from_pm(800_000)),
            pass: Some(Length::from_um(10)),
            allowance: Some(Length::from_um(6)),
            ..SizeOptions::default()
        },
        ..SizePlan::default()
    }));
    (plan, typed(marks))
}

fn contact() -> (Plan, Evidence) {
    let print = Place::Print(Zones {
        big_percent: 85.0,
        middle_percent: 60.0,
        small_percent: 5.0,
    });
    let plan = Plan::of(Work::Contact(ContactOptions {
        found_arcsec: Some([-4.0, 1.5]),
        ..ContactOptions::default()
    }));
    let evidence = Evidence {
        ground_before: Vec::new(),
        marks: vec![mark(1, print, 1, MarkSource::Judged)].into(),
        readings: Readings::new(),
    };
    (plan, evidence)
}

/// A session with a step of every kind: the zero step of [`record`] and what comes before and after it.
pub fn job() -> Record {
    static JOB: LazyLock<Record> = LazyLock::new(computed);
    JOB.clone()
}

fn computed() -> Record {
    let mut job = record();
    job.setup = setup(&[station("A", 0), station("B", 80)]);
    job.setup.sense = Some(Sense {
        big_end: BigEnd::A,
        indicator: IndicatorSide::Wheel,
    });
    job.setup.indicator = Indicator {
        cable: Some("bench".into()),
        error_limit: Some(Length::from_um(3)),
        check: Some(IndicatorCheck {
            u_um: 0.3,
            correction: [(0.0, 0.0), (1.0, 0.2)]
                .map(|(reading_mm, add_um)| Correction { reading_mm, add_um })
                .to_vec(),
            repeatability_sd_um: Some(0.2),
            repeatability_degrees_of_freedom: Some(22.0),
            checked_utc_ns: Some(t(0).0),
        }),
        ..Indicator::default()
    };
    let zero = job.steps.remove(0);
    let (mut before, after) = (
        vec![dial(), sweep_found(), runout_found()],
        [
            level(),
            sweep_left(),
            runout_left(),
            reversal(),
            size(),
            contact(),
        ],
    );
    before.push((zero.plan, zero.evidence));
    before.extend(after);
    job.steps = before
        .into_iter()
        .enumerate()
        .map(|(index, (plan, evidence))| {
            let times = (t(0), Some(t(2_000)));
            StepRecord::computed(index as u32 + 1, plan, times, &job.setup, evidence)
        })
        .collect();
    job
}

/// The steps of a kind in the [`job`].
pub fn step_of(job: &Record, kind: StepKind) -> Vec<&StepRecord> {
    job.steps
        .iter()
        .filter(|step| step.plan.kind() == kind)
        .collect()
}
