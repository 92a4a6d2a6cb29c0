//! Why a dial step has no outcome: which row, what, and what is needed.

use crate::Counted;
use crate::Length;
use crate::domain::Unusable;

/// Why a dial step has no outcome.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum DialError {
    /// A value that cannot be computed with.
    #[error(transparent)]
    Unusable(#[from] Unusable),
    /// Fewer than two different nominals: nothing to tell an error over.
    #[error(
        "{} with fewer than two different nominals: an indicator is checked over steps; read at least two blocks, or zero and \
         a block",
        Counted(*rows, "row")
    )]
    OneNominal {
        /// How many rows there are.
        rows: usize,
    },
    /// A nominal that no block and no stack of the kit makes.
    #[error(
        "no block or stack of the kit {kit} makes {nominal}; {}",
        nearest.map_or_else(
            || "check the nominal, or name the kit that was used".to_owned(),
            |nearest| format!("the nearest is {nearest}"),
        )
    )]
    NotInKit {
        /// The row, from 1.
        row: usize,
        /// The nominal.
        nominal: Length,
        /// The kit's name.
        kit: String,
        /// The nearest height that it makes, when it makes any.
        nearest: Option<Length>,
    },
}

impl DialError {
    /// The row of the table that it is about, from 1.
    #[must_use]
    pub const fn row(&self) -> Option<usize> {
        match self {
            Self::Unusable(Unusable { row, .. }) | Self::NotInKit { row, .. } => Some(*row),
            Self::OneNominal { .. } => None,
        }
    }
}
