//! Requests into types, and results into replies.

use crate::program::PROGRAM;
use axum::Json;
use axum::body::{Body, Bytes};
use axum::extract::Request;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use protocol::api::{Code, MAX_BODY, Refusal, Reply, VERSION};
use serde::Serialize;
use serde::de::DeserializeOwned;
use std::time::Duration;

/// The header of a change that is made once, however often it is sent.
pub(crate) const ONCE_KEY: &str = "idempotency-key";

/// How long a client of the network may take to send what it has announced.
pub(crate) const BODY_PATIENCE: Duration = Duration::from_secs(10);

/// Reads a request's body; an empty one is an object without fields.
pub(crate) async fn body<T: DeserializeOwned>(request: Request) -> Result<T, Refusal> {
    let bytes = bytes(request.into_body(), BODY_PATIENCE).await?;
    let text: &[u8] = if bytes.is_empty() { b"{}" } else { &bytes };
    serde_json::from_slice(text).map_err(|error| {
        Refusal::new(
            Code::BadRequest,
            format!("the request cannot be read: {error}"),
        )
        .hint("the client may be of another version than the daemon: stop it with `conewright daemon stop`, and repeat the command")
    })
}

/// Reads a body, which may be so long and take so long.
pub(crate) async fn bytes(body: Body, patience: Duration) -> Result<Bytes, Refusal> {
    let read = axum::body::to_bytes(body, MAX_BODY);
    tokio::time::timeout(patience, read)
        .await
        .map_err(|_| {
            Refusal::new(
                Code::BadRequest,
                format!(
                    "the request was not complete after {} s",
                    patience.as_secs()
                ),
            )
            .hint("send the whole request at once")
        })?
        .map_err(|error| {
            // The one error that says so is inside the one that is given.
            if is_too_large(&error) {
                Refusal::new(
                    Code::TooLarge,
                    format!("the request is larger than {} KiB", MAX_BODY / 1024),
                )
                .hint("shorten it")
            } else {
                Refusal::new(
                    Code::BadRequest,
                    format!("the request was cut short: {error}"),
                )
                .hint("send the whole request at once")
            }
        })
}

fn is_too_large(error: &axum::Error) -> bool {
    use std::error::Error;
    let mut source = error.source();
    while let Some(inner) = source {
        if inner.is::<http_body_util::LengthLimitError>() {
            return true;
        }
        source = inner.source();
    }
    false
}

/// The reply to a request.
pub(crate) fn reply<T: Serialize>(result: Result<T, Refusal>) -> Response {
    match result {
        Ok(body) => enveloped(StatusCode::OK, body),
        Err(refusal) => refused(status(refusal.code), refusal),
    }
}

/// A refusal with a status of its own.
pub(crate) fn refused(status: StatusCode, refusal: Refusal) -> Response {
    enveloped(status, refusal)
}

fn enveloped<T: Serialize>(status: StatusCode, body: T) -> Response {
    let reply = Reply {
        api: VERSION,
        program: PROGRAM.to_owned(),
        body,
    };
    (status, Json(reply)).into_response()
}

/// A body that is sent as it is.
pub(crate) fn whole(kind: &'static str, body: Body) -> Response {
    (
        [("content-type", kind), ("cache-control", "no-store")],
        body,
    )
        .into_response()
}

/// The nearest word of HTTP for a refusal.
fn status(code: Code) -> StatusCode {
    match code {
        Code::BadValue | Code::UnknownName | Code::NoOutcome => StatusCode::UNPROCESSABLE_ENTITY,
        Code::NoSession
        | Code::SessionOpen
        | Code::NoStep
        | Code::StepOpen
        | Code::NoMark
        | Code::NoPress
        | Code::PressAsked
        | Code::NotSettled
        | Code::Cancelled
        | Code::CableNotLive
        | Code::InstrumentAsked
        | Code::NoCable => StatusCode::CONFLICT,
        Code::StoreFull => StatusCode::INSUFFICIENT_STORAGE,
        Code::StoreFailed => StatusCode::SERVICE_UNAVAILABLE,
        Code::NotFound => StatusCode::NOT_FOUND,
        Code::NotAllowed => StatusCode::FORBIDDEN,
        Code::TooLarge => StatusCode::PAYLOAD_TOO_LARGE,
        Code::BadRequest => StatusCode::BAD_REQUEST,
        Code::Internal => StatusCode::INTERNAL_SERVER_ERROR,
    }
}
