//! Why a sweep has no outcome: which row, what, and what is needed.

use crate::Counted;
use crate::domain::Unusable;
use crate::filter::FilterError;
use crate::tolerance::ToleranceError;
use std::fmt;

/// Why a sweep has no outcome.
#[derive(Debug, Clone, PartialEq)]
pub enum SweepError {
    /// A value that cannot be computed with.
    Unusable {
        /// The row, from 1.
        row: usize,
        /// Which column.
        column: &'static str,
        /// Why not.
        why: Unusable,
    },
    /// Fewer points than a line has unknowns.
    TooFew {
        /// How many there are.
        points: usize,
    },
    /// All points are at one place, where no line can be told.
    OnePlace {
        /// Where.
        position_mm: f64,
        /// How many points.
        points: usize,
    },
    /// The profile filter cannot be used on these points.
    Filter(FilterError),
    /// The tolerance cannot be made into limits of the half angle.
    Tolerance(ToleranceError),
    /// A reading lies outside the times for which the position is known.
    NoPosition {
        /// How many readings there are.
        readings: usize,
        /// From when to when the position is known, s.
        known_s: Option<[f64; 2]>,
    },
    /// The two marks of a steady feed are at one time or at one place.
    NoFeed {
        /// Time from the first to the second, s.
        seconds: f64,
        /// Way from the first to the second.
        way_mm: f64,
    },
}

impl fmt::Display for SweepError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unusable { row, column, why } => write!(f, "row {row}: {column} {why}"),
            Self::TooFew { points } => write!(
                f,
                "a sweep needs at least two points at different places, and there are {points}"
            ),
            Self::OnePlace {
                position_mm,
                points,
            } => write!(
                f,
                "all {points} points are at {position_mm} mm: a line needs at least two different places"
            ),
            Self::Filter(error) => write!(f, "profile filter: {error}"),
            Self::Tolerance(error) => error.fmt(f),
            Self::NoPosition {
                readings,
                known_s: None,
            } => write!(
                f,
                "{}, and no position for any: the position's cable has sent nothing",
                Counted(*readings, "reading")
            ),
            Self::NoPosition {
                readings,
                known_s: Some([from, to]),
            } => write!(
                f,
                "none of the {readings} readings came between {from:.3} s and {to:.3} s, where the position is known"
            ),
            Self::NoFeed { seconds, way_mm } => write!(
                f,
                "a steady feed needs two marks at different times and places; these are {seconds:.3} s and {way_mm} mm \
                 apart"
            ),
        }
    }
}

impl std::error::Error for SweepError {}
