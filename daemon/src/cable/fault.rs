//! Why a port cannot be had now. A fault is a state of its cable, not an end of anything.

use protocol::api::CableState;

/// Why a port cannot be had now, each with what to do in words.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{}", self.detail())]
pub enum Fault {
    /// There is no such device now.
    Gone(String),
    /// Another program holds it.
    Busy(String),
    /// The system does not let us.
    Denied(String),
    /// It is there, and we do not take it: two adapters fit, or it is no serial port.
    Refused(String),
}

impl Fault {
    /// The state of a cable with this fault.
    #[must_use]
    pub const fn state(&self) -> CableState {
        match self {
            Self::Gone(_) => CableState::Gone,
            Self::Busy(_) => CableState::Busy,
            Self::Denied(_) | Self::Refused(_) => CableState::Denied,
        }
    }

    /// The words.
    #[must_use]
    pub fn detail(&self) -> &str {
        match self {
            Self::Gone(words) | Self::Busy(words) | Self::Denied(words) | Self::Refused(words) => {
                words
            }
        }
    }
}
