//! What the task of a cable reports to the engine.

use metrology::{Length, Unit};
use protocol::api::CableState;

/// Something that happened on a cable.
#[derive(Debug, Clone, PartialEq)]
pub struct CableEvent {
    /// Which cable: its index in the configuration.
    pub cable: usize,
    /// What.
    pub kind: CableEventKind,
}

/// What can happen on a cable.
#[derive(Debug, Clone, PartialEq)]
pub enum CableEventKind {
    /// A reading arrived.
    Reading {
        /// Its value, sign and scale of the cable applied.
        value: Length,
        /// One step of the last place shown.
        resolution: Length,
        /// The steady clock at the return of the `read` that ended it.
        steady_ns: i64,
        /// The unit, when the frame itself stated it.
        unit: Option<Unit>,
    },
    /// The cable's state changed, or the reason for it did.
    State {
        /// What it is now.
        state: CableState,
        /// Why it is not live, and what to do, in words.
        detail: Option<String>,
    },
    /// The port is that of another adapter than the one that was opened before, or of the first.
    Instrument {
        /// What it is known as; none where it is no USB adapter.
        known_as: Option<String>,
    },
    /// Bytes arrived that are part of no frame.
    Skipped {
        /// How many since the cable's task began.
        total: u64,
        /// The last of them, escaped.
        last: String,
    },
}
