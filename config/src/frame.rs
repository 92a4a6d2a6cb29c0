//! The frame of a cable: shipped and named, or described by the user.

use protocol::frame::{Frame, Modbus, PatternError, TextPattern};
use std::fmt;

/// What a cable's frame is named for a frame that the cable's own table describes. No shipped frame has this name.
pub const DESCRIBED: &str = "described";

/// A frame as a cable's table describes it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum FrameTable {
    /// Lines of text.
    Text(TextPattern),
    /// Registers over Modbus RTU.
    Modbus(Modbus),
}

impl FrameTable {
    /// The frame, ready to use.
    ///
    /// # Errors
    /// What in the description cannot be. The loader has refused such a description.
    pub fn frame(&self) -> Result<Frame, PatternError> {
        match self {
            Self::Text(pattern) => Frame::from_pattern(pattern),
            Self::Modbus(modbus) => Frame::from_modbus(*modbus),
        }
    }
}

impl fmt::Display for FrameTable {
    /// As a table on one line, every key said, so that a record tells how its readings were understood.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let table = match self {
            Self::Text(pattern) => toml::Value::try_from(pattern),
            Self::Modbus(modbus) => toml::Value::try_from(modbus),
        };
        write!(f, "{}", table.map_err(|_| fmt::Error)?)
    }
}
