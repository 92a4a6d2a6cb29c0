//! Simulated checks of an indicator. The truth is what a later reading should have shown.

use super::{Case, Held, but};
use crate::chance::Chance;
use metrology::Length;
use metrology::blocks::{Block, Kit};
use metrology::dial::{self, DialOptions, DialOutcome, DialPoint, Direction};
use metrology::setup::{Indicator, Setup};
use std::f64::consts::TAU;

pub(super) fn cases() -> Vec<Case> {
    let case = |what, way: Way| Case::new("dial", what, move |chance| check(chance, &way));
    vec![
        case(
            "eleven steps both ways, three runs, as it is",
            Way::default(),
        ),
        case(
            "eleven steps both ways, three runs, corrected",
            but(Way::default(), |w| w.correct = true),
        ),
        case(
            "eleven steps both ways, two runs",
            but(Way::default(), |w| w.runs = 2),
        ),
        case(
            "one run up and down only",
            but(Way::default(), |w| w.runs = 1),
        ),
        case(
            "one run, repeatability stated",
            but(Way::default(), |w| {
                w.runs = 1;
                w.stated = true;
            }),
        ),
        case(
            "one run, one step read again each way",
            but(Way::default(), |w| {
                w.runs = 1;
                w.again = true;
            }),
        ),
        case(
            "three runs, a display of 2 µm",
            but(Way::default(), |w| w.display_um = 2),
        ),
        case(
            "two runs, a display of 5 µm",
            but(Way::default(), |w| {
                w.runs = 2;
                w.display_um = 5;
            }),
        ),
        case(
            "one run, a display of 5 µm, repeatability stated",
            but(Way::default(), |w| {
                w.runs = 1;
                w.stated = true;
                w.display_um = 5;
            }),
        ),
    ]
}

/// How the check is made.
struct Way {
    runs: usize,
    /// One nominal is read once more each way at the end.
    again: bool,
    correct: bool,
    /// How single readings repeat is stated, and stated rightly.
    stated: bool,
    /// One step of the display, µm; 0 for one that is fine enough.
    display_um: i64,
}

impl Default for Way {
    fn default() -> Self {
        Self {
            runs: 3,
            again: false,
            correct: false,
            stated: false,
            display_um: 0,
        }
    }
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

    /// The error at a place come to one way, without scatter, mm.
    fn at(&self, place_mm: f64, direction: Direction) -> f64 {
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
        waves + way
    }

    fn shown(
        &self,
        place_mm: f64,
        direction: Direction,
        display_um: i64,
        chance: &mut Chance,
    ) -> f64 {
        let exact = place_mm + self.at(place_mm, direction) + chance.normal(self.scatter);
        if display_um == 0 {
            return exact;
        }
        let step = display_um as f64 * 1e-3;
        (exact / step).round() * step
    }
}

const WAYS: [Direction; 2] = [Direction::Up, Direction::Down];
const RANGE_MM: f64 = 1.0;
const STEPS: u32 = 10;
/// Standard uncertainty of each block, mm.
const BLOCK_U: f64 = 0.1e-3;

fn check(chance: &mut Chance, way: &Way) -> Vec<Held> {
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
    // A display's steps lie anywhere to the blocks: the indicator stands a little off zero.
    let stand = chance.between(0.0, way.display_um as f64 * 1e-3);
    let mut read = |i: usize, direction, chance: &mut Chance| {
        let reading_mm = errors.shown(real[i] + stand, direction, way.display_um, chance);
        points.push(DialPoint {
            nominal_mm: nominals[i],
            reading_mm,
            direction,
        });
    };
    for _ in 0..way.runs {
        for direction in WAYS {
            for i in 0..nominals.len() {
                read(i, direction, chance);
            }
        }
    }
    if way.again {
        for direction in WAYS {
            read(5, direction, chance);
        }
    }
    let limit = chance.between(1e-3, 6e-3);
    let mut setup = Setup {
        kit: Some(kit),
        ..Setup::default()
    };
    setup.indicator = Indicator {
        resolution: (way.display_um > 0).then(|| Length::from_um(way.display_um)),
        error_limit: Length::from_mm(limit),
        repeatability: way
            .stated
            .then(|| Length::from_mm(errors.scatter))
            .flatten(),
        ..Indicator::default()
    };
    let correct = way.correct;
    let Ok(found) = dial::outcome(&setup, DialOptions { correct }, &points) else {
        return Vec::new();
    };
    let error_um = later(&errors, way, &found, stand, chance);
    let narrowest = narrowest_um(&errors, way);
    let interval = Held::within("a later reading", error_um, found.expanded_um, 0.0)
        .map(|held| held.beside(narrowest));
    let said = Held::said_in(found.verdict, worst(&errors, &nominals) <= limit);
    interval.into_iter().chain(said).collect()
}

/// By how much a reading anywhere is off, come to either way, µm. The indicator's constant error is set out with its zero.
fn later(errors: &Errors, way: &Way, found: &DialOutcome, stand: f64, chance: &mut Chance) -> f64 {
    let indicator = Indicator {
        check: Some(found.check.clone()),
        ..Indicator::default()
    };
    let place = chance.between(0.0, RANGE_MM);
    let direction = WAYS[usize::from(chance.between(0.0, 1.0) < 0.5)];
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
    let shown = errors.shown(place + stand, direction, way.display_um, chance);
    (indicator.true_mm(shown) - offset - place) * 1e3
}

/// 1.96 standard deviations of a later reading about its mean error, by the true errors, µm: what an interval needs that
/// knows them. A correction takes all but hysteresis and scatter away.
fn narrowest_um(errors: &Errors, way: &Way) -> f64 {
    let step = way.display_um as f64 * 1e-3;
    // The later reading is rounded, and so are those that its zero comes from.
    let scatter = errors.scatter.powi(2) + step * step / 6.0;
    let waves: f64 = errors
        .waves
        .iter()
        .map(|(_, height, _)| height * height / 2.0)
        .sum();
    let known = if way.correct { 0.0 } else { waves };
    1.96e3 * (scatter + known + errors.half_hysteresis.powi(2)).sqrt()
}

/// The largest error at a nominal, come to either way, from their mean, mm.
fn worst(errors: &Errors, nominals: &[f64]) -> f64 {
    let all = || {
        nominals
            .iter()
            .flat_map(|place| WAYS.map(|way| errors.at(*place, way)))
    };
    let mean = all().sum::<f64>() / all().count() as f64;
    all().map(|error| (error - mean).abs()).fold(0.0, f64::max)
}
