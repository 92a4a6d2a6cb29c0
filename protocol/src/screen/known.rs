//! What a live view has learned from the events so far. Events go in with the time of a steady clock, in seconds; what comes
//! out is what a [`super::Screen`] is made of.

use super::seen::{LastReading, Seen, User};
use crate::api::{Live, LiveReading, SoFar, Status};
use crate::style::Style;
use metrology::Length;
use std::collections::BTreeMap;

/// Skipped bytes are news this long, s.
const SKIPPED_S: f64 = 30.0;
/// A snapshot tells the age of a reading as of a little later than the reading's own event: within this much, s, both
/// are of the same reading.
const SAME_S: f64 = 0.2;

/// What is known.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Known {
    /// The last snapshot.
    pub status: Option<Status>,
    latest: BTreeMap<String, Latest>,
    so_far: Option<SoFar>,
    skipped_at_s: Option<f64>,
    rest_until_s: Option<f64>,
}

/// The last reading of a cable.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Latest {
    value: Length,
    resolution: Length,
    settled: bool,
    at_s: f64,
}

impl Known {
    /// Takes an event.
    pub fn on_live(&mut self, live: Live, now_s: f64) {
        match live {
            Live::Reading(reading) => self.on_reading(reading, now_s),
            Live::Snapshot(status) => self.on_status(*status, now_s),
        }
    }

    fn on_reading(&mut self, reading: LiveReading, now_s: f64) {
        self.so_far = reading.so_far.or(self.so_far);
        let latest = Latest {
            value: reading.value,
            resolution: reading.resolution,
            settled: reading.settled,
            at_s: now_s,
        };
        self.latest.insert(reading.cable, latest);
    }

    fn on_status(&mut self, status: Status, now_s: f64) {
        for cable in &status.cables {
            let (Some(value), Some(resolution), Some(age_s)) =
                (cable.reading, cable.resolution, cable.age_s)
            else {
                continue;
            };
            let at_s = now_s - age_s;
            // A reading that came by itself tells more than the snapshot does of the same one.
            let is_newer = self.latest.get(&cable.name).is_none_or(|known| {
                at_s > known.at_s + SAME_S || (at_s > known.at_s - SAME_S && value != known.value)
            });
            if is_newer {
                let latest = Latest {
                    value,
                    resolution,
                    settled: false,
                    at_s,
                };
                self.latest.insert(cable.name.clone(), latest);
            }
        }
        let skipped = |s: &Status| s.cables.iter().map(|c| c.skipped_bytes).sum::<u64>();
        let before = self.status.as_ref();
        if before.is_some_and(|old| skipped(old) < skipped(&status)) {
            self.skipped_at_s = Some(now_s);
        }
        let step = |s: &Status| (s.session.as_ref().map(|s| s.id), s.step);
        if !status.recording || before.is_some_and(|old| step(old) != step(&status)) {
            self.so_far = None;
        } else {
            self.so_far = status.so_far.or(self.so_far);
        }
        let waiting = status.waiting.as_ref();
        self.rest_until_s = waiting.map(|waiting| now_s + waiting.left_s);
        self.status = Some(status);
    }

    /// The connection is gone: whether a mark still waits is not known.
    pub fn on_lost(&mut self) {
        self.rest_until_s = None;
    }

    /// Whether a mark waits for rest.
    #[must_use]
    pub const fn waits_for_rest(&self) -> bool {
        self.rest_until_s.is_some()
    }

    /// The value of a cable's last reading.
    #[must_use]
    pub fn value(&self, cable: &str) -> Option<Length> {
        self.latest.get(cable).map(|latest| latest.value)
    }

    /// What is known at `now_s`, while the events come.
    #[must_use]
    pub fn seen<'a>(&'a self, now_s: f64, user: User<'a>, units: Style) -> Seen<'a> {
        let readings = self.latest.iter().map(|(cable, latest)| {
            let reading = LastReading {
                value: latest.value,
                resolution: latest.resolution,
                settled: latest.settled,
                age_s: (now_s - latest.at_s).max(0.0),
            };
            (&**cable, reading)
        });
        Seen {
            status: self.status.as_ref(),
            connected: true,
            readings: readings.collect(),
            so_far: self.so_far,
            waits_s: self.rest_until_s.map(|until_s| until_s - now_s),
            skips: self.skipped_at_s.is_some_and(|at| now_s - at < SKIPPED_S),
            user,
            units,
        }
    }
}
