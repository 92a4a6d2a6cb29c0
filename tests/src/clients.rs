//! Clients that behave badly, all the time until they are told to stop. Each is a loop of whole attacks on the daemon's socket.

#![allow(clippy::unwrap_used, reason = "a panic is a test's message")]

use crate::process::Place;
use crate::pulse::watch;
use std::io::{Read, Write};
use std::os::unix::net::UnixStream;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering::Relaxed};
use std::time::{Duration, Instant};

/// One kind of bad client.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Bad {
    /// A live view that reads a few bytes for each event.
    SlowReader,
    /// Live views that never read.
    NeverReads,
    /// A thousand connections that say nothing.
    ThousandConnects,
    /// A thousand connections with half a request each.
    HalfRequests,
    /// A gigabyte as one body, announced by its length and in chunks, over and over until so much was offered.
    Gigabyte,
    /// Records asked for and not read.
    UnreadRecords,
}

impl Bad {
    /// All of them.
    pub const ALL: [Self; 6] = [
        Self::SlowReader,
        Self::NeverReads,
        Self::ThousandConnects,
        Self::HalfRequests,
        Self::Gigabyte,
        Self::UnreadRecords,
    ];

    /// Does its worst once and again, at least once, until `stop`. `rounds` counts how often.
    pub fn go_on(self, place: &Place, stop: &AtomicBool, rounds: &AtomicU64) {
        loop {
            match self {
                Self::SlowReader => slow_reader(place, stop),
                Self::NeverReads => hold((0..20).map(|_| watch(place)).collect(), stop),
                Self::ThousandConnects => hold(thousand(place, b""), stop),
                Self::HalfRequests => {
                    hold(thousand(place, b"POST /v1/marks HTTP/1.1\r\nho"), stop);
                }
                Self::Gigabyte => {
                    body(place, "content-length: 1073741824\r\n\r\n");
                    body(place, "transfer-encoding: chunked\r\n\r\n");
                }
                Self::UnreadRecords => {
                    let ask = b"GET /v1/sessions/latest/record HTTP/1.1\r\nhost: x\r\n\r\n";
                    hold((0..8).map(|_| connect(place, ask)).collect(), stop);
                }
            }
            rounds.fetch_add(1, Relaxed);
            if stop.load(Relaxed) {
                return;
            }
        }
    }
}

fn connect(place: &Place, said: &[u8]) -> UnixStream {
    let mut stream = UnixStream::connect(place.socket()).unwrap();
    // A daemon that has already closed it is not what is tested here.
    let _ = stream.write_all(said);
    stream
}

fn thousand(place: &Place, said: &[u8]) -> Vec<UnixStream> {
    (0..1_000).map(|_| connect(place, said)).collect()
}

/// Holds connections for as long as the daemon bears with the silent ones, or until the test ends.
fn hold(connections: Vec<UnixStream>, stop: &AtomicBool) {
    let until = Instant::now() + Duration::from_secs(2);
    while !stop.load(Relaxed) && Instant::now() < until {
        std::thread::park_timeout(Duration::from_millis(20));
    }
    drop(connections);
}

fn slow_reader(place: &Place, stop: &AtomicBool) {
    let mut stream = watch(place);
    stream
        .set_read_timeout(Some(Duration::from_millis(100)))
        .unwrap();
    // An event is far more than this, and each read here waits for the scheduler.
    let mut few = [0; 8];
    while !stop.load(Relaxed) {
        match stream.read(&mut few) {
            Ok(0) => return,
            _ => std::thread::yield_now(),
        }
    }
}

/// Offers a gigabyte; the daemon closes long before.
fn body(place: &Place, head: &str) {
    let request = format!("POST /v1/notes HTTP/1.1\r\nhost: conewright\r\n{head}");
    let mut stream = connect(place, request.as_bytes());
    let piece = format!("10000\r\n{}\r\n", "x".repeat(0x1_0000));
    for _ in 0..16_384 {
        if stream.write_all(piece.as_bytes()).is_err() {
            return;
        }
    }
    panic!("the daemon took in a gigabyte");
}
