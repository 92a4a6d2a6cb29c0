//! The refusal of a value outside its domain.

use std::fmt;

/// A value outside the domain in which a computation means anything. Says which value, and the domain.
///
/// ```
/// use conewright_metrology::{Angle, taper::Taper};
/// let refused = Taper::from_half_angle("flat", Angle::ZERO, "the user").unwrap_err();
/// assert_eq!(refused.to_string(), "half angle 0.0000000° is out of range: above 0° and below 90°");
/// ```
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{what} {value} is out of range: {domain}")]
pub struct DomainError {
    /// Which quantity.
    pub what: &'static str,
    /// Its value, with its unit.
    pub value: String,
    /// The domain in words.
    pub domain: &'static str,
}

impl DomainError {
    /// A refusal of `value`.
    pub fn new(what: &'static str, value: impl fmt::Display, domain: &'static str) -> Self {
        Self {
            what,
            value: value.to_string(),
            domain,
        }
    }
}

/// A value in a table that cannot be used: its place and the reason.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("{column} {why}")]
pub struct Unusable {
    /// The row, from 1.
    pub row: usize,
    /// Which column.
    pub column: &'static str,
    /// Why not.
    pub why: WhyUnusable,
}

/// Why a value cannot be used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WhyUnusable {
    /// It is not a number.
    NotANumber,
    /// It is beyond anything that is measured here.
    TooLarge,
}

/// The largest length, mm, to either side of zero: that of [`crate::Length`].
pub const LARGEST_MM: f64 = 1e6;

/// The largest time, s, to either side of its zero: 30 000 years.
pub const LARGEST_S: f64 = 1e12;

impl Unusable {
    /// Checks that a value, in the unit of `largest`, can be used.
    ///
    /// # Errors
    /// The value is not a number, or it is too large.
    pub(crate) fn check(
        row: usize,
        column: &'static str,
        value: f64,
        largest: f64,
    ) -> Result<(), Self> {
        let why = if !value.is_finite() {
            WhyUnusable::NotANumber
        } else if value.abs() > largest {
            WhyUnusable::TooLarge
        } else {
            return Ok(());
        };
        Err(Self { row, column, why })
    }
}

impl fmt::Display for WhyUnusable {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotANumber => write!(f, "is not a number"),
            Self::TooLarge => write!(
                f,
                "is larger than anything measured here (lengths are within 1 km of zero): check its unit"
            ),
        }
    }
}
