//! The paths of the API, and the requests that the engine answers.

use super::phase::Phase;
use super::reply::{body, refused, reply};
use super::state::Api;
use super::{events, stored};
use axum::Router;
use axum::extract::{Request, State};
use axum::http::{Method, StatusCode, Uri};
use axum::response::Response;
use axum::routing::{get, post};
use protocol::api::{Code, Done, Refusal, path};
use protocol::step::StepOptions;
use std::sync::Arc;

/// The paths, each with what answers it.
pub(super) fn router(api: Api) -> Router {
    shared()
        .route(path::EVENTS, get(events::events))
        .route(path::CABLE_ACCEPT, post(accept))
        .route(path::PAGE, get(page_state).post(open_page))
        .route(path::PAGE_CLOSE, post(close_page))
        .route(path::STOP, post(stop))
        .fallback(no_path)
        .method_not_allowed_fallback(no_method)
        .with_state(api)
}

/// What the live page may ask as well.
pub(crate) fn shared() -> Router<Api> {
    Router::new()
        .route(path::STATUS, get(status))
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

async fn accept(State(api): State<Api>, request: Request) -> Response {
    reply(match body(request).await {
        Ok(request) => api.engine.accept(request).await,
        Err(refusal) => Err(refusal),
    })
}

async fn page_state(State(api): State<Api>) -> Response {
    reply(Ok(api.page.state().await))
}

async fn open_page(State(api): State<Api>, request: Request) -> Response {
    reply(match body(request).await {
        Ok(request) => Arc::clone(&api.page).open(api, request).await,
        Err(refusal) => Err(refusal),
    })
}

async fn close_page(State(api): State<Api>) -> Response {
    api.page.close().await;
    reply(Ok(api.page.state().await))
}

/// The reply goes out first: requests that have begun are answered before anything else stops.
async fn stop(State(api): State<Api>) -> Response {
    api.stop.send_replace(true);
    reply(Ok(Done {}))
}

pub(crate) async fn no_path(uri: Uri) -> Response {
    let refusal = Refusal::new(Code::NotFound, format!("there is no `{}` here", uri.path()))
        .hint("the client may be of another version than the daemon");
    refused(StatusCode::NOT_FOUND, refusal)
}

pub(crate) async fn no_method(method: Method, uri: Uri) -> Response {
    let refusal = Refusal::new(
        Code::BadRequest,
        format!("`{}` does not take {method}", uri.path()),
    )
    .hint("the client may be of another version than the daemon");
    refused(StatusCode::METHOD_NOT_ALLOWED, refusal)
}
