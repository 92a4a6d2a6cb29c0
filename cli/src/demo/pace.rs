//! How fast things go on the bench.

use std::time::Duration;

/// The pace of instrument and hand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pace {
    /// Readings a second.
    pub rate_hz: f64,
    /// Readings while the table goes from one station to another.
    pub travel: u32,
    /// Readings while a tap is given.
    pub tap: u32,
    /// A dwell must hold for this long to count as settled, s.
    pub hold_s: f64,
    /// Readings further back are not used, s; the hand waits this long at a station, so that no reading of the
    /// way there is in the mark.
    pub longest_s: f64,
    /// Time to read what has just been told.
    pub pause: Duration,
}

impl Pace {
    /// To be watched.
    pub const WATCHED: Self = Self {
        rate_hz: 50.0,
        travel: 10,
        tap: 25,
        hold_s: 0.2,
        longest_s: 0.28,
        pause: Duration::from_millis(350),
    };
    /// A user's own hand: a tap is done before the next key, and nobody waits for captions.
    pub const PRACTICE: Self = Self {
        tap: 5,
        travel: 15,
        pause: Duration::ZERO,
        ..Self::WATCHED
    };
    /// At once: more readings a second make dwells short.
    pub const FAST: Self = Self {
        rate_hz: 400.0,
        travel: 8,
        tap: 8,
        hold_s: 0.04,
        longest_s: 0.06,
        pause: Duration::ZERO,
    };

    /// Readings that a dwell can be made of.
    pub fn dwell(&self) -> u32 {
        (self.longest_s * self.rate_hz).ceil() as u32 + 2
    }
}
