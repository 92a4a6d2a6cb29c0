//! Why a capture cannot be read.

use super::FIRST_LINE;
use crate::frame::{Frame, PatternError};
use metrology::QuantityError;

/// A capture that cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("line {line} of the capture: {why}")]
pub struct CaptureError {
    /// The line, from 1.
    pub line: usize,
    /// What is wrong with it, and what was expected.
    pub why: LineError,
}

/// What is wrong with a line of a capture.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum LineError {
    /// The first line is that of something else.
    #[error("expected `{FIRST_LINE}`")]
    FirstLine,
    /// A line of no kind.
    #[error("expected `key: value` in the head; then `seconds bytes`, `= value` or `skipped n`")]
    Unknown,
    /// A bare value is in no unit that is known.
    #[error("`{0}`: expected mm, um or in")]
    Unit(String),
    /// The bytes that were skipped are no number.
    #[error("expected `skipped` and a number of bytes")]
    Skipped,
    /// A time that cannot be read.
    #[error("`{0}`: expected seconds such as 1.25")]
    Time(String),
    /// A time that is not after the one before.
    #[error("a time before that of the line above")]
    TimeRunsBack,
    /// A byte that cannot be read.
    #[error("`{0}`: expected a byte such as 0d, or `!` behind the last one")]
    Byte(String),
    /// A value that is not a length.
    #[error(transparent)]
    Value(#[from] QuantityError),
    /// What stands behind a value.
    #[error("`{0}`: expected `step 0.0005in`, `status H` or `channel 2`")]
    BehindValue(String),
}

/// Why the head of a capture names no frame.
#[derive(Debug, thiserror::Error)]
pub enum FrameError {
    /// No frame of that name is shipped.
    #[error("`frame: {0}`: expected one of {names}", names = Frame::names().join(", "))]
    Unknown(String),
    /// The description is no JSON of a pattern.
    #[error(transparent)]
    Json(#[from] serde_json::Error),
    /// The description cannot be.
    #[error(transparent)]
    Pattern(#[from] PatternError),
}
