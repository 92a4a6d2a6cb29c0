//! Why a size step has no outcome: which row, what, and what is needed.

use crate::DomainError;
use crate::domain::Unusable;
use crate::tolerance::ToleranceError;

/// Why a size step has no outcome.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SizeError {
    /// Nothing was measured.
    #[error("nothing was measured: measure at least one diameter at a plane")]
    Nothing,
    /// A value that cannot be computed with.
    #[error(transparent)]
    Unusable(#[from] Unusable),
    /// A value out of range.
    #[error("{error}")]
    Domain {
        /// The row, from 1, when it is of a row.
        row: Option<usize>,
        /// Which value, and the domain.
        error: DomainError,
    },
    /// Two rows at one plane where an angle was to be found.
    #[error(
        "all {rows} rows are at the plane {plane_mm} mm: planes that coincide give no angle; measure at a second one"
    )]
    OnePlane {
        /// Where.
        plane_mm: f64,
        /// How many rows are there.
        rows: usize,
    },
    /// The rollers lie higher than the taper is long.
    #[error(
        "the rollers would touch at a height of {height_mm:.3} mm, and the taper is {length_mm} mm long: they do not touch it; \
         use lower stacks"
    )]
    RollersBeyond {
        /// The row, from 1.
        row: usize,
        /// Height at which they would touch.
        height_mm: f64,
        /// The taper's length.
        length_mm: f64,
    },
    /// The stand-off or the rollers need the half angle.
    #[error("this needs the taper's half angle: state the taper")]
    NoTaper,
    /// The tolerance cannot be made into limits of the half angle.
    #[error(transparent)]
    Tolerance(#[from] ToleranceError),
}

impl SizeError {
    /// The row of the table that it is about, from 1.
    #[must_use]
    pub const fn row(&self) -> Option<usize> {
        match self {
            Self::Unusable(Unusable { row, .. }) | Self::RollersBeyond { row, .. } => Some(*row),
            Self::Domain { row, .. } => *row,
            _ => None,
        }
    }
}
