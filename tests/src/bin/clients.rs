//! What bad clients cost: how long readings take to a live view, and the daemon's memory, undisturbed and under each kind of bad client.
//!
//! `cargo build --release && cargo run --release -p conewright-tests --bin clients`

#![allow(clippy::unwrap_used, reason = "a panic is the program's message")]

use conewright_tests::clients::Bad;
use conewright_tests::process::Place;
use conewright_tests::pulse::{Port, Pulse};
use serde_json::json;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering::Relaxed};
use std::time::Duration;

/// Readings timed under each.
const BEATS: usize = 1_000;
/// Between two of them: a fast cable.
const APART: Duration = Duration::from_millis(5);

fn main() {
    let directory = tempfile::tempdir().unwrap();
    let port = Port::open();
    let place = Place::new(directory.path(), &port.config());
    let running = place.start();
    place.post("/v1/sessions", &json!({ "name": "load", "span": "80" }));
    place.post("/v1/steps", &json!({ "kind": "zero" }));
    let mut pulse = Pulse::begin(&place, port);
    println!(
        "{:18} {:>8} {:>8} {:>8} {:>10} {:>7} {:>12} {:>12}",
        "clients",
        "p50 ms",
        "p99 ms",
        "most ms",
        "over 5 ms",
        "rounds",
        "resident MiB",
        "highest MiB"
    );
    let row = |what: &str, took: &mut Vec<Duration>, rounds: u64| {
        took.sort_unstable();
        let at = |share: f64| took[((took.len() - 1) as f64 * share) as usize].as_secs_f64() * 1e3;
        let over = took
            .iter()
            .filter(|t| **t > Duration::from_millis(5))
            .count();
        println!(
            "{what:18} {:8.3} {:8.3} {:8.3} {over:10} {rounds:7} {:12.1} {:12.1}",
            at(0.5),
            at(0.99),
            at(1.0),
            running.kib("VmRSS") as f64 / 1024.0,
            running.kib("VmHWM") as f64 / 1024.0,
        );
    };
    let mut beats = || -> Vec<Duration> {
        (0..BEATS)
            .map(|_| {
                std::thread::sleep(APART);
                pulse.beat()
            })
            .collect()
    };
    row("none", &mut beats(), 0);
    for bad in Bad::ALL {
        let (stop, rounds) = (AtomicBool::new(false), AtomicU64::new(0));
        let mut took = std::thread::scope(|scope| {
            scope.spawn(|| bad.go_on(&place, &stop, &rounds));
            let took = beats();
            stop.store(true, Relaxed);
            took
        });
        row(&format!("{bad:?}"), &mut took, rounds.load(Relaxed));
    }
    row("none", &mut beats(), 0);
    running.stop();
}
