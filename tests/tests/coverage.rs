//! A small run of the coverage simulation: enough to see an interval that is far too narrow or too wide. The program
//! `coverage` makes the 10 000 runs that show the per cents.

use conewright_tests::coverage::{cases, simulate};

#[test]
fn the_stated_intervals_hold_the_truth() {
    let mut off = Vec::new();
    for (seed, case) in cases().iter().enumerate() {
        let runs = if case.costly { 60 } else { 500 };
        for row in simulate(case, runs, seed as u64) {
            // Four standard deviations of chance about 95 %.
            let chance = 400.0 * (0.95 * 0.05 / row.stated as f64).sqrt();
            let percent = row.percent();
            if (percent - 95.0).abs() > 1.0 + chance {
                off.push(format!(
                    "{} {} {}: {percent:.1} %",
                    row.step, row.interval, row.what
                ));
            }
        }
    }
    assert!(off.is_empty(), "{off:#?}");
}
