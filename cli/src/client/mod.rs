//! The daemon's client: one method per request of the API, each with its own connection.
//!
//! A connection is a local socket and costs some ten microseconds, so none is kept: a daemon that was
//! restarted between two requests is simply found again.

mod events;
mod exchange;
mod fault;
mod sse;
mod start;
#[cfg(test)]
mod tests;

pub use events::Events;
pub use fault::ClientError;

use crate::{Failure, Paths};
use hyper::Method;
use protocol::api::{
    AcceptRequest, Accepted, ClampRequest, Done, Ground, GroundRequest, MarkRequest, Marked,
    NoteRequest, OpenSession, PageRequest, PageState, SessionClosed, SessionFilter, SessionList,
    SessionOpened, Status, StepClosed, StepOpened, Undone, path,
};
use protocol::record::Record;
use protocol::step::StepOptions;
use std::io::{self, Write};

/// Runs something that waits for the daemon, on a runtime of one thread that lives as long as it does.
///
/// # Errors
/// Its own, and when no runtime can be had.
pub fn block_on<T>(work: impl Future<Output = Result<T, Failure>>) -> Result<T, Failure> {
    tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .map_err(|e| {
            Failure::new(
                "internal",
                format!("no runtime for the daemon's client: {e}"),
            )
        })?
        .block_on(work)
}

/// The daemon's client.
#[derive(Debug, Clone)]
pub struct Client {
    paths: Paths,
}

impl Client {
    /// A client of the daemon at these places, whether it runs or not.
    #[must_use]
    pub fn new(paths: &Paths) -> Self {
        Self {
            paths: paths.clone(),
        }
    }

    /// Starts the daemon when none is running, and returns when it answers.
    ///
    /// # Errors
    /// When it does not start, with what it said.
    pub async fn ensure_daemon(&self) -> Result<(), Failure> {
        start::ensure(self, &self.paths).await
    }

    /// The state of everything, from a daemon that works with the configuration that was named, or with any when none was.
    ///
    /// # Errors
    /// [`ClientError`], and another configuration.
    pub async fn regarded_status(&self) -> Result<Option<Status>, Failure> {
        match self.status().await {
            Ok(status) => start::regard(&self.paths, &status).map(|()| Some(status)),
            Err(ClientError::NotRunning { .. }) => Ok(None),
            Err(error) => Err(error.into()),
        }
    }

    /// The state of everything.
    ///
    /// # Errors
    /// [`ClientError`].
    pub async fn status(&self) -> Result<Status, ClientError> {
        self.get(path::STATUS).await
    }

    /// What is live: a snapshot first, then what changes.
    ///
    /// # Errors
    /// [`ClientError`].
    pub async fn events(&self) -> Result<Events, ClientError> {
        let body = exchange::open_stream(&self.paths.socket, path::EVENTS).await?;
        Ok(Events::new(body))
    }

    /// Opens a session.
    ///
    /// # Errors
    /// [`ClientError`].
    pub async fn open_session(&self, request: &OpenSession) -> Result<SessionOpened, ClientError> {
        self.post(path::SESSIONS, request).await
    }

    /// The sessions that are wanted, newest first.
    ///
    /// # Errors
    /// [`ClientError`].
    pub async fn sessions(&self, wanted: &SessionFilter) -> Result<SessionList, ClientError> {
        let query = serde_urlencoded::to_string(wanted)
            .map_err(|e| ClientError::Broken(format!("the request is no query: {e}")))?;
        if query.is_empty() {
            return self.get(path::SESSIONS).await;
        }
        self.get(&format!("{}?{query}", path::SESSIONS)).await
    }

    /// Closes the current session.
    ///
    /// # Errors
    /// [`ClientError`].
    pub async fn close_session(&self) -> Result<SessionClosed, ClientError> {
        self.ask(Method::POST, path::SESSION_CLOSE, None).await
    }

    /// The record of a session: its number, `current` or `latest`.
    ///
    /// # Errors
    /// [`ClientError`].
    pub async fn record(&self, session: &str) -> Result<Record, ClientError> {
        self.get(&path::RECORD.replace("{id}", session)).await
    }

    /// The record of a session as the daemon writes it, into a file or whatever takes it: it is never held as a whole. Returns its
    /// length, bytes.
    ///
    /// # Errors
    /// [`ClientError`]; where `out` does not take it, that error is within.
    pub async fn record_into(
        &self,
        session: &str,
        out: &mut impl Write,
    ) -> Result<io::Result<u64>, ClientError> {
        let path = path::RECORD.replace("{id}", session);
        exchange::into(&self.paths.socket, &path, out).await
    }

    /// Opens a step.
    ///
    /// # Errors
    /// [`ClientError`].
    pub async fn open_step(&self, options: &StepOptions) -> Result<StepOpened, ClientError> {
        self.post(path::STEPS, options).await
    }

    /// Closes the open step.
    ///
    /// # Errors
    /// [`ClientError`].
    pub async fn close_step(&self) -> Result<StepClosed, ClientError> {
        self.ask(Method::POST, path::STEP_CLOSE, None).await
    }

    /// Marks; when this returns, the mark is on the disk.
    ///
    /// # Errors
    /// [`ClientError`].
    pub async fn mark(&self, request: &MarkRequest) -> Result<Marked, ClientError> {
        self.post(path::MARKS, request).await
    }

    /// Takes the last mark back.
    ///
    /// # Errors
    /// [`ClientError`].
    pub async fn undo(&self) -> Result<Undone, ClientError> {
        self.ask(Method::POST, path::UNDO, None).await
    }

    /// Says that the press that is asked about is no mark.
    ///
    /// # Errors
    /// [`ClientError`].
    pub async fn leave_press(&self) -> Result<Done, ClientError> {
        self.ask(Method::POST, path::LEAVE_PRESS, None).await
    }

    /// Says that what a cable has now is what shall measure.
    ///
    /// # Errors
    /// [`ClientError`].
    pub async fn accept(&self, request: &AcceptRequest) -> Result<Accepted, ClientError> {
        self.post(path::CABLE_ACCEPT, request).await
    }

    /// Says that the clamp was tightened or loosened.
    ///
    /// # Errors
    /// [`ClientError`].
    pub async fn clamp(&self, tight: bool) -> Result<Done, ClientError> {
        self.post(path::CLAMP, &ClampRequest { tight }).await
    }

    /// Says that the part was ground, or takes back what was said last.
    ///
    /// # Errors
    /// [`ClientError`].
    pub async fn ground(&self, not: bool) -> Result<Ground, ClientError> {
        self.post(path::GROUND, &GroundRequest { not }).await
    }

    /// Writes a note.
    ///
    /// # Errors
    /// [`ClientError`].
    pub async fn note(&self, text: &str) -> Result<Done, ClientError> {
        let request = NoteRequest {
            text: text.to_owned(),
        };
        self.post(path::NOTES, &request).await
    }

    /// The live page as it is.
    ///
    /// # Errors
    /// [`ClientError`].
    pub async fn page(&self) -> Result<PageState, ClientError> {
        self.get(path::PAGE).await
    }

    /// Opens the live page.
    ///
    /// # Errors
    /// [`ClientError`].
    pub async fn open_page(&self, request: &PageRequest) -> Result<PageState, ClientError> {
        self.post(path::PAGE, request).await
    }

    /// Closes the live page.
    ///
    /// # Errors
    /// [`ClientError`].
    pub async fn close_page(&self) -> Result<PageState, ClientError> {
        self.ask(Method::POST, path::PAGE_CLOSE, None).await
    }

    /// Stops the daemon, of whatever version it is.
    ///
    /// # Errors
    /// [`ClientError`].
    pub async fn stop(&self) -> Result<(), ClientError> {
        exchange::stop(&self.paths.socket, path::STOP).await
    }

    async fn get<T: serde::de::DeserializeOwned>(&self, path: &str) -> Result<T, ClientError> {
        self.ask(Method::GET, path, None).await
    }

    async fn post<T: serde::de::DeserializeOwned>(
        &self,
        path: &str,
        request: &(impl serde::Serialize + Sync),
    ) -> Result<T, ClientError> {
        let body = serde_json::to_vec(request)
            .map_err(|e| ClientError::Broken(format!("the request is no JSON: {e}")))?;
        self.ask(Method::POST, path, Some(body)).await
    }

    async fn ask<T: serde::de::DeserializeOwned>(
        &self,
        method: Method,
        path: &str,
        body: Option<Vec<u8>>,
    ) -> Result<T, ClientError> {
        exchange::ask(&self.paths.socket, method, path, body).await
    }
}
