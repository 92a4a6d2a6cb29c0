//! The clocks of the daemon, behind a trait so that tests give their own.

use rustix::time::{ClockId, Timespec, clock_gettime};

/// Where the daemon gets its times from.
pub trait Clock: Send + Sync + 'static {
    /// Nanoseconds of a steady clock: it is never set, and it counts the time that the computer sleeps.
    fn steady_ns(&self) -> i64;
    /// Nanoseconds of a steady clock that stands still while the computer sleeps: what the other has more is
    /// sleep. A clock of which nothing else is said has never slept.
    fn awake_ns(&self) -> i64 {
        self.steady_ns()
    }
    /// Nanoseconds since 1970 by the system's clock, which can be set at any moment.
    fn utc_ns(&self) -> i64;
}

/// The computer's own clocks: `CLOCK_BOOTTIME`, `CLOCK_MONOTONIC` and `CLOCK_REALTIME`.
///
/// The standard library's `Instant` would not do: on Linux it stands still while the computer sleeps, and
/// a reading before the sleep would look fresh after it.
#[derive(Debug, Clone, Copy, Default)]
pub struct SystemClock;

impl Clock for SystemClock {
    fn steady_ns(&self) -> i64 {
        nanoseconds(clock_gettime(ClockId::Boottime))
    }

    fn awake_ns(&self) -> i64 {
        nanoseconds(clock_gettime(ClockId::Monotonic))
    }

    fn utc_ns(&self) -> i64 {
        nanoseconds(clock_gettime(ClockId::Realtime))
    }
}

/// Good until the year 2262; later the largest value stands.
fn nanoseconds(t: Timespec) -> i64 {
    t.tv_sec
        .saturating_mul(1_000_000_000)
        .saturating_add(t.tv_nsec)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_steady_clock_does_not_go_back_and_utc_is_after_2020() {
        let first = SystemClock.steady_ns();
        assert!(SystemClock.steady_ns() >= first);
        // 2020-01-01T00:00:00Z.
        assert!(SystemClock.utc_ns() > 1_577_836_800_000_000_000);
    }
}
