//! Connections: who may have one, how many there are, and how they end.
//!
//! They have a thread of their own, and whatever clients ask or send costs its time.

use super::connection::{Terms, placed};
use super::phase::Phase;
use super::router::router;
use super::state::Api;
use std::collections::VecDeque;
use std::io;
use std::os::unix::net::UnixListener as StdListener;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;
use tokio::net::{UnixListener, UnixStream};
use tokio::runtime::{Builder, Handle};
use tokio::sync::{oneshot, watch};
use tokio::task::{AbortHandle, JoinSet};
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
    connections: JoinSet<()>,
    /// The open connections, the oldest first.
    places: VecDeque<Place>,
}

/// One connection's place.
struct Place {
    task: AbortHandle,
    /// Whether a whole request has come over it.
    has_asked: Arc<AtomicBool>,
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
        listener: StdListener,
        stop: watch::Receiver<bool>,
    ) -> io::Result<oneshot::Receiver<()>> {
        let runtime = Builder::new_current_thread().enable_all().build()?;
        let server = Self {
            api,
            phase,
            readings: Handle::current(),
            connections: JoinSet::new(),
            places: VecDeque::new(),
        };
        let listener = {
            let _inside = runtime.enter();
            UnixListener::from_std(listener)?
        };
        let (ended, at_end) = oneshot::channel();
        let thread = std::thread::Builder::new().name("requests".to_owned());
        thread.spawn(move || {
            runtime.block_on(server.run(listener, stop));
            runtime.shutdown_timeout(READERS_END);
            // A daemon that no longer waits for this is gone itself.
            let _ = ended.send(());
        })?;
        Ok(at_end)
    }

    async fn run(mut self, listener: UnixListener, mut stop: watch::Receiver<bool>) {
        let terms = Terms {
            router: router(self.api.clone()),
            phase: self.phase.subscribe(),
            readings: self.readings.clone(),
        };
        let own_user = rustix::process::geteuid().as_raw();
        loop {
            let has_place = self.make_place();
            let accepted = tokio::select! {
                accepted = listener.accept(), if has_place => accepted,
                Some(_) = self.connections.join_next() => continue,
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
            let has_asked = Arc::new(AtomicBool::new(false));
            let work = placed(stream, terms.clone(), Arc::clone(&has_asked));
            let task = self.connections.spawn(work);
            self.places.push_back(Place { task, has_asked });
            // It reads what was sent already before any other may take its place.
            tokio::task::yield_now().await;
        }
        drop(listener);
        self.end().await;
    }

    /// Whether there is a place for one more. When all are taken, the oldest connection over which nothing was asked
    /// gives its own up: whoever only holds connections keeps nobody out.
    fn make_place(&mut self) -> bool {
        if self.places.len() < MOST_CONNECTIONS {
            return true;
        }
        self.places.retain(|place| !place.task.is_finished());
        if self.places.len() < MOST_CONNECTIONS {
            return true;
        }
        let idle = |place: &Place| !place.has_asked.load(Ordering::Relaxed);
        let oldest = self.places.iter().position(idle);
        match oldest.and_then(|oldest| self.places.remove(oldest)) {
            Some(place) => {
                place.task.abort();
                true
            }
            None => false,
        }
    }

    async fn end(mut self) {
        self.phase.send_replace(Phase::Draining);
        let deadline = Instant::now() + DRAIN;
        // A live view ends in the next phase only.
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
