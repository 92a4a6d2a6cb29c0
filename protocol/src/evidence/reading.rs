//! A reading, and the moment that it came.

use metrology::Length;
use serde::{Deserialize, Serialize};

/// A moment on the daemon's timeline, in nanoseconds.
///
/// The timeline starts at UTC when the daemon first starts after the computer did, and goes on by a steady
/// clock that counts sleep, so differences are right whatever is done to the system's clock, and over a
/// restart of the daemon; from one start of the computer to the next it never goes back.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize,
)]
#[serde(transparent)]
pub struct Time(pub i64);

impl Time {
    /// Seconds from an earlier moment to this one; negative when it is later.
    #[must_use]
    pub fn since_s(self, earlier: Self) -> f64 {
        (self.0 - earlier.0) as f64 * 1e-9
    }

    /// This moment moved by a number of seconds.
    #[must_use]
    pub fn plus_s(self, seconds: f64) -> Self {
        Self(self.0.saturating_add((seconds * 1e9) as i64))
    }
}

/// One value from a cable.
///
/// As JSON an array `[seq, t_ns, value_mm, resolution_mm]`, since a session can hold a million.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(
    into = "(u64, Time, Length, Length)",
    from = "(u64, Time, Length, Length)"
)]
pub struct Reading {
    /// Counts the cable's readings since the daemon started the session's evidence; never used twice in a step.
    pub seq: u64,
    /// When the bytes that ended it were read.
    pub t: Time,
    /// The value, sign and scale of the cable applied.
    pub value: Length,
    /// One step of the last place shown.
    pub resolution: Length,
}

impl From<Reading> for (u64, Time, Length, Length) {
    fn from(r: Reading) -> Self {
        (r.seq, r.t, r.value, r.resolution)
    }
}

impl From<(u64, Time, Length, Length)> for Reading {
    fn from((seq, t, value, resolution): (u64, Time, Length, Length)) -> Self {
        Self {
            seq,
            t,
            value,
            resolution,
        }
    }
}
