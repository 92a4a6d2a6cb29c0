//! What clients may ask of the engine.

use super::configured::Configured;
use axum::body::Bytes;
use protocol::api::{
    AcceptRequest, Accepted, ClampRequest, Done, Ground, GroundRequest, MarkRequest, Marked,
    NoteRequest, OpenSession, Refusal, SessionClosed, SessionOpened, Status, StepClosed,
    StepOpened, Undone,
};
use protocol::step::StepOptions;
use tokio::sync::{broadcast, oneshot};

/// Where the answer goes.
pub(crate) type Answer<T> = oneshot::Sender<Result<T, Refusal>>;

/// A request that changes something. The engine takes one after the other, each after the commit of the one before.
pub(crate) enum Change {
    OpenSession(Box<OpenSession>, Answer<Box<SessionOpened>>),
    CloseSession(Answer<SessionClosed>),
    OpenStep(Box<StepOptions>, Answer<StepOpened>),
    CloseStep(Answer<Box<StepClosed>>),
    /// With the steady clock when the request arrived: a mark is of that moment, however long it had to wait.
    Mark(MarkRequest, i64, Answer<Marked>),
    Undo(Answer<Undone>),
    /// The press that is asked about is no mark.
    LeavePress(Answer<Done>),
    Clamp(ClampRequest, Answer<Done>),
    Ground(GroundRequest, Answer<Ground>),
    Note(NoteRequest, Answer<Done>),
    /// The instrument that a cable has now is the one to measure with.
    Accept(AcceptRequest, Answer<Accepted>),
    /// Nothing changes. The engine stores at once whatever waits to be stored.
    Flush(Answer<Done>),
}

/// A request that changes nothing. The engine answers it at once.
pub(crate) enum Query {
    Status(oneshot::Sender<Box<Status>>),
    Subscribe(oneshot::Sender<Subscription>),
    Configured(oneshot::Sender<Box<Configured>>),
    /// The daemon stops: the engine rejects the mark that waits.
    StopWaiting,
}

/// A snapshot as an event, and all events after it.
pub(crate) struct Subscription {
    pub snapshot: Bytes,
    pub events: broadcast::Receiver<Bytes>,
}
