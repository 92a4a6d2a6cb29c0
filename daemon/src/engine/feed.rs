//! Live events, to all clients at once. Each event is serialised once. A client that is too slow misses events, and gets a
//! snapshot instead.

use axum::body::Bytes;
use protocol::api::Live;
use tokio::sync::broadcast;

/// Events that a client may be behind. They are shared by all clients.
const PLACES: usize = 128;

/// The sending end.
#[derive(Debug)]
pub(crate) struct Feed {
    to: broadcast::Sender<Bytes>,
}

impl Feed {
    pub fn new() -> Self {
        Self {
            to: broadcast::Sender::new(PLACES),
        }
    }

    pub fn has_listeners(&self) -> bool {
        self.to.receiver_count() > 0
    }

    pub fn send(&self, live: &Live) {
        // It is no error that no client listens.
        let _ = self.to.send(event(live));
    }

    pub fn subscribe(&self) -> broadcast::Receiver<Bytes> {
        self.to.subscribe()
    }
}

/// An event as Server-Sent Events write it. JSON has no line breaks of its own, so it is one `data` line.
pub(crate) fn event(live: &Live) -> Bytes {
    let mut bytes = b"data: ".to_vec();
    if let Err(error) = serde_json::to_writer(&mut bytes, live) {
        // Only a map with keys that are no strings could fail, and there is none.
        tracing::error!(%error, "an event could not be written");
    }
    bytes.extend_from_slice(b"\n\n");
    bytes.into()
}
