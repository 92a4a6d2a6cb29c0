//! Following the advice, and whether its intervals are true: simulated set-ups whose truth is known.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

mod simulation;

use conewright_metrology::setup::Setup;
use conewright_metrology::zero::{self, ZeroMark};
use conewright_metrology::{Angle, Length};
use simulation::Chance;

const SPAN_MM: f64 = 60.0;

/// A set-up on a table, as only the simulation knows it: the edge's reading at x is `offset + slope · x`.
struct Bench {
    slope: f64,
    offset_mm: f64,
    pivot_mm: f64,
}

impl Bench {
    fn reading(&self, x_mm: f64) -> f64 {
        self.offset_mm + self.slope * x_mm
    }

    /// The hand taps until the reading at `x_mm` has changed by `move_mm`, off by its share; the set-up turns about the
    /// pivot and slides by its share.
    fn tap(&mut self, x_mm: f64, move_mm: f64, off: f64, slide: f64) {
        let moved = move_mm * (1.0 + off);
        let slid = moved * slide;
        let turn = (moved - slid) / (x_mm - self.pivot_mm);
        self.slope += turn;
        self.offset_mm += slid - turn * self.pivot_mm;
    }
}

fn mark(round: u32, position_mm: f64, value_mm: f64) -> ZeroMark {
    ZeroMark {
        round,
        station: if position_mm == 0.0 {
            "A".into()
        } else {
            "B".into()
        },
        position_mm,
        value_mm,
        sd_mm: None,
        readings: 1,
        resolution: Length::from_pm(100_000),
        time_s: None,
        clamped: false,
        setting: 0,
    }
}

/// Taps until the true slope is worth less than a micrometre over 60 mm; `None` after 20.
fn taps_needed(chance: &mut Chance) -> Option<usize> {
    let mut bench = Bench {
        slope: chance.between(-0.2, 0.2) / SPAN_MM,
        offset_mm: chance.between(-0.05, 0.05),
        pivot_mm: chance.between(-SPAN_MM / 2.0, SPAN_MM * 1.5),
    };
    let mut marks = Vec::new();
    for taps in 0..=20 {
        if (bench.slope * SPAN_MM).abs() < 1e-3 {
            return Some(taps);
        }
        let round = taps as u32 + 1;
        for x in [0.0, SPAN_MM] {
            marks.push(mark(round, x, bench.reading(x) + chance.normal(0.15e-3)));
        }
        let tap = zero::outcome(&Setup::default(), &marks)
            .unwrap()
            .tap
            .unwrap();
        let off = chance.between(-0.05, 0.05);
        let slide = chance.between(-0.02, 0.02);
        bench.tap(tap.station_mm, tap.move_um * 1e-3, off, slide);
    }
    None
}

/// *Common practice* is watching one end and halving what is seen; it needs about ten taps and often never arrives.
#[test]
fn the_advice_arrives_in_three_taps_at_the_median_and_four_at_the_95th_percentile() {
    let mut chance = Chance::seeded(1);
    let mut taps: Vec<usize> = (0..1_000)
        .map(|_| taps_needed(&mut chance).unwrap_or(usize::MAX))
        .collect();
    taps.sort_unstable();
    let histogram: Vec<usize> = (0..=20)
        .map(|n| taps.iter().filter(|t| **t == n).count())
        .collect();
    println!("taps 0..=20: {histogram:?}");
    assert!(taps[500] <= 3, "median {}", taps[500]);
    assert!(taps[949] <= 4, "95th percentile {}", taps[949]);
    assert!(taps[999] < usize::MAX, "every set-up arrives");
}

/// One kind of round: which stations, how the readings scatter and are rounded, how many a dwell holds.
struct Kind {
    name: &'static str,
    pass: &'static [f64],
    rounds: u32,
    sd_mm: f64,
    step_mm: f64,
    readings: usize,
    drift_mm_per_s: f64,
    error_limit_mm: f64,
}

/// The share of simulated rounds whose 95 % interval of the residual holds the truth.
fn coverage(kind: &Kind, runs: usize, chance: &mut Chance) -> f64 {
    let setup = Setup {
        indicator: conewright_metrology::setup::Indicator {
            resolution: Length::from_mm(kind.step_mm),
            error_limit: Length::from_mm(kind.error_limit_mm).filter(|limit| *limit > Length::ZERO),
            ..Default::default()
        },
        ..Setup::default()
    };
    let held = (0..runs)
        .filter(|_| {
            let mut marks = Vec::new();
            let mut truth = 0.0;
            for round in 1..=kind.rounds {
                let slope = chance.between(-0.2, 0.2) / SPAN_MM;
                let offset = chance.between(-0.1, 0.1);
                truth = slope;
                // What the indicator is wrong by where it stands: one value a station.
                let wrong =
                    [(); 3].map(|()| chance.between(-kind.error_limit_mm, kind.error_limit_mm));
                for (i, x) in kind.pass.iter().enumerate() {
                    let time = 15.0 * i as f64;
                    let place = kind.pass.iter().position(|other| other == x).unwrap();
                    let values: Vec<f64> = (0..kind.readings)
                        .map(|_| {
                            let value = offset
                                + slope * x
                                + wrong[place]
                                + kind.drift_mm_per_s * time
                                + chance.normal(kind.sd_mm);
                            (value / kind.step_mm).round() * kind.step_mm
                        })
                        .collect();
                    let mean = values.iter().sum::<f64>() / values.len() as f64;
                    let squares: f64 = values.iter().map(|v| (v - mean).powi(2)).sum();
                    marks.push(ZeroMark {
                        sd_mm: (values.len() > 1)
                            .then(|| (squares / (values.len() - 1) as f64).sqrt()),
                        readings: values.len(),
                        time_s: Some(time),
                        station: format!("{x}"),
                        ..mark(round, *x, mean)
                    });
                }
            }
            let outcome = zero::outcome(&setup, &marks).unwrap();
            let residual = outcome.residual_arcsec.unwrap();
            let expanded = outcome.residual_expanded_arcsec.unwrap();
            (residual - Angle::from_rad(truth.atan()).arcsec()).abs() <= expanded
        })
        .count();
    held as f64 / runs as f64
}

const AB: &[f64] = &[0.0, SPAN_MM];
const ABA: &[f64] = &[0.0, SPAN_MM, 0.0];
const ABAB: &[f64] = &[0.0, SPAN_MM, 0.0, SPAN_MM];
const AMB: &[f64] = &[0.0, SPAN_MM / 2.0, SPAN_MM];

#[test]
fn the_interval_of_the_residual_holds_the_truth_in_94_to_96_percent() {
    let kind = |name, pass, rounds, sd_um: f64, step_um: f64, readings| Kind {
        name,
        pass,
        rounds,
        sd_mm: sd_um * 1e-3,
        step_mm: step_um * 1e-3,
        readings,
        drift_mm_per_s: 0.0,
        error_limit_mm: 0.0,
    };
    let kinds = [
        kind("A B, 10 readings, fine display", AB, 1, 0.15, 0.001, 10),
        kind(
            "A B, 20 readings, 1 µm display, lively",
            AB,
            1,
            0.5,
            1.0,
            20,
        ),
        kind(
            "A B, 20 readings, 1 µm display, quiet",
            AB,
            1,
            0.15,
            1.0,
            20,
        ),
        kind("A B, single readings, rounding alone", AB, 1, 1e-6, 1.0, 1),
        kind("A B A, 20 readings, 0.1 µm display", ABA, 1, 0.15, 0.1, 20),
        Kind {
            drift_mm_per_s: 2e-5,
            ..kind("A B A, drifting", ABA, 1, 0.15, 0.1, 20)
        },
        kind("A B A, three rounds pooled", ABA, 3, 0.3, 0.5, 8),
        kind("A B A B, single readings", ABAB, 1, 0.15, 0.001, 1),
        kind(
            "A B A B, three rounds of single readings",
            ABAB,
            3,
            0.3,
            0.001,
            1,
        ),
        kind("A B A B, 10 readings", ABAB, 2, 0.3, 0.2, 10),
        kind("A M B, single readings", AMB, 2, 0.15, 0.001, 1),
        Kind {
            error_limit_mm: 0.8e-3,
            ..kind("A B A, indicator ± 0.8 µm", ABA, 1, 0.3, 0.5, 20)
        },
    ];
    let mut chance = Chance::seeded(2);
    let mut wrong = Vec::new();
    for kind in &kinds {
        let share = coverage(kind, 10_000, &mut chance);
        println!("{:<45} {:.2} %", kind.name, share * 100.0);
        if !(0.94..=0.96).contains(&share) {
            wrong.push(format!("{}: {:.2} %", kind.name, share * 100.0));
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}
