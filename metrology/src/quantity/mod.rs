//! Lengths and angles: what an instrument shows and what a user types, held without rounding.

mod angle;
mod decimal;
mod length;

pub use angle::Angle;
pub use length::{Length, Shown, Unit};

use std::fmt;

/// Why a text is no quantity. The message names the text, what was expected and the domain.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum QuantityError {
    /// Nothing that can be read as a number with a unit.
    Unreadable {
        /// The text as it came.
        text: String,
        /// What would have been understood, with an example.
        expected: &'static str,
    },
    /// A unit that is none of those known; `near` is the list to choose from.
    UnknownUnit {
        /// The text as it came.
        text: String,
        /// The part that was taken for a unit.
        unit: String,
        /// The units that are known here.
        known: &'static str,
    },
    /// A number beyond what the type holds, or finer than it resolves.
    OutOfDomain {
        /// The text as it came.
        text: String,
        /// The domain in words.
        domain: &'static str,
    },
    /// A value in divisions where the division's size is not known.
    DivisionUnknown {
        /// The text as it came.
        text: String,
    },
}

impl fmt::Display for QuantityError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unreadable { text, expected } => {
                write!(f, "`{text}` cannot be read: expected {expected}")
            }
            Self::UnknownUnit { text, unit, known } => {
                write!(f, "`{text}`: unknown unit `{unit}`; known are {known}")
            }
            Self::OutOfDomain { text, domain } => write!(f, "`{text}` is out of domain: {domain}"),
            Self::DivisionUnknown { text } => write!(
                f,
                "`{text}` is in divisions, and the size of a division is not known here"
            ),
        }
    }
}

impl std::error::Error for QuantityError {}
