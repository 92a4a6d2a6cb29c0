//! Stretches of time whose readings all count: where they begin and end, as their marks say.

use super::{Mark, Place, Time};

/// A stretch of time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stretch {
    /// When it begins.
    pub from: Time,
    /// When it ends; absent while it is being recorded.
    pub to: Option<Time>,
    /// Turns that were marked whole in it.
    pub turns: u32,
}

impl Stretch {
    /// Whether what came at this moment counts.
    #[must_use]
    pub fn holds(&self, t: Time) -> bool {
        self.from <= t && self.to.is_none_or(|to| t <= to)
    }
}

/// The stretches that the marks of a step that records name, in order. Turn marks make one, from the first on: which of
/// them is the last is not known while the step is open, so it has no end.
#[must_use]
pub fn of<'a>(marks: impl IntoIterator<Item = &'a Mark>) -> Vec<Stretch> {
    let mut found: Vec<Stretch> = Vec::new();
    for mark in marks.into_iter().filter(|mark| !mark.taken_back) {
        let last = found.last_mut().filter(|last| last.to.is_none());
        match (&mark.place, last) {
            (Place::Begin { .. } | Place::Turn { .. }, None) => found.push(Stretch {
                from: mark.t,
                to: None,
                turns: 0,
            }),
            (Place::Turn { .. }, Some(last)) => last.turns += 1,
            (Place::End { .. }, Some(last)) => last.to = Some(mark.t),
            _ => {}
        }
    }
    found
}

/// Whether readings count that come now: the last stretch has no end yet.
#[must_use]
pub fn is_open(marks: &[Mark]) -> bool {
    of(marks).last().is_some_and(|last| last.to.is_none())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::evidence::MarkSource;

    fn mark(t: i64, place: Place) -> Mark {
        Mark {
            number: 1,
            t: Time(t),
            place,
            round: 1,
            clamped: false,
            setting: 0,
            source: MarkSource::Moment {
                cable: "bench".into(),
            },
            taken_back: false,
        }
    }

    fn begin(t: i64) -> Mark {
        let (station, plane) = (None, None);
        mark(t, Place::Begin { station, plane })
    }

    fn end(t: i64) -> Mark {
        mark(t, Place::End { station: None })
    }

    #[test]
    fn a_stretch_goes_from_a_beginning_to_the_end_after_it() {
        let mut marks = vec![begin(10), end(20), begin(30), end(40)];
        let spans = |marks: &[Mark]| -> Vec<(i64, Option<i64>)> {
            of(marks)
                .iter()
                .map(|s| (s.from.0, s.to.map(|to| to.0)))
                .collect()
        };
        assert_eq!(spans(&marks), [(10, Some(20)), (30, Some(40))]);
        assert!(!is_open(&marks));
        // The end taken back: it goes on.
        marks[3].taken_back = true;
        assert_eq!(spans(&marks), [(10, Some(20)), (30, None)]);
        assert!(is_open(&marks));
        // The beginning too: nothing is recorded.
        marks[2].taken_back = true;
        assert_eq!(spans(&marks), [(10, Some(20))]);
        assert!(!is_open(&marks) && !is_open(&[]));
        let whole = of(&marks)[0];
        assert!(whole.holds(Time(10)) && whole.holds(Time(20)));
        assert!(!whole.holds(Time(9)) && !whole.holds(Time(21)));
    }

    #[test]
    fn turn_marks_make_one_stretch_that_goes_on() {
        let turn = |t| mark(t, Place::Turn { plane: None });
        let marks = [turn(5), turn(15), turn(25)];
        let found = of(&marks);
        assert_eq!((found.len(), found[0].turns), (1, 2));
        assert!(found[0].holds(Time(1_000)) && is_open(&marks));
    }
}
