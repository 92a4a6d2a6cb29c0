//! Bad clients of a real daemon: its memory stays bounded, readings go on to those who read, and marks are answered.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_tests::clients::Bad;
use conewright_tests::process::Place;
use conewright_tests::pulse::{Beat, PROMISED, Port, Pulse};
use serde_json::json;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering::Relaxed};
use std::time::{Duration, Instant};

/// Readings timed under each kind of client.
const BEATS: usize = 150;
/// What bad clients may make the daemon's memory grow by: 128 connections with a head of 64 KiB each, 32 live views and two
/// records, with what the allocator keeps beside.
const GROWTH_KIB: u64 = 24 * 1024;

/// How long a reading takes is for the most part the machine's doing, which others use at the same time: it is held for the
/// median. What is held for every reading is the daemon's own part: the work of the thread that carries it, while it is on its
/// way. `clients`, a program beside this, prints the figures.
#[test]
fn no_client_delays_a_reading_or_fills_the_memory() {
    let directory = tempfile::tempdir().unwrap();
    let port = Port::open();
    let place = Place::new(directory.path(), &port.config());
    let running = place.start();
    place.open_zero();
    let mut pulse = Pulse::begin(&place, &running, port);
    let before = running.kib("VmRSS");
    for bad in Bad::ALL {
        let (stop, rounds) = (AtomicBool::new(false), AtomicU64::new(0));
        let mut beats: Vec<Beat> = std::thread::scope(|scope| {
            scope.spawn(|| bad.go_on(&place, &stop, &rounds));
            let beats = (0..BEATS).map(|_| pulse.beat()).collect();
            stop.store(true, Relaxed);
            beats
        });
        assert!(rounds.load(Relaxed) > 0, "{bad:?} did its worst");
        beats.sort_unstable_by_key(|beat| beat.took);
        let median = beats[BEATS / 2].took;
        assert!(median <= PROMISED, "{bad:?}: {median:?} is the median");
        let most = beats.iter().max_by_key(|beat| beat.worked).unwrap();
        assert!(most.worked <= PROMISED, "{bad:?}: {most:?}");
        let growth = running.kib("VmHWM").saturating_sub(before);
        assert!(
            growth <= GROWTH_KIB,
            "{bad:?}: the memory grew by {growth} KiB"
        );
    }
    running.stop();
}

/// Connections that are held and say nothing keep nobody out: the next one takes the place of the oldest of them.
#[test]
fn a_mark_is_answered_among_a_thousand_silent_connections() {
    let directory = tempfile::tempdir().unwrap();
    let place = Place::new(directory.path(), "");
    let running = place.start();
    place.open_zero();
    let silent: Vec<_> = (0..1_000)
        .map(|_| std::os::unix::net::UnixStream::connect(place.socket()).unwrap())
        .collect();
    let begun = Instant::now();
    let (status, marked) = place.post("/v1/marks", &json!({ "value": "0.012" }));
    let took = begun.elapsed();
    assert_eq!(status, 200, "{marked}");
    // In turn, each group of connections would have been waited out for two seconds.
    assert!(took < Duration::from_secs(2), "{took:?}");
    drop(silent);
    running.stop();
}
