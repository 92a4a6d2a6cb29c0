//! Times of the fits, on data like those of a long sweep and of many turns.
//!
//! `cargo bench -p conewright-metrology`; `tests/measure fits zones live` times them beside numpy and scipy, with what is promised.

use conewright_metrology::fit::{self, minimum_zone};
use conewright_metrology::runout::{
    self, Readings, RunoutOptions, RunoutPoint, RunoutSums, TimedReading,
};
use conewright_metrology::setup::Setup;
use conewright_metrology::sweep::{self, SweepOptions, SweepPoint, SweepSums};
use divan::{Bencher, black_box};

fn main() {
    divan::main();
}

/// Noise between −1 and 1: a Weyl sequence, the same in every run.
fn noise(i: usize) -> f64 {
    ((i as f64 * 0.754_877_666_246_692_8).fract() - 0.5) * 2.0
}

/// A sweep: 60 mm with a slope, a bow of 3 µm and noise of ±1 µm.
fn sweep(points: usize) -> (Vec<f64>, Vec<f64>) {
    (0..points)
        .map(|i| {
            let x = 60.0 * i as f64 / points as f64;
            let bow = 3e-3 * (1.0 - ((x - 30.0) / 30.0).powi(2));
            (x, 0.2 + 1e-4 * x + bow + 1e-3 * noise(i))
        })
        .unzip()
}

/// Ten turns, 8 µm off centre, three lobes of 2 µm and noise of ±1 µm: angles and readings.
fn turns(points: usize) -> (Vec<f64>, Vec<f64>) {
    (0..points)
        .map(|i| {
            let t = std::f64::consts::TAU * 10.0 * i as f64 / points as f64;
            (
                t,
                8e-3 * (t - 1.0).cos() + 2e-3 * (3.0 * t).cos() + 1e-3 * noise(i),
            )
        })
        .unzip()
}

#[divan::bench]
fn line_1e6(bencher: Bencher<'_, '_>) {
    let (x, y) = sweep(1_000_000);
    bencher.bench_local(|| fit::line(black_box(&x), black_box(&y)));
}

#[divan::bench]
fn limacon_1e6(bencher: Bencher<'_, '_>) {
    let (t, y) = turns(1_000_000);
    bencher.bench_local(|| fit::limacon(black_box(&t), black_box(&y)));
}

#[divan::bench]
fn limacon_of_directions_1e6(bencher: Bencher<'_, '_>) {
    let (t, y) = turns(1_000_000);
    let (s, c): (Vec<f64>, Vec<f64>) = t.iter().map(|t| t.sin_cos()).unzip();
    bencher.bench_local(|| fit::limacon_of_directions(black_box(&c), black_box(&s), black_box(&y)));
}

#[divan::bench]
fn circle_1e5(bencher: Bencher<'_, '_>) {
    let points = plane(100_000);
    bencher.bench_local(|| fit::circle(black_box(&points)));
}

/// The turns as points about an axis, at a radius of 20 mm.
fn plane(points: usize) -> Vec<[f64; 2]> {
    let (t, y) = turns(points);
    t.iter()
        .zip(&y)
        .map(|(t, y)| [(20.0 + y) * t.cos(), (20.0 + y) * t.sin()])
        .collect()
}

#[divan::bench]
fn minimum_zone_limacon_1e5(bencher: Bencher<'_, '_>) {
    let (t, y) = turns(100_000);
    bencher.bench_local(|| minimum_zone::limacon(black_box(&t), black_box(&y)));
}

#[divan::bench]
fn minimum_zone_circle_1e5(bencher: Bencher<'_, '_>) {
    let points = plane(100_000);
    bencher.bench_local(|| minimum_zone::circle(black_box(&points)));
}

#[divan::bench]
fn minimum_zone_line_1e6(bencher: Bencher<'_, '_>) {
    let (x, y) = sweep(1_000_000);
    bencher.bench_local(|| minimum_zone::line(black_box(&x), black_box(&y)));
}

/// One more reading of a turn, with all that the live view shows of it, after so many before.
#[divan::bench(args = [1_000, 100_000, 10_000_000])]
fn one_more_of_a_turn(bencher: Bencher<'_, '_>, before: usize) {
    let mut sums = RunoutSums::default();
    for i in 0..before {
        sums.push(Some(i as f64 * 0.7), noise(i));
    }
    bencher.bench_local(|| {
        sums.push(black_box(Some(53.0)), black_box(0.1));
        sums.so_far()
    });
}

/// One more reading of a sweep, with all that the live view shows of it, after so many before.
#[divan::bench(args = [1_000, 100_000, 10_000_000])]
fn one_more_of_a_sweep(bencher: Bencher<'_, '_>, before: usize) {
    let mut sums = SweepSums::default();
    for i in 0..before {
        sums.push(i as f64 * 1e-5, noise(i) * 1e-3);
    }
    bencher.bench_local(|| {
        sums.push(black_box(61.0), black_box(0.1));
        sums.so_far()
    });
}

/// The whole outcome of a sweep: line, zone, bow, outliers, budget.
#[divan::bench(sample_count = 20)]
fn sweep_outcome_1e6(bencher: Bencher<'_, '_>) {
    let (x, y) = sweep(1_000_000);
    let points: Vec<SweepPoint> = x
        .iter()
        .zip(&y)
        .map(|(x, y)| SweepPoint {
            position_mm: *x,
            reading_mm: *y,
        })
        .collect();
    let (setup, options) = (Setup::default(), SweepOptions::default());
    bencher.bench_local(|| sweep::outcome(&setup, &options, black_box(&points)));
}

/// The whole outcome of ten turns: circle, zone, harmonics, turns apart, outliers, limits.
#[divan::bench(sample_count = 20)]
fn runout_outcome_1e5(bencher: Bencher<'_, '_>) {
    let (t, y) = turns(100_000);
    let points: Vec<RunoutPoint> = t
        .iter()
        .zip(&y)
        .map(|(t, y)| RunoutPoint {
            angle_deg: t.to_degrees().rem_euclid(360.0),
            reading_mm: *y,
            plane_mm: None,
        })
        .collect();
    let (setup, options) = (Setup::default(), RunoutOptions::default());
    bencher.bench_local(|| runout::outcome(&setup, &options, Readings::Angles(black_box(&points))));
}

/// A part left turning for hours, every turn marked: a million readings of four thousand turns.
#[divan::bench(sample_count = 5)]
fn runout_outcome_1e6_of_4000_turns(bencher: Bencher<'_, '_>) {
    const TURNS: usize = 4_000;
    let (t, y) = turns(1_000_000);
    let readings: Vec<TimedReading> = (0..t.len())
        .map(|i| TimedReading {
            time_s: i as f64 * 0.02,
            reading_mm: y[i * TURNS / 10 % t.len()],
            plane_mm: None,
        })
        .collect();
    let turn_s = t.len() as f64 * 0.02 / TURNS as f64;
    let marks_s: Vec<f64> = (0..=TURNS).map(|turn| turn as f64 * turn_s).collect();
    let (setup, options) = (Setup::default(), RunoutOptions::default());
    bencher.bench_local(|| {
        let readings = black_box(&readings);
        let marks_s = &marks_s;
        runout::outcome(&setup, &options, Readings::TurnMarks { readings, marks_s })
    });
}
