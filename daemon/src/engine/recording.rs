//! What a step records between its marks: every reading, held beside the session so that a change on its way can lose
//! none of them, and running sums of them, so that one more reading costs the same however many there were.

use super::roster::Roster;
use super::session::Session;
use super::step::Step;
use crate::store::{MOST_HELD, ReadingRow};
use metrology::runout::RunoutSums;
use metrology::setup::Setup;
use metrology::sweep::SweepSums;
use protocol::api::SoFar;
use protocol::evidence::{Mark, Reading, Readings, Time};
use protocol::plan::Plan;
use protocol::step::Recorded;
use protocol::stretch::{self, Stretch};
use std::collections::BTreeMap;

/// A position this old, s, is not where the table stands now.
const POSITION_LASTS_S: f64 = 1.0;

/// The readings of the open step from its first beginning on, and what they tell so far.
#[derive(Debug)]
pub(crate) struct Recording {
    pub step: i64,
    /// Readings of one cable that are held.
    most: usize,
    readings: Readings,
    /// The times whose readings are in the store alone.
    unheld: Vec<(Time, Time)>,
    stretches: Vec<Stretch>,
    sums: Sums,
}

/// What the readings tell so far.
#[derive(Debug, Clone)]
struct Sums {
    indicator: String,
    what: What,
    extremes: Option<[f64; 2]>,
    points: usize,
}

#[derive(Debug, Clone)]
enum What {
    /// The place of each reading is the last that the other cable reported.
    SweepByCable {
        cable: String,
        last: Option<(Time, f64)>,
        sums: SweepSums,
    },
    /// Places are known only at the end.
    SweepByFeed,
    Runout {
        sums: RunoutSums,
        turns: u32,
    },
}

impl Sums {
    fn new(plan: &Plan, setup: &Setup) -> Self {
        let what = match plan.work.recorded() {
            Some(Recorded::Travel {
                position_cable: Some(cable),
            }) => What::SweepByCable {
                cable: cable.to_owned(),
                last: None,
                sums: SweepSums::default(),
            },
            Some(Recorded::Travel {
                position_cable: None,
            }) => What::SweepByFeed,
            // Nothing else is summed where nothing is recorded.
            Some(Recorded::Turn) | None => What::Runout {
                sums: RunoutSums::default(),
                turns: 0,
            },
        };
        Self {
            indicator: plan.cable(setup).unwrap_or_default().to_owned(),
            what,
            extremes: None,
            points: 0,
        }
    }

    /// Takes a reading of one of the recorded cables.
    fn push(&mut self, cable: &str, reading: &Reading) {
        let mm = reading.value.mm();
        match &mut self.what {
            What::SweepByCable {
                cable: position,
                last,
                ..
            } if position == cable => {
                *last = Some((reading.t, mm));
                return;
            }
            _ if cable != self.indicator => return,
            What::SweepByCable { last, sums, .. } => match last {
                Some((t, position)) if reading.t.since_s(*t) <= POSITION_LASTS_S => {
                    sums.push(*position, mm);
                }
                _ => return,
            },
            What::SweepByFeed => {}
            What::Runout { sums, .. } => sums.push(None, mm),
        }
        let [low, high] = self.extremes.unwrap_or([mm; 2]);
        self.extremes = Some([low.min(mm), high.max(mm)]);
        self.points += 1;
    }

    fn so_far(&self) -> Option<SoFar> {
        let [low, high] = self.extremes?;
        let range_um = (high - low) * 1e3;
        Some(match &self.what {
            What::SweepByCable { sums, .. } => {
                let so_far = sums.so_far();
                SoFar::Sweep {
                    points: self.points,
                    range_um,
                    slope: so_far.map(|so_far| so_far.slope),
                    bow_um: so_far.and_then(|so_far| so_far.bow_um),
                }
            }
            What::SweepByFeed => SoFar::Sweep {
                points: self.points,
                range_um,
                slope: None,
                bow_um: None,
            },
            What::Runout { sums, turns } => {
                let so_far = sums.so_far()?;
                SoFar::Runout {
                    points: so_far.points,
                    tir_um: so_far.tir_um,
                    turns: *turns,
                }
            }
        })
    }
}

impl Recording {
    /// Nothing is recorded yet.
    pub fn new(step: i64, plan: &Plan, setup: &Setup) -> Self {
        let cables = plan.recorded_cables(setup);
        Self {
            step,
            most: MOST_HELD / cables.len().max(1),
            readings: cables
                .into_iter()
                .map(|cable| (cable.to_owned(), Vec::new()))
                .collect(),
            unheld: Vec::new(),
            stretches: Vec::new(),
            sums: Sums::new(plan, setup),
        }
    }

    /// The recording of a step as the store has it; none when it has begun nothing.
    pub fn restored(step: &Step, setup: &Setup, readings: Readings) -> Option<Self> {
        let mut recording = Self::new(step.id, &step.plan, setup);
        for (cable, stored) in readings {
            for reading in stored {
                recording.hold(&cable, &reading);
            }
        }
        Self::settle(Some(recording), Some(step))
    }

    /// A stretch begins at `at`: from now on every reading is held, before its mark is on the disk, and those that came
    /// between the mark and this moment.
    pub fn begin(
        recording: &mut Option<Self>,
        session: &Session,
        step: &Step,
        roster: &Roster,
        at: Time,
    ) {
        let recording = recording.get_or_insert_with(|| {
            let mut fresh = Self::new(step.id, &step.plan, &session.setup);
            for cable in step.plan.recorded_cables(&session.setup) {
                let ring = roster.find(cable).map(|served| &served.ring);
                for reading in ring.into_iter().flat_map(|ring| ring.since(at)) {
                    fresh.hold(cable, reading);
                }
            }
            fresh
        });
        recording.make_room(&step.evidence.marks, at);
    }

    /// Between two stretches nothing counts; what was held of it, should the last end be taken back, makes room for a new
    /// stretch where it is needed.
    fn make_room(&mut self, marks: &[Mark], at: Time) {
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
    fn hold(&mut self, cable: &str, reading: &Reading) -> bool {
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

    /// Lets go of readings that the store never took: no record has them, so that no outcome may.
    pub fn forget(&mut self, given_up: &[ReadingRow]) {
        let mut spans: BTreeMap<&str, (u64, u64)> = BTreeMap::new();
        for row in given_up.iter().filter(|row| row.step == self.step) {
            let seq = row.reading.seq;
            let (first, last) = spans.entry(&row.cable).or_insert((seq, seq));
            (*first, *last) = (seq.min(*first), seq.max(*last));
        }
        for (cable, (first, last)) in &spans {
            if let Some(held) = self.readings.get_mut(*cable) {
                held.retain(|reading| reading.seq < *first || *last < reading.seq);
            }
        }
        if !spans.is_empty() {
            self.sum_up();
        }
    }

    /// After a change: what the marks say now. None when nothing is recorded any more.
    pub fn settle(recording: Option<Self>, step: Option<&Step>) -> Option<Self> {
        let mut recording = recording?;
        let step = step.filter(|step| step.id == recording.step)?;
        let stretches = stretch::of(&step.evidence.marks);
        if stretches.is_empty() {
            return None;
        }
        if stretches != recording.stretches {
            recording.stretches = stretches;
            recording.sum_up();
        }
        Some(recording)
    }

    /// The sums anew, in the order in which the readings came.
    fn sum_up(&mut self) {
        let mut sums = Sums {
            extremes: None,
            points: 0,
            what: match &self.sums.what {
                What::SweepByCable { cable, .. } => What::SweepByCable {
                    cable: cable.clone(),
                    last: None,
                    sums: SweepSums::default(),
                },
                What::SweepByFeed => What::SweepByFeed,
                What::Runout { .. } => What::Runout {
                    sums: RunoutSums::default(),
                    turns: self.stretches.iter().map(|s| s.turns).sum(),
                },
            },
            indicator: self.sums.indicator.clone(),
        };
        let none = Vec::new();
        let position = match &self.sums.what {
            What::SweepByCable { cable, .. } => Some(cable),
            _ => None,
        };
        let positions = position.and_then(|cable| self.readings.get(cable));
        let mut positions = positions.unwrap_or(&none).iter().peekable();
        let of_indicator = self.readings.get(&self.sums.indicator).unwrap_or(&none);
        let mut stretch = self.stretches.iter().peekable();
        for reading in of_indicator {
            while let Some(at) = positions.next_if(|at| at.t <= reading.t) {
                sums.push(position.map_or("", |cable| cable), at);
            }
            while stretch
                .next_if(|s| s.to.is_some_and(|to| to < reading.t))
                .is_some()
            {}
            if stretch.peek().is_some_and(|s| s.holds(reading.t)) {
                sums.push(&self.sums.indicator, reading);
            }
        }
        // The table goes on moving after the last reading.
        for at in positions {
            sums.push(position.map_or("", |cable| cable), at);
        }
        self.sums = sums;
    }

    /// Whether all readings that count are held.
    ///
    /// # Errors
    /// Some are in the store alone, in words for the user.
    pub fn is_whole(&self, marks: &[Mark]) -> Result<(), String> {
        let unheld = |stretch: &Stretch| {
            let to = stretch.to.unwrap_or(Time(i64::MAX));
            let mut unheld = self.unheld.iter();
            unheld.any(|(from, until)| *from <= to && stretch.from <= *until)
        };
        if stretch::of(marks).iter().any(unheld) {
            return Err(format!(
                "more than {} readings are recorded: they are all stored, and the record computes from all of them; the live view does not",
                self.most
            ));
        }
        Ok(())
    }

    /// Changes the readings held against others: what is computed from them borrows them so, without a copy.
    pub fn exchange(&mut self, readings: &mut Readings) {
        std::mem::swap(&mut self.readings, readings);
    }

    /// Whether the readings that come count.
    pub fn is_open(&self) -> bool {
        self.stretches.last().is_some_and(|last| last.to.is_none())
    }

    /// What the readings that count tell so far.
    pub fn so_far(&self) -> Option<SoFar> {
        self.sums.so_far()
    }

    /// What they tell, to go along with a reading of this cable.
    pub fn with_reading(&self, cable: &str) -> Option<SoFar> {
        (self.is_open() && self.readings.contains_key(cable))
            .then(|| self.so_far())
            .flatten()
    }

    /// In how many readings of a cable the limit lies.
    pub const fn most(&self) -> usize {
        self.most
    }
}

#[cfg(test)]
mod tests;
