//! `daemon`: the background process itself, and its end.

use crate::client::{Client, ClientError, block_on};
use crate::{Answer, Failure, Paths};
use serde_json::json;
use std::time::{Duration, Instant};

/// A daemon writes out what it holds before it goes; one that has not gone by then hangs.
const STOPPING: Duration = Duration::from_secs(15);
const PAUSE: Duration = Duration::from_millis(10);

/// Stops the daemon, and returns when it is gone. That none was running is no failure: it is what was wanted.
pub(super) fn stop(paths: &Paths) -> Result<Answer, Failure> {
    let client = Client::new(paths);
    block_on(async {
        match client.stop().await {
            Ok(()) => {}
            Err(ClientError::NotRunning { socket }) => {
                let text = format!("no daemon was running at {socket}");
                return Answer::new(text, &json!({ "stopped": false }));
            }
            Err(error) => return Err(error.into()),
        }
        let deadline = Instant::now() + STOPPING;
        // Any other answer than "not running" is one of a daemon that is still on its way out.
        while !matches!(client.status().await, Err(ClientError::NotRunning { .. })) {
            if Instant::now() >= deadline {
                return Err(Failure::new(
                    "still_running",
                    format!("the daemon has not gone for {} s", STOPPING.as_secs()),
                ));
            }
            tokio::time::sleep(PAUSE).await;
        }
        Answer::new("daemon stopped", &json!({ "stopped": true }))
    })
}
