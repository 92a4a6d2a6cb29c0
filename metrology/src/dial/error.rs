//! Why a dial step has no outcome: which row, what, and what is needed.

use crate::Counted;
use crate::Length;
use crate::domain::Unusable;
use std::fmt;

/// Why a dial step has no outcome.
#[derive(Debug, Clone, PartialEq)]
pub enum DialError {
    /// A value that cannot be computed with.
    Unusable {
        /// The row, from 1.
        row: usize,
        /// Which column.
        column: &'static str,
        /// Why not.
        why: Unusable,
    },
    /// Fewer than two different nominals: nothing to tell an error over.
    OneNominal {
        /// How many rows there are.
        rows: usize,
    },
    /// A nominal that no block and no stack of the kit makes.
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

impl fmt::Display for DialError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unusable { row, column, why } => write!(f, "row {row}: {column} {why}"),
            Self::OneNominal { rows } => write!(
                f,
                "{} with fewer than two different nominals: an indicator is checked over steps; read at least two blocks, or \
                 zero and a block",
                Counted(*rows, "row")
            ),
            Self::NotInKit {
                row,
                nominal,
                kit,
                nearest,
            } => {
                write!(
                    f,
                    "row {row}: no block or stack of the kit {kit} makes {nominal}"
                )?;
                match nearest {
                    Some(nearest) => write!(f, "; the nearest is {nearest}"),
                    None => write!(f, "; check the nominal, or name the kit that was used"),
                }
            }
        }
    }
}

impl std::error::Error for DialError {}
