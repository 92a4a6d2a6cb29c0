//! What this program says of itself.

/// The program's version.
pub const PROGRAM: &str = env!("CARGO_PKG_VERSION");
