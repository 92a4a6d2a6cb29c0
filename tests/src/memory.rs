//! The daemon's memory under a long stream: readings as fast as it takes them, down a pty, and what the kernel says it holds.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use crate::process::{Place, Running};
use crate::pulse::Port;
use crate::toolroom::DEADLINE;
use serde_json::{Value, json};
use std::time::{Duration, Instant};

/// What is done with the readings.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum With {
    /// No session is open: they are shown.
    NoSession,
    /// A zero step is open: they are stored, and none of them is held.
    AStep,
    /// A sweep records: they are stored, and held for the live view up to its limit.
    ARecording,
}

/// The memory after so many readings.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sample {
    /// Readings so far.
    pub readings: u64,
    /// What is resident, KiB.
    pub resident_kib: u64,
}

/// A long stream, and what it took.
#[derive(Debug)]
pub struct Told {
    /// The samples; the first before the stream, when everything is open.
    pub samples: Vec<Sample>,
    /// How long it took.
    pub took: Duration,
    /// The highest that was ever resident, KiB.
    pub highest_kib: u64,
    /// The highest of a daemon that is started over it after a kill, KiB, and how long that takes to its first answer.
    pub restarted: (u64, Duration),
}

impl Told {
    /// By how much the memory grew between two samples, KiB; 0 when it did not.
    #[must_use]
    pub fn grew_kib(&self, from: usize, to: usize) -> u64 {
        let at = |n: usize| self.samples[n].resident_kib;
        at(to).saturating_sub(at(from))
    }
}

/// Has a daemon take `each` readings so many `times`, and looks at its memory after each of these.
///
/// # Panics
/// When the daemon does not do as it is asked, or a reading is lost.
#[must_use]
pub fn stream(with: With, each: u64, times: u32) -> Told {
    let directory = tempfile::tempdir().unwrap();
    let mut port = Port::open();
    let place = Place::new(directory.path(), &port.config());
    let daemon = place.start();
    // What is sent before the daemon has opened the port is lost: its state says when it has.
    let until = Instant::now() + DEADLINE;
    let mut sent = 0;
    while status(&place)["cables"][0]["state"] != "live" {
        port.send(1);
        assert!(Instant::now() < until, "{}", place.log());
    }
    begin(&place, with);
    let mut before = readings(&place);
    // Those that were sent while the port was opened may still come.
    loop {
        port.send(1);
        let now = readings(&place);
        if now > before {
            break;
        }
        before = now;
    }
    let mut told = Told {
        samples: vec![sample(&daemon, 0)],
        took: Duration::ZERO,
        highest_kib: 0,
        restarted: (0, Duration::ZERO),
    };
    let first = taken(&place, 0);
    let begun = Instant::now();
    for _ in 0..times {
        port.send_many(each, sent);
        sent += each;
        taken(&place, first + sent);
        told.samples.push(sample(&daemon, sent));
    }
    told.took = begun.elapsed();
    told.highest_kib = daemon.kib("VmHWM");
    daemon.kill();
    let begun = Instant::now();
    let daemon = place.start();
    told.restarted = (daemon.kib("VmHWM"), begun.elapsed());
    daemon.stop();
    told
}

fn begin(place: &Place, with: With) {
    let step = match with {
        With::NoSession => return,
        With::AStep => json!({ "kind": "zero" }),
        With::ARecording => json!({ "kind": "sweep", "positions": "feed" }),
    };
    let session = json!({ "name": "edge", "span": "80", "cable": "bench" });
    for (path, body) in [("/v1/sessions", session), ("/v1/steps", step)] {
        let (status, answer) = place.post(path, &body);
        assert_eq!(status, 200, "{answer}");
    }
    if with == With::ARecording {
        let (status, answer) = place.post("/v1/marks", &json!({}));
        assert_eq!(status, 200, "{answer}");
    }
}

fn status(place: &Place) -> Value {
    let answer = place.ask("GET", "/v1/status", "").unwrap();
    serde_json::from_str(answer.split_once("\r\n\r\n").unwrap().1).unwrap()
}

fn readings(place: &Place) -> u64 {
    status(place)["cables"][0]["readings"].as_u64().unwrap()
}

/// Waits until the daemon has taken so many readings, and no more come; gives their number.
fn taken(place: &Place, wanted: u64) -> u64 {
    let until = Instant::now() + DEADLINE;
    loop {
        let now = readings(place);
        if now >= wanted && readings(place) == now {
            return now;
        }
        assert!(
            Instant::now() < until,
            "{now} readings of {wanted}: {}",
            place.log()
        );
        std::thread::yield_now();
    }
}

fn sample(daemon: &Running<'_>, readings: u64) -> Sample {
    Sample {
        readings,
        resident_kib: daemon.kib("VmRSS"),
    }
}
