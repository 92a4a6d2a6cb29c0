//! Evidence: the readings and marks that are stored. Every result is computed from these, again whenever asked.

mod mark;
mod place;
mod reading;
pub mod stretch;

pub use mark::{Mark, MarkLine, MarkSource, MarkValue};
pub use place::Place;
pub use reading::{Reading, Time};

use crate::log::Log;
use metrology::{Length, Shown};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The marks of a step, in order.
pub type Marks = Log<Mark, 16>;

/// The readings of one cable, in order of `seq`.
pub type CableReadings = Log<Reading, 128>;

/// Readings by the name of their cable.
pub type Readings = BTreeMap<String, CableReadings>;

impl CableReadings {
    /// The readings from one moment to another, both counted in.
    pub fn between(&self, from: Time, to: Time) -> impl Iterator<Item = &Reading> + Clone {
        let first = self.partition_point(|reading| reading.t < from);
        let end = self.partition_point(|reading| reading.t <= to);
        self.range(first..end)
    }
}

/// Everything that a step's outcome is computed from.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Evidence {
    /// Every mark, taken back or not, in order.
    pub marks: Marks,
    /// The numbers of the marks before which the part was ground, as the user said, rising. The last may be that of a mark
    /// which is not made yet.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub ground_before: Vec<u32>,
    /// The readings stored while the step was open, and those before it that a mark uses.
    pub readings: Readings,
}

impl Evidence {
    /// The marks that count and are of the state that the part was in last.
    pub fn of_last_state(&self) -> impl Iterator<Item = &Mark> {
        let last = self.marks.iter().rfind(|mark| !mark.taken_back);
        let from = last.and_then(|last| {
            let before = |number: &&u32| **number <= last.number;
            self.ground_before.iter().rfind(before).copied()
        });
        let marks = self.marks.iter().filter(|mark| !mark.taken_back);
        marks.filter(move |mark| from.is_none_or(|from| mark.number >= from))
    }

    /// What was marked of each state that the part was in before its last one, in order: the last state of each is that state.
    #[must_use]
    pub fn earlier_states(&self) -> Vec<Self> {
        let counting = |before: u32| {
            let marks = self.marks.iter().filter(|mark| !mark.taken_back);
            marks.filter(move |mark| mark.number < before)
        };
        let last = counting(u32::MAX).next_back().map_or(0, |mark| mark.number);
        let mut states = Vec::new();
        let mut seen = 0;
        for ground in self.ground_before.iter().filter(|ground| **ground <= last) {
            let newest = counting(*ground).next_back().map_or(0, |mark| mark.number);
            // Ground twice without a mark between it is one state.
            if newest > seen {
                seen = newest;
                states.push(Self {
                    marks: counting(*ground).cloned().collect(),
                    ground_before: self.ground_before.clone(),
                    readings: self.readings.clone(),
                });
            }
        }
        states
    }

    /// Whether the part was ground, and nothing was marked since.
    #[must_use]
    pub fn is_ground_since(&self) -> bool {
        let last = self.marks.iter().rfind(|mark| !mark.taken_back);
        match (self.ground_before.last(), last) {
            (Some(ground), Some(last)) => *ground > last.number,
            _ => false,
        }
    }

    /// The first mark that is of this round in the last state of the part, from 1: the second mark at a place is of its second
    /// round.
    #[must_use]
    pub fn first_of_round(&self, round: u32) -> Option<u32> {
        let mut places: Vec<(&Place, u32)> = Vec::new();
        self.of_last_state()
            .find(|mark| {
                let index = places.iter().position(|(place, _)| **place == mark.place);
                let seen = match index {
                    Some(index) => &mut places[index].1,
                    None => {
                        places.push((&mark.place, 0));
                        let last = places.len() - 1;
                        &mut places[last].1
                    }
                };
                *seen += 1;
                *seen == round
            })
            .map(|mark| mark.number)
    }

    /// The finest step of a display among the marks that count: a value with fewer digits is one whose last were nought.
    #[must_use]
    pub fn finest(&self) -> Option<Length> {
        let marks = self.marks.iter().filter(|mark| !mark.taken_back);
        marks
            .filter_map(|mark| Some(self.value(mark)?.resolution))
            .min()
    }

    /// The marks that count, with their values, as screens and records list them. A mark whose readings are missing is
    /// not among them.
    #[must_use]
    pub fn lines(&self) -> Vec<MarkLine> {
        let counting = self.marks.iter().filter(|mark| !mark.taken_back);
        let line = |mark: &Mark| {
            let value = self.value(mark);
            (value.is_some() || !mark.source.has_value()).then(|| MarkLine {
                number: mark.number,
                station: mark.station().map(|station| station.name.clone()),
                place: mark.place.to_string(),
                at: Some(mark.place.clone()),
                round: mark.round,
                value,
            })
        };
        counting.filter_map(line).collect()
    }

    /// The coarsest step of a display among what counts: the marks' values, and a cable's readings in the stretches that are
    /// recorded. What was read beside them is in the record as well, and must change nothing.
    #[must_use]
    pub fn coarsest(&self, cable: Option<&str>) -> Option<Length> {
        let counting = || self.marks.iter().filter(|mark| !mark.taken_back);
        // A zero that was typed without decimals shows no step, where another mark does.
        let tells = |mark: &&Mark| !matches!(mark.source, MarkSource::Typed { value, .. } if value == Length::ZERO);
        let any_tells = counting().any(|mark| tells(&mark));
        let of_marks = counting()
            .filter(|mark| !any_tells || tells(mark))
            .filter_map(|mark| Some(self.value(mark)?.resolution));
        let read = cable.and_then(|cable| self.readings.get(cable));
        let last = counting().next_back().map(|mark| mark.t);
        let of_stretches = stretch::of(&self.marks).into_iter().filter_map(|stretch| {
            // Turns have no end mark: the last of them is the last mark.
            let to = stretch.to.or(last)?;
            let within = read?.between(stretch.from, to);
            within.map(|reading| reading.resolution).max()
        });
        of_marks.chain(of_stretches).max()
    }

    /// The value of a mark, from its readings; `None` when they are missing, or when it is a mark without a value.
    #[must_use]
    pub fn value(&self, mark: &Mark) -> Option<MarkValue> {
        match &mark.source {
            MarkSource::Typed {
                value, resolution, ..
            } => Some(MarkValue::typed(Shown {
                value: *value,
                resolution: *resolution,
            })),
            MarkSource::Dwell {
                cable,
                first_seq,
                last_seq,
            } => {
                let readings = self.readings.get(cable)?;
                let from = readings.partition_point(|r| r.seq < *first_seq);
                let to = readings.partition_point(|r| r.seq <= *last_seq);
                // Every reading from first to last must be there, or the mean is of something else.
                let whole = readings.get(from)?.seq == *first_seq
                    && readings.get(to.checked_sub(1)?)?.seq == *last_seq;
                whole
                    .then(|| MarkValue::of(readings.range(from..to)))
                    .flatten()
            }
            MarkSource::Moment { .. } | MarkSource::Judged => None,
        }
    }
}
