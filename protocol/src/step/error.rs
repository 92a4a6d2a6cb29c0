//! Why a step has no outcome.

use super::Refused;
use crate::evidence::{Mark, Place};

/// Why a step has no outcome. Marks are told by their numbers.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NoOutcome {
    /// No mark counts.
    #[error("nothing is marked yet")]
    NothingMarked,
    /// No mark counts, in a step that records.
    #[error("nothing is recorded yet: mark where it begins")]
    NothingRecorded,
    /// What was begun has no end.
    #[error("it is being recorded: mark its end")]
    Recording,
    /// The line on the turning part has not been marked.
    #[error("nothing is recorded yet: mark each time that the line comes by")]
    NoTurn,
    /// No print has been marked.
    #[error("no print is marked yet: mark big end, middle and small end in percent")]
    NoPrint,
    /// One of the things that are measured has no mark.
    #[error("{0} is not marked yet")]
    NotMarked(&'static str),
    /// The plan names no cable for the table's position.
    #[error("no cable reports the table's position: name one when the step is opened")]
    NoPositionCable,
    /// The evidence lacks readings of a mark.
    #[error("mark {0}: readings that it was made of are missing")]
    ReadingsMissing(u32),
    /// The value of a mark is too large for a length.
    #[error("mark {number}: {value_mm} mm is not a length")]
    NoLength {
        /// Its number.
        number: u32,
        /// Its value, mm.
        value_mm: f64,
    },
    /// A mark does not fit the step.
    #[error("mark {number} is {place}, and {wants}")]
    Misplaced {
        /// Its number.
        number: u32,
        /// What it is about.
        place: Box<Place>,
        /// What the step wants.
        wants: &'static str,
    },
    /// A stretch begins within another.
    #[error("mark {number} begins again before what mark {before} began has ended")]
    BegunTwice {
        /// The mark that begins again.
        number: u32,
        /// The one that began.
        before: u32,
    },
    /// A stretch ends that was not begun.
    #[error("mark {0} ends what was not begun")]
    NotBegun(u32),
    /// The arithmetic refuses.
    #[error(transparent)]
    Refused(#[from] Refused),
}

impl NoOutcome {
    /// A mark does not fit its step, which wants this.
    pub(super) fn misplaced(mark: &Mark, wants: &'static str) -> Self {
        Self::Misplaced {
            number: mark.number,
            place: Box::new(mark.place.clone()),
            wants,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::evidence::{Evidence, MarkSource, Time};
    use crate::step::{AnglesFrom, RunoutPlan, StepKind, Work};
    use metrology::setup::Setup;

    fn why(work: &Work, places: &[Place]) -> NoOutcome {
        let mark = |(number, place): (u32, &Place)| Mark {
            number,
            t: Time(i64::from(number)),
            place: place.clone(),
            round: 1,
            clamped: false,
            setting: 0,
            source: MarkSource::Judged,
            taken_back: false,
        };
        let evidence = Evidence {
            marks: (1..).zip(places).map(mark).collect(),
            ..Evidence::default()
        };
        work.outcome(&Setup::default(), &evidence, Vec::new())
            .unwrap_err()
    }

    #[test]
    fn what_is_missing_is_told_by_kind_and_mark() {
        let contact = Work::usual(StepKind::Contact);
        assert_eq!(why(&contact, &[]), NoOutcome::NothingMarked);
        let steady: Work = RunoutPlan {
            angles: AnglesFrom::Steady,
            ..RunoutPlan::default()
        }
        .into();
        let begin = steady.first(&Setup::default()).unwrap();
        let end = Place::End { station: None };
        assert_eq!(why(&steady, &[]), NoOutcome::NothingRecorded);
        assert_eq!(
            why(&steady, std::slice::from_ref(&begin)),
            NoOutcome::Recording
        );
        assert_eq!(why(&steady, &[end]), NoOutcome::NotBegun(1));
        let twice = why(&steady, &[begin.clone(), begin.clone()]);
        assert_eq!(
            twice.to_string(),
            "mark 2 begins again before what mark 1 began has ended"
        );
        let astray = why(&contact, &[begin]);
        assert_eq!(
            astray.to_string(),
            "mark 1 is begin, and a print is marked by its zones"
        );
    }
}
