//! Simulated checks of an indicator. The truth is what a later reading should have shown.

use super::{Case, Held};
use crate::chance::Chance;
use metrology::Length;
use metrology::blocks::{Block, Kit};
use metrology::dial::{self, DialOptions, DialPoint, Direction};
use metrology::setup::{Indicator, Setup};
use std::f64::consts::TAU;

pub(super) fn cases() -> Vec<Case> {
    let case = |what, run| Case {
        step: "dial",
        what,
        costly: false,
        run,
    };
    vec![
        case("eleven steps both ways, three runs, as it is", |c| {
            check(c, false)
        }),
        case("eleven steps both ways, three runs, corrected", |c| {
            check(c, true)
        }),
    ]
}

/// An indicator's own errors, mm: two waves over its range, and hysteresis.
struct Errors {
    waves: [(f64, f64, f64); 2],
    half_hysteresis: f64,
    scatter: f64,
}

impl Errors {
    fn new(chance: &mut Chance) -> Self {
        let mut wave = |waves, most| (waves, chance.between(0.0, most), chance.between(0.0, TAU));
        let waves = [wave(1.0, 2e-3), wave(2.0, 1e-3)];
        Self {
            waves,
            half_hysteresis: chance.between(0.0, 0.5e-3),
            scatter: chance.between(0.2e-3, 0.6e-3),
        }
    }

    fn shown(&self, place_mm: f64, direction: Direction, chance: &mut Chance) -> f64 {
        let waves: f64 = self
            .waves
            .iter()
            .map(|(waves, height, start)| {
                height * (TAU * waves * place_mm / RANGE_MM + start).sin()
            })
            .sum();
        let way = match direction {
            Direction::Up => self.half_hysteresis,
            Direction::Down => -self.half_hysteresis,
        };
        place_mm + waves + way + chance.normal(self.scatter)
    }
}

const RANGE_MM: f64 = 1.0;
const STEPS: u32 = 10;
/// Standard uncertainty of each block, mm.
const BLOCK_U: f64 = 0.1e-3;

fn check(chance: &mut Chance, correct: bool) -> Vec<Held> {
    let errors = Errors::new(chance);
    let nominals: Vec<f64> = (0..=STEPS)
        .map(|i| RANGE_MM * f64::from(i) / f64::from(STEPS))
        .collect();
    let blocks = nominals.iter().skip(1).filter_map(|mm| {
        let u = Length::from_mm(BLOCK_U);
        Some(Block {
            nominal: Length::from_mm(*mm)?,
            deviation: None,
            u,
        })
    });
    let kit = Kit {
        name: "steps".into(),
        blocks: blocks.collect(),
        grade: None,
        source: "a simulation".into(),
    };
    // Each block is off by its own amount, the same in every run.
    let real: Vec<f64> = nominals
        .iter()
        .map(|mm| {
            if *mm == 0.0 {
                0.0
            } else {
                mm + chance.normal(BLOCK_U)
            }
        })
        .collect();
    let mut points = Vec::new();
    for _ in 0..3 {
        for direction in [Direction::Up, Direction::Down] {
            for (nominal_mm, real_mm) in nominals.iter().zip(&real) {
                let reading_mm = errors.shown(*real_mm, direction, chance);
                points.push(DialPoint {
                    nominal_mm: *nominal_mm,
                    reading_mm,
                    direction,
                });
            }
        }
    }
    let setup = Setup {
        kit: Some(kit),
        ..Setup::default()
    };
    let Ok(found) = dial::outcome(&setup, DialOptions { correct }, &points) else {
        return Vec::new();
    };
    // A reading anywhere, come to either way. The indicator's constant error is set out with its zero.
    let indicator = Indicator {
        check: Some(found.check.clone()),
        ..Indicator::default()
    };
    let place = chance.between(0.0, RANGE_MM);
    let direction = if chance.between(0.0, 1.0) < 0.5 {
        Direction::Up
    } else {
        Direction::Down
    };
    let offset = found
        .steps
        .iter()
        .map(|step| {
            step.up_um
                .unwrap_or(0.0)
                .midpoint(step.down_um.unwrap_or(0.0))
                * 1e-3
        })
        .sum::<f64>()
        / found.steps.len() as f64;
    let read = indicator.true_mm(errors.shown(place, direction, chance));
    let error_um = (read - offset - place) * 1e3;
    Held::within("a later reading", error_um, Some(found.expanded_um), 0.0)
        .into_iter()
        .collect()
}
