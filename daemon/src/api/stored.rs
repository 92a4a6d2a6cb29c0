//! What is read out of the store: on a thread of its own, by a connection that cannot write.

use super::reply::{reply, whole};
use super::state::{Api, MOST_READERS, MOST_TO_READ};
use crate::program::PROGRAM;
use crate::record;
use crate::store::{Reader, StoreError, Which};
use axum::body::{Body, Bytes};
use axum::extract::rejection::QueryRejection;
use axum::extract::{Path, Query, State};
use axum::response::Response;
use protocol::api::{Code, Refusal, SessionFilter, SessionList};
use std::convert::Infallible;
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::OwnedSemaphorePermit;

/// How long a request waits for others that read.
const PATIENCE: Duration = Duration::from_secs(30);
/// A large record goes out in pieces of this, so that a client that stops reading holds no second copy of it.
const PIECE: usize = 64 * 1024;

/// Characters of a name that is looked for.
const MOST_WANTED: usize = 200;

pub(super) async fn sessions(
    State(api): State<Api>,
    query: Result<Query<SessionFilter>, QueryRejection>,
) -> Response {
    let filter = match query {
        Ok(Query(filter)) => filter,
        Err(error) => {
            let refusal = Refusal::new(
                Code::BadRequest,
                format!("the filter of the list cannot be read: {error}"),
            )
            .hint("times are UTC in nanoseconds; a verdict is in, out or undecided");
            return reply::<()>(Err(refusal));
        }
    };
    let wanted = [&filter.part, &filter.taper, &filter.fixture];
    let longest = wanted
        .into_iter()
        .flatten()
        .map(|text| text.chars().count())
        .max();
    if let Some(length) = longest.filter(|length| *length > MOST_WANTED) {
        let refusal = Refusal::new(
            Code::BadValue,
            format!(
                "the name to look for has {length} characters; at most {MOST_WANTED} are allowed"
            ),
        )
        .hint("shorten it: a part of the name is enough");
        return reply::<()>(Err(refusal));
    }
    let list = read(&api, "the sessions were not listed", move |api| {
        let sessions = Reader::open(&api.directory)?.sessions(&filter)?;
        Ok(SessionList { sessions })
    });
    reply(list.await.map(|(list, _)| list))
}

pub(super) async fn record(State(api): State<Api>, Path(id): Path<String>) -> Response {
    // A store that refuses is read as it is.
    let _ = api.engine.flush().await;
    let text = read(&api, "the record was not made", move |api| {
        let which: Which = id.parse()?;
        record::text(&api.directory, which, PROGRAM)
    });
    match text.await {
        Ok((text, place)) => whole("application/json", in_pieces(text.into(), place)),
        Err(refusal) => reply::<()>(Err(refusal)),
    }
}

/// A body in pieces, which gives its place among the readers back when it was sent or given up.
pub(crate) fn in_pieces(bytes: Bytes, place: OwnedSemaphorePermit) -> Body {
    let stream = futures_util::stream::unfold((bytes, place), async |(mut bytes, place)| {
        if bytes.is_empty() {
            return None;
        }
        let piece = bytes.split_to(bytes.len().min(PIECE));
        Some((Ok::<_, Infallible>(piece), (bytes, place)))
    });
    Body::from_stream(stream)
}

pub(crate) async fn read<T: Send + 'static>(
    api: &Api,
    not_done: &str,
    work: impl FnOnce(&Api) -> Result<T, StoreError> + Send + 'static,
) -> Result<(T, OwnedSemaphorePermit), Refusal> {
    let Ok(_in_line) = api.to_read.try_acquire() else {
        return Err(Refusal::new(
            Code::Internal,
            format!("{not_done}: {MOST_TO_READ} other requests wait to read sessions"),
        )
        .hint("try again"));
    };
    let waited = tokio::time::timeout(PATIENCE, Arc::clone(&api.readers).acquire_owned());
    let Ok(Ok(place)) = waited.await else {
        return Err(Refusal::new(
            Code::Internal,
            format!("{not_done}: {MOST_READERS} other requests are still reading sessions"),
        )
        .hint("try again"));
    };
    let own = api.clone();
    let read = tokio::task::spawn_blocking(move || work(&own)).await;
    match read {
        Ok(Ok(read)) => Ok((read, place)),
        Ok(Err(error)) => Err(error.refusal(not_done)),
        Err(error) => {
            tracing::error!(%error, "a reader of the store has failed");
            Err(Refusal::new(Code::Internal, format!("{not_done}: {error}"))
                .hint("report this; the store is unchanged"))
        }
    }
}
