//! A cable's task on real ptys, with the virtual bench at the far end.

// A test may unwrap, and so may what it is made of: the panic is the message.
#![allow(clippy::unwrap_used)]

mod listener;

use conewright_daemon::bench::{Manner, Speech, VirtualCable};
use conewright_daemon::cable::{CableEventKind, listen};
use config::model::Cadence;
use listener::{Listener, STREAMS, bench, cable, frame};
use metrology::Length;
use protocol::api::CableState;
use rustix::fs::{FlockOperation, Mode, OFlags, flock, open};
use std::ops::ControlFlow;
use std::path::Path;
use std::time::{Duration, Instant};

/// A stream under a name that stays when the cable is pulled.
fn linked(dir: &Path, manner: Manner) -> VirtualCable {
    let speech = Speech {
        manner,
        link: Some(dir.join("indicator")),
        ..Speech::streams(frame(), 100.0)
    };
    VirtualCable::speaking(bench(3), speech).unwrap()
}

const FAST: Manner = Manner::Streams { rate_hz: 100.0 };

fn expected(seed: u64, rate_hz: f64, n: usize) -> Vec<Length> {
    let mut bench = bench(seed);
    (0..n).map(|_| bench.read(1.0 / rate_hz)).collect()
}

#[tokio::test]
async fn readings_arrive_whole_and_in_order_from_two_dozen_cables() {
    let rate = 200.0;
    let n = 100;
    let cables: Vec<_> = (0..24)
        .map(|seed| {
            let far = VirtualCable::start(bench(seed), frame(), rate).unwrap();
            let listener = Listener::of(cable(&far.path().unwrap(), STREAMS));
            (seed, far, listener)
        })
        .collect();
    for (seed, far, mut listener) in cables {
        let mut got = Vec::new();
        let mut times = Vec::new();
        for _ in 0..n {
            let (value, steady_ns) = listener.reading().await;
            got.push(value);
            times.push(steady_ns);
        }
        // What the opening threw away was sent before the port was ours.
        let all = expected(seed, rate, n + 50);
        let start = all.windows(n).position(|window| window == got);
        assert!(
            start.is_some(),
            "cable {seed}: {got:?} is no run of {all:?}"
        );
        assert!(times.is_sorted(), "cable {seed}: {times:?}");
        listener.stop().await;
        assert_eq!(far.counts().unwrap().1, 0, "readings that found no room");
    }
}

#[tokio::test]
async fn garbage_is_counted_shown_and_never_a_value() {
    let far = VirtualCable::start(bench(1), frame(), 100.0).unwrap();
    far.silence(true).unwrap();
    let mut listener = Listener::of(cable(&far.path().unwrap(), STREAMS));
    assert_eq!(listener.state(CableState::Quiet).await, None);
    let garbage = b"\xff\xfe?+0.+0x12 km\r\n";
    assert!(far.send(garbage).unwrap());
    let seen = listener
        .until(|kind| matches!(kind, CableEventKind::Skipped { .. }))
        .await;
    assert!(seen.before.is_empty(), "{:?}", seen.before);
    let CableEventKind::Skipped { total, last } = seen.last else {
        panic!("not skipped");
    };
    assert!(total > 0 && total <= garbage.len() as u64, "{total}");
    assert!(last.contains("0x12"), "{last}");
    far.silence(false).unwrap();
    listener.state(CableState::Live).await;
    let (first, _) = listener.reading().await;
    assert!(expected(1, 100.0, 50).contains(&first));
    // A damaged frame is skipped, and the stream goes on behind it.
    far.garble(1).unwrap();
    listener
        .until(|kind| matches!(kind, CableEventKind::Skipped { total: now, .. } if *now > total))
        .await;
    listener.reading().await;
    listener.stop().await;
}

/// When a device's node was made. Its name alone says little: another test may have got the same the moment it was free.
fn made(device: &Path) -> Option<(i64, i64)> {
    use std::os::unix::fs::MetadataExt;
    let node = std::fs::metadata(device).ok()?;
    Some((node.ctime(), node.ctime_nsec()))
}

#[tokio::test]
async fn pulled_and_put_back_under_the_same_name() {
    let dir = tempfile::tempdir().unwrap();
    let far = linked(dir.path(), FAST);
    let mut listener = Listener::of(cable(&far.path().unwrap(), STREAMS));
    for _ in 0..3 {
        listener.state(CableState::Live).await;
        listener.reading().await;
        let device = std::fs::canonicalize(far.path().unwrap()).unwrap();
        let held = made(&device);
        assert!(held.is_some());
        // Half a frame at the hang-up is never a value.
        assert!(far.send(b"+77.7").unwrap());
        far.unplug().unwrap();
        let detail = listener.state(CableState::Gone).await.unwrap();
        assert!(detail.contains("put the cable back"), "{detail}");
        assert_ne!(made(&device), held, "the port is still held open");
        let put_back = Instant::now();
        far.plug().unwrap();
        listener.state(CableState::Live).await;
        let took = put_back.elapsed();
        println!("back after {took:?}");
        assert!(took < Duration::from_secs(2), "{took:?}");
        let (value, _) = listener.reading().await;
        assert!(value < Length::from_um(1_000), "{value}: from half a frame");
        far.unplug().unwrap();
        listener.state(CableState::Gone).await;
        far.plug().unwrap();
    }
    listener.stop().await;
}

#[tokio::test]
async fn a_cable_that_is_not_there_is_waited_for() {
    let dir = tempfile::tempdir().unwrap();
    let mut listener = Listener::of(cable(&dir.path().join("indicator"), STREAMS));
    let detail = listener.state(CableState::Gone).await.unwrap();
    assert!(detail.contains("indicator: plug the cable in"), "{detail}");
    let far = linked(dir.path(), FAST);
    listener.state(CableState::Live).await;
    drop(far);
    listener.state(CableState::Gone).await;
    listener.stop().await;
}

#[tokio::test]
async fn a_press_is_a_reading_and_silence_is_quiet() {
    let dir = tempfile::tempdir().unwrap();
    let far = linked(dir.path(), Manner::Press);
    let mut listener = Listener::of(cable(&far.path().unwrap(), Cadence::Press));
    listener.state(CableState::Quiet).await;
    let shown = expected(3, f64::INFINITY, 3);
    for wanted in shown {
        far.press().unwrap();
        let (value, _) = listener.reading().await;
        assert_eq!(value, wanted);
    }
    listener.state(CableState::Quiet).await;
    listener.stop().await;
}

#[tokio::test]
async fn a_polled_cable_is_asked() {
    let dir = tempfile::tempdir().unwrap();
    let request = b"?\r".to_vec();
    let far = linked(
        dir.path(),
        Manner::Polled {
            request: request.clone(),
        },
    );
    let polled = Cadence::Polled {
        request,
        interval_s: 0.02,
        timeout_s: 0.3,
    };
    let mut listener = Listener::of(cable(&far.path().unwrap(), polled));
    for wanted in expected(3, f64::INFINITY, 5) {
        assert_eq!(listener.reading().await.0, wanted);
    }
    far.silence(true).unwrap();
    let detail = listener.state(CableState::Stale).await.unwrap();
    assert!(detail.contains("3 requests without an answer"), "{detail}");
    far.silence(false).unwrap();
    listener.state(CableState::Live).await;
    listener.stop().await;
}

#[tokio::test]
async fn from_the_write_to_the_event() {
    let far = VirtualCable::start(bench(1), frame(), 100.0).unwrap();
    far.silence(true).unwrap();
    let mut listener = Listener::of(cable(&far.path().unwrap(), STREAMS));
    listener.state(CableState::Quiet).await;
    let mut took = Vec::new();
    for i in 0..200 {
        let bytes = format!("+0.{i:03} mm\r\n");
        let sent = Instant::now();
        assert!(far.send(bytes.as_bytes()).unwrap());
        let (value, _) = listener.reading().await;
        took.push(sent.elapsed());
        assert_eq!(value, Length::from_um(i));
    }
    took.sort();
    // Printed, not judged: a timing is judged on a quiet machine.
    println!(
        "write to event, a thread's wake included: median {:?}, 99th of 100 {:?}",
        took[100], took[198]
    );
    listener.stop().await;
    drop(far);
}

#[test]
fn listening_without_a_daemon() {
    let far = VirtualCable::start(bench(1), frame(), 100.0).unwrap();
    let path = far.path().unwrap();
    let mut got = Vec::new();
    listen(cable(&path, STREAMS), |kind| {
        if let CableEventKind::Reading { value, .. } = kind {
            got.push(value);
        }
        if got.len() < 20 {
            ControlFlow::Continue(())
        } else {
            ControlFlow::Break(())
        }
    })
    .unwrap();
    let all = expected(1, 100.0, 70);
    assert!(all.windows(20).any(|window| window == got), "{got:?}");
    // The port is free again: whoever asks for its lock gets it.
    let next = open(
        &path,
        OFlags::RDWR | OFlags::NOCTTY | OFlags::CLOEXEC,
        Mode::empty(),
    )
    .unwrap();
    flock(&next, FlockOperation::NonBlockingLockExclusive).unwrap();
}
