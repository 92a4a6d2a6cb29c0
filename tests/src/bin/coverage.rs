//! Prints, for every step and every 95 % interval that it states, how often it holds the truth.
//!
//! `cargo run --release -p conewright-tests --bin coverage [RUNS]`; 10 000 runs of each case unless told otherwise.
//! Chance alone moves the figure of 10 000 runs by up to half a per cent.

use conewright_tests::coverage::{cases, simulate};
use std::io::Write;
use std::process::ExitCode;

fn main() -> ExitCode {
    let runs = match std::env::args().nth(1).map(|text| text.parse::<usize>()) {
        None => 10_000,
        Some(Ok(runs)) if runs > 0 => runs,
        Some(_) => {
            eprintln!("error: the number of runs is a whole number above 0");
            return ExitCode::from(2);
        }
    };
    let mut out = std::io::stdout().lock();
    let mut all = true;
    for (seed, case) in cases().iter().enumerate() {
        for row in simulate(case, runs, seed as u64) {
            let percent = row.percent();
            let good = (94.0..=96.0).contains(&percent);
            all &= good;
            let line = format!(
                "{:8} {:15} {:6.2} % of {:6}  {} {}",
                row.step,
                row.interval,
                percent,
                row.stated,
                if good { " " } else { "!" },
                row.what
            );
            if writeln!(out, "{line}").is_err() {
                return ExitCode::SUCCESS;
            }
        }
    }
    if all {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    }
}
