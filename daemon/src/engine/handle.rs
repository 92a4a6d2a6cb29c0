//! How the API asks the engine.

use super::configured::Configured;
use super::request::{Answer, Change, Query, Subscription};
use crate::clock::Clock;
use protocol::api::{
    AcceptRequest, Accepted, ClampRequest, Code, Done, Ground, GroundRequest, MarkRequest, Marked,
    NoteRequest, OpenSession, Refusal, SessionClosed, SessionOpened, Status, StepClosed,
    StepOpened, Undone,
};
use protocol::step::StepOptions;
use std::sync::Arc;
use tokio::sync::{mpsc, oneshot};

/// A handle to the engine, which any number of clients may have.
#[derive(Clone)]
pub(crate) struct Handle {
    changes: mpsc::Sender<Change>,
    queries: mpsc::Sender<Query>,
    clock: Arc<dyn Clock>,
}

/// The answer while the engine stops.
fn stopping() -> Refusal {
    Refusal::new(Code::Internal, "the daemon is stopping")
        .hint("start it again: `conewright daemon run`")
}

impl Handle {
    pub(super) fn new(
        changes: mpsc::Sender<Change>,
        queries: mpsc::Sender<Query>,
        clock: Arc<dyn Clock>,
    ) -> Self {
        Self {
            changes,
            queries,
            clock,
        }
    }

    async fn change<T>(&self, change: impl FnOnce(Answer<T>) -> Change) -> Result<T, Refusal> {
        let (answer, answered) = oneshot::channel();
        let sent = self.changes.send(change(answer)).await;
        sent.map_err(|_| stopping())?;
        answered.await.unwrap_or_else(|_| Err(stopping()))
    }

    pub async fn open_session(&self, request: OpenSession) -> Result<Box<SessionOpened>, Refusal> {
        self.change(|answer| Change::OpenSession(Box::new(request), answer))
            .await
    }

    pub async fn close_session(&self) -> Result<SessionClosed, Refusal> {
        self.change(Change::CloseSession).await
    }

    pub async fn open_step(&self, request: StepOptions) -> Result<StepOpened, Refusal> {
        self.change(|answer| Change::OpenStep(Box::new(request), answer))
            .await
    }

    pub async fn close_step(&self) -> Result<Box<StepClosed>, Refusal> {
        self.change(Change::CloseStep).await
    }

    /// Marks the moment of this call, or the first at which the reading has settled.
    pub async fn mark(&self, request: MarkRequest) -> Result<Marked, Refusal> {
        let steady_ns = self.clock.steady_ns();
        self.change(|answer| Change::Mark(request, steady_ns, answer))
            .await
    }

    /// Rejects the waiting mark, because the daemon stops.
    pub async fn stop_waiting(&self) {
        // An engine that has ended has nothing waiting.
        let _ = self.queries.send(Query::StopWaiting).await;
    }

    pub async fn undo(&self) -> Result<Undone, Refusal> {
        self.change(Change::Undo).await
    }

    pub async fn leave_press(&self) -> Result<Done, Refusal> {
        self.change(Change::LeavePress).await
    }

    pub async fn clamp(&self, request: ClampRequest) -> Result<Done, Refusal> {
        self.change(|answer| Change::Clamp(request, answer)).await
    }

    pub async fn ground(&self, request: GroundRequest) -> Result<Ground, Refusal> {
        self.change(|answer| Change::Ground(request, answer)).await
    }

    pub async fn note(&self, request: NoteRequest) -> Result<Done, Refusal> {
        self.change(|answer| Change::Note(request, answer)).await
    }

    pub async fn accept(&self, request: AcceptRequest) -> Result<Accepted, Refusal> {
        self.change(|answer| Change::Accept(request, answer)).await
    }

    /// Returns when the store has accepted or rejected everything so far.
    pub async fn flush(&self) -> Result<Done, Refusal> {
        self.change(Change::Flush).await
    }

    pub async fn status(&self) -> Result<Box<Status>, Refusal> {
        let (answer, answered) = oneshot::channel();
        let sent = self.queries.send(Query::Status(answer)).await;
        sent.map_err(|_| stopping())?;
        answered.await.map_err(|_| stopping())
    }

    /// The configuration of now.
    pub async fn configured(&self) -> Result<Box<Configured>, Refusal> {
        let (answer, answered) = oneshot::channel();
        let sent = self.queries.send(Query::Configured(answer)).await;
        sent.map_err(|_| stopping())?;
        answered.await.map_err(|_| stopping())
    }

    /// The steady clock, s.
    pub fn now_s(&self) -> f64 {
        self.clock.steady_ns() as f64 / 1e9
    }

    pub async fn subscribe(&self) -> Result<Subscription, Refusal> {
        let (answer, answered) = oneshot::channel();
        let sent = self.queries.send(Query::Subscribe(answer)).await;
        sent.map_err(|_| stopping())?;
        answered.await.map_err(|_| stopping())
    }
}
