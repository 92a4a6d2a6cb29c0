//! Kills the daemon at random moments of a session, and prints what was found after each.
//!
//! `cargo run --release -p conewright-tests --bin kills [KILLS [SEED]]` after `cargo build --release`; 1 000 kills unless told
//! otherwise.

use conewright_tests::kills::campaign;
use std::process::ExitCode;
use std::time::Instant;

fn main() -> ExitCode {
    let mut numbers = std::env::args().skip(1).map(|text| text.parse::<u32>());
    let (kills, seed) = match (numbers.next(), numbers.next()) {
        (None, _) => (1_000, 1),
        (Some(Ok(kills)), None) => (kills, 1),
        (Some(Ok(kills)), Some(Ok(seed))) => (kills, seed),
        _ => {
            eprintln!("error: the number of kills and the seed are whole numbers");
            return ExitCode::from(2);
        }
    };
    let begun = Instant::now();
    let told = campaign(kills as usize, u64::from(seed));
    println!(
        "kills                  {} in {:.0} s",
        told.kills,
        begun.elapsed().as_secs_f64()
    );
    println!("at an answer           {}", told.at_an_answer);
    println!("while it started       {}", told.starting);
    println!(
        "acts acknowledged      {}, {} of them marks, {} of these beginnings, ends and turns",
        told.acknowledged, told.marks, told.moments
    );
    println!("outcomes compared      {}", told.outcomes);
    println!(
        "readings told          {} before an acknowledged mark and there; after it {} there, {} gone with the last {:.0} ms",
        told.readings.promised,
        told.readings.after,
        told.readings.gone,
        told.readings.longest_gone_s * 1e3
    );
    println!(
        "acts under way         {} done, {} not done",
        told.under_way.0, told.under_way.1
    );
    println!(
        "exports                {} ended, {} killed, {} without their daemon",
        told.exports.0, told.exports.1, told.exports.2
    );
    println!(
        "longest start          {:.0} ms",
        told.longest_start.as_secs_f64() * 1e3
    );
    println!("not as promised        {}", told.failures.len());
    for wrong in told.failures.iter().take(10) {
        println!("  {wrong}");
    }
    if told.failures.is_empty() {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    }
}
