//! What the pedal's task reports to the engine.

use protocol::api::CableState;

/// What can happen with a pedal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PedalEvent {
    /// Its state changed, or the reason for it did: live, gone, busy or denied.
    State {
        /// What it is now.
        state: CableState,
        /// Why it is not live, and what to do, in words.
        detail: Option<String>,
    },
    /// A key was pressed.
    Pressed {
        /// The kernel's code of the key.
        key: u16,
        /// The steady clock when that was read.
        steady_ns: i64,
    },
}
