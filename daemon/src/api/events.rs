//! What is live, as Server-Sent Events: a snapshot, then everything after it.

use super::phase::Phase;
use super::reply::{reply, whole};
use super::state::{Api, MOST_WATCHERS};
use crate::engine::Subscription;
use axum::body::{Body, Bytes};
use axum::extract::State;
use axum::response::Response;
use protocol::api::{Code, Refusal};
use std::convert::Infallible;
use std::sync::Arc;
use tokio::sync::OwnedSemaphorePermit;
use tokio::sync::broadcast::error::RecvError;

/// One client that watches.
struct Watcher {
    api: Api,
    subscription: Subscription,
    /// Whether the snapshot has still to be sent.
    behind: bool,
    _place: OwnedSemaphorePermit,
}

pub(super) async fn events(State(api): State<Api>) -> Response {
    let Ok(place) = Arc::clone(&api.watchers).try_acquire_owned() else {
        let refusal = Refusal::new(
            Code::BadRequest,
            format!("{MOST_WATCHERS} live views are open already"),
        )
        .hint("close one of them");
        return reply::<()>(Err(refusal));
    };
    let subscription = match api.engine.subscribe().await {
        Ok(subscription) => subscription,
        Err(refusal) => return reply::<()>(Err(refusal)),
    };
    let watcher = Watcher {
        api,
        subscription,
        behind: true,
        _place: place,
    };
    let stream = futures_util::stream::unfold(watcher, next);
    whole("text/event-stream", Body::from_stream(stream))
}

/// The next event for a client. It is asked for only when the client has room for it; what it missed meanwhile
/// is made good by a snapshot.
async fn next(mut watcher: Watcher) -> Option<(Result<Bytes, Infallible>, Watcher)> {
    let bytes = if watcher.behind {
        watcher.behind = false;
        std::mem::take(&mut watcher.subscription.snapshot)
    } else {
        let received = tokio::select! {
            received = watcher.subscription.events.recv() => received,
            _ = watcher.api.phase.wait_for(|phase| *phase == Phase::Closing) => return None,
        };
        match received {
            Ok(bytes) => bytes,
            Err(RecvError::Lagged(missed)) => {
                tracing::debug!(missed, "a live view was too slow and gets a snapshot");
                watcher.subscription = watcher.api.engine.subscribe().await.ok()?;
                std::mem::take(&mut watcher.subscription.snapshot)
            }
            Err(RecvError::Closed) => return None,
        }
    };
    Some((Ok(bytes), watcher))
}
