//! How long the exact choice of a stack takes, by kit and height: `cargo bench -p conewright-metrology`.

use conewright_metrology::Length;
use conewright_metrology::blocks::{Kit, StackRules, choose, choose_two};
use divan::Bencher;

#[path = "../tests/kits/mod.rs"]
#[allow(dead_code)]
mod kits;

fn main() {
    divan::main();
}

/// 200 heights up to a limit, from a golden-ratio sequence so that every last digit occurs.
fn heights(from_mm: i64, to_mm: i64) -> Vec<Length> {
    (1..=200_i64)
        .map(|i| {
            let share = (i as f64 * 0.618_033_988_749_895).fract();
            let pm = (to_mm - from_mm) as f64 * 1e9 * share;
            Length::from_pm(from_mm * 1_000_000_000 + pm as i64)
        })
        .collect()
}

fn each(bencher: Bencher, kit: &Kit, heights: &[Length], rules: &StackRules) {
    let mut next = heights.iter().cycle();
    bencher.bench_local(|| next.next().map(|height| choose(kit, *height, rules)));
}

/// Ranges of height, mm: a gap below the lowest pairs, what a bar takes, more than the big blocks, nearly all.
const RANGES: [(i64, i64); 4] = [(0, 2), (2, 250), (250, 400), (400, 930)];

#[divan::bench(args = RANGES)]
fn nominal(bencher: Bencher, (from, to): (i64, i64)) {
    each(
        bencher,
        &kits::metric_112(),
        &heights(from, to),
        &StackRules::default(),
    );
}

#[divan::bench(args = RANGES)]
fn calibrated_to_10_nm(bencher: Bencher, (from, to): (i64, i64)) {
    let kit = kits::calibrated(kits::metric_112(), 10_000);
    each(bencher, &kit, &heights(from, to), &StackRules::default());
}

#[divan::bench(args = RANGES)]
fn calibrated_to_1_nm(bencher: Bencher, (from, to): (i64, i64)) {
    let kit = kits::calibrated(kits::metric_112(), 1_000);
    each(bencher, &kit, &heights(from, to), &StackRules::default());
}

#[divan::bench]
fn as_near_as_can_be(bencher: Bencher) {
    let kit = kits::calibrated(kits::metric_112(), 1_000);
    let rules = StackRules {
        within: Length::ZERO,
        ..StackRules::default()
    };
    each(bencher, &kit, &heights(2, 250), &rules);
}

#[divan::bench]
fn two_equal_stacks(bencher: Bencher) {
    let kit = kits::metric_112();
    let heights = heights(3, 120);
    let mut next = heights.iter().cycle();
    bencher.bench_local(|| {
        next.next()
            .map(|height| choose_two(&kit, *height, *height, &StackRules::default()))
    });
}
