//! What is read out of the store: on a thread of its own, by a connection that cannot write.

use super::reply::{reply, whole};
use super::state::{Api, MOST_READERS, MOST_TO_READ};
use crate::record;
use crate::store::{Reader, StoreError};
use axum::body::{Body, Bytes};
use axum::extract::rejection::QueryRejection;
use axum::extract::{Path, Query, State};
use axum::response::Response;
use protocol::api::{Code, Refusal, SessionFilter, SessionList};
use std::io::{self, BufWriter, Write};
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::{OwnedSemaphorePermit, SemaphorePermit, mpsc, oneshot};

/// How long a request waits for others that read.
const PATIENCE: Duration = Duration::from_secs(30);
/// A large record goes out in pieces of this, so that a client that stops reading holds no second copy of it.
const PIECE: usize = 64 * 1024;
/// Pieces that are ready before the client takes them.
const PIECES: usize = 4;

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
    let not_done = "the record was not made";
    let written = sent(&api, not_done, move |api, out| {
        let written = id
            .parse()
            .and_then(|which| record::write(&api.directory, which, |_| (), out));
        written.map_err(|error| error.refusal(not_done))
    });
    match written.await {
        Ok(body) => whole("application/json", body),
        Err(refusal) => reply::<()>(Err(refusal)),
    }
}

/// Sends what `work` writes while it is written. What goes wrong before the first piece is refused; later the client sees that it is
/// cut short.
pub(crate) async fn sent(
    api: &Api,
    not_done: &'static str,
    work: impl FnOnce(&Api, &mut BufWriter<Pieces>) -> Result<(), Refusal> + Send + 'static,
) -> Result<Body, Refusal> {
    // A store that refuses is read as it is.
    let _ = api.engine.flush().await;
    let place = place(api, not_done).await?;
    let (begun, begins) = oneshot::channel();
    let (to, sent) = mpsc::channel(PIECES);
    let own = api.clone();
    // The thread waits for a client that reads slowly, and ends with it. It gives its place back then.
    let _detached = tokio::task::spawn_blocking(move || {
        let _place = place;
        let begun = Some(begun);
        let mut out = BufWriter::with_capacity(PIECE, Pieces { begun, to });
        let unsent = |error: io::Error| {
            Refusal::new(Code::Internal, format!("{not_done}: {error}")).hint("try again")
        };
        let written = work(&own, &mut out).and_then(|()| out.flush().map_err(unsent));
        // After a failure the rest is not sent.
        let (Pieces { begun, to }, _) = out.into_parts();
        match (written, begun) {
            (Ok(()), None) => {}
            // Nothing was written: an empty body.
            (Ok(()), Some(begun)) => drop(begun.send(Ok(()))),
            (Err(refusal), Some(begun)) => drop(begun.send(Err(refusal))),
            (Err(refusal), None) => {
                tracing::warn!(why = refusal.message, "a record was not sent to its end");
                // The client sees that its record is cut short.
                let _ = to.blocking_send(Err(io::Error::other(refusal.message)));
            }
        }
    });
    match begins.await {
        Ok(begins) => begins.map(|()| Body::from_stream(stream(sent))),
        Err(_) => Err(
            Refusal::new(Code::Internal, format!("{not_done}: its thread has failed"))
                .hint("report this; the store is unchanged"),
        ),
    }
}

type Piece = io::Result<Bytes>;

fn stream(pieces: mpsc::Receiver<Piece>) -> impl futures_util::Stream<Item = Piece> {
    futures_util::stream::unfold(pieces, async |mut pieces| {
        let piece = pieces.recv().await?;
        Some((piece, pieces))
    })
}

/// What is written goes to the client, as fast as that reads.
pub(crate) struct Pieces {
    /// Told before the first piece.
    begun: Option<oneshot::Sender<Result<(), Refusal>>>,
    to: mpsc::Sender<Piece>,
}

impl Write for Pieces {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        // A client that has gone needs no answer.
        let _ = self.begun.take().map(|begun| begun.send(Ok(())));
        self.to
            .blocking_send(Ok(Bytes::copy_from_slice(bytes)))
            .map_err(|_| io::Error::from(io::ErrorKind::BrokenPipe))?;
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// A place among the requests that read sessions or wait to.
pub(crate) fn in_line<'a>(api: &'a Api, not_done: &str) -> Result<SemaphorePermit<'a>, Refusal> {
    api.to_read.try_acquire().map_err(|_| {
        Refusal::new(
            Code::Internal,
            format!("{not_done}: {MOST_TO_READ} other requests wait to read sessions"),
        )
        .hint("try again")
    })
}

/// Waits for a place among those that read the store.
async fn place(api: &Api, not_done: &str) -> Result<OwnedSemaphorePermit, Refusal> {
    let waited = tokio::time::timeout(PATIENCE, Arc::clone(&api.readers).acquire_owned());
    match waited.await {
        Ok(Ok(place)) => Ok(place),
        _ => Err(Refusal::new(
            Code::Internal,
            format!("{not_done}: {MOST_READERS} other requests are still reading sessions"),
        )
        .hint("try again")),
    }
}

pub(crate) async fn read<T: Send + 'static>(
    api: &Api,
    not_done: &str,
    work: impl FnOnce(&Api) -> Result<T, StoreError> + Send + 'static,
) -> Result<(T, OwnedSemaphorePermit), Refusal> {
    let _in_line = in_line(api, not_done)?;
    let place = place(api, not_done).await?;
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
