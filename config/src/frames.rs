//! The frames that a cable may name.

/// Their names, in the order in which they are offered.
pub const NAMES: [&str; 2] = ["text", "typed"];
