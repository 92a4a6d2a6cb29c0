//! What is due when at one opened port.

use config::model::Cadence;
use std::time::Duration;
use tokio::time::{Instant, sleep_until};

/// An opened port is announced when its line was silent once, at its first reading, or at the latest after this.
const ANNOUNCE_WITHIN: Duration = Duration::from_millis(500);
/// A press is shown as live for this long; then the cable is quiet again.
const PRESS_SHOWN: Duration = Duration::from_secs(2);

/// What is due when.
#[derive(Debug)]
pub(super) struct Timers {
    /// The line has been silent for long enough.
    pub pause: Option<Instant>,
    /// The opening is announced.
    pub announce: Option<Instant>,
    /// The last value is old.
    pub old: Option<Instant>,
    /// Skipped bytes are reported.
    pub skipped: Option<Instant>,
    pub skipped_next: Instant,
    /// The next request goes out.
    pub request: Option<Instant>,
    pub next_request: Instant,
    /// An answer is waited for until then.
    pub answer: Option<Instant>,
    pub misses: u32,
    /// What was skipped before the last reading is no reason for there being none now.
    pub skipped_at_reading: u64,
}

impl Timers {
    pub(super) fn new(cadence: &Cadence, now: Instant, pause: Duration) -> Self {
        let polled = matches!(cadence, Cadence::Polled { .. });
        Self {
            pause: Some(now + pause),
            announce: Some(now + ANNOUNCE_WITHIN.max(pause)),
            old: match cadence {
                Cadence::Streams { stale_after_s } => Some(now + seconds(*stale_after_s)),
                Cadence::Polled { .. } | Cadence::Press => None,
            },
            skipped: None,
            skipped_next: now,
            request: polled.then_some(now + pause),
            next_request: now + pause,
            answer: None,
            misses: 0,
            skipped_at_reading: 0,
        }
    }

    /// Bytes came. Behind a whole frame nothing waits for the silence, unless it is to announce the port.
    pub(super) fn heard(&mut self, pause: Duration, between_frames: bool) {
        let awaited = !between_frames || self.announce.is_some();
        self.pause = awaited.then(|| Instant::now() + pause);
    }

    /// A reading came.
    pub(super) fn reading(&mut self, cadence: &Cadence) {
        self.announce = None;
        self.misses = 0;
        let now = Instant::now();
        self.old = match cadence {
            Cadence::Streams { stale_after_s } => Some(now + seconds(*stale_after_s)),
            Cadence::Press => Some(now + PRESS_SHOWN),
            Cadence::Polled { .. } => None,
        };
        if self.answer.take().is_some() {
            self.request = Some(self.next_request);
        }
    }
}

/// Seconds from the configuration; what cannot be a duration waits for ever.
pub(super) fn seconds(s: f64) -> Duration {
    // A year is beyond every cadence, and within what an instant can be moved by.
    const YEAR_S: f64 = 31_557_600.0;
    Duration::try_from_secs_f64(s.min(YEAR_S)).unwrap_or(Duration::ZERO)
}

/// Waits for a moment, or for ever where there is none.
pub(super) async fn at(when: Option<Instant>) {
    match when {
        Some(when) => sleep_until(when).await,
        None => std::future::pending().await,
    }
}
