use super::common::{mark, next, opened, with};
use crate::watch::state::Watch;
use crate::watch::view::golden::{mm, watching};
use metrology::dial::{DialPoint, Direction};
use protocol::api::Status;
use protocol::evidence::Place;
use protocol::plan::DialPlan;

fn checking(readings: usize) -> Status {
    let nominals = ["0", "0.4", "0.8", "1.2"];
    let up = nominals.iter().map(|n| (*n, Direction::Up));
    let down = nominals.iter().rev().map(|n| (*n, Direction::Down));
    let steps: Vec<_> = up.chain(down).collect();
    let errors_um = [0.0, 1.2, 0.7, -1.1, -0.2, 1.9, 2.1, 0.6];
    let step = DialPlan {
        nominals: nominals.map(mm).to_vec(),
        ..DialPlan::default()
    };
    let mut status = opened(step.clone());
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
        status = with(status, &step, &points);
    }
    match steps.get(readings) {
        Some(step) => next(status, at(*step)),
        None => status,
    }
}

pub fn states() -> Vec<(&'static str, Watch)> {
    vec![
        ("dial_first", watching(checking(0), "0.001", true)),
        ("dial_under_way", watching(checking(5), "0.802", true)),
        ("dial_done", watching(checking(8), "0.001", true)),
    ]
}
