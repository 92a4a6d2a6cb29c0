//! What a user can be looking at in each step. Each outcome is computed from readings, as the daemon does it.

use crate::watch::hand::Answer;
use crate::watch::state::{Mode, Then, Watch};
use crate::watch::view::golden::{NOW_S, cable, mm, reading, setup, watching};
use metrology::contact::{ContactOptions, Zones};
use metrology::dial::{DialPoint, Direction};
use metrology::runout::{RunoutOptions, RunoutPoint, TimedReading};
use metrology::setup::{BigEnd, IndicatorSide, Sense, Setup, Station};
use metrology::size::{Measured, SectionReading, SizeOptions};
use metrology::sweep::{PositionsFrom, Subject, SweepOptions, SweepPoint};
use metrology::zero::ZeroMark;
use metrology::zero::level::LevelOptions;
use metrology::{Angle, Length};
use protocol::api::{
    CableState, Code, Live, LiveReading, MarkLine, Refusal, SessionLabel, SoFar, Status, StepLabel,
};
use protocol::evidence::{MarkValue, Place, Time};
use protocol::fold::setup_for;
use protocol::plan::Plan;
use protocol::step::{
    About, AnglesFrom, DialPlan, RunoutInputs, RunoutPlan, SizePlan, Step, SweepInputs, SweepPlan,
    Turning, Work, ZeroPlan,
};

fn opened(work: Work) -> Status {
    let plan = Plan::of(work);
    Status {
        session: Some(SessionLabel {
            id: 3,
            name: "spindle seat".to_owned(),
        }),
        step: Some(StepLabel {
            kind: plan.kind(),
            number: 2,
        }),
        plan: Some(plan),
        cables: vec![cable(CableState::Live, "0.0125", 0.03)],
        indicator: Some("bench".to_owned()),
        setup: Some(set_up()),
        next_round: Some(1),
        ..Status::default()
    }
}

fn set_up() -> Setup {
    Setup {
        sense: Some(Sense {
            big_end: BigEnd::A,
            indicator: IndicatorSide::Wheel,
        }),
        ..setup()
    }
}

/// The status with what these inputs of its step's kind come to.
macro_rules! with {
    ($status:expr, $Kind:ident, $inputs:expr) => {{
        let mut status: Status = $status;
        let plan = status.plan.clone().unwrap();
        let Work::$Kind(step) = &plan.work else {
            panic!("the step is of another kind");
        };
        let set_up = set_up();
        let set_up = setup_for(&plan, &set_up, Some(Length::from_um(1)));
        match step.compute(&set_up, &$inputs) {
            Ok(outcome) => status.outcome = Some(outcome.into()),
            Err(why) => status.no_outcome = Some(why.to_string()),
        }
        status
    }};
}

fn mark(number: u32, at: Place, value_mm: Option<f64>) -> MarkLine {
    MarkLine {
        number,
        station: match &at {
            Place::Station(station) => Some(station.name.clone()),
            _ => None,
        },
        place: at.to_string(),
        at: Some(at),
        round: 1,
        value: value_mm.map(|value_mm| MarkValue {
            value_mm,
            spread_um: 1.0,
            sd_um: Some(0.4),
            readings: 24,
            resolution: mm("0.001"),
        }),
    }
}

fn next(mut status: Status, place: Place) -> Status {
    status.next_mark = Some(place.to_string());
    status.next_station = match &place {
        Place::Station(station) => Some(station.name.clone()),
        _ => None,
    };
    status.next_place = Some(place);
    status
}

fn station(name: &str, at: &str) -> Station {
    Station {
        name: name.to_owned(),
        position: mm(at),
    }
}

fn level() -> Status {
    let plan = ZeroPlan {
        about: About::Level,
        level: LevelOptions {
            wheel: Some(mm("300")),
            part: Some(mm("40")),
            height: None,
        },
    };
    let zero_mark = |name: &str, position_mm: f64, value_mm: f64, time_s: f64| ZeroMark {
        round: 1,
        station: name.to_owned(),
        position_mm,
        value_mm,
        sd_mm: Some(4e-4),
        readings: 24,
        resolution: mm("0.001"),
        time_s: Some(time_s),
        clamped: false,
        setting: 0,
    };
    let marks = vec![
        zero_mark("A", 0.0, 0.0125, 0.0),
        zero_mark("B", 80.0, 0.0431, 20.0),
        zero_mark("A", 0.0, 0.0127, 40.0),
    ];
    let mut status = opened(Work::Zero(plan));
    status.marks = (1..)
        .zip(&marks)
        .map(|(n, m)| {
            mark(
                n,
                Place::Station(station(&m.station, "0")),
                Some(m.value_mm),
            )
        })
        .collect();
    status.next_round = Some(2);
    let status = with!(status, Zero, marks);
    next(status, Place::Station(station("A", "0")))
}

fn sweeping(positions: PositionsFrom, subject: Subject) -> Status {
    let sweep = SweepOptions {
        positions,
        subject,
        ..SweepOptions::default()
    };
    opened(Work::Sweep(SweepPlan {
        sweep,
        position_cable: None,
    }))
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
    let mut status = with!(sweeping(PositionsFrom::Feed, subject), Sweep, inputs);
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
    let mut status = sweeping(PositionsFrom::Stations, Subject::Setup);
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
        status = with!(status, Sweep, inputs);
    }
    let (name, at, _) = readings[count % 3];
    next(status, Place::Station(station(name, at)))
}

fn angle(deg: f64) -> Place {
    Place::Angle {
        angle: Angle::from_deg(deg),
        plane: None,
    }
}

/// Off by 4.1 µm toward 4 o'clock, oval by 1.2 µm, with a little of a three-jaw chuck.
fn round_mm(deg: f64) -> f64 {
    let wave = |order: f64, um: f64, at: f64| um * (order * (deg - at)).to_radians().cos();
    0.052 + (wave(1.0, 4.1, 118.0) + wave(2.0, 1.2, 20.0) + wave(3.0, 0.8, 0.0)) * 1e-3
}

fn by_the_clock(hours: u32) -> Status {
    let plan = RunoutPlan {
        runout: RunoutOptions {
            limit: Some(Length::from_um(5)),
            ..RunoutOptions::default()
        },
        ..RunoutPlan::default()
    };
    let degs: Vec<f64> = (0..hours).map(|hour| f64::from(hour) * 30.0).collect();
    let mut status = opened(Work::Runout(plan));
    // What a display with steps of 0.1 µm shows.
    let shown = |deg: f64| (round_mm(deg) * 1e4).round() / 1e4;
    status.marks = (1..)
        .zip(&degs)
        .map(|(n, deg)| mark(n, angle(*deg), Some(shown(*deg))))
        .collect();
    status.next_round = Some(1 + hours / 12);
    if hours >= 3 {
        let points = degs.iter().map(|deg| RunoutPoint {
            angle_deg: *deg,
            reading_mm: shown(*deg),
            plane_mm: None,
        });
        let inputs = RunoutInputs {
            first: Turning::Angles(points.collect()),
            turned: None,
        };
        status = with!(status, Runout, inputs);
    }
    next(status, angle(f64::from(hours % 12) * 30.0))
}

fn turning() -> Status {
    let plan = RunoutPlan {
        angles: AnglesFrom::Turns,
        ..RunoutPlan::default()
    };
    let mut status = opened(Work::Runout(plan));
    status.recording = true;
    status.no_outcome = Some("two turn marks are needed".to_owned());
    status.so_far = Some(SoFar::Runout {
        points: 843,
        tir_um: 9.4,
        turns: 2,
    });
    status.marks = (1..=3)
        .map(|n| mark(n, Place::Turn { plane: None }, None))
        .collect();
    next(status, Place::Turn { plane: None })
}

fn turned() -> Status {
    let readings = (0..400).map(|i| {
        let time_s = f64::from(i) * 0.01;
        TimedReading {
            time_s,
            reading_mm: (round_mm(time_s * 360.0) * 1e4).round() / 1e4,
            plane_mm: None,
        }
    });
    let inputs = RunoutInputs {
        first: Turning::TurnMarks {
            readings: readings.collect(),
            marks_s: vec![0.0, 1.0, 2.0, 3.0],
        },
        turned: None,
    };
    let mut status = with!(turning(), Runout, inputs);
    (status.recording, status.no_outcome, status.so_far) = (false, None, None);
    status
}

fn planes() -> Status {
    let mut status = by_the_clock(12);
    let points = [0.0, 24.0].into_iter().flat_map(|plane_mm| {
        (0..12).map(move |hour| {
            let deg = f64::from(hour) * 30.0;
            RunoutPoint {
                angle_deg: deg,
                reading_mm: round_mm(deg) + plane_mm * 1e-4 * deg.to_radians().cos(),
                plane_mm: Some(plane_mm),
            }
        })
    });
    let inputs = RunoutInputs {
        first: Turning::Angles(points.collect()),
        turned: None,
    };
    status = with!(status, Runout, inputs);
    status.next_round = Some(2);
    status
}

/// Diameters at the gauge plane and 24 mm from it, the wanted ones and this much more, µm, in each round.
fn sized(more_um: &[[f64; 2]]) -> Status {
    let mut status = opened(Work::Size(SizePlan {
        size: SizeOptions {
            pass: Some(Length::from_um(10)),
            allowance: Some(Length::from_um(5)),
            diameter_u: Some(mm("0.0001")),
            ..SizeOptions::default()
        },
        at: vec![Length::ZERO, mm("24")],
        ..SizePlan::default()
    }));
    // A micrometer has no cable here.
    status.indicator = None;
    let plane = |plane: Length| Place::Plane { plane };
    if more_um.is_empty() {
        return next(status, plane(Length::ZERO));
    }
    // 1:12 from 40 mm at the gauge plane.
    let wanted = [(0.0, 40.0), (24.0, 38.0)].into_iter().cycle();
    let readings: Vec<_> = wanted
        .zip(more_um.iter().copied().flatten())
        .map(|((plane_mm, wanted), more)| SectionReading {
            plane_mm,
            diameter_mm: wanted + more * 1e-3,
        })
        .collect();
    status.marks = (1..)
        .zip(&readings)
        .map(|(n, r)| {
            mark(
                n,
                plane(Length::from_mm(r.plane_mm).unwrap()),
                Some(r.diameter_mm),
            )
        })
        .collect();
    next(
        with!(status, Size, Measured::Sections(readings)),
        plane(Length::ZERO),
    )
}

fn printed(zones: Option<[f64; 3]>, found_arcsec: Option<[f64; 2]>) -> Status {
    let status = opened(Work::Contact(ContactOptions {
        found_arcsec,
        ..ContactOptions::default()
    }));
    let Some([big_percent, middle_percent, small_percent]) = zones else {
        return status;
    };
    let zones = Zones {
        big_percent,
        middle_percent,
        small_percent,
    };
    let mut status = with!(status, Contact, zones);
    status.marks = vec![mark(1, Place::Print(zones), None)];
    status
}

fn checking(readings: usize) -> Status {
    let nominals = ["0", "0.4", "0.8", "1.2"];
    let up = nominals.iter().map(|n| (*n, Direction::Up));
    let down = nominals.iter().rev().map(|n| (*n, Direction::Down));
    let steps: Vec<_> = up.chain(down).collect();
    let errors_um = [0.0, 1.2, 0.7, -1.1, -0.2, 1.9, 2.1, 0.6];
    let mut status = opened(Work::Dial(DialPlan {
        nominals: nominals.map(mm).to_vec(),
        ..DialPlan::default()
    }));
    let at = |(nominal, direction): (&str, Direction)| Place::Nominal {
        nominal: mm(nominal),
        direction,
    };
    let points: Vec<_> = steps
        .iter()
        .zip(errors_um)
        .take(readings)
        .map(|((nominal, direction), um)| DialPoint {
            nominal_mm: mm(nominal).mm(),
            reading_mm: mm(nominal).mm() + um * 1e-3,
            direction: *direction,
        })
        .collect();
    status.marks = (1..)
        .zip(&points)
        .zip(&steps)
        .map(|((n, point), step)| mark(n, at(*step), Some(point.reading_mm)))
        .collect();
    if readings > 1 {
        status = with!(status, Dial, points);
    }
    match steps.get(readings) {
        Some(step) => next(status, at(*step)),
        None => status,
    }
}

fn so_far(watch: &mut Watch, value: &str, so_far: SoFar) {
    let reading = LiveReading {
        cable: "bench".to_owned(),
        seq: 8,
        t: Time(0),
        value: mm(value),
        resolution: mm("0.001"),
        settled: false,
        so_far: Some(so_far),
    };
    watch.on_live(Live::Reading(reading), NOW_S);
}

/// What a user can be looking at in each step, each with a legend.
pub fn states() -> Vec<(&'static str, Watch)> {
    let mut recording = sweeping(PositionsFrom::Feed, Subject::Setup);
    recording.recording = true;
    recording.no_outcome = Some("it is being recorded: mark its end".to_owned());
    let recording = next(
        recording,
        Place::End {
            station: Some(station("B", "80")),
        },
    );
    let mut recording = watching(recording, "0.106", false);
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
    let mut turning = watching(turning(), "0.056", false);
    so_far(
        &mut turning,
        "0.056",
        SoFar::Runout {
            points: 861,
            tir_um: 10.7,
            turns: 2,
        },
    );
    let mut marked = turned();
    marked.recording = true;
    marked.so_far = Some(SoFar::Runout {
        points: 421,
        tir_um: 8.9,
        turns: 3,
    });
    let marked = watching(marked, "0.054", false);
    let mut turned_true = marked.clone();
    turned_true.went_to = Some("4 o'clock".to_owned());
    let mut truing = watching(by_the_clock(12), "0.054", false);
    truing.went_to = Some("4 o'clock".to_owned());
    let mut true_now = truing.clone();
    reading(&mut true_now, "0.052", true, NOW_S);
    let mut tapping = watching(swept(Subject::Setup), "0.118", true);
    tapping.went_to = Some("B".to_owned());
    let mut judging = watching(printed(None, None), "0.013", true);
    judging.mode = Mode::Print("90 40 ".to_owned());
    let mut misjudged = watching(printed(None, None), "0.013", true);
    misjudged.mode = Mode::Print("90 140 0".to_owned());
    misjudged.on_answer(Answer::Refused(
        Refusal::new(
            Code::BadValue,
            "a print is three numbers from 0 to 100: big end, middle, small end",
        )
        .hint("as 90 40 0"),
    ));
    let mut unplaced = sized(&[]);
    (unplaced.next_place, unplaced.next_mark) = (None, None);
    let mut unplaced = watching(unplaced, "0.013", true);
    unplaced.mode = Mode::Place {
        text: "24".to_owned(),
        then: Then::Mark(Some("38.0123".to_owned())),
    };
    let mut menu = watching(level(), "0.013", true);
    menu.mode = Mode::Menu;
    let mut typing = watching(sized(&[[46.2, 44.0]]), "0.013", true);
    typing.mode = Mode::Value("40.0214".to_owned());

    vec![
        ("level_enough", watching(level(), "0.013", true)),
        ("menu", menu),
        (
            "sweep_first_station",
            watching(by_stations(0), "0.013", true),
        ),
        (
            "sweep_stations_so_far",
            watching(by_stations(2), "0.021", false),
        ),
        ("sweep_stations", watching(by_stations(3), "0.021", true)),
        ("sweep_recording", recording),
        ("sweep_tap", tapping),
        (
            "sweep_of_the_part",
            watching(swept(Subject::Part), "0.112", true),
        ),
        (
            "runout_clock_first",
            watching(by_the_clock(0), "0.056", true),
        ),
        (
            "runout_clock_under_way",
            watching(by_the_clock(5), "0.049", false),
        ),
        ("runout_clock", watching(by_the_clock(12), "0.052", true)),
        ("runout_truing", truing),
        ("runout_true", true_now),
        ("runout_turning", turning),
        ("runout_turns_marked", marked),
        ("runout_turns_truing", turned_true),
        ("runout_turned", watching(turned(), "0.054", true)),
        ("runout_planes", watching(planes(), "0.052", true)),
        ("size_first", watching(sized(&[]), "0.013", true)),
        ("size_place_asked", unplaced),
        ("size_left", watching(sized(&[[46.2, 44.0]]), "0.013", true)),
        ("size_typing", typing),
        (
            "size_undersize",
            watching(sized(&[[-12.4, -10.0]]), "0.013", true),
        ),
        (
            "size_ground_between",
            watching(sized(&[[46.2, 44.0], [12.0, 16.4]]), "0.013", true),
        ),
        ("contact_first", judging),
        ("contact_mistyped", misjudged),
        (
            "contact_disagrees",
            watching(
                printed(Some([90.0, 40.0, 0.0]), Some([0.5, 2.0])),
                "0.013",
                true,
            ),
        ),
        (
            "contact_full",
            watching(
                printed(Some([90.0, 85.0, 80.0]), Some([0.5, 2.0])),
                "0.013",
                true,
            ),
        ),
        (
            "contact_alone",
            watching(printed(Some([5.0, 60.0, 90.0]), None), "0.013", true),
        ),
        ("dial_first", watching(checking(0), "0.001", true)),
        ("dial_under_way", watching(checking(5), "0.802", true)),
        ("dial_done", watching(checking(8), "0.001", true)),
    ]
}
