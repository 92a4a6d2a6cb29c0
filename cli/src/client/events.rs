//! The stream of what is live.

use super::ClientError;
use super::sse::{Lines, TooLong};
use http_body_util::BodyExt;
use hyper::body::Incoming;
use protocol::api::Live;
use serde::Deserialize;
use std::collections::VecDeque;

/// What is live, as it comes. Dropping it ends the stream.
#[derive(Debug)]
pub struct Events {
    body: Incoming,
    lines: Lines,
    ready: VecDeque<Vec<u8>>,
}

impl Events {
    pub(super) fn new(body: Incoming) -> Self {
        Self {
            body,
            lines: Lines::default(),
            ready: VecDeque::new(),
        }
    }

    /// The next event; `None` when the daemon ended the stream. May be dropped while it waits: nothing that
    /// arrived is lost.
    ///
    /// # Errors
    /// When the connection breaks, or what comes is no event.
    pub async fn next(&mut self) -> Result<Option<Live>, ClientError> {
        loop {
            while let Some(data) = self.ready.pop_front() {
                if let Some(live) = understood(&data)? {
                    return Ok(Some(live));
                }
            }
            let Some(frame) = self.body.frame().await else {
                return Ok(None);
            };
            let frame = frame.map_err(|e| {
                ClientError::Broken(format!("the connection to the daemon broke: {e}"))
            })?;
            if let Some(bytes) = frame.data_ref() {
                let ready = &mut self.ready;
                self.lines
                    .take(bytes, |data| ready.push_back(data))
                    .map_err(|TooLong| {
                        ClientError::Broken("the daemon sent an event without end".to_owned())
                    })?;
            }
        }
    }
}

/// The event; `None` for one of a kind that is not known here, since the wire grows.
fn understood(data: &[u8]) -> Result<Option<Live>, ClientError> {
    #[derive(Deserialize)]
    struct Kind {
        event: String,
    }
    match serde_json::from_slice(data) {
        Ok(live) => Ok(Some(live)),
        Err(error) => match serde_json::from_slice::<Kind>(data) {
            Ok(Kind { event }) if !matches!(event.as_str(), "snapshot" | "reading") => Ok(None),
            _ => Err(ClientError::Broken(format!(
                "an event of the daemon cannot be read: {error}"
            ))),
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn known_events_are_read_new_ones_passed_over_broken_ones_told() {
        let live = Live::Snapshot(Box::default());
        let data = serde_json::to_vec(&live).unwrap();
        assert_eq!(understood(&data), Ok(Some(live)));
        let grown = br#"{"event":"snapshot","cables":[],"clamped":false,"new_field":1}"#;
        assert!(matches!(understood(grown), Ok(Some(Live::Snapshot(_)))));
        assert_eq!(understood(br#"{"event":"weather"}"#), Ok(None));
        assert!(understood(br#"{"event":"reading"}"#).is_err());
        assert!(understood(b"{").is_err());
    }
}
