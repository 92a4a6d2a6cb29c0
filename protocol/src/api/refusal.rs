//! What the user gets when something cannot be done.

use serde::{Deserialize, Serialize};

/// A stable code for programs; the message is for people and may change.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Code {
    /// A text that cannot be read, or a value out of range.
    BadValue,
    /// A name that is not known: taper, kit, station, fixture, cable.
    UnknownName,
    /// There is no open session.
    NoSession,
    /// A session is open already.
    SessionOpen,
    /// There is no open step.
    NoStep,
    /// A step is open already.
    StepOpen,
    /// There is no mark to take back.
    NoMark,
    /// No press of an instrument's key is being asked about.
    NoPress,
    /// A press of an instrument's key is being asked about, and has to be answered first.
    PressAsked,
    /// The readings have not settled.
    NotSettled,
    /// What waited was dropped for what was done meanwhile.
    Cancelled,
    /// The cable gives no current reading: stale, gone, busy or denied.
    CableNotLive,
    /// Another instrument may have taken the place of the cable's, and has to be accepted first.
    InstrumentAsked,
    /// No cable is configured, and no value was typed.
    NoCable,
    /// The data directory has no room.
    StoreFull,
    /// The data directory cannot be written or read.
    StoreFailed,
    /// There is no such session or path.
    NotFound,
    /// The request is larger than allowed.
    TooLarge,
    /// The request is none that the API knows.
    BadRequest,
    /// The evidence cannot be computed with.
    NoOutcome,
    /// The live page was asked without a valid link, from another site, or for more than its link allows.
    NotAllowed,
    /// A fault of the program's own.
    Internal,
}

/// A refusal: nothing was stored.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, thiserror::Error)]
#[error("{message}")]
pub struct Refusal {
    /// For programs.
    pub code: Code,
    /// What and where, for people.
    pub message: String,
    /// What to do next.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hint: Option<String>,
}

impl Refusal {
    /// A refusal without a hint.
    #[must_use]
    pub fn new(code: Code, message: impl Into<String>) -> Self {
        Self {
            code,
            message: message.into(),
            hint: None,
        }
    }

    /// The same with what to do next.
    #[must_use]
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = Some(hint.into());
        self
    }
}
