//! The messages of the API: HTTP/1.1 with JSON on a Unix socket, Server-Sent Events for what is live.
//!
//! Every reply names the version. Fields are added, never changed; unknown fields are ignored, but for an
//! option that a step does not have: it is refused. A value that is not known is absent.
//!
//! A reply with a status of 200 is a [`Reply`] of what was asked for; with any other it is a [`Reply`] of a
//! [`Refusal`]. Two bodies stand bare, because they name their version themselves or by the path: a record,
//! whose own `program` must not be shadowed, and the events, each one `data:` line that holds a [`Live`].
//! Requests without content (close, undo, stop) may have an empty body, and their reply's body is an object
//! that may be empty.

mod page;
mod refusal;
mod requests;
mod setup;
mod status;

pub use page::{PAGE_PORT, PageRequest, PageState, SetupPlan};
pub use refusal::{Code, Refusal};
pub use requests::{
    AcceptRequest, Accepted, ClampRequest, Done, Ground, GroundRequest, MarkRequest, Marked,
    NoteRequest, OpenSession, SessionClosed, SessionFilter, SessionLine, SessionList,
    SessionOpened, StepClosed, StepOpened, Undone,
};
pub use setup::{SetupOption, SetupOptions, StatedOption};
pub use status::{
    CableState, CableStatus, ConfigStatus, DoublePress, Live, LiveReading, PedalStatus,
    SessionLabel, SoFar, Status, StepLabel, WaitingMark,
};

pub use crate::evidence::MarkLine;

use serde::{Deserialize, Serialize};

/// The version in every path (`/v1/…`) and every reply.
pub const VERSION: u32 = 1;
/// A request's body is refused beyond this many bytes.
pub const MAX_BODY: usize = 64 * 1024;

/// A reply: the version of API and program, and the body. A [`Refusal`] comes in one too, with an HTTP status
/// of 400 or more.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Reply<T> {
    /// [`VERSION`].
    pub api: u32,
    /// The program's version.
    pub program: String,
    /// What was asked for.
    #[serde(flatten)]
    pub body: T,
}

/// The paths of the API.
pub mod path {
    /// GET: [`super::Status`].
    pub const STATUS: &str = "/v1/status";
    /// GET: Server-Sent Events, each one [`super::Live`]; the first is a snapshot.
    pub const EVENTS: &str = "/v1/events";
    /// POST [`super::OpenSession`], reply [`super::SessionOpened`]; GET with a
    /// [`super::SessionFilter`] as its query: [`super::SessionList`].
    pub const SESSIONS: &str = "/v1/sessions";
    /// POST, no body: closes the current session, reply [`super::SessionClosed`].
    pub const SESSION_CLOSE: &str = "/v1/sessions/current/close";
    /// GET: the [`crate::record::Record`] of a session; `{id}` is its number, `current` or `latest`. It comes
    /// as it is, without the envelope of [`super::Reply`]: it names its own version and program.
    pub const RECORD: &str = "/v1/sessions/{id}/record";
    /// POST [`crate::step::StepOptions`], reply [`super::StepOpened`].
    pub const STEPS: &str = "/v1/steps";
    /// POST, no body: closes the current step, reply [`super::StepClosed`].
    pub const STEP_CLOSE: &str = "/v1/steps/current/close";
    /// POST [`super::MarkRequest`], reply [`super::Marked`] after the commit.
    pub const MARKS: &str = "/v1/marks";
    /// POST, no body: takes the last mark back, reply [`super::Undone`].
    pub const UNDO: &str = "/v1/marks/undo";
    /// POST, no body: the press that [`super::Status::double_press`] asks about is no mark, reply [`super::Done`].
    pub const LEAVE_PRESS: &str = "/v1/presses/leave";
    /// POST [`super::ClampRequest`], reply [`super::Done`].
    pub const CLAMP: &str = "/v1/clamp";
    /// POST [`super::GroundRequest`], reply [`super::Ground`].
    pub const GROUND: &str = "/v1/ground";
    /// POST [`super::NoteRequest`], reply [`super::Done`].
    pub const NOTES: &str = "/v1/notes";
    /// POST [`super::AcceptRequest`], reply [`super::Accepted`]: the instrument that a cable has now is the one to measure with.
    pub const CABLE_ACCEPT: &str = "/v1/cables/accept";
    /// GET: [`super::PageState`]; POST [`super::PageRequest`]: opens the live page, reply [`super::PageState`].
    pub const PAGE: &str = "/v1/page";
    /// POST, no body: closes the live page, reply [`super::PageState`].
    pub const PAGE_CLOSE: &str = "/v1/page/close";
    /// POST, no body: stops the daemon, reply [`super::Done`] before it does.
    pub const STOP: &str = "/v1/stop";
}
