use super::common::{mark, next, opened, so_far, with};
use crate::watch::state::Watch;
use crate::watch::view::golden::{NOW_S, reading, watching};
use metrology::runout::{RunoutOptions, RunoutPoint, TimedReading};
use metrology::{Angle, Length};
use protocol::api::{SoFar, Status};
use protocol::evidence::Place;
use protocol::plan::{AnglesFrom, RunoutPlan};
use protocol::step::{RunoutInputs, Turning};

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

fn limited() -> RunoutPlan {
    RunoutPlan {
        runout: RunoutOptions {
            limit: Some(Length::from_um(5)),
            ..RunoutOptions::default()
        },
        ..RunoutPlan::default()
    }
}

fn by_the_clock(hours: u32) -> Status {
    let plan = limited();
    let degs: Vec<f64> = (0..hours).map(|hour| f64::from(hour) * 30.0).collect();
    let mut status = opened(plan.clone());
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
        status = with(status, &plan, &inputs);
    }
    next(status, angle(f64::from(hours % 12) * 30.0))
}

fn by_turns() -> RunoutPlan {
    RunoutPlan {
        angles: AnglesFrom::Turns,
        ..RunoutPlan::default()
    }
}

fn turning() -> Status {
    let mut status = opened(by_turns());
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
    let mut status = with(turning(), &by_turns(), &inputs);
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
    status = with(status, &limited(), &inputs);
    status.next_round = Some(2);
    status
}

pub fn states() -> Vec<(&'static str, Watch)> {
    let clock = |hours, reading, settled| watching(by_the_clock(hours), reading, settled);
    let at_the_high_spot = |watch| Watch {
        went_to: Some("4 o'clock".to_owned()),
        ..watch
    };
    let truing = at_the_high_spot(clock(12, "0.054", false));
    let mut true_now = truing.clone();
    reading(&mut true_now, "0.052", true, NOW_S);
    let mut turns = watching(turning(), "0.056", false);
    so_far(
        &mut turns,
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
    vec![
        ("runout_clock_first", clock(0, "0.056", true)),
        ("runout_clock_under_way", clock(5, "0.049", false)),
        ("runout_clock", clock(12, "0.052", true)),
        ("runout_truing", truing),
        ("runout_true", true_now),
        ("runout_turning", turns),
        ("runout_turns_marked", marked.clone()),
        ("runout_turns_truing", at_the_high_spot(marked)),
        ("runout_turned", watching(turned(), "0.054", true)),
        ("runout_planes", watching(planes(), "0.052", true)),
    ]
}
