//! The readings of a record that a drawing can show, of however many there were.

use super::{StepRecord, Taker};
use crate::evidence::stretch::{self, Stretch};
use crate::evidence::{CableReadings, MarkSource, Marks, Reading, Readings, Time};
use std::io;

/// So many readings of a cable in a step are all kept. A plot has a thousand columns; of what was thinned each has at least sixteen
/// pairs of a lowest and a highest reading. Pairs are put together two and two, so it is a multiple of four.
const MOST: usize = 65_536;

/// Keeps of a record's readings what its pages need: all that a mark or a recorded stretch counts, and of the others, where a cable sent
/// more than 65 536 of them in a step, the lowest and the highest of each few that follow each other. So a page of ten million readings
/// takes no more memory than one of a hundred thousand. A record with fewer readings is kept whole.
#[derive(Debug, Default)]
pub struct Thinned {
    marks: Marks,
    stretches: Vec<Stretch>,
    cables: Vec<(String, Trace)>,
}

impl Taker for Thinned {
    fn step(&mut self, step: &StepRecord) -> io::Result<()> {
        self.marks = step.evidence.marks.clone();
        self.stretches = if step.plan.records() {
            stretch::of(&self.marks)
        } else {
            Vec::new()
        };
        self.cables.clear();
        Ok(())
    }

    fn cable(&mut self, cable: &str) -> io::Result<()> {
        let trace = Trace {
            dwells: dwells(&self.marks, cable),
            ..Trace::default()
        };
        self.cables.push((cable.to_owned(), trace));
        Ok(())
    }

    fn reading(&mut self, reading: &Reading) -> io::Result<()> {
        let recorded = is_recorded(&self.stretches, reading.t);
        if let Some((_, trace)) = self.cables.last_mut() {
            trace.take(*reading, recorded);
        }
        Ok(())
    }

    fn step_ends(&mut self) -> io::Result<Readings> {
        // All are thinned alike, so that the one with the most readings still has the most.
        let few = self.cables.iter().map(|(_, trace)| trace.few);
        let few = few.max().unwrap_or(0);
        let kept = self.cables.drain(..).map(|(cable, mut trace)| {
            while trace.few < few {
                trace.thin();
            }
            (cable, trace.kept())
        });
        Ok(kept.collect())
    }
}

/// First and last reading of each dwell of a cable, in order and apart from each other.
fn dwells(marks: &Marks, cable: &str) -> Vec<(u64, u64)> {
    let of_cable = marks.iter().filter_map(|mark| match &mark.source {
        MarkSource::Dwell {
            cable: of,
            first_seq,
            last_seq,
        } if of == cable => Some((*first_seq, *last_seq)),
        _ => None,
    });
    let mut all: Vec<(u64, u64)> = of_cable.collect();
    all.sort_unstable();
    let mut apart: Vec<(u64, u64)> = Vec::with_capacity(all.len());
    for (first, last) in all {
        match apart.last_mut().filter(|before| first <= before.1) {
            Some(before) => before.1 = before.1.max(last),
            None => apart.push((first, last)),
        }
    }
    apart
}

/// Whether a moment is in one of the stretches, which follow each other.
fn is_recorded(stretches: &[Stretch], t: Time) -> bool {
    let begun = stretches.partition_point(|stretch| stretch.from <= t);
    begun
        .checked_sub(1)
        .is_some_and(|last| stretches[last].holds(t))
}

/// The readings of a cable as they are thinned.
#[derive(Debug, Default)]
struct Trace {
    /// First and last reading of each dwell.
    dwells: Vec<(u64, u64)>,
    /// Dwells up to here have ended.
    ended: usize,
    /// What counts.
    counting: Vec<Reading>,
    /// All readings; or, once there were too many, two of every `few`: the lowest and the highest.
    thin: Vec<Reading>,
    /// None before there were too many.
    few: usize,
    /// Those of which the lowest and the highest are not known yet.
    next: Vec<Reading>,
    first: Option<Reading>,
    last: Option<Reading>,
}

impl Trace {
    fn take(&mut self, reading: Reading, recorded: bool) {
        self.first.get_or_insert(reading);
        self.last = Some(reading);
        let ended = |dwell: &&(u64, u64)| dwell.1 < reading.seq;
        self.ended += self.dwells[self.ended..].iter().take_while(ended).count();
        let dwell = self.dwells.get(self.ended);
        if recorded || dwell.is_some_and(|dwell| dwell.0 <= reading.seq) {
            self.counting.push(reading);
        }
        if self.thin.len() == MOST {
            self.thin();
        }
        if self.few == 0 {
            self.thin.push(reading);
            return;
        }
        self.next.push(reading);
        if self.next.len() == self.few {
            self.thin.extend(outermost(&self.next));
            self.next.clear();
        }
    }

    /// Leaves the lowest and the highest of each four.
    fn thin(&mut self) {
        let all = std::mem::take(&mut self.thin);
        self.thin = all.chunks(4).flat_map(outermost).collect();
        self.few = (2 * self.few).max(4);
    }

    fn kept(mut self) -> CableReadings {
        let ends = self.first.into_iter().chain(self.last);
        let mut kept: Vec<Reading> = ends.collect();
        kept.append(&mut self.counting);
        kept.append(&mut self.thin);
        kept.append(&mut self.next);
        kept.sort_unstable_by_key(|reading| reading.seq);
        kept.dedup_by_key(|reading| reading.seq);
        kept.into()
    }
}

/// The lowest and the highest of some readings, in their order.
fn outermost(readings: &[Reading]) -> impl Iterator<Item = Reading> + use<> {
    let low = readings.iter().min_by_key(|reading| reading.value);
    let high = readings.iter().max_by_key(|reading| reading.value);
    let mut pair = [low.copied(), high.copied()];
    pair.sort_unstable_by_key(|reading| reading.map(|reading| reading.seq));
    pair.into_iter().flatten()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::evidence::{Evidence, Mark, Place};
    use crate::plan::{Plan, StepKind};
    use crate::step::Work;
    use metrology::Length;
    use metrology::setup::Setup;
    use metrology::sweep::PositionsFrom;

    fn reading(seq: u64) -> Reading {
        Reading {
            seq,
            t: Time(seq.cast_signed() * 1_000),
            // Rising and falling, and one that stands out.
            value: Length::from_um(if seq == 777_777 {
                9_000
            } else {
                (seq * 37 % 101).cast_signed()
            }),
            resolution: Length::from_um(1),
        }
    }

    fn mark(number: u32, source: MarkSource, place: Place, t: Time) -> Mark {
        Mark {
            number,
            t,
            place,
            round: 1,
            clamped: false,
            setting: 0,
            source,
            taken_back: false,
        }
    }

    fn dwell(number: u32, first_seq: u64, last_seq: u64) -> Mark {
        let cable = "bench".to_owned();
        let source = MarkSource::Dwell {
            cable,
            first_seq,
            last_seq,
        };
        mark(number, source, Place::Turn { plane: None }, Time(0))
    }

    /// What is kept of so many readings of each cable.
    fn kept(plan: Plan, marks: Vec<Mark>, cables: &[(&str, u64)]) -> Readings {
        let evidence = Evidence {
            marks: marks.into(),
            ..Evidence::default()
        };
        let times = (Time(0), None);
        let step = StepRecord::computed(1, plan, times, &Setup::default(), evidence);
        let mut thinned = Thinned::default();
        thinned.step(&step).unwrap();
        for (cable, count) in cables {
            thinned.cable(cable).unwrap();
            (0..*count).for_each(|seq| thinned.reading(&reading(seq)).unwrap());
        }
        thinned.step_ends().unwrap()
    }

    #[test]
    fn as_many_as_there_is_room_for_are_all_kept_and_one_more_is_thinned() {
        let most = MOST as u64;
        let whole = &kept(Plan::usual(StepKind::Zero), Vec::new(), &[("bench", most)])["bench"];
        assert!(whole.iter().copied().eq((0..most).map(reading)));
        let thinned = &kept(
            Plan::usual(StepKind::Zero),
            Vec::new(),
            &[("bench", most + 1)],
        )["bench"];
        assert!(thinned.len() < MOST * 3 / 4, "{}", thinned.len());
    }

    #[test]
    fn of_a_million_the_ends_what_stands_out_and_what_marks_use_are_kept() {
        // The dwells of two marks share readings.
        let marks = vec![dwell(1, 500_010, 500_040), dwell(2, 500_000, 500_020)];
        let readings = &kept(Plan::usual(StepKind::Zero), marks, &[("bench", 1_000_000)])["bench"];
        assert!(readings.len() <= MOST + 41 + 2, "{}", readings.len());
        assert!(readings.len() > MOST / 2, "{}", readings.len());
        for seq in (500_000..=500_040).chain([0, 777_777, 999_999]) {
            let at = readings.partition_point(|reading| reading.seq < seq);
            assert_eq!(readings.get(at), Some(&reading(seq)));
        }
        let seqs: Vec<u64> = readings.iter().map(|reading| reading.seq).collect();
        assert!(seqs.is_sorted_by(|a, b| a < b));
        // Lowest and highest of each column of a plot are the same.
        for column in 0..1_000 {
            let within = |r: &&Reading| r.seq / 1_000 == column;
            let highest = readings.iter().filter(within).map(|r| r.value).max();
            let of_all = (0..1_000).map(|n| reading(column * 1_000 + n).value).max();
            assert_eq!(highest, of_all, "{column}");
        }
    }

    #[test]
    fn every_reading_of_a_recorded_stretch_is_kept() {
        let moment = || MarkSource::Moment {
            cable: "bench".to_owned(),
        };
        let begin = Place::Begin {
            station: None,
            plane: None,
        };
        let end = Place::End { station: None };
        let marks = vec![
            mark(1, moment(), begin, reading(100_000).t),
            mark(2, moment(), end, reading(250_000).t),
        ];
        let mut plan = Plan::usual(StepKind::Sweep);
        if let Work::Sweep(sweep) = &mut plan.work {
            sweep.sweep.positions = PositionsFrom::Feed;
        }
        let readings = &kept(plan, marks, &[("bench", 400_000)])["bench"];
        let within = readings.between(reading(100_000).t, reading(250_000).t);
        assert_eq!(within.count(), 150_001);
        assert!(readings.len() < 150_001 + MOST + 2, "{}", readings.len());
    }

    #[test]
    fn the_cable_with_the_most_readings_still_has_the_most() {
        let cables = [("a", 140_000), ("b", 500_000), ("c", 300_000)];
        let readings = kept(Plan::usual(StepKind::Zero), Vec::new(), &cables);
        let count = |cable: &str| readings[cable].len();
        assert!(count("a") < count("c") && count("c") < count("b"));
    }
}
