//! What a step records between its marks: every reading from its first beginning on, and running sums of those that count.
//!
//! A copy shares its readings with the original, so that a draft has a recording of its own. The daemon adds a reading that
//! arrives while the store commits to both: whichever comes into force has it once.

mod sums;

use crate::store::{MOST_HELD, ReadingRow};
use metrology::setup::Setup;
use protocol::api::SoFar;
use protocol::evidence::stretch::{self, Stretch};
use protocol::evidence::{CableReadings, Marks, Reading, Readings, Time};
use protocol::plan::Plan;
use std::collections::BTreeMap;
use sums::Sums;

/// The readings of a step from its first beginning on, and their running result.
#[derive(Debug, Clone)]
pub(crate) struct Recording {
    /// Readings of one cable that are held.
    most: usize,
    readings: Readings,
    /// The times whose readings are in the store alone.
    unheld: Vec<(Time, Time)>,
    stretches: Vec<Stretch>,
    sums: Sums,
}

/// Some of the readings that count are in the store alone.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "the live view computes from at most {most} readings of a cable, and more are recorded; all are stored, and `conewright export` computes from all of them"
)]
pub(crate) struct NotHeld {
    most: usize,
}

impl Recording {
    /// A recording without readings.
    pub fn new(plan: &Plan, setup: &Setup) -> Self {
        let cables = plan.recorded_cables(setup);
        Self {
            most: MOST_HELD / cables.len().max(1),
            readings: cables
                .into_iter()
                .map(|cable| (cable.to_owned(), CableReadings::new()))
                .collect(),
            unheld: Vec::new(),
            stretches: Vec::new(),
            sums: Sums::new(plan, setup),
        }
    }

    /// Makes room for a stretch that begins at `at`. Between two stretches nothing counts; the readings there are held in case
    /// the last end is taken back, and go where there is no room left.
    pub fn make_room(&mut self, marks: &Marks, at: Time) {
        let stretches = stretch::of(marks);
        let full = self.readings.values().any(|held| held.len() >= self.most);
        let Some(end) = stretches.last().and_then(|last| last.to).filter(|_| full) else {
            return;
        };
        for held in self.readings.values_mut() {
            let keep = held.partition_point(|reading| reading.t <= end);
            held.truncate(keep);
        }
        self.unheld.retain(|(from, _)| *from <= end);
        // End and beginning themselves are held.
        self.unheld.push((Time(end.0 + 1), Time(at.0 - 1)));
    }

    /// Takes a reading. True when it is the first that there is no room for.
    pub fn take(&mut self, cable: &str, reading: &Reading) -> bool {
        if !self.readings.contains_key(cable) {
            return false;
        }
        if self.stretches.last().is_some_and(|s| s.holds(reading.t)) {
            self.sums.push(cable, reading);
        }
        !self.hold(cable, reading)
    }

    /// Holds a reading; false when it is the first that there is no room for.
    pub fn hold(&mut self, cable: &str, reading: &Reading) -> bool {
        let Some(held) = self.readings.get_mut(cable) else {
            return true;
        };
        if held.last().is_some_and(|last| last.seq >= reading.seq) {
            return true;
        }
        if held.len() < self.most {
            held.push(*reading);
            return true;
        }
        let open = self.unheld.last().is_some_and(|(_, to)| to.0 == i64::MAX);
        if !open {
            self.unheld.push((reading.t, Time(i64::MAX)));
        }
        open
    }

    /// Removes readings that were dropped before the store accepted them. No record has them, so no outcome may use them.
    pub fn forget(&mut self, given_up: &[&ReadingRow]) {
        let mut spans: BTreeMap<&str, (u64, u64)> = BTreeMap::new();
        for row in given_up {
            let seq = row.reading.seq;
            let (first, last) = spans.entry(&row.cable).or_insert((seq, seq));
            (*first, *last) = (seq.min(*first), seq.max(*last));
        }
        for (cable, (first, last)) in &spans {
            if let Some(held) = self.readings.get_mut(*cable) {
                let kept = |reading: &&Reading| reading.seq < *first || *last < reading.seq;
                *held = held.iter().filter(kept).copied().collect();
            }
        }
        if !spans.is_empty() {
            self.sums.start_over(&self.stretches, &self.readings);
        }
    }

    /// The recording as these marks have it; none when they begin nothing.
    pub fn with_marks(mut self, marks: &Marks) -> Option<Self> {
        let stretches = stretch::of(marks);
        if stretches.is_empty() {
            return None;
        }
        if stretches != self.stretches {
            self.sums.start_over(&stretches, &self.readings);
            self.stretches = stretches;
        }
        Some(self)
    }

    /// The readings, when all that count are held.
    ///
    /// # Errors
    /// Some are in the store alone.
    pub fn whole(&self) -> Result<&Readings, NotHeld> {
        let unheld = |stretch: &Stretch| {
            let to = stretch.to.unwrap_or(Time(i64::MAX));
            let mut unheld = self.unheld.iter();
            unheld.any(|(from, until)| *from <= to && stretch.from <= *until)
        };
        if self.stretches.iter().any(unheld) {
            return Err(NotHeld { most: self.most });
        }
        Ok(&self.readings)
    }

    /// Whether the readings that arrive count.
    pub fn is_open(&self) -> bool {
        self.stretches.last().is_some_and(|last| last.to.is_none())
    }

    /// The running result of the readings that count.
    pub fn so_far(&self) -> Option<SoFar> {
        self.sums.so_far()
    }

    /// The running result to send with a reading of this cable.
    pub fn with_reading(&self, cable: &str) -> Option<SoFar> {
        (self.is_open() && self.readings.contains_key(cable))
            .then(|| self.so_far())
            .flatten()
    }

    /// How many readings of a cable are held at most.
    pub const fn most(&self) -> usize {
        self.most
    }
}

#[cfg(test)]
mod tests;
