//! What comes from the daemon by itself: the readings, so that the hand waits for them and not for a clock.

use crate::Failure;
use crate::client::Client;
use protocol::api::Live;
use std::time::Duration;
use tokio::sync::watch;
use tokio::task::AbortHandle;
use tokio::time::timeout;

/// A bench that streams is never silent for as long as this.
const PATIENCE: Duration = Duration::from_secs(10);

/// Counts the readings that the daemon tells of, as they come.
#[derive(Debug)]
pub struct Ears {
    count: watch::Receiver<u64>,
    listener: AbortHandle,
}

impl Ears {
    /// Begins to hear.
    ///
    /// # Errors
    /// When the daemon does not answer.
    pub async fn open(client: &Client) -> Result<Self, Failure> {
        let mut events = client.events().await?;
        let (counter, count) = watch::channel(0);
        // Heard all the time, so that no reading waits in the line and is taken for a new one later.
        let listener = tokio::spawn(async move {
            while let Ok(Some(event)) = events.next().await {
                if matches!(event, Live::Reading(_)) {
                    counter.send_modify(|count| *count += 1);
                }
            }
        })
        .abort_handle();
        Ok(Self { count, listener })
    }

    /// Returns after this many readings more.
    ///
    /// # Errors
    /// When they do not come.
    pub async fn readings(&mut self, more: u32) -> Result<(), Failure> {
        let wanted = *self.count.borrow() + u64::from(more);
        let heard = timeout(PATIENCE, self.count.wait_for(|&count| count >= wanted)).await;
        match heard {
            Ok(Ok(_)) => Ok(()),
            Ok(Err(_)) => Err(Failure::new("daemon_failed", "the daemon ended by itself")),
            Err(_) => Err(Failure::new(
                "no_readings",
                format!("no readings have come for {} s", PATIENCE.as_secs()),
            )),
        }
    }
}

impl Drop for Ears {
    fn drop(&mut self) {
        self.listener.abort();
    }
}
