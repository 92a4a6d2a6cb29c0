//! A request is answered when it is whole, and its client has earned its place only while it is.
//!
//! A head costs nothing. So a client that has sent one, and nothing of the body that it announced, keeps nobody out: until its
//! request is whole, and between two of them, its place goes to whoever asks next.

use super::places::Earned;
use super::reply::{ONCE_KEY, bytes, reply};
use axum::Router;
use axum::body::{Body, Bytes};
use hyper::body::{Frame, Incoming, SizeHint};
use hyper::service::Service;
use hyper::{Request, Response};
use hyper_util::service::TowerToHyperService;
use protocol::api::{Code, Done, Refusal};
use std::convert::Infallible;
use std::pin::Pin;
use std::task::{Context, Poll};
use std::time::Duration;

/// How long a client of this computer may take to send the body that it has announced. It takes microseconds.
const BODY_PATIENCE: Duration = Duration::from_secs(2);

/// What answers the requests of one connection.
#[derive(Clone)]
pub(super) struct Answering {
    routed: TowerToHyperService<Router>,
    earned: Earned,
}

impl Answering {
    pub fn new(router: Router, earned: Earned) -> Self {
        Self {
            routed: TowerToHyperService::new(router),
            earned,
        }
    }

    /// Takes the whole request, and answers it. A client that goes takes along what it waits for, but not a change with a key:
    /// once that is taken up, it is done whatever becomes of the connection, and it is done once however often it is sent.
    pub async fn answer(self, request: Request<Incoming>) -> Result<Response<Body>, Infallible> {
        if !request.headers().contains_key(ONCE_KEY) {
            return self.answer_whole(request).await;
        }
        match tokio::spawn(self.answer_whole(request)).await {
            Ok(answered) => answered,
            Err(error) => Ok(reply::<Done>(Err(Refusal::new(
                Code::Internal,
                format!("the request has failed: {error}"),
            )
            .hint("look whether it was done before you send it again")))),
        }
    }

    async fn answer_whole(self, request: Request<Incoming>) -> Result<Response<Body>, Infallible> {
        let (head, body) = request.into_parts();
        let body = match bytes(Body::new(body), BODY_PATIENCE).await {
            Ok(body) => body,
            Err(refusal) => return Ok(reply::<Done>(Err(refusal))),
        };
        let held = Held::new(self.earned);
        let request = Request::from_parts(head, Body::from(body));
        let (head, body) = self.routed.call(request).await?.into_parts();
        let body = UntilSent { body, _held: held };
        Ok(Response::from_parts(head, Body::new(body)))
    }
}

/// Its client has earned its place while this is there.
struct Held(Earned);

impl Held {
    fn new(earned: Earned) -> Self {
        earned.set(true);
        Self(earned)
    }
}

impl Drop for Held {
    fn drop(&mut self) {
        self.0.set(false);
    }
}

/// An answer's body, which is dropped when it was sent or given up.
struct UntilSent {
    body: Body,
    _held: Held,
}

impl hyper::body::Body for UntilSent {
    type Data = Bytes;
    type Error = axum::Error;

    fn poll_frame(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
    ) -> Poll<Option<Result<Frame<Bytes>, axum::Error>>> {
        Pin::new(&mut self.body).poll_frame(context)
    }

    fn is_end_stream(&self) -> bool {
        self.body.is_end_stream()
    }

    fn size_hint(&self) -> SizeHint {
        self.body.size_hint()
    }
}
