//! What bad clients cost: how long readings take to a live view, and the daemon's memory, undisturbed and under each kind of bad client.
//! Between any two readings a line goes the same way without the daemon: what delays that is the machine.
//!
//! `cargo build --release && cargo run --release -p conewright-tests --bin clients [BUSY]`, with so many threads that keep the processors busy.

#![allow(clippy::unwrap_used, reason = "a panic is the program's message")]

use conewright_tests::bare::Bare;
use conewright_tests::clients::Bad;
use conewright_tests::process::Place;
use conewright_tests::pulse::{Beat, PROMISED, Port, Pulse};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering::Relaxed};
use std::time::Duration;

/// Readings timed under each.
const BEATS: usize = 1_000;
/// Between two of them: a fast cable.
const APART: Duration = Duration::from_millis(5);

fn main() {
    let busy = std::env::args().nth(1).map_or(0, |n| n.parse().unwrap());
    let done = AtomicBool::new(false);
    std::thread::scope(|scope| {
        for _ in 0..busy {
            scope.spawn(|| {
                while !done.load(Relaxed) {
                    std::hint::spin_loop();
                }
            });
        }
        measure();
        done.store(true, Relaxed);
    });
}

fn measure() {
    let directory = tempfile::tempdir().unwrap();
    let port = Port::open();
    let place = Place::new(directory.path(), &port.config());
    let running = place.start();
    place.open_zero();
    let mut pulse = Pulse::begin(&place, &running, port);
    let mut bare = Bare::begin();
    println!(
        "ms: median, 99th percentile, longest, and how many were over 5 ms; of the daemon's thread for readings, while one was on \
         its way, the most that it worked and the most that it waited for a processor; MiB"
    );
    println!(
        "{:16} | {:^29} | {:^29} | {:>8} {:>8} | {:>6} | {:>8} {:>7}",
        "clients",
        "the daemon",
        "without it",
        "its work",
        "waited",
        "rounds",
        "resident",
        "highest"
    );
    let mut row = |what: &str, bad: Option<Bad>| {
        let (stop, rounds) = (AtomicBool::new(false), AtomicU64::new(0));
        let (beats, without): (Vec<Beat>, Vec<Duration>) = std::thread::scope(|scope| {
            if let Some(bad) = bad {
                let (place, stop, rounds) = (&place, &stop, &rounds);
                scope.spawn(move || bad.go_on(place, stop, rounds));
            }
            let beats = (0..BEATS)
                .map(|_| {
                    std::thread::sleep(APART);
                    let beat = pulse.beat();
                    std::thread::sleep(APART);
                    (beat, bare.beat())
                })
                .unzip();
            stop.store(true, Relaxed);
            beats
        });
        let most = |of: fn(&Beat) -> Duration| beats.iter().map(of).max().unwrap().as_secs_f64();
        let (worked, waited) = (most(|beat| beat.worked), most(|beat| beat.waited));
        println!(
            "{what:16} | {} | {} | {:8.3} {:8.3} | {:6} | {:8.1} {:7.1}",
            spread(beats.iter().map(|beat| beat.took).collect()),
            spread(without),
            worked * 1e3,
            waited * 1e3,
            rounds.load(Relaxed),
            running.kib("VmRSS") as f64 / 1024.0,
            running.kib("VmHWM") as f64 / 1024.0,
        );
    };
    row("none", None);
    for bad in Bad::ALL {
        row(&format!("{bad:?}"), Some(bad));
    }
    row("none", None);
    bare.end();
    running.stop();
}

fn spread(mut took: Vec<Duration>) -> String {
    took.sort_unstable();
    let at = |share: f64| took[((took.len() - 1) as f64 * share) as usize].as_secs_f64() * 1e3;
    let over = took.iter().filter(|took| **took > PROMISED).count();
    format!("{:7.3} {:7.3} {:8.3} {over:4}", at(0.5), at(0.99), at(1.0))
}
