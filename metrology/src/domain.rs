//! The refusal of a value outside its domain.

use std::fmt;

/// A value outside the domain in which a computation means anything. Says which value, and the domain.
///
/// ```
/// use conewright_metrology::{Angle, taper::Taper};
/// let refused = Taper::from_half_angle("flat", Angle::ZERO, "the user").unwrap_err();
/// assert_eq!(refused.to_string(), "half angle 0.0000000° is out of its domain: above 0° and below 90°");
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
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

impl fmt::Display for DomainError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self {
            what,
            value,
            domain,
        } = self;
        write!(f, "{what} {value} is out of its domain: {domain}")
    }
}

impl std::error::Error for DomainError {}
