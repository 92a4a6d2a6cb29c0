//! Lengths and angles: what an instrument shows and what a user types, held without rounding.

mod angle;
mod decimal;
mod length;

pub use angle::Angle;
pub use length::{Length, Shown, Unit};

/// Why a text is no quantity. The message names the text, what was expected and the domain.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum QuantityError {
    /// Nothing that can be read as a number with a unit.
    #[error("`{text}` cannot be read: expected {expected}")]
    Unreadable {
        /// The text as it came.
        text: String,
        /// What would have been understood, with an example.
        expected: &'static str,
    },
    /// A unit that is none of those known; `near` is the list to choose from.
    #[error("`{text}`: unknown unit `{unit}`; known are {known}")]
    UnknownUnit {
        /// The text as it came.
        text: String,
        /// The part that was taken for a unit.
        unit: String,
        /// The units that are known here.
        known: &'static str,
    },
    /// A number beyond what the type holds, or finer than it resolves.
    #[error("`{text}` is out of range: {domain}")]
    OutOfDomain {
        /// The text as it came.
        text: String,
        /// The domain in words.
        domain: &'static str,
    },
    /// A number with an exponent, which no instrument shows: how many digits it has is then not what the instrument has.
    #[error("`{text}` has an exponent: write all its digits, as in `{decimal}`")]
    Exponent {
        /// The text as it came.
        text: String,
        /// The same as a decimal.
        decimal: String,
    },
    /// A value in divisions where the division's size is not known.
    #[error("`{text}` is in divisions, and the size of a division is not known here")]
    DivisionUnknown {
        /// The text as it came.
        text: String,
    },
}
