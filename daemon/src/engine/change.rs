//! What clients may ask of the engine, and a change on its way: worked out, not yet on the disk, in force only
//! then.

use super::session::Session;
use crate::store::{Learned, Row, Write};
use axum::body::Bytes;
use metrology::dial::IndicatorCheck;
use protocol::api::{
    ClampRequest, Done, Ground, GroundRequest, MarkRequest, Marked, NoteRequest, OpenSession,
    Refusal, SessionClosed, SessionOpened, Status, StepClosed, StepOpened, Undone,
};
use protocol::step::StepOptions;
use tokio::sync::{broadcast, oneshot};

/// Where the answer goes.
pub(crate) type Answer<T> = oneshot::Sender<Result<T, Refusal>>;

/// What a client asks to be changed; taken one after the other, each after the commit of the one before.
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
    /// Nothing changes; what waits to be stored goes now.
    Flush(Answer<Done>),
}

/// What a client asks to be told; answered at once.
pub(crate) enum Query {
    Status(oneshot::Sender<Box<Status>>),
    Subscribe(oneshot::Sender<Subscription>),
    /// Nothing is to wait any longer: the daemon stops.
    StopWaiting,
}

/// A snapshot as an event, and all events after it.
pub(crate) struct Subscription {
    pub snapshot: Bytes,
    pub events: broadcast::Receiver<Bytes>,
}

/// What a change would make of the current session, and what has to be stored for it.
#[derive(Debug, Default)]
pub(crate) struct Draft {
    pub write: Write,
    /// The current session afterwards; none when it was closed.
    pub after: Option<Session>,
    /// What the open step has taught about its fixture, when that has changed.
    pub learned: Option<LearnedChange>,
    /// The check of an indicator, by its cable's name.
    pub checked: Option<(String, IndicatorCheck)>,
    /// Whether it is worth nothing without the readings before it: they go along, or it is refused with them.
    pub with_readings: bool,
}

/// What a step teaches about a fixture, in place of what it taught before.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct LearnedChange {
    pub fixture: String,
    pub step: i64,
    pub what: Option<Learned>,
}

impl LearnedChange {
    pub fn row(&self) -> Row {
        Row::Learned {
            fixture: self.fixture.clone(),
            step: self.step,
            what: self.what.clone(),
        }
    }
}

/// A change that is being stored.
pub(crate) struct Pending {
    pub write: Write,
    /// How much of a transaction is this change's own, at its end.
    own: (usize, usize),
    pub after: Option<Session>,
    pub learned: Option<LearnedChange>,
    pub checked: Option<(String, IndicatorCheck)>,
    pub with_readings: bool,
    /// What is not done when the store refuses, for the user.
    pub not_done: &'static str,
    /// Tells whoever asked.
    pub answer: Box<dyn FnOnce(Result<(), Refusal>) + Send>,
}

impl Pending {
    pub fn new(
        draft: Draft,
        not_done: &'static str,
        answer: Box<dyn FnOnce(Result<(), Refusal>) + Send>,
    ) -> Self {
        Self {
            own: (draft.write.readings.len(), draft.write.rows.len()),
            write: draft.write,
            after: draft.after,
            learned: draft.learned,
            checked: draft.checked,
            with_readings: draft.with_readings,
            not_done,
            answer,
        }
    }

    /// What went along with this change in a transaction: it has to be tried again when the change is refused.
    pub fn without_its_own(&self, mut write: Write) -> Write {
        let (readings, rows) = self.own;
        write
            .readings
            .truncate(write.readings.len().saturating_sub(readings));
        write.rows.truncate(write.rows.len().saturating_sub(rows));
        write
    }
}
