//! Following the advice: simulated set-ups whose truth is known.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

mod simulation;

use conewright_metrology::Length;
use conewright_metrology::setup::Setup;
use conewright_metrology::zero::{self, ZeroMark};
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
