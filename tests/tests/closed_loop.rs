//! Following the advice: simulated set-ups whose truth is known.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_tests::chance::Chance;
use metrology::blocks::Stack;
use metrology::setup::{BigEnd, IndicatorSide, Sense, Setup};
use metrology::zero::{self, ZeroMark};
use metrology::{Angle, Length};

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

/// A habit of the hand at the grinder.
#[derive(Clone, Copy, PartialEq)]
enum Habit {
    /// Marks A and B, then taps.
    Pairs,
    /// Marks A, B and A again, then taps.
    Closes,
    /// Goes from A to B and back without end, and taps as soon as there is advice: no round is ever closed on purpose.
    NeverCloses,
}

/// Taps until the true half angle is worth less than a micrometre over 60 mm off the wanted one; `None` after 20. `stack_arcsec`
/// is what the stack is known to set too much.
fn taps_needed(chance: &mut Chance, habit: Habit, stack_arcsec: f64) -> Option<usize> {
    let mut bench = Bench {
        slope: chance.between(-0.2, 0.2) / SPAN_MM,
        offset_mm: chance.between(-0.05, 0.05),
        pivot_mm: chance.between(-SPAN_MM / 2.0, SPAN_MM * 1.5),
    };
    let setup = setup(stack_arcsec);
    let wanted = -Angle::from_arcsec(stack_arcsec).tan();
    let mut marks: Vec<ZeroMark> = Vec::new();
    let (mut taps, mut at_b) = (0, false);
    while taps <= 20 && marks.len() < 200 {
        if ((bench.slope - wanted) * SPAN_MM).abs() < 1e-3 {
            return Some(taps);
        }
        let x = if at_b { SPAN_MM } else { 0.0 };
        // The round as the daemon gives it: the next where the last is complete, or where the mark shows a move.
        let round = marks.last().map_or(1, |last| last.round);
        let count = marks.iter().filter(|mark| mark.round == round).count();
        let complete = count == if habit == Habit::Pairs { 2 } else { 3 };
        let value = bench.reading(x) + chance.normal(0.15e-3);
        marks.push(mark(round + u32::from(complete), x, value));
        if let Some(moved) = zero::opens_a_round(&setup, &marks)
            && let Some(last) = marks.last_mut()
        {
            last.round = moved.round;
        }
        let last = marks.last()?.round;
        let count = marks.iter().filter(|mark| mark.round == last).count();
        let due = match habit {
            Habit::Pairs => count == 2,
            Habit::Closes => count == 3,
            Habit::NeverCloses => count >= 2,
        };
        // Who has closed a round, or moved the set-up, begins at the same station again.
        at_b = if habit == Habit::Closes && count == 3 {
            at_b
        } else {
            !at_b
        };
        let advice = zero::outcome(&setup, &marks).unwrap().tap.filter(|_| due);
        if let Some(tap) = advice {
            let off = chance.between(-0.05, 0.05);
            let slide = chance.between(-0.02, 0.02);
            // The hand taps to the target, not by an amount: what has come there already stays.
            let to_go = tap.target_mm - bench.reading(tap.station_mm);
            bench.tap(tap.station_mm, to_go, off, slide);
            taps += 1;
        }
    }
    None
}

/// A set-up with a sense, and a stack that is known to set so much too much.
fn setup(stack_arcsec: f64) -> Setup {
    let height: Length = "4.163mm".parse().unwrap();
    Setup {
        stack: Some(Stack {
            height,
            blocks: vec![],
            sum: height,
            error_um: 0.0,
            within: true,
            u_um: None,
            angle_set_deg: None,
            angle_error_arcsec: Some(stack_arcsec),
        }),
        sense: Some(Sense {
            big_end: BigEnd::A,
            indicator: IndicatorSide::Wheel,
        }),
        ..Setup::default()
    }
}

/// *Common practice* is watching one end and halving what is seen; it needs about ten taps and often never arrives.
#[test]
fn the_advice_arrives_in_three_taps_at_the_median_and_four_at_the_95th_percentile() {
    for (habit, name) in [
        (Habit::Pairs, "A B, then a tap"),
        (Habit::Closes, "A B A, then a tap"),
        (Habit::NeverCloses, "never closed"),
    ] {
        for stack_arcsec in [0.0, -6.0] {
            let mut chance = Chance::seeded(1);
            let mut taps: Vec<usize> = (0..1_000)
                .map(|_| taps_needed(&mut chance, habit, stack_arcsec).unwrap_or(usize::MAX))
                .collect();
            taps.sort_unstable();
            let histogram: Vec<usize> = (0..=20)
                .map(|n| taps.iter().filter(|t| **t == n).count())
                .collect();
            println!("{name}, stack {stack_arcsec} arcsec, taps 0..=20: {histogram:?}");
            assert!(taps[500] <= 3, "{name}: median {}", taps[500]);
            assert!(taps[949] <= 4, "{name}: 95th percentile {}", taps[949]);
            assert!(taps[999] < usize::MAX, "{name}: every set-up arrives");
        }
    }
}
