//! The daemon's memory under a long stream, sample by sample.
//!
//! `cargo run --release -p conewright-tests --bin memory` after `cargo build --release`.

use conewright_tests::memory::{With, stream};

fn main() {
    for (with, each, times) in [
        (With::NoSession, 1_000_000, 10),
        (With::AStep, 200_000, 5),
        (With::ARecording, 250_000, 10),
    ] {
        let told = stream(with, each, times);
        println!(
            "{with:?}: {} readings in {:.0} s, at the highest {:.1} MiB",
            each * u64::from(times),
            told.took.as_secs_f64(),
            told.highest_kib as f64 / 1024.0
        );
        println!(
            "  started again after a kill: first answer after {:.0} ms, at the highest {:.1} MiB",
            told.restarted.1.as_secs_f64() * 1e3,
            told.restarted.0 as f64 / 1024.0
        );
        for sample in &told.samples {
            println!(
                "  after {:8} {:6.1} MiB",
                sample.readings,
                sample.resident_kib as f64 / 1024.0
            );
        }
    }
}
