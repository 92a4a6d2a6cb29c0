//! The states of a cable in time, with a port and a clock of the test's own: hours take milliseconds here.

// A test may unwrap, and so may what it is made of: the panic is the message.
#![allow(clippy::unwrap_used)]

mod listener;

use conewright_daemon::cable::{CableEventKind, Fault};
use config::model::Cadence;
use listener::{Handed, Listener, STREAMS, cable, paused, start};
use metrology::Length;
use protocol::api::CableState;
use std::io;
use std::path::Path;
use std::pin::Pin;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::task::{Context, Poll};
use std::time::Duration;
use tokio::io::{AsyncRead, AsyncReadExt, AsyncWrite, AsyncWriteExt, ReadBuf, duplex};
use tokio::sync::mpsc;
use tokio::task::coop::poll_proceed;
use tokio::time::{Instant, sleep, timeout};

#[tokio::test(start_paused = true)]
async fn a_stream_that_stops_is_stale_after_its_time() {
    let (mut far, mut listener, _ports) = start(STREAMS);
    listener.state(CableState::Quiet).await;
    far.write_all(b"+0.001 mm\r\n").await.unwrap();
    let (value, steady_ns) = listener.reading().await;
    let read = Instant::now();
    assert_eq!(value, Length::from_um(1));
    let detail = listener.state(CableState::Stale).await.unwrap();
    assert_eq!(read.elapsed(), Duration::from_secs(2));
    assert!(
        detail.contains("no reading for 2 s: is the instrument on"),
        "{detail}"
    );
    // It stays so, and says it once; then a reading makes it live again.
    sleep(Duration::from_secs(3600)).await;
    far.write_all(b"+0.002 mm\r\n").await.unwrap();
    assert!(matches!(
        listener.next().await,
        CableEventKind::State {
            state: CableState::Live,
            detail: None
        }
    ));
    let (_, later) = listener.reading().await;
    assert_eq!(later - steady_ns, 3_602_000_000_000);
    listener.stop().await;
}

#[tokio::test(start_paused = true)]
async fn readings_in_time_keep_it_live() {
    let (mut far, mut listener, _ports) = start(STREAMS);
    for i in 0..1000 {
        sleep(Duration::from_millis(1_999)).await;
        far.write_all(format!("+0.{i:03} mm\r\n").as_bytes())
            .await
            .unwrap();
        listener.reading().await;
    }
    far.write_all(b"garbage that is no frame\r\n")
        .await
        .unwrap();
    let seen = listener
        .until(|kind| matches!(kind, CableEventKind::State { .. }))
        .await;
    assert!(
        matches!(&seen.last, CableEventKind::State { state: CableState::Stale, detail: Some(words) } if words.contains("though bytes come")),
        "{:?}",
        seen.last
    );
    listener.stop().await;
}

#[tokio::test(start_paused = true)]
async fn garbage_without_end_does_not_keep_it_from_being_stale() {
    let (mut far, mut listener, _ports) = start(STREAMS);
    let noise = tokio::spawn(async move {
        while far.write_all(b"\x00\xff\x80").await.is_ok() {
            sleep(Duration::from_micros(500)).await;
        }
    });
    let begun = Instant::now();
    let detail = listener.state(CableState::Stale).await.unwrap();
    assert!(
        begun.elapsed() < Duration::from_millis(2_100),
        "{:?}",
        begun.elapsed()
    );
    assert!(detail.contains("\\xff"), "{detail}");
    // Told four times a second at most, however much comes.
    let mut told = 0;
    let _ = timeout(Duration::from_secs(10), async {
        loop {
            listener.next().await;
            told += 1;
        }
    })
    .await;
    assert!((30..=42).contains(&told), "{told}");
    listener.stop().await;
    noise.await.unwrap();
}

/// A port with garbage on it for ever: never empty, and fair to other tasks only as real ones are, by the budget of
/// the runtime.
struct Flood;

impl AsyncRead for Flood {
    fn poll_read(
        self: Pin<&mut Self>,
        context: &mut Context<'_>,
        buffer: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        std::task::ready!(poll_proceed(context)).made_progress();
        buffer.put_slice(&[0xff; 64]);
        Poll::Ready(Ok(()))
    }
}

impl AsyncWrite for Flood {
    fn poll_write(
        self: Pin<&mut Self>,
        _: &mut Context<'_>,
        bytes: &[u8],
    ) -> Poll<io::Result<usize>> {
        Poll::Ready(Ok(bytes.len()))
    }
    fn poll_flush(self: Pin<&mut Self>, _: &mut Context<'_>) -> Poll<io::Result<()>> {
        Poll::Ready(Ok(()))
    }
    fn poll_shutdown(self: Pin<&mut Self>, _: &mut Context<'_>) -> Poll<io::Result<()>> {
        Poll::Ready(Ok(()))
    }
}

#[tokio::test]
async fn a_flood_keeps_no_timer_from_its_turn() {
    // In real time: a paused clock stands still while anything has work to do.
    let (ports, handed) = mpsc::unbounded_channel();
    ports.send(Ok(Flood)).unwrap();
    let streams = Cadence::Streams { stale_after_s: 0.3 };
    let mut listener = Listener::with(Handed(handed), cable(Path::new("fake"), streams), paused());
    let (before, _) = listener.until_state(CableState::Stale).await;
    let skipped = |kind: &CableEventKind| matches!(kind, CableEventKind::Skipped { .. });
    assert!(before.iter().any(skipped), "{before:?}");
    listener.stop().await;
}

#[tokio::test(start_paused = true)]
async fn a_press_cable_is_quiet_for_hours() {
    let (mut far, mut listener, _ports) = start(Cadence::Press);
    assert_eq!(listener.state(CableState::Quiet).await, None);
    let hours = Duration::from_secs(36_000);
    assert!(
        timeout(hours, listener.events.recv()).await.is_err(),
        "something was said"
    );
    far.write_all(b"+0.005 mm\r\n").await.unwrap();
    assert!(matches!(
        listener.next().await,
        CableEventKind::State {
            state: CableState::Live,
            ..
        }
    ));
    assert_eq!(listener.reading().await.0, Length::from_um(5));
    assert!(matches!(
        listener.next().await,
        CableEventKind::State {
            state: CableState::Quiet,
            ..
        }
    ));
    assert!(
        timeout(hours, listener.events.recv()).await.is_err(),
        "something was said"
    );
    listener.stop().await;
}

#[tokio::test(start_paused = true)]
async fn three_misses_make_a_polled_cable_stale() {
    let (mut far, mut listener, _ports) = start(Cadence::Polled {
        request: b"?\r".to_vec(),
        interval_s: 1.0,
        timeout_s: 0.4,
    });
    let mut request = [0; 2];
    // Two misses and an answer, twice: never stale.
    for _ in 0..2 {
        for _ in 0..2 {
            far.read_exact(&mut request).await.unwrap();
        }
        far.read_exact(&mut request).await.unwrap();
        assert_eq!(&request, b"?\r");
        far.write_all(b"0.007\r\n").await.unwrap();
        let seen = listener
            .until(|kind| matches!(kind, CableEventKind::Reading { .. }))
            .await;
        assert!(
            !seen.before.iter().any(|kind| matches!(
                kind,
                CableEventKind::State {
                    state: CableState::Stale,
                    ..
                }
            )),
            "{:?}",
            seen.before
        );
    }
    let answered = Instant::now();
    far.read_exact(&mut request).await.unwrap();
    assert_eq!(
        answered.elapsed(),
        Duration::from_secs(1),
        "from one request to the next"
    );
    listener.state(CableState::Stale).await;
    // Requests at 1 s, 2 s and 3 s, and the last one waited for 0.4 s.
    assert_eq!(answered.elapsed(), Duration::from_millis(3_400));
    // Half an answer, and its other half after the time-out: neither is a value, nor both together.
    far.read_exact(&mut request).await.unwrap();
    far.read_exact(&mut request).await.unwrap();
    far.read_exact(&mut request).await.unwrap();
    sleep(Duration::from_millis(350)).await;
    far.write_all(b"12").await.unwrap();
    sleep(Duration::from_millis(150)).await;
    far.write_all(b"3.456\r\n").await.unwrap();
    far.read_exact(&mut request).await.unwrap();
    far.write_all(b"0.008\r\n").await.unwrap();
    assert_eq!(listener.reading().await.0, Length::from_um(8));
    listener.stop().await;
}

#[tokio::test(start_paused = true)]
async fn a_refusal_right_after_a_plug_is_not_shown() {
    let (ports, handed) = mpsc::unbounded_channel();
    let mut listener = Listener::with(Handed(handed), cable(Path::new("fake"), STREAMS), paused());
    listener.state(CableState::Gone).await;
    // The device is there, and root's for the first tenths of a second.
    for _ in 0..4 {
        ports
            .send(Err(Fault::Denied("mode 0600".to_owned())))
            .unwrap();
    }
    let (near, mut far) = duplex(64);
    ports.send(Ok(near)).unwrap();
    let plugged = Instant::now();
    assert!(matches!(
        listener.next().await,
        CableEventKind::State {
            state: CableState::Quiet,
            ..
        }
    ));
    assert!(
        plugged.elapsed() < Duration::from_secs(1),
        "{:?}",
        plugged.elapsed()
    );
    far.write_all(b"+0.001 mm\r\n").await.unwrap();
    listener.reading().await;
    // One that lasts is shown.
    drop(far);
    for _ in 0..50 {
        ports
            .send(Err(Fault::Denied("mode 0600".to_owned())))
            .unwrap();
    }
    listener.state(CableState::Gone).await;
    let left = Instant::now();
    assert_eq!(
        listener.state(CableState::Denied).await.as_deref(),
        Some("mode 0600")
    );
    assert!(
        left.elapsed() >= Duration::from_secs(1),
        "{:?}",
        left.elapsed()
    );
    listener.stop().await;
}

/// A port that is unplugged: readable for ever, with nothing to read.
struct Unplugged(Arc<AtomicUsize>);

impl AsyncRead for Unplugged {
    fn poll_read(
        self: Pin<&mut Self>,
        _: &mut Context<'_>,
        _: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        // A task that spins is let go after a while, so that the test fails instead of hanging.
        if self.0.fetch_add(1, Ordering::Relaxed) > 1_000 {
            return Poll::Ready(Err(io::Error::other("read again and again")));
        }
        Poll::Ready(Ok(()))
    }
}

impl AsyncWrite for Unplugged {
    fn poll_write(self: Pin<&mut Self>, _: &mut Context<'_>, _: &[u8]) -> Poll<io::Result<usize>> {
        Poll::Ready(Err(io::Error::from_raw_os_error(5)))
    }
    fn poll_flush(self: Pin<&mut Self>, _: &mut Context<'_>) -> Poll<io::Result<()>> {
        Poll::Ready(Ok(()))
    }
    fn poll_shutdown(self: Pin<&mut Self>, _: &mut Context<'_>) -> Poll<io::Result<()>> {
        Poll::Ready(Ok(()))
    }
}

#[tokio::test(start_paused = true)]
async fn a_hang_up_is_read_once() {
    let (ports, handed) = mpsc::unbounded_channel();
    let reads = Arc::new(AtomicUsize::new(0));
    ports.send(Ok(Unplugged(Arc::clone(&reads)))).unwrap();
    let mut listener = Listener::with(Handed(handed), cable(Path::new("fake"), STREAMS), paused());
    let detail = listener.state(CableState::Gone).await.unwrap();
    assert!(detail.contains("/dev/fake left"), "{detail}");
    sleep(Duration::from_secs(60)).await;
    assert_eq!(
        reads.load(Ordering::Relaxed),
        1,
        "a dead port is not read again"
    );
    listener.stop().await;
}

#[tokio::test(start_paused = true)]
async fn nobody_listening_ends_the_task() {
    let (mut far, listener, _ports) = start(STREAMS);
    drop(listener.events);
    // The task ends at its next event, and its port with it.
    let ended = timeout(Duration::from_secs(60), async {
        while far.write_all(b"+0.001 mm\r\n").await.is_ok() {
            sleep(Duration::from_millis(50)).await;
        }
    });
    assert!(ended.await.is_ok(), "the port is still open");
}
