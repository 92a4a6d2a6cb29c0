//! Why a size step has no outcome: which row, what, and what is needed.

use crate::DomainError;
use crate::domain::Unusable;
use crate::tolerance::ToleranceError;
use std::fmt;

/// Why a size step has no outcome.
#[derive(Debug, Clone, PartialEq)]
pub enum SizeError {
    /// Nothing was measured.
    Nothing,
    /// A value that cannot be computed with.
    Unusable {
        /// The row, from 1.
        row: usize,
        /// Which column.
        column: &'static str,
        /// Why not.
        why: Unusable,
    },
    /// A value out of its domain.
    Domain {
        /// The row, from 1, when it is of a row.
        row: Option<usize>,
        /// Which value, and the domain.
        error: DomainError,
    },
    /// Two rows at one plane where an angle was to be found.
    OnePlane {
        /// Where.
        plane_mm: f64,
        /// How many rows are there.
        rows: usize,
    },
    /// The rollers lie higher than the taper is long.
    RollersBeyond {
        /// The row, from 1.
        row: usize,
        /// Height at which they would touch.
        height_mm: f64,
        /// The taper's length.
        length_mm: f64,
    },
    /// The stand-off or the rollers need the half angle.
    NoTaper,
    /// The tolerance cannot be made into limits of the half angle.
    Tolerance(ToleranceError),
}

impl fmt::Display for SizeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Nothing => write!(
                f,
                "nothing was measured: one diameter at a plane is needed at least"
            ),
            Self::Unusable { row, column, why } => write!(f, "row {row}: {column} {why}"),
            Self::Domain {
                row: Some(row),
                error,
            } => write!(f, "row {row}: {error}"),
            Self::Domain { row: None, error } => error.fmt(f),
            Self::OnePlane { plane_mm, rows } => write!(
                f,
                "all {rows} rows are at the plane {plane_mm} mm: planes that coincide give no angle; measure at a second one"
            ),
            Self::RollersBeyond {
                row,
                height_mm,
                length_mm,
            } => write!(
                f,
                "row {row}: the rollers would touch at a height of {height_mm:.3} mm, and the taper is {length_mm} mm long: \
                 they do not touch it; use lower stacks"
            ),
            Self::NoTaper => write!(f, "this needs the taper's half angle: state the taper"),
            Self::Tolerance(error) => error.fmt(f),
        }
    }
}

impl std::error::Error for SizeError {}
