//! Bad clients of a real daemon: its memory stays bounded, readings go on to those who read, and marks are answered.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use conewright_tests::clients::Bad;
use conewright_tests::process::Place;
use conewright_tests::pulse::{Port, Pulse};
use serde_json::json;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering::Relaxed};
use std::time::{Duration, Instant};

/// What no client may delay a reading by.
const PROMISED: Duration = Duration::from_millis(5);
/// Readings timed under each kind of client.
const BEATS: usize = 150;
/// What bad clients may make the daemon's memory grow by: 128 connections with a head of 64 KiB each, 32 live views and two
/// records, with what the allocator keeps beside.
const GROWTH_KIB: u64 = 24 * 1024;

/// The readings are timed by a client on the same machine, which others use at the same time: the median is held to the promise, and a
/// reading in twenty may be late by the machine's own doing, beyond those that are late without any bad client. `clients`, a program
/// beside this, prints the figures.
#[test]
fn no_client_delays_a_reading_or_fills_the_memory() {
    let directory = tempfile::tempdir().unwrap();
    let port = Port::open();
    let place = Place::new(directory.path(), &port.config());
    let running = place.start();
    place.post("/v1/sessions", &json!({ "name": "load", "span": "80" }));
    place.post("/v1/steps", &json!({ "kind": "zero" }));
    let mut pulse = Pulse::begin(&place, port);
    let mut beats = || {
        let mut took: Vec<Duration> = (0..BEATS).map(|_| pulse.beat()).collect();
        took.sort_unstable();
        let late = took.iter().filter(|took| **took > PROMISED).count();
        (took[BEATS / 2], late)
    };
    let (_, usual) = beats();
    let before = running.kib("VmRSS");
    for bad in Bad::ALL {
        let mut tries = Vec::new();
        let held = (0..3).any(|_| {
            let (stop, rounds) = (AtomicBool::new(false), AtomicU64::new(0));
            let (median, late) = std::thread::scope(|scope| {
                scope.spawn(|| bad.go_on(&place, &stop, &rounds));
                let measured = beats();
                stop.store(true, Relaxed);
                measured
            });
            assert!(rounds.load(Relaxed) > 0, "{bad:?} did its worst");
            tries.push((median, late));
            median <= PROMISED && late <= usual + BEATS / 20
        });
        assert!(
            held,
            "{bad:?}: median, and late of {BEATS}: {tries:?}; {usual} are usual"
        );
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
    place.post("/v1/sessions", &json!({ "name": "load", "span": "80" }));
    place.post("/v1/steps", &json!({ "kind": "zero" }));
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
