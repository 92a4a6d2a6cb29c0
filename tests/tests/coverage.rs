//! A small run of the coverage simulation: enough to see an interval that is far too narrow. The program `coverage` makes
//! the 10 000 runs that show the per cents.

use conewright_tests::coverage::{cases, simulate};

#[test]
fn stated_intervals_hold_the_truth_and_verdicts_are_right() {
    let mut off = Vec::new();
    for (seed, case) in cases().iter().enumerate() {
        let runs = if case.costly { 40 } else { 300 };
        for row in simulate(case, runs, seed as u64) {
            let (least, share) = if row.is_verdict() {
                (97.5, 0.025)
            } else {
                (94.0, 0.05)
            };
            // Four standard deviations of chance.
            let chance = 400.0 * (share * (1.0 - share) / row.stated as f64).sqrt();
            if !row.honest() && row.percent() < least - chance {
                off.push(format!(
                    "{} {} {}: {:.1} % of {}",
                    row.step,
                    row.interval,
                    row.what,
                    row.percent(),
                    row.stated
                ));
            }
        }
    }
    assert!(off.is_empty(), "{off:#?}");
}
