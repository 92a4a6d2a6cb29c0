//! Connections: who may have one, how many there are, and how they end.
//!
//! They have a thread of their own, and whatever clients ask or send costs its time.

use super::connection::{Terms, placed};
use super::phase::Phase;
use super::places::Places;
use super::router::router;
use super::state::Api;
use super::whereabouts::Whereabouts;
use crate::socket::SocketFile;
use std::io;
use std::os::unix::net::UnixListener as StdListener;
use std::time::Duration;
use tokio::net::{UnixListener, UnixStream};
use tokio::runtime::{Builder, Handle};
use tokio::sync::{oneshot, watch};
use tokio::time::Instant;

/// Connections at a time. A further one takes the place of the oldest that has asked for nothing, or else waits in
/// the system's queue.
const MOST_CONNECTIONS: usize = 128;
/// How long requests that have begun may take while the daemon stops.
const DRAIN: Duration = Duration::from_secs(5);
/// How long connections may take to end after that.
const CLOSE: Duration = Duration::from_secs(1);
/// How long threads that still read the store are waited for at the very end.
const READERS_END: Duration = Duration::from_secs(1);
/// How long to wait when the system has no room for a connection.
const NO_ROOM: Duration = Duration::from_millis(100);

/// Takes connections and serves them.
pub(crate) struct Server {
    api: Api,
    phase: watch::Sender<Phase>,
    /// Where the readings are.
    readings: Handle,
    places: Places,
}

impl Server {
    /// Serves the socket on a thread of its own until `stop` becomes true, then stops taking requests, answers those that have
    /// begun, and closes the live views. What is returned is ready when all of that is done.
    ///
    /// # Errors
    /// The system gives no thread, or no runtime for it.
    pub fn start(
        api: Api,
        phase: watch::Sender<Phase>,
        (listener, file): (StdListener, SocketFile),
        stop: watch::Receiver<bool>,
    ) -> io::Result<oneshot::Receiver<()>> {
        let runtime = Builder::new_current_thread().enable_all().build()?;
        let server = Self {
            api,
            phase,
            readings: Handle::current(),
            places: Places::new(MOST_CONNECTIONS),
        };
        let (listener, whereabouts) = {
            let _inside = runtime.enter();
            (UnixListener::from_std(listener)?, Whereabouts::of(file))
        };
        let (ended, at_end) = oneshot::channel();
        let thread = std::thread::Builder::new().name("requests".to_owned());
        thread.spawn(move || {
            runtime.block_on(server.run(listener, whereabouts, stop));
            runtime.shutdown_timeout(READERS_END);
            // A daemon that no longer waits for this is gone itself.
            let _ = ended.send(());
        })?;
        Ok(at_end)
    }

    async fn run(
        mut self,
        mut listener: UnixListener,
        mut whereabouts: Whereabouts,
        mut stop: watch::Receiver<bool>,
    ) {
        let terms = Terms {
            router: router(self.api.clone()),
            phase: self.phase.subscribe(),
            readings: self.readings.clone(),
        };
        let own_user = rustix::process::geteuid().as_raw();
        loop {
            let has_place = self.places.make();
            let accepted = tokio::select! {
                accepted = listener.accept(), if has_place => accepted,
                new = whereabouts.listener() => {
                    // Clients that have connected to the old one and wait in its queue lose their connection, and ask again.
                    listener = new;
                    continue;
                }
                Some(_) = self.places.connections.join_next() => continue,
                _ = stop.wait_for(|stop| *stop) => break,
            };
            let stream = match accepted {
                Ok((stream, _)) => stream,
                Err(error) => {
                    tracing::warn!(%error, "a connection could not be accepted");
                    tokio::time::sleep(NO_ROOM).await;
                    continue;
                }
            };
            if !is_own(&stream, own_user) {
                continue;
            }
            let terms = terms.clone();
            self.places
                .serve(|has_asked| placed(stream, terms, has_asked));
            // It reads what was sent already before any other may take its place.
            tokio::task::yield_now().await;
        }
        drop(listener);
        self.end().await;
    }

    async fn end(mut self) {
        self.api.page.close().await;
        self.phase.send_replace(Phase::Draining);
        let deadline = Instant::now() + DRAIN;
        // A live view ends in the next phase only.
        while self.places.connections.len() > self.api.watching() {
            tokio::select! {
                _ = self.places.connections.join_next() => {}
                () = tokio::time::sleep_until(deadline) => {
                    tracing::warn!("a request was not answered before the daemon stopped");
                    break;
                }
            }
        }
        self.phase.send_replace(Phase::Closing);
        let ended = async { while self.places.connections.join_next().await.is_some() {} };
        if tokio::time::timeout(CLOSE, ended).await.is_err() {
            // A client that does not read is not waited for.
            self.places.connections.shutdown().await;
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
                "a connection of another user was rejected"
            );
            false
        }
        Err(error) => {
            tracing::warn!(%error, "a connection of an unknown user was rejected");
            false
        }
    }
}
