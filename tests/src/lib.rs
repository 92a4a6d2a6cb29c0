//! What the end-to-end tests share, and programs that measure.

pub mod chance;
pub mod coverage;
pub mod toolroom;
