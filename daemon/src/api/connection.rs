//! One connection: what it may send, where it is served, and what its client has to keep to.
//!
//! A live view is served where the readings are, so that a reading changes no thread on its way; everything else on the thread of
//! the requests. So what carries a reading waits for no client, and the scheduler knows its thread as one that mostly sleeps.

use super::patient::Patient;
use super::phase::Phase;
use super::places::Earned;
use super::whole_request::Answering;
use axum::Router;
use axum::body::Body;
use hyper::body::Incoming;
use hyper::server::conn::http1;
use hyper::service::{Service, service_fn};
use hyper::{Request, Response};
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use protocol::api::path;
use rustix::net::RecvFlags;
use std::convert::Infallible;
use std::io;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;
use tokio::io::{AsyncRead, AsyncWrite, Interest};
use tokio::net::UnixStream;
use tokio::runtime::Handle;
use tokio::sync::watch;
use tokio::task::JoinHandle;
use tokio::time::Instant;

/// A client that has not sent the head of its request by then is disconnected. On a local socket it takes microseconds.
const HEAD_PATIENCE: Duration = Duration::from_secs(2);
/// What is kept for a connection that does not read, or has not sent a whole head.
const BUFFER: usize = 64 * 1024;

/// What every connection is given.
#[derive(Clone)]
pub(super) struct Terms {
    pub router: Router,
    pub phase: watch::Receiver<Phase>,
    /// The thread of the readings.
    pub readings: Handle,
}

/// Serves a connection where it belongs, by the first that its client says.
pub(super) async fn placed(stream: UnixStream, terms: Terms, earned: Earned) {
    let deadline = Instant::now() + HEAD_PATIENCE;
    let begun = tokio::time::timeout_at(deadline, begins_to_watch(&stream));
    // A client that has sent nothing until then is disconnected.
    let Ok(begun) = begun.await else { return };
    let served = match begun {
        Ok(true) => {
            earned.set(true);
            beside_the_readings(stream, terms).await
        }
        Ok(false) => {
            requests(stream, terms, earned, deadline).await;
            Ok(())
        }
        Err(error) => Err(error),
    };
    if let Err(error) = served {
        tracing::debug!(%error, "a connection was not served");
    }
}

/// Serves a client's requests, each when it is whole. The first head has to be there by `deadline`.
async fn requests(stream: UnixStream, terms: Terms, earned: Earned, deadline: Instant) {
    let answering = Answering::new(terms.router, earned);
    let has_begun = Arc::new(AtomicBool::new(false));
    let begun = Arc::clone(&has_begun);
    let service = service_fn(move |request| {
        begun.store(true, Ordering::Relaxed);
        answering.clone().answer(request)
    });
    let served = exchanges(stream, service, terms.phase, true);
    tokio::pin!(served);
    tokio::select! {
        () = &mut served => {}
        () = tokio::time::sleep_until(deadline) => {
            // What it has sent in that time is no head, and would be given as long again.
            if has_begun.load(Ordering::Relaxed) {
                served.await;
            }
        }
    }
}

/// Whether a client's first bytes ask for a live view; they are left where they are. A client that sends these few in
/// pieces is served all the same, as any other.
async fn begins_to_watch(stream: &UnixStream) -> io::Result<bool> {
    let wanted = format!("GET {} ", path::EVENTS).into_bytes();
    loop {
        stream.readable().await?;
        let peeked = stream.try_io(Interest::READABLE, || {
            let mut first = vec![0; wanted.len()];
            let flags = RecvFlags::PEEK | RecvFlags::DONTWAIT;
            let (length, _) = rustix::net::recv(stream, &mut first, flags)?;
            Ok(first[..length] == wanted)
        });
        match peeked {
            Err(error) if error.kind() == io::ErrorKind::WouldBlock => {}
            peeked => return peeked,
        }
    }
}

/// Serves a live view on the thread of the readings, and nothing else over its connection. Given up, it ends there too.
async fn beside_the_readings(stream: UnixStream, terms: Terms) -> io::Result<()> {
    let stream = stream.into_std()?;
    let readings = terms.readings.clone();
    let work = async move {
        let stream = UnixStream::from_std(stream)?;
        connection(stream, terms.router, terms.phase, |_| (), false).await;
        Ok(())
    };
    let mut task = AbortOnDrop(readings.spawn(work));
    (&mut task.0).await.map_err(io::Error::other)?
}

/// A task on another thread, which does not outlive whoever waits for it.
struct AbortOnDrop(JoinHandle<io::Result<()>>);

impl Drop for AbortOnDrop {
    fn drop(&mut self) {
        self.0.abort();
    }
}

/// Serves one connection until it ends. `before` sees each request first.
pub(crate) async fn connection(
    stream: impl AsyncRead + AsyncWrite + Unpin,
    router: Router,
    phase: watch::Receiver<Phase>,
    before: impl Fn(&mut Request<Incoming>),
    more_than_one_request: bool,
) {
    let routed = TowerToHyperService::new(router);
    let service = service_fn(move |mut request| {
        before(&mut request);
        routed.call(request)
    });
    exchanges(stream, service, phase, more_than_one_request).await;
}

/// Serves the requests of one connection until it ends.
async fn exchanges<S>(
    stream: impl AsyncRead + AsyncWrite + Unpin,
    service: S,
    mut phase: watch::Receiver<Phase>,
    more_than_one_request: bool,
) where
    S: Service<Request<Incoming>, Response = Response<Body>, Error = Infallible>,
{
    let connection = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(HEAD_PATIENCE)
        .max_buf_size(BUFFER)
        .keep_alive(more_than_one_request)
        .serve_connection(TokioIo::new(Patient::new(stream)), service);
    tokio::pin!(connection);
    let draining = async {
        // A server that is gone drains as well.
        let _ = phase.wait_for(|phase| *phase >= Phase::Draining).await;
    };
    let served = tokio::select! {
        served = &mut connection => served,
        () = draining => {
            connection.as_mut().graceful_shutdown();
            connection.await
        }
    };
    if let Err(error) = served {
        // A client that goes away in the middle is its own affair.
        tracing::debug!(%error, "a connection ended early");
    }
}
