//! The last readings of a cable, kept whether a step is open or not: a mark made just after a step was opened
//! still has its dwell.

use protocol::evidence::{Reading, Time};

/// How long a reading is kept, ns.
const SPAN_NS: i64 = 30_000_000_000;
/// At most so many are kept, however fast they come: 1 MiB of memory a cable.
const MOST: usize = 32_768;

/// The last readings of a cable, in order.
#[derive(Debug, Default)]
pub(crate) struct Ring {
    /// Those before `start` are too old. They are removed together, so that the others are always one slice.
    readings: Vec<Reading>,
    start: usize,
    /// The first reading that belongs with those that come: the cable was away, or the computer slept, before.
    unbroken_from: u64,
    /// And none that was taken before this: it may still come after the computer has slept.
    unbroken_since: Option<Time>,
}

impl Ring {
    pub fn push(&mut self, reading: Reading) {
        self.readings.push(reading);
        let kept = &self.readings[self.start..];
        let over = kept.partition_point(|old| reading.t.0 - old.t.0 > SPAN_NS);
        self.start += over.max(kept.len().saturating_sub(MOST));
        if self.start > self.readings.len() / 2 {
            self.readings.drain(..self.start);
            self.start = 0;
        }
    }

    /// From here on nothing is joined to what came before.
    pub fn break_here(&mut self) {
        if let Some(last) = self.last() {
            self.unbroken_from = last.seq + 1;
        }
    }

    /// Nothing taken before this moment is joined to what was taken after it, in whatever order they come.
    pub fn break_at(&mut self, t: Time) {
        self.unbroken_since = Some(t);
    }

    pub fn last(&self) -> Option<&Reading> {
        self.kept().last()
    }

    /// The readings that belong together, to the newest.
    pub fn unbroken(&self) -> &[Reading] {
        let kept = self.kept();
        let before = |reading: &Reading| {
            reading.seq < self.unbroken_from
                || self.unbroken_since.is_some_and(|since| reading.t < since)
        };
        &kept[kept.partition_point(before)..]
    }

    /// The readings from a moment on, as far as they are kept.
    pub fn since(&self, t: Time) -> &[Reading] {
        let kept = self.kept();
        &kept[kept.partition_point(|reading| reading.t < t)..]
    }

    /// The readings `first..=last` as far as they are kept.
    pub fn range(&self, first: u64, last: u64) -> &[Reading] {
        let kept = self.kept();
        let from = kept.partition_point(|reading| reading.seq < first);
        let to = kept.partition_point(|reading| reading.seq <= last);
        &kept[from..to.max(from)]
    }

    fn kept(&self) -> &[Reading] {
        &self.readings[self.start..]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use metrology::Length;

    fn reading(seq: u64, t_s: f64) -> Reading {
        Reading {
            seq,
            t: Time::default().plus_s(t_s),
            value: Length::ZERO,
            resolution: Length::from_um(1),
        }
    }

    #[test]
    fn it_keeps_thirty_seconds() {
        let mut ring = Ring::default();
        for seq in 0..1_000 {
            ring.push(reading(seq, seq as f64 * 0.125));
        }
        let kept = ring.unbroken();
        // At 8 readings/s, those of 94.875 s to 124.875 s.
        assert_eq!((kept[0].seq, kept.len()), (759, 241));
        assert!(ring.readings.len() <= 2 * kept.len() + 1);
        assert_eq!(ring.range(990, 992).len(), 3);
        assert_eq!(ring.range(0, 759).len(), 1, "as far as they are kept");
        assert_eq!(ring.range(5, 4), []);
    }

    #[test]
    fn a_fast_cable_does_not_fill_the_memory() {
        let mut ring = Ring::default();
        for seq in 0..200_000 {
            ring.push(reading(seq, seq as f64 * 1e-6));
        }
        assert_eq!(ring.unbroken().len(), MOST);
        assert!(ring.readings.capacity() <= 4 * MOST);
    }

    #[test]
    fn what_was_before_a_break_is_not_joined_to_what_comes_after() {
        let mut ring = Ring::default();
        ring.break_here();
        ring.push(reading(1, 0.0));
        assert_eq!(ring.unbroken().len(), 1, "a break before the first is none");
        ring.push(reading(2, 0.1));
        ring.break_here();
        assert_eq!(ring.unbroken(), []);
        ring.push(reading(3, 0.2));
        assert_eq!(ring.unbroken(), [reading(3, 0.2)]);
        assert_eq!(
            ring.range(1, 3).len(),
            3,
            "they are still there to be stored"
        );
    }

    #[test]
    fn a_reading_from_before_a_sleep_that_comes_after_it_is_not_joined_either() {
        let mut ring = Ring::default();
        ring.push(reading(1, 1.0));
        ring.break_at(Time::default().plus_s(5.0));
        ring.push(reading(2, 1.1));
        assert_eq!(ring.unbroken(), []);
        ring.push(reading(3, 5.0));
        assert_eq!(ring.unbroken(), [reading(3, 5.0)]);
    }
}
