//! Prints, for every step and every 95 % interval that it states, in how many of the runs it was stated, how often it holds the
//! truth, and how wide it is beside the narrowest honest one; for verdicts how often *in tolerance* was said and how often falsely.
//!
//! `cargo run --release -p conewright-tests --bin coverage [RUNS [WHICH [SEED]]]`; 10 000 runs of every case unless told
//! otherwise. WHICH is a step, or words of a case.
//! Chance alone moves the figure of 10 000 runs by up to half a per cent.

use conewright_tests::coverage::{Case, cases, simulate};
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
    let which = std::env::args().nth(2);
    let first_seed = match std::env::args().nth(3).map(|text| text.parse::<u64>()) {
        None => 0,
        Some(Ok(seed)) => seed,
        Some(Err(_)) => {
            eprintln!("error: the seed is a whole number");
            return ExitCode::from(2);
        }
    };
    let cases = cases();
    let wanted = |case: &&Case| {
        let named = |which: &String| case.step == which || case.what.contains(which.as_str());
        which.as_ref().is_none_or(named)
    };
    if !cases.iter().any(|case| wanted(&case)) {
        eprintln!("error: no step and no case is called so");
        return ExitCode::from(2);
    }
    let mut out = std::io::stdout().lock();
    let mut all = true;
    for (number, case) in cases.iter().filter(wanted).enumerate() {
        for row in simulate(case, runs, first_seed + number as u64) {
            let good = row.honest();
            all &= good;
            let width = row
                .width_ratio
                .map_or(String::new(), |ratio| format!("{ratio:.2}"));
            let line = format!(
                "{:8} {:15} {:6} of {:6}  {:6.2} %  {:5} {} {}",
                row.step,
                row.interval,
                row.stated,
                row.runs,
                row.percent(),
                width,
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
