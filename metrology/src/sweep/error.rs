//! Why a sweep has no outcome: which row, what, and what is needed.

use crate::Counted;
use crate::domain::Unusable;
use crate::filter::FilterError;
use crate::tolerance::ToleranceError;

/// Why a sweep has no outcome.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SweepError {
    /// A value that cannot be computed with.
    #[error(transparent)]
    Unusable(#[from] Unusable),
    /// Fewer points than a line has unknowns.
    #[error("a sweep needs at least two points at different places, and there are {points}")]
    TooFew {
        /// How many there are.
        points: usize,
    },
    /// All points are at one place, where no line can be told.
    #[error(
        "all {points} points are at {position_mm} mm: a line needs at least two different places"
    )]
    OnePlace {
        /// Where.
        position_mm: f64,
        /// How many points.
        points: usize,
    },
    /// The profile filter cannot be used on these points.
    #[error("profile filter: {0}")]
    Filter(FilterError),
    /// The tolerance cannot be made into limits of the half angle.
    #[error(transparent)]
    Tolerance(#[from] ToleranceError),
    /// No reading lies within the times for which the position is known.
    #[error("{}", no_position(*readings, *known_s))]
    NoPosition {
        /// How many readings there are.
        readings: usize,
        /// From when to when the position is known, s.
        known_s: Option<[f64; 2]>,
    },
    /// The two marks of a steady feed are at one time or at one place.
    #[error(
        "a steady feed needs two marks at different times and places; these are {seconds:.3} s and {way_mm} mm apart"
    )]
    NoFeed {
        /// Time from the first to the second, s.
        seconds: f64,
        /// Way from the first to the second.
        way_mm: f64,
    },
}

impl SweepError {
    /// The row of the table that it is about, from 1.
    #[must_use]
    pub const fn row(&self) -> Option<usize> {
        match self {
            Self::Unusable(unusable) => Some(unusable.row),
            _ => None,
        }
    }
}

fn no_position(readings: usize, known_s: Option<[f64; 2]>) -> String {
    match known_s {
        None => format!(
            "{}, and no position for any: the position's cable has sent nothing",
            Counted(readings, "reading")
        ),
        Some([from, to]) => format!(
            "none of the {readings} readings came between {from:.3} s and {to:.3} s, where the position is known"
        ),
    }
}
