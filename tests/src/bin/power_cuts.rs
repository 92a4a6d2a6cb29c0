//! Cuts the power at every moment of a session and of the recoveries after it, and prints what came of it.
//!
//! `cargo run --release -p conewright-tests --bin power_cuts [MOMENTS [SEED]]` after `cargo build --release`; every call of the
//! session unless told otherwise.

use conewright_tests::cuts::{Recorded, Told, campaign, recovery_campaign};
use std::process::ExitCode;

/// Typed marks: enough for the log to be brought into the file and begun anew in the middle.
const TYPED: usize = 260;
/// Cuts from which the daemon recovers, with a further cut at every call of that.
const RECOVERIES: usize = 24;

fn main() -> ExitCode {
    let mut numbers = std::env::args().skip(1).map(|text| text.parse::<usize>());
    let (moments, seed) = match (numbers.next(), numbers.next()) {
        (None, _) => (usize::MAX, 1),
        (Some(Ok(moments)), None) => (moments, 1),
        (Some(Ok(moments)), Some(Ok(seed))) => (moments, seed),
        _ => {
            eprintln!("error: the number of moments and the seed are whole numbers");
            return ExitCode::from(2);
        }
    };
    let recorded = Recorded::session(TYPED);
    let first = campaign(&recorded, moments, seed as u64);
    print("during the session", &first);
    let again = recovery_campaign(&recorded, RECOVERIES.min(moments), seed as u64);
    print("during recovery", &again);
    if first.failures.is_empty() && again.failures.is_empty() {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    }
}

fn print(when: &str, told: &Told) {
    println!(
        "{when}: calls {}, moments {}, states of the disk {} (unsynced data at stake in {}), not as promised {}",
        told.calls,
        told.moments,
        told.images,
        told.at_stake,
        told.failures.len()
    );
    for wrong in told.failures.iter().take(10) {
        println!("  {wrong}");
    }
}
