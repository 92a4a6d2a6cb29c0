//! What no instrument should send, through a cable's whole task: counted or refused, the last bytes shown, memory
//! bounded, and never a false value.

// A test may unwrap, and so may what it is made of: the panic is the message.
#![allow(clippy::unwrap_used)]

mod listener;

use conewright_daemon::cable::CableEventKind;
use config::model::Cadence;
use listener::{Listener, STREAMS, start};
use metrology::Length;
use metrology::random::Random;
use protocol::api::CableState;
use tokio::io::{AsyncReadExt, AsyncWriteExt};

const GOOD: &[u8] = b"\r\n+0.125 mm\r\n";

/// Kilobytes of this process that are in memory.
fn resident_kb() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap();
    let line = status
        .lines()
        .find(|line| line.starts_with("VmRSS:"))
        .unwrap();
    line.split_whitespace().nth(1).unwrap().parse().unwrap()
}

/// What was told before the first reading: it must be the good one behind the garbage.
async fn first_reading(listener: &mut Listener) -> (u64, String) {
    let seen = listener
        .until(|kind| matches!(kind, CableEventKind::Reading { .. }))
        .await;
    let CableEventKind::Reading { value, .. } = seen.last else {
        panic!("{:?}", seen.last);
    };
    assert_eq!(value, Length::from_um(125), "a value that nobody sent");
    // What is skipped is told a moment later, and no more than four times a second.
    let seen_last = listener
        .until(|kind| matches!(kind, CableEventKind::Skipped { .. }))
        .await;
    match seen_last.last {
        CableEventKind::Skipped { total, last } => (total, last),
        other => panic!("{other:?}"),
    }
}

#[tokio::test]
async fn garbage_at_full_speed_is_counted_in_bounded_memory() {
    // At 115 200 a second, 11 minutes of it; at 9 600, more than two hours.
    const BYTES: usize = 8 << 20;
    let (mut far, mut listener, _ports) = start(STREAMS);
    listener.state(CableState::Quiet).await;
    let before_kb = resident_kb();
    let noise = tokio::spawn(async move {
        let mut random = Random::new(11);
        for _ in 0..BYTES / 4096 {
            let chunk: Vec<u8> = (0..4096).map(|_| random.bits() as u8).collect();
            far.write_all(&chunk).await.unwrap();
        }
        far.write_all(GOOD).await.unwrap();
        far
    });
    let (total, last) = first_reading(&mut listener).await;
    // Two line ends in a row are an empty line, which is no garbage: of random bytes 1 in 16 000 is such a second one.
    let bytes = BYTES as u64;
    assert!(
        (bytes - bytes / 10_000..=bytes + 2).contains(&total),
        "{total} of {bytes}"
    );
    assert!(!last.is_empty() && last.chars().count() <= 64, "{last}");
    let grown_kb = resident_kb().saturating_sub(before_kb);
    assert!(
        grown_kb < 4_096,
        "{grown_kb} kB more than before 8 MB of garbage"
    );
    drop(noise.await.unwrap());
    listener.stop().await;
}

/// One byte without end, and a good line behind it.
#[tokio::test]
async fn a_line_without_end_and_a_stream_of_nul_are_counted() {
    for byte in [b'1', b' ', b'+', 0, 0xff] {
        let (mut far, mut listener, _ports) = start(STREAMS);
        listener.state(CableState::Quiet).await;
        let line = tokio::spawn(async move {
            far.write_all(&vec![byte; 1_000_000]).await.unwrap();
            far.write_all(GOOD).await.unwrap();
            far
        });
        let (total, last) = first_reading(&mut listener).await;
        assert!((1_000_000..=1_000_002).contains(&total), "{byte}: {total}");
        assert!(!last.is_empty() && last.chars().count() <= 64, "{last}");
        drop(line.await.unwrap());
        listener.stop().await;
    }
}

/// Lines that are whole and cannot be read: not one of them is a value, and the user sees what came.
#[tokio::test(start_paused = true)]
async fn what_cannot_be_read_is_shown() {
    for (legend, line, shown) in [
        (
            "a unit that is not known",
            &b"+0.125 furlong\r\n"[..],
            "furlong",
        ),
        ("a unit that is cut", b"+0.125 m\r\n", "0.125 m"),
        ("a damaged character", b"+0.1\x005 mm\r\n", "+0.1\\x005 mm"),
        ("two points", b"+0.12.5 mm\r\n", "0.12.5"),
        ("words", b"BATTERY LOW\r\n", "BATTERY LOW"),
    ] {
        let (mut far, mut listener, _ports) = start(STREAMS);
        listener.state(CableState::Quiet).await;
        for _ in 0..20 {
            far.write_all(line).await.unwrap();
        }
        let seen = listener
            .until(|kind| matches!(kind, CableEventKind::State { .. }))
            .await;
        let read = |kind: &CableEventKind| matches!(kind, CableEventKind::Reading { .. });
        assert!(!seen.before.iter().any(read), "{legend}: {:?}", seen.before);
        let CableEventKind::State {
            state: CableState::Stale,
            detail: Some(detail),
        } = seen.last
        else {
            panic!("{legend}: {:?}", seen.last);
        };
        assert!(detail.contains(shown), "{legend}: {detail}");
        listener.stop().await;
    }
}

/// An instrument that answers each request twice: every answer is a true reading, in its order, and none is a miss.
#[tokio::test(start_paused = true)]
async fn twice_as_fast_as_declared_loses_nothing() {
    let polled = Cadence::Polled {
        request: b"?".to_vec(),
        interval_s: 0.1,
        timeout_s: 0.3,
    };
    let (mut far, mut listener, _ports) = start(polled);
    let mut sent = 0;
    let mut got = 0;
    while sent < 400 {
        let mut asked = [0; 1];
        far.read_exact(&mut asked).await.unwrap();
        assert_eq!(&asked, b"?");
        for _ in 0..2 {
            sent += 1;
            let line = format!("+{}.{:03} mm\r\n", sent / 1_000, sent % 1_000);
            far.write_all(line.as_bytes()).await.unwrap();
        }
        while got < sent {
            got += 1;
            match listener.next().await {
                CableEventKind::Reading { value, .. } => assert_eq!(value, Length::from_um(got)),
                CableEventKind::State {
                    state: CableState::Live | CableState::Quiet,
                    ..
                } => got -= 1,
                other => panic!("{other:?}"),
            }
        }
    }
    listener.stop().await;
}
