//! One live reading more, with all that the live view shows of it, after few readings and after many.

use super::stats::Times;
use super::{Line, rounds};
use metrology::runout::RunoutSums;
use metrology::sweep::SweepSums;
use std::hint::black_box;
use std::time::Instant;

const ROUNDS: usize = 31;
/// Readings timed together.
const MORE: usize = 2_000;
const FEW: usize = 1_000;
const MANY: usize = 1_000_000;
/// What "the same" leaves to the clock.
const SAME: f64 = 1.1;

pub(super) fn row() -> Vec<Line> {
    let noise = |i: usize| (i as f64 * 0.754_877_666_246_692_8).fract() * 1e-3;
    let sweep = |before: usize| {
        let mut sums = SweepSums::default();
        (0..before).for_each(|i| sums.push(i as f64 * 1e-5, noise(i)));
        sums
    };
    let turn = |before: usize| {
        let mut sums = RunoutSums::default();
        (0..before).for_each(|i| sums.push(Some(i as f64 * 0.7), noise(i)));
        sums
    };
    vec![
        compare("sweep", [sweep(FEW), sweep(MANY)], |sums, i| {
            sums.push(black_box(11.0 + i as f64 * 1e-5), noise(i));
            black_box(sums.so_far());
        }),
        compare("turn", [turn(FEW), turn(MANY)], |sums, i| {
            sums.push(black_box(Some(i as f64 * 0.7)), noise(i));
            black_box(sums.so_far());
        }),
    ]
}

fn compare<S: Clone>(of: &str, begun: [S; 2], one_more: impl Fn(&mut S, usize)) -> Line {
    let mut times = [Times::default(), Times::default()];
    for _ in 0..rounds(ROUNDS) {
        for (times, begun) in times.iter_mut().zip(&begun) {
            let mut sums = begun.clone();
            let start = Instant::now();
            (0..MORE).for_each(|i| one_more(&mut sums, i));
            times.push(start.elapsed());
        }
    }
    let [few, many] = times.map(|times| times.median() * 1e6 / MORE as f64);
    Line::told(
        format!("one live reading more of a {of}, after {MANY}"),
        format!("{many:.0} ns"),
    )
    .beside(format!("after {FEW}: {few:.0} ns"), many / few)
    .reach(format!("the same (to {SAME})"), many <= SAME * few)
}
