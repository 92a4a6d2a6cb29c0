//! What is captured from a port can be read, understood again, and played back into one.

// A test may unwrap, and so may what it is made of: the panic is the message.
#![allow(clippy::unwrap_used)]

mod listener;

use conewright_daemon::bench::{Manner, Speech, VirtualCable};
use conewright_daemon::cable::{CaptureFault, Fault, after, capture};
use config::model::Cadence;
use listener::{Listener, STREAMS, bench, cable, frame};
use metrology::{Length, Unit};
use protocol::api::CableState;
use protocol::capture::{Capture, replay};
use protocol::frame::Frame;
use std::io::{self, Write};
use std::path::Path;
use std::sync::Arc;
use tokio::sync::Notify;

/// The values of a capture, as its own head says that they are to be understood.
fn values(capture: &Capture) -> Vec<Length> {
    let frame = Frame::shipped(capture.get("frame").unwrap()).unwrap();
    let unit = Unit::from_sign(capture.get("unit").unwrap()).unwrap();
    let speed = capture.bits_per_second().unwrap();
    let replayed = replay(capture.chunks(), &frame, unit, speed);
    replayed.values.iter().map(|(_, d)| d.value).collect()
}

/// What is written, with a notice for each line.
struct Watched {
    bytes: Vec<u8>,
    written: Arc<Notify>,
}

impl Watched {
    fn new() -> (Self, Arc<Notify>) {
        let written = Arc::new(Notify::new());
        let own = Self {
            bytes: Vec::new(),
            written: Arc::clone(&written),
        };
        (own, written)
    }
}

impl Write for Watched {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.written.notify_one();
        self.bytes.write(bytes)
    }
    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

#[tokio::test]
async fn captured_read_and_played_back() {
    let far = VirtualCable::start(bench(5), frame(), 100.0).unwrap();
    let mut text = Vec::new();
    let port = far.path().unwrap();
    let captured = capture(&cable(&port, STREAMS), after(Some(0.5)), &mut text)
        .await
        .unwrap();
    assert!(!captured.hung_up);
    assert!(captured.lasted_ns >= 500_000_000, "{captured:?}");
    let capture: Capture = Capture::parse(&String::from_utf8(text).unwrap()).unwrap();
    let captured_values = values(&capture);
    assert!(captured_values.len() >= 20, "{captured_values:?}");
    let bytes: usize = capture.chunks().map(|chunk| chunk.bytes.len()).sum();
    assert_eq!(bytes as u64, captured.bytes);
    assert_eq!(capture.get("settings"), Some("9600 8N1"));
    assert_eq!(capture.get("port").map(Path::new), Some(port.as_path()));

    let again = VirtualCable::speaking(
        bench(5),
        Speech {
            manner: Manner::Replays {
                chunks: capture.chunks().cloned().collect(),
            },
            ..Speech::streams(frame(), 1.0)
        },
    )
    .unwrap();
    let mut listener = Listener::of(cable(&again.path().unwrap(), STREAMS));
    let mut replayed = Vec::new();
    for _ in 0..captured_values.len() - 2 {
        replayed.push(listener.reading().await.0);
    }
    // The first ones can be lost between the opening and the emptying of the port.
    assert!(
        captured_values
            .windows(replayed.len())
            .any(|window| window == replayed),
        "{replayed:?} is no run of {captured_values:?}"
    );
    // When everything is said it is a cable that stopped.
    listener.state(CableState::Stale).await;
    assert!(again.replayed().unwrap());
    listener.stop().await;
}

#[tokio::test]
async fn a_polled_cable_is_asked_while_it_is_captured() {
    let request = b"?\r".to_vec();
    let far = VirtualCable::speaking(
        bench(5),
        Speech {
            manner: Manner::Polled {
                request: request.clone(),
            },
            ..Speech::streams(frame(), 1.0)
        },
    )
    .unwrap();
    let polled = Cadence::Polled {
        request,
        interval_s: 0.02,
        timeout_s: 0.3,
    };
    let mut text = Vec::new();
    let port = cable(&far.path().unwrap(), polled);
    capture(&port, after(Some(0.4)), &mut text).await.unwrap();
    let capture = Capture::parse(&String::from_utf8(text).unwrap()).unwrap();
    let values = values(&capture);
    assert!(values.len() >= 5, "{values:?}");
    assert_eq!(capture.get("cadence"), Some("polled"));
}

#[tokio::test]
async fn a_capture_ends_whole_when_the_cable_leaves() {
    let far = VirtualCable::start(bench(5), frame(), 100.0).unwrap();
    let (mut text, written) = Watched::new();
    let port = cable(&far.path().unwrap(), STREAMS);
    let (captured, ()) = tokio::join!(capture(&port, after(None), &mut text), async {
        // The head, and a few readings.
        for _ in 0..5 {
            written.notified().await;
        }
        far.unplug().unwrap();
    });
    let text = text.bytes;
    assert!(captured.unwrap().hung_up);
    let capture = Capture::parse(&String::from_utf8(text).unwrap()).unwrap();
    assert!(!values(&capture).is_empty());
}

#[tokio::test]
async fn a_port_that_is_not_there_is_no_capture() {
    let mut text = Vec::new();
    let port = cable(Path::new("/dev/no-such-port"), STREAMS);
    let fault = capture(&port, after(None), &mut text).await.unwrap_err();
    assert!(
        matches!(fault, CaptureFault::Port(Fault::Gone(_))),
        "{fault}"
    );
    assert!(text.is_empty());
}
