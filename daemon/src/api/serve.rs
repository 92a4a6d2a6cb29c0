//! Connections: who may have one, how many there are, and how they end.

use super::Api;
use axum::Router;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use std::sync::Arc;
use std::time::Duration;
use tokio::net::{UnixListener, UnixStream};
use tokio::sync::{Semaphore, watch};
use tokio::task::JoinSet;
use tokio::time::Instant;

/// Connections at a time; more wait in the system's queue.
const MOST_CONNECTIONS: usize = 128;
/// A client that has not sent the head of its request by then is let go. On a local socket it takes microseconds;
/// idle connections would keep others out for as long.
const HEAD_PATIENCE: Duration = Duration::from_secs(2);
/// What is kept for a connection that does not read, or has not sent a whole head.
const BUFFER: usize = 64 * 1024;
/// How long requests that have begun may take while the daemon stops.
const DRAIN: Duration = Duration::from_secs(5);
/// How long connections may take to end after that.
const CLOSE: Duration = Duration::from_secs(1);
/// How long to wait when the system has no room for a connection.
const NO_ROOM: Duration = Duration::from_millis(100);

/// How far the stopping has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Phase {
    /// Requests are taken.
    Open,
    /// No request is taken any more; those that have begun are answered.
    Draining,
    /// Live views end.
    Closing,
}

/// Takes connections and serves them.
pub(crate) struct Server {
    api: Api,
    phase: watch::Sender<Phase>,
    connections: JoinSet<()>,
}

impl Server {
    pub fn new(api: Api, phase: watch::Sender<Phase>) -> Self {
        Self {
            api,
            phase,
            connections: JoinSet::new(),
        }
    }

    /// Serves until `stop` becomes true, then stops taking requests, answers those that have begun, and closes
    /// the live views.
    pub async fn run(mut self, listener: UnixListener, mut stop: watch::Receiver<bool>) {
        let router = self.api.clone().router();
        let places = Arc::new(Semaphore::new(MOST_CONNECTIONS));
        let own_user = rustix::process::geteuid().as_raw();
        loop {
            let accept = async {
                let place = Arc::clone(&places).acquire_owned().await;
                (place, listener.accept().await)
            };
            let (place, accepted) = tokio::select! {
                accepted = accept => accepted,
                Some(_) = self.connections.join_next() => continue,
                _ = stop.wait_for(|stop| *stop) => break,
            };
            let stream = match accepted {
                Ok((stream, _)) => stream,
                Err(error) => {
                    tracing::warn!(%error, "a connection could not be taken");
                    tokio::time::sleep(NO_ROOM).await;
                    continue;
                }
            };
            if !is_own(&stream, own_user) {
                continue;
            }
            let work = connection(stream, router.clone(), self.phase.subscribe());
            self.connections.spawn(async move {
                work.await;
                drop(place);
            });
        }
        drop(listener);
        self.end().await;
    }

    async fn end(mut self) {
        self.phase.send_replace(Phase::Draining);
        let deadline = Instant::now() + DRAIN;
        // A live view ends only when it is told to.
        while self.connections.len() > self.api.watching() {
            tokio::select! {
                _ = self.connections.join_next() => {}
                () = tokio::time::sleep_until(deadline) => {
                    tracing::warn!("a request was not answered before the daemon stopped");
                    break;
                }
            }
        }
        self.phase.send_replace(Phase::Closing);
        let ended = async { while self.connections.join_next().await.is_some() {} };
        if tokio::time::timeout(CLOSE, ended).await.is_err() {
            // A client that does not read is not waited for.
            self.connections.shutdown().await;
        }
    }
}

/// The rights of the socket keep other users out; this makes sure.
fn is_own(stream: &UnixStream, own_user: u32) -> bool {
    match stream.peer_cred() {
        Ok(peer) if peer.uid() == own_user => true,
        Ok(peer) => {
            tracing::warn!(
                user = peer.uid(),
                "another user's connection was turned away"
            );
            false
        }
        Err(error) => {
            tracing::warn!(%error, "a connection of an unknown user was turned away");
            false
        }
    }
}

async fn connection(stream: UnixStream, router: Router, mut phase: watch::Receiver<Phase>) {
    let connection = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(HEAD_PATIENCE)
        .max_buf_size(BUFFER)
        .serve_connection(TokioIo::new(stream), TowerToHyperService::new(router));
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
