//! Frames of instruments: bytes to readings, and back for the virtual bench and the tests.

use metrology::{Length, Unit};

/// A value that a frame held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Decoded {
    /// The exact value as shown, in length.
    pub value: Length,
    /// One step of the last place shown.
    pub resolution: Length,
    /// The unit, when the frame itself stated it: it wins over the configuration.
    pub unit: Option<Unit>,
}
