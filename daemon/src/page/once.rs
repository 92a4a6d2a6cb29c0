//! A change that is sent twice is made once.
//!
//! A browser whose network fails does not know whether its request arrived, and sends it again with the same key. The second
//! one waits for the first, and gets its answer. The work goes on when its client is gone.

use crate::api::reply::{BODY_PATIENCE, ONCE_KEY, bytes};
use axum::body::{Body, Bytes};
use axum::extract::Request;
use axum::http::HeaderValue;
use axum::http::StatusCode;
use axum::http::header::CONTENT_TYPE;
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use protocol::api::{Code, Refusal};
use std::collections::VecDeque;
use std::sync::{Mutex, PoisonError};
use tokio::sync::watch;

/// The longest key.
const LONGEST_KEY: usize = 64;
/// Changes whose answers are kept.
const KEPT: usize = 256;

/// The answers of the last changes.
#[derive(Default)]
pub(super) struct Once {
    sent: Mutex<VecDeque<Sent>>,
}

struct Sent {
    key: String,
    path: String,
    body: Bytes,
    answer: watch::Receiver<Option<Answer>>,
}

/// The answer to a change.
#[derive(Clone)]
pub(super) struct Answer {
    status: StatusCode,
    body: Bytes,
}

impl IntoResponse for Answer {
    fn into_response(self) -> Response {
        let mut response = Response::new(Body::from(self.body));
        *response.status_mut() = self.status;
        let json = HeaderValue::from_static("application/json");
        response.headers_mut().insert(CONTENT_TYPE, json);
        response
    }
}

/// The answer to a change, which is made if nobody has sent it before.
///
/// # Errors
/// It has no key, or a key that was another's.
pub(super) async fn answer(once: &Once, request: Request, next: Next) -> Result<Answer, Refusal> {
    let key = key(&request)?;
    let (parts, body) = request.into_parts();
    let path = parts.uri.path().to_owned();
    let body = bytes(body, BODY_PATIENCE).await?;
    let (mut answered, first) = once.answer_of(key, path, &body)?;
    if let Some(answer) = first {
        tokio::spawn(async move {
            let response = next.run(Request::from_parts(parts, Body::from(body))).await;
            let status = response.status();
            // An answer to a change has an end, and is short.
            let body = axum::body::to_bytes(response.into_body(), usize::MAX).await;
            answer.send_replace(body.ok().map(|body| Answer { status, body }));
        });
    }
    let failed = || {
        Refusal::new(Code::Internal, "the change has failed")
            .hint("look whether it was made before you send it again")
    };
    let answer = answered.wait_for(Option::is_some).await;
    answer
        .ok()
        .and_then(|answer| answer.clone())
        .ok_or_else(failed)
}

/// Where an answer goes to.
type ToAnswer = watch::Sender<Option<Answer>>;

impl Once {
    /// The answer of the change with this key, and where it goes to if nobody works on it yet.
    fn answer_of(
        &self,
        key: String,
        path: String,
        body: &Bytes,
    ) -> Result<(watch::Receiver<Option<Answer>>, Option<ToAnswer>), Refusal> {
        let mut sent = self.sent.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(before) = sent.iter().find(|before| before.key == key) {
            if before.path != path || before.body != body {
                return Err(Refusal::new(
                    Code::BadRequest,
                    format!("the key {key} was used for another request already"),
                )
                .hint("load the page again"));
            }
            return Ok((before.answer.clone(), None));
        }
        let (to, answer) = watch::channel(None);
        if sent.len() == KEPT {
            sent.pop_front();
        }
        sent.push_back(Sent {
            key,
            path,
            body: body.clone(),
            answer: answer.clone(),
        });
        Ok((answer, Some(to)))
    }
}

fn key(request: &Request) -> Result<String, Refusal> {
    let stated = request
        .headers()
        .get(ONCE_KEY)
        .and_then(|key| key.to_str().ok());
    let key = stated.filter(|key| (8..=LONGEST_KEY).contains(&key.len()));
    key.map(str::to_owned).ok_or_else(|| {
        Refusal::new(
            Code::BadRequest,
            format!(
                "a change needs a key of 8 to {LONGEST_KEY} characters in the header {ONCE_KEY}"
            ),
        )
        .hint("load the page again")
    })
}
