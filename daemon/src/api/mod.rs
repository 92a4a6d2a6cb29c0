//! The API: HTTP/1.1 with JSON on the socket, as `protocol::api` describes it.
//!
//! No path that a client names is ever opened: sessions are named by number.

mod connection;
mod events;
mod patient;
mod reply;
mod serve;
mod stored;

pub(crate) use serve::{Phase, Server};

use crate::engine::Handle;
use axum::Router;
use axum::extract::{Request, State};
use axum::http::{Method, StatusCode, Uri};
use axum::response::Response;
use axum::routing::{get, post};
use protocol::api::{Code, Done, Refusal, path};
use protocol::step::StepOptions;
use reply::{body, refused, reply};
use std::path::PathBuf;
use std::sync::Arc;
use tokio::sync::{Semaphore, watch};

/// Live views at a time; each costs the memory of what it is behind.
const MOST_WATCHERS: usize = 32;
/// Sessions that are read out of the store at a time; each may be large.
const MOST_READERS: usize = 2;

/// What every request may need.
#[derive(Clone)]
pub(crate) struct Api {
    engine: Handle,
    /// The data directory.
    directory: PathBuf,
    phase: watch::Receiver<Phase>,
    /// Asks the daemon to stop.
    stop: watch::Sender<bool>,
    watchers: Arc<Semaphore>,
    readers: Arc<Semaphore>,
}

impl Api {
    pub fn new(
        engine: Handle,
        directory: PathBuf,
        phase: watch::Receiver<Phase>,
        stop: watch::Sender<bool>,
    ) -> Self {
        Self {
            engine,
            directory,
            phase,
            stop,
            watchers: Arc::new(Semaphore::new(MOST_WATCHERS)),
            readers: Arc::new(Semaphore::new(MOST_READERS)),
        }
    }

    /// Live views that are open.
    fn watching(&self) -> usize {
        MOST_WATCHERS - self.watchers.available_permits()
    }

    fn router(self) -> Router {
        Router::new()
            .route(path::STATUS, get(status))
            .route(path::EVENTS, get(events::events))
            .route(path::SESSIONS, get(stored::sessions).post(open_session))
            .route(path::SESSION_CLOSE, post(close_session))
            .route(path::RECORD, get(stored::record))
            .route(path::STEPS, post(open_step))
            .route(path::STEP_CLOSE, post(close_step))
            .route(path::MARKS, post(mark))
            .route(path::UNDO, post(undo))
            .route(path::LEAVE_PRESS, post(leave_press))
            .route(path::CLAMP, post(clamp))
            .route(path::GROUND, post(ground))
            .route(path::NOTES, post(note))
            .route(path::STOP, post(stop))
            .fallback(no_path)
            .method_not_allowed_fallback(no_method)
            .with_state(self)
    }
}

async fn status(State(api): State<Api>) -> Response {
    reply(api.engine.status().await)
}

async fn open_session(State(api): State<Api>, request: Request) -> Response {
    reply(match body(request).await {
        Ok(request) => api.engine.open_session(request).await,
        Err(refusal) => Err(refusal),
    })
}

async fn close_session(State(api): State<Api>) -> Response {
    reply(api.engine.close_session().await)
}

async fn open_step(State(api): State<Api>, request: Request) -> Response {
    let stated = body::<serde_json::Map<_, _>>(request).await;
    // What is wrong with an option is told by the options themselves.
    reply(match stated.and_then(StepOptions::try_from) {
        Ok(options) => api.engine.open_step(options).await,
        Err(refusal) => Err(refusal),
    })
}

async fn close_step(State(api): State<Api>) -> Response {
    reply(api.engine.close_step().await)
}

async fn mark(State(api): State<Api>, request: Request) -> Response {
    let request = match body(request).await {
        Ok(request) => request,
        Err(refusal) => return reply::<Done>(Err(refusal)),
    };
    let mut phase = api.phase.clone();
    let marking = api.engine.mark(request);
    tokio::pin!(marking);
    tokio::select! {
        marked = &mut marking => return reply(marked),
        // A server that is gone drains as well.
        _ = phase.wait_for(|phase| *phase >= Phase::Draining) => {}
    }
    // What is being stored is answered as it turns out; what waits for rest would only hold the daemon's end up.
    api.engine.stop_waiting().await;
    reply(marking.await)
}

async fn undo(State(api): State<Api>) -> Response {
    reply(api.engine.undo().await)
}

async fn leave_press(State(api): State<Api>) -> Response {
    reply(api.engine.leave_press().await)
}

async fn clamp(State(api): State<Api>, request: Request) -> Response {
    reply(match body(request).await {
        Ok(request) => api.engine.clamp(request).await,
        Err(refusal) => Err(refusal),
    })
}

async fn ground(State(api): State<Api>, request: Request) -> Response {
    reply(match body(request).await {
        Ok(request) => api.engine.ground(request).await,
        Err(refusal) => Err(refusal),
    })
}

async fn note(State(api): State<Api>, request: Request) -> Response {
    reply(match body(request).await {
        Ok(request) => api.engine.note(request).await,
        Err(refusal) => Err(refusal),
    })
}

/// The reply goes out first: requests that have begun are answered before anything else stops.
async fn stop(State(api): State<Api>) -> Response {
    api.stop.send_replace(true);
    reply(Ok(Done {}))
}

async fn no_path(uri: Uri) -> Response {
    let refusal = Refusal::new(Code::NotFound, format!("there is no `{}` here", uri.path()))
        .hint("the client may be of another version than the daemon");
    refused(StatusCode::NOT_FOUND, refusal)
}

async fn no_method(method: Method, uri: Uri) -> Response {
    let refusal = Refusal::new(
        Code::BadRequest,
        format!("`{}` does not take {method}", uri.path()),
    )
    .hint("the client may be of another version than the daemon");
    refused(StatusCode::METHOD_NOT_ALLOWED, refusal)
}
